"""What tests ask of a figure: its marks by their look, the groups that say something, and where they stand."""

from __future__ import annotations

import re
from collections.abc import Iterable

from proofyard.charts.figure import Circle, Figure, Glyph, Group, Mark, Path, Rect, Text, each

Spot = tuple[float, float]


def inside(of: Figure | Group) -> list[Mark]:
    return list(of.each() if isinstance(of, Figure) else each(of.marks))


def having(of: Figure | Group, look: str) -> list[Mark]:
    """Marks that have this class, in the order they are drawn."""
    return [one for one in inside(of) if look in getattr(one, "look", "").split()]


def said(figure: Figure) -> list[Group]:
    """The groups that say themselves: one a shot, a hit, a row."""
    return [one for one in figure.each() if isinstance(one, Group) and one.words]


def rects(of: Figure | Group, look: str = "") -> list[Rect]:
    return [one for one in (having(of, look) if look else inside(of)) if isinstance(one, Rect)]


def paths(of: Figure | Group, look: str) -> list[list[Spot]]:
    """The points of each path of this look."""
    return [spots(one.d) for one in having(of, look) if isinstance(one, Path)]


def texts(of: Figure | Group, look: str | None = None) -> list[Text]:
    return [one for one in inside(of) if isinstance(one, Text) and (look is None or one.look == look)]


def glyphs(of: Figure | Group, name: str = "") -> list[Glyph]:
    return [one for one in inside(of) if isinstance(one, Glyph) and one.name.startswith(name)]


def dots(of: Figure | Group) -> list[Circle]:
    return [one for one in inside(of) if isinstance(one, Circle)]


def dashed(of: Group) -> bool:
    return any(one.look.endswith("--open") for one in rects(of))


def level_of(mark: Rect | Glyph) -> int:
    """The outcome level that a square or a glyph stands for."""
    found = re.search(r"outcome-{1,2}(\d)", f"{mark.look} {getattr(mark, 'name', '')}")
    assert found, mark
    return int(found[1])


def spots(d: str) -> list[Spot]:
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", d)]


def ends(along: Iterable[Spot]) -> tuple[float, float]:
    """From where to where, across."""
    xs = [x for x, _ in along]
    return min(xs), max(xs)
