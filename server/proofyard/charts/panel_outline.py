"""The outlines that a panel is drawn with, on a sheet one wide and one high, with its middle at 0, 0 and up upwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

Point = tuple[float, float]
Curve = tuple[Point, Point, Point, Point]

_QUARTER = 0.5 * 0.5522847498  # handle of a cubic that follows a quarter circle to 0.03 %


@dataclass(frozen=True)
class Outline:
    """A closed line of cubic curves, each beginning where the last one ended. It fills its sheet exactly."""

    curves: tuple[Curve, ...]

    def points(self, each: int = 48) -> tuple[Point, ...]:
        """The line as many short straight ones: for asking what is inside, not for drawing."""
        return _points(self, each)

    def chord(self, y: float) -> tuple[float, float] | None:
        """From where to where the outline reaches at one height; None above and below it."""
        points = self.points()
        crossings = []
        for (x1, y1), (x2, y2) in zip(points, points[1:] + points[:1], strict=True):
            if (y1 <= y < y2) or (y2 <= y < y1):
                crossings.append(x1 + (y - y1) / (y2 - y1) * (x2 - x1))
        return (min(crossings), max(crossings)) if crossings else None

    def holds(self, x: float, y: float) -> bool:
        chord = self.chord(y)
        return chord is not None and chord[0] <= x <= chord[1]


@lru_cache(maxsize=16)  # every hit near an edge asks the same of the same few outlines
def _points(outline: Outline, each: int) -> tuple[Point, ...]:
    return tuple(_along(curve, step / each) for curve in outline.curves for step in range(each))


def _along(curve: Curve, t: float) -> Point:
    weights = ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3)
    return (
        sum(weight * point[0] for weight, point in zip(weights, curve, strict=True)),
        sum(weight * point[1] for weight, point in zip(weights, curve, strict=True)),
    )


def _straight(corners: Sequence[Point]) -> tuple[Curve, ...]:
    ends = (*corners[1:], corners[0])
    return tuple((a, _between(a, b, 1 / 3), _between(a, b, 2 / 3), b) for a, b in zip(corners, ends, strict=True))


def _between(a: Point, b: Point, t: float) -> Point:
    return (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t)


OUTLINES: MappingProxyType[str, Outline] = MappingProxyType(
    {
        "breastplate": Outline(
            (
                ((-0.4823, 0.47), (-0.245, 0.51), (0.245, 0.51), (0.4823, 0.47)),
                ((0.4823, 0.47), (0.5206, 0.174), (0.4976, -0.162), (0.4057, -0.458)),
                ((0.4057, -0.458), (0.2143, -0.514), (-0.2143, -0.514), (-0.4057, -0.458)),
                ((-0.4057, -0.458), (-0.4976, -0.162), (-0.5206, 0.174), (-0.4823, 0.47)),
            )
        ),
        "rectangle": Outline(_straight(((-0.5, 0.5), (0.5, 0.5), (0.5, -0.5), (-0.5, -0.5)))),
        "disc": Outline(
            (
                ((0.0, 0.5), (_QUARTER, 0.5), (0.5, _QUARTER), (0.5, 0.0)),
                ((0.5, 0.0), (0.5, -_QUARTER), (_QUARTER, -0.5), (0.0, -0.5)),
                ((0.0, -0.5), (-_QUARTER, -0.5), (-0.5, -_QUARTER), (-0.5, 0.0)),
                ((-0.5, 0.0), (-0.5, _QUARTER), (-_QUARTER, 0.5), (0.0, 0.5)),
            )
        ),
    }
)
