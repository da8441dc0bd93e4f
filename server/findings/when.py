"""Days and times as people say them: "24 October 2026", "14:21 on 24 October 2026", in the laptop's own time."""

from datetime import date, datetime

from server.records.devices import now_ms

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


def short_day_words(at_ms: int, *, now: int | None = None) -> str:
    """The day: "24 October", with the year when it isn't this year's."""
    then = datetime.fromtimestamp(at_ms / 1000)
    this_year = datetime.fromtimestamp((now_ms() if now is None else now) / 1000).year
    return f"{then.day} {MONTHS[then.month - 1]}" + ("" if then.year == this_year else f" {then.year}")


def ago_words(at_ms: int, *, now: int | None = None) -> str:
    """How long ago: "2 seconds ago", "5 minutes ago", then the day."""
    seconds = max(0, (now_ms() if now is None else now) - at_ms) // 1000
    for count, words in ((seconds, "second"), (seconds // 60, "minute"), (seconds // 3600, "hour")):
        if count < (24 if words == "hour" else 60):
            return f"{count} {words}{'' if count == 1 else 's'} ago"
    return f"on {short_day_words(at_ms, now=now)}"
