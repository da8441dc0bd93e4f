"""Days as people write them: 13.09.2025, 9/13/2025, 20 Sept 2025, 2025-09-13. Where none tells which number is the month, it is asked."""

import datetime
import re
from collections.abc import Iterable

DAY_FIRST, MONTH_FIRST = "dmy", "mdy"
ORDERS = {DAY_FIRST: "Day first: 3/4 is 3 April", MONTH_FIRST: "Month first: 3/4 is March 4"}
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ][\d:.]+Z?)?", re.ASCII)
_NUMBERS = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2(\d{4}|\d{2})", re.ASCII)
_DAY_MONTH = re.compile(
    r"(?:[a-z]{2,9}\.?,? )?(\d{1,2})(?:st|nd|rd|th)?[ .-]+([a-z]{3,9})\.?,?[ -]+(\d{4}|\d{2})", re.ASCII | re.IGNORECASE
)
_MONTH_DAY = re.compile(r"(?:[a-z]{2,9}\.?,? )?([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4}|\d{2})", re.ASCII | re.IGNORECASE)
NO_DAY = "“{}” is no day that can be read. Type it like 2025-09-13."
WHICH = "“{}” could be two days. Say above whether the day or the month comes first."


def day_said(text: str, order: str = "") -> tuple[str | None, str]:
    """The day as 2025-09-13, or None and why.

    >>> day_said("13.09.2025"), day_said("Sept 20, 2025"), day_said("3/4/2025", "mdy")
    (('2025-09-13', ''), ('2025-09-20', ''), ('2025-03-04', ''))
    """
    text = " ".join(text.split())
    found = _ISO.fullmatch(text)
    if found:
        return _made(text, int(found[1]), int(found[2]), int(found[3]))
    found = _NUMBERS.fullmatch(text)
    if found:
        return _of_numbers(text, int(found[1]), int(found[3]), _year(found[4]), order or (DAY_FIRST if found[2] == "." else ""))
    found = _DAY_MONTH.fullmatch(text)
    if found:
        return _made(text, _year(found[3]), _month(found[2]), int(found[1]))
    found = _MONTH_DAY.fullmatch(text)
    if found:
        return _made(text, _year(found[3]), _month(found[1]), int(found[2]))
    return None, NO_DAY.format(text[:40])


def order_of(values: Iterable[str]) -> str:
    """Which comes first, where a number above 12 tells; "" where none does, or where some say one and some the other."""
    told = set[str]()
    for value in values:
        found = _NUMBERS.fullmatch(" ".join(value.split()))
        if found and int(found[1]) > 12:
            told.add(DAY_FIRST)
        elif found and int(found[3]) > 12:
            told.add(MONTH_FIRST)
    return told.pop() if len(told) == 1 else ""


def _of_numbers(text: str, first: int, second: int, year: int, order: str) -> tuple[str | None, str]:
    if first > 12 or (order == DAY_FIRST and second <= 12) or first == second:
        return _made(text, year, second, first)
    if second > 12 or order == MONTH_FIRST:
        return _made(text, year, first, second)
    return None, WHICH.format(text[:40])


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)


def _month(text: str) -> int:
    return _MONTHS.index(text[:3].lower()) + 1 if text[:3].lower() in _MONTHS else 0


def _made(text: str, year: int, month: int, day: int) -> tuple[str | None, str]:
    try:
        return datetime.date(year, month, day).isoformat(), ""
    except ValueError:
        return None, NO_DAY.format(text[:40])
