"""One head form's shots: how far each got, by energy, and under it the share per band.

Outcome levels are rows, 0 at the bottom, and the rear face is a heavy line between 3 and 4. A shot stands at its own energy,
always: marks that would lie on each other go above each other (the row grows), never sideways, because sideways
would be another energy.
"""

from __future__ import annotations

from collections.abc import Sequence

from proofyard.charts.axes import EnergyAxis, energy_axis
from proofyard.charts.curves import CurveShape, curve_marks
from proofyard.charts.figure import COUNT, WIDTH, Figure, Glyph, Group, Mark, Rect, Table, Text, hidden, level, many
from proofyard.charts.outcome_marks import lanes, squares
from proofyard.charts.outcome_words import FIRST_THROUGH, BandShare, ShotMark, band_text, check_words, counts_text, energy_text, in_order
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
    lane_of, crowded = shot_lanes(shots, axis.scale)
    rows = level_rows(lane_of)
    wanted = [(band.share.words, axis.middle(*end)) for band, end in zip(ordered, ends, strict=True)]
    counts = apart(wanted, size=COUNT, bold=True, room=(0.0, WIDTH), most_lines=5)
    top = rows[0][1] + 29.0 + COUNT_LINE * max((line for *_, line in counts), default=0)
    share = LinearScale(0.0, 1.0, top + SHARE_HEIGHT, top)
    band, over = curve_marks(curve, axis.scale, share, beyond=False) if curve else ((), ())
    counted = [Text(text, at, top - 10.0 - COUNT_LINE * line, "chart__count", "middle") for text, at, line in counts]
    face = rows[FIRST_THROUGH][1] + FACE_GAP / 2
    told = [_said(shot, axis.scale, outcome_words, unit) for shot in shots]
    shot_rows = tuple((one.label, energy_text(one), one.outcome(outcome_words)) for one in in_order(shots))
    axis_name = f"{axis_words.capitalize()}, {unit}"
    return Figure(
        title=f"{name}: outcome level and share {through_words}, by {axis_words}",
        words=_words(name, shots, ordered, len(crowded), unit=unit, through_words=through_words) + (f" {curve.words}" if curve else ""),
        height=share.start + 28.0,
        marks=(
            *axis.hairs(8.0, share.start + 8.0),
            level(FACE_LEFT, FACE_RIGHT, face, "chart__face"),
            *(Glyph(f"outcome-{n}", 2.0, (upper + lower - GLYPH) / 2, GLYPH, GLYPH) for n, (upper, lower) in rows.items()),
            *(_shot(one, axis.scale, rows, lane=lane, words=said) for one, lane, said in zip(shots, lane_of, told, strict=True)),
            *band,
            level(PLOT_LEFT, PLOT_RIGHT, share.end, "chart__hair"),
            level(PLOT_LEFT, PLOT_RIGHT, share.start, "chart__axis"),
            hidden([*_shares(ordered, axis, share), *over, *counted, *axis.labels(share.start + 21.0)]),
        ),
        columns=(axis_name, "Each shot", through_words[:1].upper() + through_words[1:], "95\N{NO-BREAK SPACE}% interval, %"),
        rows=tuple(_band_row(one, shots, outcome_words) for one in ordered),
        more=(Table(f"{name}: every shot that is drawn", ("Shot", axis_name, "Outcome level"), shot_rows),),
        x=axis.scale,
        y=share,
    )


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


def _words(name: str, shots: Sequence[ShotMark], bands: Sequence[BandShare], crowded: int, *, unit: str, through_words: str) -> str:
    if not shots and not any(band.share.shots for band in bands):
        return f"{name}: no shots to show."
    of_bands = []
    for band in bands:
        through = f" {through_words}" if band.share.shots else ""
        of_bands.append(f"{band_text(band.low_j, band.high_j)} {unit}: {band.share.words}{through}")
    said = f"{name}, {many(len(shots), 'shot')}." + (f" {'; '.join(of_bands)}." if bands else "")
    return said + (f" {crowded} of the marks lie partly on others." if crowded else "")


def _band_row(band: BandShare, shots: Sequence[ShotMark], outcome_words: Sequence[str]) -> tuple[str, ...]:
    inside = [(shot.outcome_low, shot.outcome_high) for shot in shots if band.low_j <= shot.energy_j < band.high_j]
    interval = "not worked out" if band.share.shots and not band.share.interval else band.share.interval_words
    return (band_text(band.low_j, band.high_j), counts_text(inside, outcome_words) or "none", band.share.words, interval)
