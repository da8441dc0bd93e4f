"""Days and times as people say them: "24 October 2026", "14:21 on 24 October 2026", in the laptop's own time."""

from datetime import date, datetime

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def today() -> str:
    """The laptop's day, as a form takes it."""
    return date.today().isoformat()


def day_words(day: str) -> str:
    """
    >>> day_words("2026-10-24")
    '24 October 2026'
    """
    try:
        found = date.fromisoformat(day)
    except ValueError:
        return day
    return f"{found.day} {MONTHS[found.month - 1]} {found.year}"


def clock_words(at_ms: int) -> str:
    return datetime.fromtimestamp(at_ms / 1000).strftime("%H:%M")


def moment_words(at_ms: int) -> str:
    moment = datetime.fromtimestamp(at_ms / 1000)
    return f"{moment:%H:%M} on {day_words(moment.date().isoformat())}"
