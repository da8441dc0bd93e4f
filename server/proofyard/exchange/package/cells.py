"""A cell's text read back: what it says, or why it can't stand in its column."""

import datetime
import json
import math
import re
from collections.abc import Callable, Mapping
from typing import Any

from proofyard.exchange.package.fields import LIST_MARK, Field, moment_of
from proofyard.records.ids import is_id
from proofyard.records.unseen_signs import unseen_in

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?(e[-+]?[0-9]+)?", re.ASCII)
_WHOLE = re.compile(r"-?[0-9]{1,18}", re.ASCII)
_MOST_NESTED = 20_000


class NotRead(Exception):
    """Carries the reason, in words, up to the cell."""


def read_cell(one: Field, text: str) -> Any:
    """The value; None for an empty cell.

    Refuses
        NotRead  with what is wrong, to be said after the column's name
    """
    if text == "":
        if one.required:
            raise NotRead("is empty and may not be")
        return None
    value = _READERS[one.type](one, text)
    if one.least is not None and isinstance(value, int | float) and value < one.least:
        raise NotRead(f"holds {shown(text)}; the least that is possible is {one.least:g}")
    if one.most is not None and isinstance(value, int | float) and value > one.most:
        raise NotRead(f"holds {shown(text)}; the most that is possible is {one.most:g}")
    return value


def shown(text: str) -> str:
    return f"“{text[:40]}{'…' if len(text) > 40 else ''}”"


def _string(one: Field, text: str) -> str:
    if one.is_id:
        if not is_id(text):
            raise NotRead(f"holds {shown(text)}, which is no id")
        return text
    if one.closed and text not in one.categories:
        raise NotRead(f"holds {shown(text)}, which is none of: {', '.join(one.categories)}")
    if one.longest is not None and len(text) > one.longest:
        raise NotRead(f"has {len(text)} characters; {one.longest} is the most")
    if unseen := unseen_in(text):
        raise NotRead(f"holds signs that can’t be seen. {unseen.rstrip('.')}")
    return text


def _number(_: Field, text: str) -> float:
    if not _NUMBER.fullmatch(text) or not math.isfinite(value := float(text)):
        raise NotRead(f"holds {shown(text)}, which is no number with a point")
    return value


def _integer(_: Field, text: str) -> int:
    if not _WHOLE.fullmatch(text):
        raise NotRead(f"holds {shown(text)}, which is no whole number")
    return int(text)


def _boolean(_: Field, text: str) -> bool:
    if text not in ("TRUE", "FALSE"):
        raise NotRead(f"holds {shown(text)}; only TRUE and FALSE are read")
    return text == "TRUE"


def _date(_: Field, text: str) -> str:
    try:
        day = datetime.date.fromisoformat(text)
    except ValueError:
        raise NotRead(f"holds {shown(text)}, which is no day as 2026-10-17") from None
    if day.isoformat() != text:
        raise NotRead(f"holds {shown(text)}, which is no day as 2026-10-17")
    return text


def _moment(_: Field, text: str) -> int:
    try:
        return moment_of(text)
    except ValueError:
        raise NotRead(f"holds {shown(text)}, which is no moment in UTC as 2026-10-17T14:05:00.000Z") from None


def _list(one: Field, text: str) -> str:
    found = text.split(LIST_MARK)
    if strange := next((part for part in found if part not in one.categories), None):
        raise NotRead(f"holds {shown(strange)}, which is none of: {', '.join(one.categories)}")
    if [part for part in one.categories if part in found] != found:
        raise NotRead(f"holds {shown(text)}, which is not each word once in the order of the schema")
    return json.dumps(found)


def _object(_: Field, text: str) -> Any:
    try:
        value = json.loads(text) if len(text) <= _MOST_NESTED else None
    except (json.JSONDecodeError, RecursionError):
        value = None
    if not isinstance(value, dict | list):
        raise NotRead(f"holds {shown(text)}, which is no JSON")
    return value


_READERS: Mapping[str, Callable[[Field, str], Any]] = {
    "string": _string,
    "number": _number,
    "integer": _integer,
    "boolean": _boolean,
    "date": _date,
    "datetime": _moment,
    "list": _list,
    "object": _object,
}
