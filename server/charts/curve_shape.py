"""A curve of chances with its band, as paths of an SVG: whole where shots were loosed, apart where the curve only guesses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.scale import LinearScale
from server.charts.two_axes import path


@dataclass(frozen=True)
class CurveShape:
    """Energies in order, and at each the chance to get through and where it may lie. shot_j: the least and the most energy
    that was shot. middle_j: where the curve passes a half; its ends are None where the shots don't bound that side. `words`: what it says."""

    energies_j: tuple[float, ...]
    chances: tuple[float, ...]
    lows: tuple[float, ...]
    highs: tuple[float, ...]
    shot_j: tuple[float, float]
    middle_j: float
    ends_j: tuple[float | None, float | None]
    words: str = ""

    def __post_init__(self) -> None:
        if not len(self.energies_j) == len(self.chances) == len(self.lows) == len(self.highs):
            raise ValueError("a curve has as many energies as chances, lows and highs")
        if list(self.energies_j) != sorted(self.energies_j):
            raise ValueError("a curve's energies go up")


@dataclass(frozen=True)
class DrawnCurve:
    """`inside` and `band` where it was shot; `beyond` where it wasn't: to be dashed. `middle`: the point at a half, None
    where it stands outside the picture. `reach`: from where to where it may lie; `capped`: whether that
    end stands in the picture, or is cut at its edge."""

    inside: str
    band: str
    beyond: tuple[str, ...]
    middle: tuple[float, float] | None
    reach: tuple[float, float] | None
    capped: tuple[bool, bool] = (False, False)


def draw_curve(shape: CurveShape, x: LinearScale, y: LinearScale) -> DrawnCurve:
    """In a picture whose x takes joules and whose y takes chances; what lies outside x is not drawn."""
    low, high = shape.shot_j
    spots = [
        (x(energy), y(chance), y(least), y(most), energy)
        for energy, chance, least, most in zip(shape.energies_j, shape.chances, shape.lows, shape.highs, strict=True)
        if x.low <= energy <= x.high
    ]
    inside = [one for one in spots if _at_least(one[4], low) and _at_least(high, one[4])]
    before = [one for one in spots if not _at_least(one[4], low)] + inside[:1]
    after = inside[-1:] + [one for one in spots if not _at_least(high, one[4])]
    shown = x.low <= shape.middle_j <= x.high
    return DrawnCurve(
        inside=_line(inside),
        band=path([(one[0], one[3]) for one in inside] + [(one[0], one[2]) for one in reversed(inside)]) + "Z" if len(inside) > 1 else "",
        beyond=tuple(d for d in (_line(before), _line(after)) if d),
        middle=(round(x(shape.middle_j), 1), round(y(0.5), 1)) if shown else None,
        reach=_reach(shape, x) if shown else None,
        capped=(_within(shape.ends_j[0], x), _within(shape.ends_j[1], x)),
    )


def _reach(shape: CurveShape, x: LinearScale) -> tuple[float, float]:
    low, high = shape.ends_j
    return (
        round(x.clamped(x.low if low is None else low), 1),
        round(x.clamped(x.high if high is None else high), 1),
    )


def _within(end: float | None, x: LinearScale) -> bool:
    return end is not None and x.low <= end <= x.high


def _at_least(one: float, other: float) -> bool:
    """The ends themselves are shots: the last bit of a float must not put them outside."""
    return one >= other * (1 - 1e-9)


def _line(spots: Sequence[tuple[float, float, float, float, float]]) -> str:
    return path([(one[0], one[1]) for one in spots]) if len(spots) > 1 else ""
