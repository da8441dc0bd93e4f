"""A bow's force against its draw: the points, straight lines between them, the stored energy as the area below."""

from __future__ import annotations

from collections.abc import Sequence

from proofyard.charts.axes import BOTTOM, TOP, frame_of
from proofyard.charts.figure import Circle, Figure, Group, area, line, upright
from proofyard.quantities import with_unit, written


def draw_force_draw(
    name: str,
    draws_m: Sequence[float],
    forces_n: Sequence[float],
    *,
    draw_unit: str,
    force_unit: str,
    energy_words: str,
    rest_taken: bool = False,
    up_to_m: float | None = None,
) -> Figure:
    """Points in rising order, the first at rest. `up_to_m` lies inside them: there the area ends; `energy_words` is the
    finding in words; `rest_taken`: the first point was not read, it follows from the brace height."""
    if len(draws_m) != len(forces_n) or len(draws_m) < 2:
        raise ValueError("a curve has two points or more, each with a draw and a force")
    frame = frame_of(draws_m, forces_n, x_name="Draw", y_name="Force", x_unit=draw_unit, y_unit=force_unit, y_from_zero=True)
    spots = [(frame.x(draw), frame.y(force)) for draw, force in zip(draws_m, forces_n, strict=True)]
    said = [f"{written(draw, draw_unit)}: {written(force, force_unit)}" for draw, force in zip(draws_m, forces_n, strict=True)]
    how = ["brace height, no force" if rest_taken and n == 0 else "read" for n in range(len(spots))]
    said[0] += ", from the brace height" if rest_taken else ""
    inside = _cut(spots, None if up_to_m is None else frame.x(up_to_m))
    asked = () if up_to_m is None else (upright(inside[-1][0], TOP, BOTTOM, "chart__upto"),)
    points = [
        Group((Circle(x, y, 4.5, "chart__dot" if way == "read" else "chart__dot chart__dot--open"),), words=words)
        for (x, y), way, words in zip(spots, how, said, strict=True)
    ]
    return Figure(
        title=f"{name}: force against draw",
        words=f"{len(spots)} points from {said[0]} to {said[-1]}. {energy_words}",
        height=frame.height,
        marks=(
            *area(inside, [(x, frame.y(0.0)) for x, _ in inside[:1] + inside[-1:]], "chart__band"),
            frame.axes(),
            *line(spots, "chart__trace"),
            *asked,
            *points,
        ),
        columns=(f"Draw, {draw_unit}", f"Force, {force_unit}", "How"),
        rows=tuple((_number(d, draw_unit), _number(f, force_unit), way) for d, f, way in zip(draws_m, forces_n, how, strict=True)),
        key="The shaded area is the stored energy." + (" The vertical line is the draw it is counted to." if asked else ""),
        x=frame.x,
        y=frame.y,
    )


def _number(value_si: float, unit: str) -> str:
    return written(value_si, unit).removesuffix(with_unit("", unit))


def _cut(spots: Sequence[tuple[float, float]], x: float | None) -> list[tuple[float, float]]:
    """The line up to a place, the last point on it."""
    if x is None:
        return list(spots)
    kept = [spots[0]]
    for (a, f_a), (b, f_b) in zip(spots, spots[1:], strict=False):
        if b >= x - 1e-9:
            kept.append((x, f_a + (f_b - f_a) * (x - a) / (b - a)))
            break
        kept.append((b, f_b))
    return kept
