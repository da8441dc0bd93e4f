"""Speeds as people put them down: several in one box, and how the instrument read them."""

import re

MOST_AT_ONCE = 40
METHODS = {"frame_count": "frames", "sound": "sound", "chronograph": "chronograph"}


def split_readings(text: str) -> list[str]:
    """Several numbers as people put them down: a line each, or with spaces, semicolons or ", " between.

    A space before a unit parts nothing, so 52.6 m/s 53.1 m/s are two readings.
    """
    found = re.split(r"[;\n\r\t]+|,\s+|\s+(?=[\d.,]*\d)", text)
    return [one for one in (piece.strip().rstrip(",") for piece in found) if one]


def too_many(pieces: list[str]) -> str:
    """What is said of more readings than are taken at once; empty where there are not."""
    return f"{len(pieces)} readings are too many at once. Type {MOST_AT_ONCE} at most." if len(pieces) > MOST_AT_ONCE else ""
