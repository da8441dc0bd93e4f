"""The square code that a phone's camera reads, as one path that a template draws."""

from dataclasses import dataclass

import segno


@dataclass(frozen=True)
class JoinCode:
    """`size` modules on a side, without the quiet zone; `path` fills the dark ones, one unit a module."""

    address: str
    size: int
    path: str


def join_code(address: str) -> JoinCode:
    """The code of an address. Each run of dark modules in a row is one rectangle."""
    rows = [list(row) for row in segno.make(address, micro=False, error="m").matrix]
    pieces = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            if not row[x]:
                x += 1
                continue
            start = x
            while x < len(row) and row[x]:
                x += 1
            pieces.append(f"M{start} {y}h{x - start}v1h-{x - start}z")
    return JoinCode(address, len(rows), "".join(pieces))
