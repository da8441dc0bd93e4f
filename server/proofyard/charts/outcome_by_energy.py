"""One head form's shots: how far each got, by energy, and under it the share per band.

Outcome levels are rows, 0 at the bottom, and the rear face is a heavy line between 3 and 4. A shot stands at its own energy,
always: marks that would lie on each other go above each other (the row grows), never sideways, because sideways
would be another energy. Of more shots than can be seen each row is bars: how many shots in each range of energy.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.axes import EnergyAxis, energy_axis
from proofyard.charts.binned import MOST_MARKS, Ranges, said_of_all
from proofyard.charts.curves import CurveShape, curve_marks
from proofyard.charts.figure import COUNT, WIDTH, Figure, Glyph, Group, Mark, Rect, Table, Text, hidden, level, many
from proofyard.charts.outcome_marks import lanes, squares
from proofyard.charts.outcome_words import (
    FIRST_THROUGH,
    BandShare,
    ShotMark,
    band_text,
    check_words,
    counts_text,
    energy_text,
    in_order,
    outcome_text,
)
from proofyard.charts.scale import LinearScale
from proofyard.charts.text_room import apart

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
BAR_ROW = 32.0
BAR_MOST, BAR_LEAST = 26.0, 1.5
Rows = dict[int, tuple[float, float]]


def draw_outcome_by_energy(
    name: str,
    shots: Sequence[ShotMark],
    bands: Sequence[BandShare],
    *,
    outcome_words: Sequence[str],
    through_words: str = "through",
    energy_range_j: tuple[float, float] | None = None,
    axis_words: str = "energy",
    unit: str = "J",
    curve: CurveShape | None = None,
) -> Figure:
    """The whole drawing for one head form. `outcome_words` are the six outcome levels' names, 0 first; `unit` that of the axis.

    `curve`: drawn among the shares, over the energies that were shot and no further.
    """
    check_words(outcome_words)
    ordered = sorted(bands, key=lambda band: (band.low_j, band.high_j))
    ends = [(band.low_j, band.high_j) for band in ordered]
    axis = energy_axis([shot.energy_j for shot in shots], ends, start=PLOT_LEFT, end=PLOT_RIGHT, asked=energy_range_j, unit=unit)
    draw = _each_shot if len(shots) <= MOST_MARKS else _bars
    drawn = draw(shots, axis.scale, outcome_words, unit)
    rows = drawn.rows
    wanted = [(band.share.words, axis.middle(*end)) for band, end in zip(ordered, ends, strict=True)]
    counts = apart(wanted, size=COUNT, bold=True, room=(0.0, WIDTH), most_lines=5)
    top = rows[0][1] + 29.0 + COUNT_LINE * max((line for *_, line in counts), default=0)
    share = LinearScale(0.0, 1.0, top + SHARE_HEIGHT, top)
    band, over = curve_marks(curve, axis.scale, share, beyond=False) if curve else ((), ())
    counted = [Text(text, at, top - 10.0 - COUNT_LINE * line, "chart__count", "middle") for text, at, line in counts]
    face = rows[FIRST_THROUGH][1] + FACE_GAP / 2
    axis_name = f"{axis_words.capitalize()}, {unit}"
    return Figure(
        title=f"{name}: outcome level and share {through_words}, by {axis_words}",
        words=_words(name, shots, ordered, drawn.words, unit=unit, through_words=through_words) + (f" {curve.words}" if curve else ""),
        height=share.start + 28.0,
        marks=(
            *axis.hairs(8.0, share.start + 8.0),
            level(FACE_LEFT, FACE_RIGHT, face, "chart__face"),
            *(Glyph(f"outcome-{n}", 2.0, (upper + lower - GLYPH) / 2, GLYPH, GLYPH) for n, (upper, lower) in rows.items()),
            *drawn.marks,
            *band,
            level(PLOT_LEFT, PLOT_RIGHT, share.end, "chart__hair"),
            level(PLOT_LEFT, PLOT_RIGHT, share.start, "chart__axis"),
            hidden([*_shares(ordered, axis, share), *over, *counted, *axis.labels(share.start + 21.0)]),
        ),
        columns=(axis_name, "Each shot", through_words[:1].upper() + through_words[1:], "95\N{NO-BREAK SPACE}% interval, %"),
        rows=tuple(_band_row(one, shots, outcome_words) for one in ordered),
        more=(Table(f"{name}: {drawn.of}", (drawn.first, axis_name, "Outcome level"), drawn.table),),
        key=drawn.key,
        x=axis.scale,
        y=share,
    )


@dataclass(frozen=True)
class _Drawn:
    """The shots as marks in rows of levels, and the table of them. of: what its lines are; first: its first column."""

    rows: Rows
    marks: tuple[Mark, ...]
    table: tuple[tuple[str, ...], ...]
    words: str = ""
    of: str = "every shot that is drawn"
    first: str = "Shot"
    key: str = ""


def _each_shot(shots: Sequence[ShotMark], scale: LinearScale, outcome_words: Sequence[str], unit: str) -> _Drawn:
    lane_of, crowded = shot_lanes(shots, scale)
    rows = level_rows(lane_of)
    told = [_said(shot, scale, outcome_words, unit) for shot in shots]
    return _Drawn(
        rows,
        tuple(_shot(one, scale, rows, lane=lane, words=said) for one, lane, said in zip(shots, lane_of, told, strict=True)),
        tuple((one.label, energy_text(one), one.outcome(outcome_words)) for one in in_order(shots)),
        words=f" {len(crowded)} of the marks lie partly on others." if crowded else "",
    )


def _bars(shots: Sequence[ShotMark], scale: LinearScale, outcome_words: Sequence[str], unit: str) -> _Drawn:
    """A shot that may be of several levels is counted once, in the row of the lowest, on a dashed bar beyond the others."""
    ranges = Ranges.of(scale)
    counts = Counter((shot.outcome_low, ranges.at(shot.energy_j), shot.outcome_high) for shot in shots)
    a_shot = BAR_MOST / max(Counter((shot.outcome_low, ranges.at(shot.energy_j)) for shot in shots).values())
    rows, top = {}, 13.0
    for outcome in range(5, -1, -1):
        rows[outcome] = (top, top + BAR_ROW)
        top += BAR_ROW + (FACE_GAP if outcome == FIRST_THROUGH else 0.0)
    marks, table = [], []
    ends: dict[tuple[int, int], float] = {}
    for low, at, high in sorted(counts):
        count, up = counts[low, at, high], low >= FIRST_THROUGH
        left, right = (scale.clamped(end) for end in ranges.ends(at))
        begin = ends.get((low, at), rows[low][1] - 3.0 if up else rows[low][0] + 3.0)
        end = ends[low, at] = begin + max(BAR_LEAST, count * a_shot) * (-1 if up else 1)
        look = f"chart__shot outcome--{low}" + (" chart__shot--open" if high > low else "")
        bar = Rect(left + 0.5, min(begin, end), max(right - left - 1.0, 1.0), abs(end - begin), look)
        outcome_said = outcome_text(low, high, outcome_words)
        marks.append(Group((bar,), words=f"{ranges.words(at)} {unit}: {many(count, 'shot')}, {outcome_said}"))
        table.append((str(count), ranges.words(at), outcome_said))
    told = said_of_all(len(shots), f"a bar is how many shots in {ranges.width()} {unit}")
    return _Drawn(rows, tuple(marks), tuple(table), f" {told}", "how many shots in each bar", "Shots", told)


def shot_lanes(shots: Sequence[ShotMark], scale: LinearScale) -> tuple[list[dict[int, int]], set[int]]:
    """For every shot and every outcome level it stands in, a lane where it lies on no other; and who found no such lane.

    Shots that may be either of two outcome levels go first: their lane is then the one at the rear face, and the line that
    joins their squares crosses no other mark.
    """
    taken: dict[int, list[list[float]]] = {}
    found: list[dict[int, int]] = [{} for _ in shots]
    crowded: set[int] = set()
    for n in sorted(range(len(shots)), key=lambda i: (shots[i].outcome_low == shots[i].outcome_high, shots[i].energy_j, i)):
        for outcome in shots[n].levels:
            (lane,), full = lanes([scale.clamped(shots[n].energy_j)], apart=MARK, most=MOST_LANES, taken=taken.setdefault(outcome, []))
            found[n][outcome] = lane
            if full:
                crowded.add(n)
    return found, crowded


def level_rows(lane_of: Sequence[dict[int, int]]) -> Rows:
    """The top and bottom of each outcome level's row, 5 first and each as high as its lanes need; the rear face between 4 and 3."""
    rows: Rows = {}
    top = 13.0
    for outcome in range(5, -1, -1):
        deepest = max((lane[outcome] for lane in lane_of if outcome in lane), default=0)
        rows[outcome] = (top, top + max(ROW_LEAST, (deepest + 1) * LANE + 4.0))
        top = rows[outcome][1] + (FACE_GAP if outcome == FIRST_THROUGH else 0.0)
    return rows


def _shot(shot: ShotMark, scale: LinearScale, rows: Rows, *, lane: dict[int, int], words: str) -> Group:
    """Lanes fill a row from the side of the rear face: upwards in 4 and 5, downwards in 0 to 3."""
    tops = {}
    for outcome in shot.levels:
        above = outcome >= FIRST_THROUGH
        tops[outcome] = rows[outcome][1] - 3.0 - MARK - lane[outcome] * LANE if above else rows[outcome][0] + 3.0 + lane[outcome] * LANE
    return Group(tuple(squares(scale.clamped(shot.energy_j), tops, MARK)), words=words, href=shot.href)


def _shares(bands: Sequence[BandShare], axis: EnergyAxis, share: LinearScale) -> list[Mark]:
    ends = [Text("all", 0.0, share.end + 5), Text("none", 0.0, share.start + 4)]
    return [*ends, *(mark for band in bands for mark in _band(band, axis, share))]


def _band(band: BandShare, axis: EnergyAxis, share: LinearScale) -> list[Mark]:
    """Grey where the share may lie, and one or two bars for how many did."""
    left, right = axis.scale.clamped(band.low_j), axis.scale.clamped(band.high_j)
    middle, wide = (left + right) / 2, min(30.0, max(4.0, right - left - 4.0))
    marks: list[Mark] = []
    if band.share.interval:
        (low, high), reach = map(share, band.share.interval), min(22.0, wide * 0.75)
        marks.append(Rect(middle - reach / 2, high, reach, low - high, "chart__reach"))
    return marks + [level(middle - wide / 2, middle + wide / 2, share(part), "chart__cell") for part in band.share.parts]


def _said(shot: ShotMark, scale: LinearScale, outcome_words: Sequence[str], unit: str) -> str:
    off_axis = "" if scale.low <= shot.energy_j <= scale.high else "beyond the end of this axis"
    return ", ".join(filter(None, (f"{shot.label}: {energy_text(shot)} {unit}", shot.outcome(outcome_words), shot.note, off_axis)))


def _words(name: str, shots: Sequence[ShotMark], bands: Sequence[BandShare], how: str, *, unit: str, through_words: str) -> str:
    if not shots and not any(band.share.shots for band in bands):
        return f"{name}: no shots to show."
    of_bands = []
    for band in bands:
        through = f" {through_words}" if band.share.shots else ""
        of_bands.append(f"{band_text(band.low_j, band.high_j)} {unit}: {band.share.words}{through}")
    return f"{name}, {many(len(shots), 'shot')}." + (f" {'; '.join(of_bands)}." if bands else "") + how


def _band_row(band: BandShare, shots: Sequence[ShotMark], outcome_words: Sequence[str]) -> tuple[str, ...]:
    inside = [(shot.outcome_low, shot.outcome_high) for shot in shots if band.low_j <= shot.energy_j < band.high_j]
    interval = "not worked out" if band.share.shots and not band.share.interval else band.share.interval_words
    return (band_text(band.low_j, band.high_j), counts_text(inside, outcome_words) or "none", band.share.words, interval)
