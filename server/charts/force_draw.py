"""A bow's force against its draw: the points, straight lines between them, the stored energy as the area below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.two_axes import Frame, frame_of, path, place
from server.quantities import with_unit, written


@dataclass(frozen=True)
class DrawnPoint:
    """One point; `words` say it in the reader's units. `taken`: it was not read, it follows from the brace height."""

    x: float
    y: float
    words: str
    taken: bool


@dataclass(frozen=True)
class ForceDraw:
    """`area` ends at the archer's own draw, where one is asked for; `mark_x` stands there."""

    frame: Frame
    line: str
    area: str
    points: tuple[DrawnPoint, ...]
    mark_x: float | None
    title: str
    words: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


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
) -> ForceDraw:
    """Points in rising order, the first at rest. `up_to_m` lies inside them; `energy_words` is the finding in words."""
    if len(draws_m) != len(forces_n) or len(draws_m) < 2:
        raise ValueError("a curve has two points or more, each with a draw and a force")
    frame = frame_of(draws_m, forces_n, x_name="Draw", y_name="Force", x_unit=draw_unit, y_unit=force_unit, y_from_zero=True)
    spots = [(frame.x(d), frame.y(f)) for d, f in zip(draws_m, forces_n, strict=True)]
    points, rows = [], []
    for n, (draw, force) in enumerate(zip(draws_m, forces_n, strict=True)):
        taken = rest_taken and n == 0
        said = f"{written(draw, draw_unit)}: {written(force, force_unit)}" + (", from the brace height" if taken else "")
        points.append(DrawnPoint(place(spots[n][0]), place(spots[n][1]), said, taken))
        rows.append((_number(draw, draw_unit), _number(force, force_unit), "brace height, no force" if taken else "read"))
    inside = _cut(spots, None if up_to_m is None else frame.x(up_to_m))
    ground = frame.y(0.0)
    return ForceDraw(
        frame=frame,
        line=path(spots),
        area=path([(inside[0][0], ground), *inside, (inside[-1][0], ground)]) + "Z",
        points=tuple(points),
        mark_x=None if up_to_m is None else place(inside[-1][0]),
        title=f"{name}: force against draw",
        words=f"{len(points)} points from {points[0].words} to {points[-1].words}. {energy_words}",
        columns=(f"Draw, {draw_unit}", f"Force, {force_unit}", "How"),
        rows=tuple(rows),
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


