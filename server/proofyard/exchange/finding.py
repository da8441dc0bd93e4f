"""One thing that `check` and the health page looked at, and how big something is, in words."""

from dataclasses import dataclass

OLD_BACKUP_S = 7 * 24 * 3600


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at.

    verdict  "good", "look" (a hand will be wanted), "wrong" (a hand is wanted now)
    advice   what to do about it; empty when all is well
    """

    what: str
    found: str
    verdict: str = "good"
    advice: str = ""


def size_in_words(size: float) -> str:
    """Bytes, in the unit that leaves one to three digits before the point."""
    for unit in ("bytes", "kB", "MB", "GB"):
        if size < 1000:
            return f"{size:.0f} {unit}" if unit == "bytes" or size >= 10 else f"{size:.1f} {unit}"
        size /= 1000
    return f"{size:.1f} TB"
