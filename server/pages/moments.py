"""Moments in words, in the laptop's own time zone."""

import datetime

from server.records.devices import now_ms


def ago(at_ms: int, *, now: int | None = None) -> str:
    """How long ago: "2 seconds ago", "5 minutes ago", then the day."""
    seconds = max(0, (now_ms() if now is None else now) - at_ms) // 1000
    for count, words in ((seconds, "second"), (seconds // 60, "minute"), (seconds // 3600, "hour")):
        if count < (24 if words == "hour" else 60):
            return f"{count} {words}{'' if count == 1 else 's'} ago"
    return f"on {day(at_ms)}"


def day(at_ms: int, *, now: int | None = None) -> str:
    """The day: "24 October", with the year when it isn't this year's."""
    then = datetime.datetime.fromtimestamp(at_ms / 1000)
    this_year = datetime.datetime.fromtimestamp((now_ms() if now is None else now) / 1000).year
    return f"{then.day} {then:%B}" + ("" if then.year == this_year else f" {then.year}")
