"""How far points went past the rear face, by energy: a strip a head, all on one scale of energy and one of depth.

The heavy line is the rear face. Over it a full mark is a depth that was measured, an open arrow one that was at least
that deep. On the line of question marks stand shots that were behind, or may have been, with no depth written down.
Under the face a short stroke is a shot that was not through. Of more shots than can be seen a mark is all those of a range of
energy and of depth, and the larger the more.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.axes import EnergyAxis, Ticks, energy_axis, numbers, ruled
from proofyard.charts.binned import MOST_MARKS, Ranges, said_of_all
from proofyard.charts.figure import COUNT, Circle, Figure, Group, Mark, Path, Text, hidden, level, many, tenth, upright
from proofyard.charts.outcome_marks import HEAD, head_glyph
from proofyard.charts.outcome_words import FIRST_THROUGH, ShotMark, check_words, in_order, outcome_text, share_text
from proofyard.charts.scale import LinearScale, number_text
from proofyard.charts.text_room import text_width
from proofyard.quantities import from_si

LEFT, RIGHT = 40.0, 322.0
TITLE = 26.0
UNKNOWN = 20.0
PLOT = 92.0
STOPPED = 20.0
BETWEEN = 12.0
DEPTHS = 12  # ranges of depth, as high as a mark
CELLS = {"unknown": "not measured", "maybe": "perhaps through, not measured", "stopped": "not through"}
KEYS = {
    "measured": "Full mark: depth measured.",
    "at_least": "Arrow: at least so deep, from its foot up.",
    "unknown": "Ring: through, depth not measured.",
    "maybe": "Dashed ring: perhaps through.",
    "stopped": "Stroke under the line: not through.",
}


@dataclass(frozen=True)
class DepthGroup:
    words: str
    marks: Sequence[ShotMark]
    glyph: str = ""

    @property
    def count(self) -> str:
        """ "4 of 9 through", "4 or 5 of 9 through"."""
        low = sum(mark.outcome_low >= FIRST_THROUGH for mark in self.marks)
        high = sum(mark.outcome_high >= FIRST_THROUGH for mark in self.marks)
        return share_text(low, high, len(self.marks)) + (" through" if self.marks else "")


@dataclass(frozen=True)
class _Plot:
    """What all strips share: both scales, the words, and whether any shot needs the line of question marks."""

    axis: EnergyAxis
    deepest: float
    numbers: Ticks
    unknown: bool
    outcome_words: Sequence[str]
    unit: str
    depth_unit: str
    crowded: bool

    @property
    def energies(self) -> Ranges:
        return Ranges.of(self.axis.scale)

    @property
    def depths(self) -> Ranges:
        return Ranges.of(LinearScale(0.0, self.deepest, 0.0, 1.0), DEPTHS)

    def cell(self, mark: ShotMark) -> tuple[str, int, int]:
        """How it is drawn, in which range of energy, and in which of depth (-1: in none)."""
        sort = sort_of(mark)
        deep = mark.depth_m is not None and sort != "stopped"
        return sort, self.energies.at(mark.energy_j), self.depths.at(from_si(mark.depth_m or 0.0, self.depth_unit)) if deep else -1

    def cell_said(self, cell: tuple[str, int, int]) -> tuple[str, str]:
        """Its energies and its depths, in words."""
        sort, energy, depth = cell
        least = "≥ " if sort == "at_least" else ""
        return self.energies.words(energy), least + self.depths.words(depth) if depth >= 0 else CELLS[sort]

    def energy(self, mark: ShotMark) -> str:
        return number_text(mark.energy_j, 0 if mark.energy_j >= 10 else 1)

    def depth(self, mark: ShotMark) -> str:
        sort = sort_of(mark)
        if mark.depth_m is None or sort == "stopped":
            return "not through" if sort == "stopped" else "not measured"
        value = number_text(from_si(mark.depth_m, self.depth_unit), 2 if self.depth_unit == "in" else 0)
        return f"≥ {value}" if mark.at_least else value

    def said(self, mark: ShotMark) -> str:
        said = f"{mark.label}: {self.energy(mark)} {self.unit}, {mark.outcome(self.outcome_words)}"
        if sort_of(mark) == "stopped":
            return said
        return f"{said}, {'depth not measured' if mark.depth_m is None else f'{self.depth(mark)} {self.depth_unit} past the rear face'}"


def sort_of(mark: ShotMark) -> str:
    """How it is drawn: measured, at_least, unknown, maybe (perhaps behind, no depth), or stopped."""
    if mark.outcome_high < FIRST_THROUGH:
        return "stopped"
    if mark.depth_m is None:
        return "unknown" if mark.outcome_low >= FIRST_THROUGH else "maybe"
    return "at_least" if mark.at_least else "measured"


def depth_by_energy(
    name: str,
    groups: Sequence[DepthGroup],
    *,
    outcome_words: Sequence[str],
    edges: Sequence[float] = (),
    axis_words: str = "energy",
    unit: str = "J",
    depth_unit: str = "mm",
) -> Figure:
    """The whole drawing. `edges`: those of the energy bands, in the axis' unit; depths come in SI."""
    check_words(outcome_words)
    shots = [mark for group in groups for mark in group.marks]
    bands = list(zip(edges, edges[1:], strict=False))
    axis = energy_axis([mark.energy_j for mark in shots], bands, start=LEFT, end=RIGHT, unit=unit)
    # The deepest that is drawn, with air over it.
    depths = [from_si(mark.depth_m, depth_unit) for mark in shots if mark.depth_m is not None]
    deepest = max(depths, default=0.0) * 1.12 or from_si(0.05, depth_unit)
    sorts = {sort_of(mark) for mark in shots}
    plot = _Plot(
        axis,
        deepest,
        numbers(0.0, deepest, 3),
        bool(sorts & {"unknown", "maybe"}),
        outcome_words,
        unit,
        depth_unit,
        len(shots) > MOST_MARKS,
    )
    strips: list[Mark] = []
    y = 18.0
    for group in groups:
        marks, bottom = _strip(group, y, plot)
        strips += marks
        y = bottom + BETWEEN
    bottom = y - BETWEEN
    far = f"ast the rear face, {depth_unit}"
    under = [*axis.labels(bottom + 18.0), Text(f"{axis_words}, {unit}", RIGHT + 14, bottom + 38, anchor="end")]
    return Figure(
        title=f"{name}: depth past the rear face by {axis_words}",
        words=_words(name, groups, plot),
        height=bottom + 44.0,
        marks=(hidden([Text(f"p{far}", 0.0, 13.0)]), *strips, hidden(under)) if shots else (),
        columns=("Head", "Shots" if plot.crowded else "Shot", f"{axis_words.capitalize()}, {unit}", f"P{far}", "Outcome level"),
        rows=tuple(row for group in groups for row in (_cell_rows if plot.crowded else _shot_rows)(group, plot)),
        key=_key(shots, sorts, plot),
        x=axis.scale,
    )


def _key(shots: Sequence[ShotMark], sorts: set[str], plot: _Plot) -> str:
    """How the drawing is read; only what is in it."""
    crowd = [_crowd_said(shots, plot)] if plot.crowded else []
    return " ".join(
        ["Beside each name: how many were through. Heavy line: the rear face.", *(KEYS[one] for one in KEYS if one in sorts), *crowd]
    )


def _shot_rows(group: DepthGroup, plot: _Plot) -> list[tuple[str, ...]]:
    return [
        (group.words, mark.label, plot.energy(mark), plot.depth(mark), mark.outcome(plot.outcome_words)) for mark in in_order(group.marks)
    ]


def _cell_rows(group: DepthGroup, plot: _Plot) -> list[tuple[str, ...]]:
    """A line for every mark and outcome level in it."""
    counts = Counter((plot.cell(mark), mark.outcome_low, mark.outcome_high) for mark in group.marks)
    return [
        (group.words, str(counts[key]), *plot.cell_said(key[0]), outcome_text(key[1], key[2], plot.outcome_words)) for key in sorted(counts)
    ]


def _crowd_said(shots: Sequence[ShotMark], plot: _Plot) -> str:
    each = f"{plot.energies.width()} {plot.unit} and {plot.depths.width()} {plot.depth_unit}"
    return said_of_all(len(shots), f"a mark is all shots in {each}, the larger the more")


def _words(name: str, groups: Sequence[DepthGroup], plot: _Plot) -> str:
    if not any(group.marks for group in groups):
        return f"{name}: no shots to show."
    if plot.crowded:
        shots = [mark for group in groups for mark in group.marks]
        return f"{'. '.join(f'{group.words}: {group.count}' for group in groups)}. {_crowd_said(shots, plot)}"
    said = []
    for group in groups:
        each = "; ".join(plot.said(mark) for mark in in_order(group.marks) if sort_of(mark) != "stopped")
        said.append(f"{group.words}: {group.count}" + (f". {each}" if each else ""))
    return ". ".join(said) + "."


def _strip(group: DepthGroup, top: float, plot: _Plot) -> tuple[list[Mark], float]:
    """One head's strip, and where it ends."""
    unknown = top + TITLE + UNKNOWN / 2
    plot_top = top + TITLE + (UNKNOWN + 6.0 if plot.unknown else 0.0)
    face = plot_top + PLOT
    scale = LinearScale(0.0, plot.deepest, face, plot_top)
    under: list[Mark] = [
        *plot.axis.hairs(plot_top, face + STOPPED),
        *head_glyph(group.glyph, top + 3.0),
        Text(group.words, HEAD + 6 if group.glyph else 0.0, top + 14.0, "chart__count"),
        Text(_count_that_fits(group), RIGHT + 14, top + 14.0, anchor="end"),
        *(ruled([("?", unknown)], LEFT, RIGHT, gap=8.0) if plot.unknown else ()),
        *ruled([(text, scale(value)) for text, value in plot.numbers], LEFT, RIGHT, gap=8.0),
        level(LEFT - 4, RIGHT + 4, face, "chart__face"),
    ]
    if plot.crowded:
        return [hidden(under), *_crowd(group, plot, face=face, unknown=unknown, scale=scale)], face + STOPPED
    drawn = []
    for mark in in_order(group.marks):
        sort = sort_of(mark)
        y = face + STOPPED / 2 if sort == "stopped" else unknown if mark.depth_m is None else scale(from_si(mark.depth_m, plot.depth_unit))
        shape = _shape(sort, plot.axis.scale.clamped(mark.energy_j), y)
        drawn.append(Group((shape,), words=plot.said(mark), href=mark.href))
    return [hidden(under), *drawn], face + STOPPED


def _crowd(group: DepthGroup, plot: _Plot, *, face: float, unknown: float, scale: LinearScale) -> list[Mark]:
    """A mark for each cell that holds a shot: its area grows with how many it holds."""
    counts = Counter(plot.cell(mark) for mark in group.marks)
    most = max(counts.values(), default=1)
    drawn: list[Mark] = []
    for cell in sorted(counts):
        sort, energy, depth = cell
        x = sum(plot.axis.scale.clamped(end) for end in plot.energies.ends(energy)) / 2
        middle = sum(plot.depths.ends(depth)) / 2
        y = face + STOPPED / 2 if sort == "stopped" else unknown if depth < 0 else scale.clamped(middle)
        energies, depths = plot.cell_said(cell)
        far = f"{depths} {plot.depth_unit} past the rear face" if depth >= 0 else depths
        words = f"{energies} {plot.unit}, {far}: {many(counts[cell], 'shot')}"
        drawn.append(Group((_shape(sort, x, y, math.sqrt(counts[cell] / most)),), words=words))
    return drawn


def _shape(sort: str, x: float, y: float, size: float = 1.0) -> Mark:
    """size: 1 for one shot; of many less, as their share of the fullest mark asks, and never too small to be seen."""
    if sort == "stopped":
        return upright(x, y - 2 - 4 * size, y + 2 + 4 * size, "chart__axis")
    if sort == "at_least":
        return Path(f"M{tenth(x):g} {tenth(y - 13):g}l6 8h-4v5h-4v-5h-4z", "chart__dot chart__dot--open")
    open_too = {"unknown": " chart__dot--open", "maybe": " chart__dot--open chart__dot--maybe"}.get(sort, "")
    return Circle(x, y, 1.5 + 3.5 * size, f"chart__dot{open_too}")


def _count_that_fits(group: DepthGroup) -> str:
    """A long name and a long count stand on one line of a phone: then the count goes without its last word, which the key says."""
    room = RIGHT + 14.0 - (HEAD + 6.0 if group.glyph else 0.0) - 8.0
    fits = text_width(group.words, COUNT, bold=True) + text_width(group.count, COUNT) <= room
    return group.count if fits else group.count.removesuffix(" through")
