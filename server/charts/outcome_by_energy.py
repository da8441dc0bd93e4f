"""One head form's shots: how far each got, by energy, and under it the share per band.

Rungs are rows, 0 at the bottom, and the rear face is a heavy line between 3 and 4. A shot stands at its own energy,
always: marks that would lie on each other go above each other (the row grows), never sideways, because sideways
would be another energy.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.curve_shape import CurveShape, DrawnCurve, draw_curve
from server.charts.energy_axis import Axis, AxisLabel, Words, energy_axis, laid_out
from server.charts.outcome_words import BandShare, ShotMark, Wording, count_text
from server.charts.scale import LinearScale

WIDTH = 340.0
PLOT_LEFT, PLOT_RIGHT = 34.0, 324.0
FACE_LEFT, FACE_RIGHT = 28.0, 328.0
MARK = 12.0  # side of a shot's square
LANE = 14.0  # from one lane of squares to the next
MOST_LANES = 6  # beyond this a row would push the share out of sight, so marks may touch
ROW_LEAST = 18.0
FACE_GAP = 14.0
GLYPH = 16.0
SHARE_HEIGHT = 58.0
COUNT_LINE = 17.0
COUNT_SIZE = 15.0


@dataclass(frozen=True)
class Row:
    rung: int
    words: str
    top: float
    bottom: float
    glyph_x: float
    glyph_y: float


@dataclass(frozen=True)
class Square:
    x: float
    y: float
    rung: int


@dataclass(frozen=True)
class DrawnShot:
    """One square, or one square a rung when it may be either; then `join` is the line between them (x, top, bottom)."""

    label: str
    href: str
    words: str
    squares: tuple[Square, ...]
    dashed: bool
    size: float
    join: tuple[float, float, float] | None
    reach: tuple[float, float] | None
    crowded: bool
    off_axis: bool


@dataclass(frozen=True)
class DrawnBand:
    """Grey reach (where the share may lie) and one or two bars (how many did). None where there is nothing to draw."""

    words: str
    count_text: str
    middle: float
    reach_x: float
    reach_width: float
    reach_top: float | None
    reach_height: float | None
    cell_x: float
    cell_width: float
    cells: tuple[float, ...]


@dataclass(frozen=True)
class OutcomeByEnergy:
    width: float
    height: float
    mark_size: float
    rows_of_rungs: tuple[Row, ...]
    face: tuple[float, float, float]
    edges: tuple[float, ...]
    edges_top: float
    edges_bottom: float
    shots: tuple[DrawnShot, ...]
    bands: tuple[DrawnBand, ...]
    counts: tuple[AxisLabel, ...]
    share_left: float
    share_right: float
    share_top: float
    share_bottom: float
    ticks: tuple[AxisLabel, ...]
    title: str
    words: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shot_columns: tuple[str, ...]
    shot_rows: tuple[tuple[str, ...], ...]
    curve: DrawnCurve | None = None


def draw_outcome_by_energy(
    name: str,
    shots: Sequence[ShotMark],
    bands: Sequence[BandShare],
    *,
    rung_words: Sequence[str],
    through_words: str = "behind",
    energy_range_j: tuple[float, float] | None = None,
    axis_words: str = "energy",
    unit: str = "J",
    curve: CurveShape | None = None,
) -> OutcomeByEnergy:
    """The whole picture for one head form. `rung_words` are the six rungs' names, 0 first; `unit` that of the axis.

    `curve`: drawn among the shares, over the energies that were shot and no further.
    """
    if len(rung_words) != 6:
        raise ValueError("there are six rungs, so six words")
    ordered = sorted(bands, key=lambda band: (band.low_j, band.high_j))
    axis = _axis(shots, ordered, energy_range_j, unit=unit)
    lanes, crowded = _lanes(shots, axis.scale)
    rungs, face_y = _rows(lanes, rung_words)
    rows_end = rungs[-1].bottom
    wanted = [Words(count_text(band), axis.middle(band.low_j, band.high_j)) for band in ordered]
    counts, lines = laid_out(wanted, size=COUNT_SIZE, bold=True, room=(0.0, WIDTH), most_lines=5)
    share_top = rows_end + 29.0 + COUNT_LINE * (max(lines, 1) - 1)
    share_bottom = share_top + SHARE_HEIGHT
    share = LinearScale(0.0, 1.0, share_bottom, share_top)
    words = Wording(rung_words, through_words, axis_words, unit)
    drawn = [
        _drawn_shot(shot, axis.scale, rungs, lane=lanes[place], crowded=place in crowded, words=words)
        for place, shot in enumerate(shots)
    ]
    return OutcomeByEnergy(
        width=WIDTH, height=_tenth(share_bottom + 28.0),
        mark_size=MARK,
        rows_of_rungs=rungs,
        face=(FACE_LEFT, FACE_RIGHT, face_y),
        edges=axis.inner_edges,
        edges_top=8.0,
        edges_bottom=_tenth(share_bottom + 8.0),
        shots=tuple(drawn),
        bands=tuple(_drawn_band(band, axis, share, words=words) for band in ordered),
        counts=tuple(label.on_line(share_top - 10.0, -COUNT_LINE) for label in counts),
        share_left=PLOT_LEFT, share_right=PLOT_RIGHT, share_top=_tenth(share_top), share_bottom=_tenth(share_bottom),
        ticks=tuple(label.on_line(share_bottom + 21.0, 0.0) for label in axis.ticks),
        title=f"{name}: rung and share {through_words}, by {axis_words}",
        words=words.chart(name, shots, ordered, len(crowded)) + (f" {curve.words}" if curve else ""),
        columns=words.band_columns(),
        rows=tuple(words.band_row(band, shots) for band in ordered),
        shot_columns=("Shot", words.band_columns()[0], "Rung"), shot_rows=words.shot_rows(shots),
        curve=draw_curve(curve, axis.scale, share) if curve else None,
    )  # fmt: skip


def _axis(shots: Sequence[ShotMark], bands: Sequence[BandShare], asked: tuple[float, float] | None, *, unit: str) -> Axis:
    return energy_axis(
        [shot.energy_j for shot in shots],
        [(band.low_j, band.high_j) for band in bands],
        start=PLOT_LEFT,
        end=PLOT_RIGHT,
        asked=asked,
        unit=unit,
    )


def _tenth(value: float) -> float:
    return round(value, 1)


def _rungs_of(shot: ShotMark) -> tuple[int, ...]:
    return tuple(range(shot.rung_low, shot.rung_high + 1))


def _lanes(shots: Sequence[ShotMark], scale: LinearScale) -> tuple[list[dict[int, int]], set[int]]:
    """For every shot and every rung it stands in, a lane where it lies on no other; and who found no such lane.

    Shots that may be either of two rungs go first: their lane is then the one at the rear face, and the line that
    joins their squares crosses no other mark.
    """
    taken: dict[tuple[int, int], list[float]] = {}
    lanes: list[dict[int, int]] = [{} for _ in shots]
    crowded: set[int] = set()
    order = sorted(range(len(shots)), key=lambda i: (shots[i].rung_low == shots[i].rung_high, shots[i].energy_j, i))
    for place in order:
        x = scale.clamped(shots[place].energy_j)
        for rung in _rungs_of(shots[place]):
            room = [
                min((abs(x - other) for other in taken.get((rung, lane), ())), default=math.inf)
                for lane in range(MOST_LANES)
            ]
            free = next((lane for lane, gap in enumerate(room) if gap >= MARK), None)
            if free is None:
                crowded.add(place)
                free = max(range(MOST_LANES), key=room.__getitem__)
            taken.setdefault((rung, free), []).append(x)
            lanes[place][rung] = free
    return lanes, crowded


def _rows(lanes: Sequence[dict[int, int]], rung_words: Sequence[str]) -> tuple[tuple[Row, ...], float]:
    """The rung rows from 5 down to 0, each as high as its lanes need, and the height of the rear face."""
    deepest = Counter[int]()
    for lane_of in lanes:
        for rung, lane in lane_of.items():
            deepest[rung] = max(deepest[rung], lane)
    rows = []
    top, face_y = 13.0, 0.0
    for rung in range(5, -1, -1):
        bottom = top + max(ROW_LEAST, (deepest[rung] + 1) * LANE + 4.0)
        glyph_y = (top + bottom - GLYPH) / 2
        rows.append(Row(rung, rung_words[rung], _tenth(top), _tenth(bottom), 2.0, _tenth(glyph_y)))
        top = bottom
        if rung == 4:
            face_y = _tenth(bottom + FACE_GAP / 2)
            top = bottom + FACE_GAP
    return tuple(rows), face_y


def _square_top(row: Row, lane: int) -> float:
    """Lanes fill a row from the side of the rear face: upwards in 4 and 5, downwards in 0 to 3."""
    if row.rung >= 4:
        return row.bottom - 3.0 - MARK - lane * LANE
    return row.top + 3.0 + lane * LANE


def _drawn_shot(
    shot: ShotMark,
    scale: LinearScale,
    rows: Sequence[Row],
    *,
    lane: dict[int, int],
    crowded: bool,
    words: Wording,
) -> DrawnShot:
    x = scale.clamped(shot.energy_j)
    squares = tuple(
        Square(_tenth(x - MARK / 2), _tenth(_square_top(rows[5 - rung], lane[rung])), rung) for rung in _rungs_of(shot)
    )
    join = None
    if len(squares) > 1:
        join = (_tenth(x), _tenth(squares[-1].y + MARK), squares[0].y)
    reach = None
    if shot.energy_u_j:
        ends = (shot.energy_j - shot.energy_u_j, shot.energy_j + shot.energy_u_j)
        reach = (_tenth(scale.clamped(ends[0])), _tenth(scale.clamped(ends[1])))
    off_axis = not scale.low <= shot.energy_j <= scale.high
    said = words.shot(shot) + (", beyond the end of this axis" if off_axis else "")
    dashed = len(squares) > 1
    return DrawnShot(shot.label, shot.href, said, squares, dashed, MARK, join, reach, crowded, off_axis)


def _drawn_band(band: BandShare, axis: Axis, share: LinearScale, *, words: Wording) -> DrawnBand:
    left, right = axis.scale.clamped(band.low_j), axis.scale.clamped(band.high_j)
    middle = (left + right) / 2
    cell = min(30.0, max(4.0, right - left - 4.0))
    reach = min(22.0, cell * 0.75)
    top = height = None
    if band.interval_low is not None and band.interval_high is not None:
        top = _tenth(share(band.interval_high))
        height = _tenth(share(band.interval_low) - share(band.interval_high))
    hits = () if band.shots == 0 else sorted({band.hits_low, band.hits_high})
    return DrawnBand(
        words=words.band(band),
        count_text=count_text(band),
        middle=_tenth(middle),
        reach_x=_tenth(middle - reach / 2),
        reach_width=_tenth(reach),
        reach_top=top,
        reach_height=height,
        cell_x=_tenth(middle - cell / 2),
        cell_width=_tenth(cell),
        cells=tuple(_tenth(share(count / band.shots)) for count in hits),
    )
