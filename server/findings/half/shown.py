"""What the results page shows of the energy at which half get through: the curve in a head's picture, and one sentence."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.charts.curve_shape import CurveShape
from server.findings.cells import CountedShot
from server.findings.half.point import half_point, outside_words, point_words, shape_of
from server.findings.view_settings import sort_of


@dataclass(frozen=True)
class HalfShown:
    """`curve` None where the point isn't placed, or the picture stands against no energy; `words` say why."""

    curve: CurveShape | None
    words: str


def half_shown(shots: Sequence[CountedShot], *, unmeasured: int, axis: str) -> HalfShown:
    """Of one head's counted shots. One curve is of one sort of panel: where they mix, none is drawn."""
    if not shots or axis != "energy":
        return HalfShown(None, "")
    sorts = {sort_of(one.shot.fact)[0] for one in shots}
    if len(sorts) > 1:
        return HalfShown(None, f"No curve: these shots mix {len(sorts)} sorts of panel, and each has its own.")
    found = half_point(shots, unmeasured=unmeasured)
    more = outside_words(found.point) if found.point else ""
    words = f"Half get through at {point_words(found)}. {more}".rstrip() if found.point else f"The energy at which half get through is {point_words(found)}."
    curve = shape_of(found)
    return HalfShown(replace(curve, words=words) if curve else None, words)
