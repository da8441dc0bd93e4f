"""How far tips stood behind the rear face, by energy: a strip a head, all on one scale of energy and one of depth.

The heavy line is the rear face. Over it a full mark is a depth that was measured, an open arrow one that was at least
that deep. On the line of question marks stand shots that were behind, or may have been, with no depth written down.
Under the face a short stroke is a shot that stood behind with nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.energy_axis import AxisLabel, energy_axis
from server.charts.scale import LinearScale, decimals_for, nice_ticks, number_text
from server.quantities import from_si

WIDTH = 340.0
LEFT, RIGHT = 40.0, 322.0
TITLE = 26.0
UNKNOWN = 20.0
PLOT = 92.0
STOPPED = 20.0
BETWEEN = 12.0
FIRST_BEHIND = 4
KEYS = {
    "measured": "Full mark: depth measured.",
    "at_least": "Arrow: at least so deep, from its foot up.",
    "unknown": "Ring: behind, depth not measured.",
    "maybe": "Dashed ring: perhaps behind.",
    "stopped": "Stroke under the line: nothing stood behind.",
}


@dataclass(frozen=True)
class DepthMark:
    """One shot. `depth_m` None: nobody wrote one down; `at_least`: it was no less than that."""

    label: str
    href: str
    energy_j: float
    depth_m: float | None
    at_least: bool
    rung_low: int
    rung_high: int

    def __post_init__(self) -> None:
        if not (math.isfinite(self.energy_j) and self.energy_j >= 0):
            raise ValueError(f"{self.label}: an energy is 0 or more, not {self.energy_j}")
        if self.depth_m is not None and not (math.isfinite(self.depth_m) and self.depth_m >= 0):
            raise ValueError(f"{self.label}: a depth is 0 or more, not {self.depth_m}")
        if not 0 <= self.rung_low <= self.rung_high <= 5:
            raise ValueError(f"{self.label}: rungs go from 0 to 5, low one first")

    @property
    def sort(self) -> str:
        """How it is drawn: measured, at_least, unknown, maybe (perhaps behind, no depth), or stopped."""
        if self.rung_high < FIRST_BEHIND:
            return "stopped"
        if self.depth_m is None:
            return "unknown" if self.rung_low >= FIRST_BEHIND else "maybe"
        return "at_least" if self.at_least else "measured"


@dataclass(frozen=True)
class DepthGroup:
    words: str
    marks: Sequence[DepthMark]
    glyph: str = ""


@dataclass(frozen=True)
class DrawnDepth:
    x: float
    y: float
    sort: str
    words: str
    href: str


@dataclass(frozen=True)
class DepthTick:
    text: str
    y: float


@dataclass(frozen=True)
class DrawnStrip:
    """One head's strip. `unknown_y`: height of the line of question marks, None where no head needs one."""

    words: str
    glyph: str
    count: str
    title_y: float
    glyph_y: float
    unknown_y: float | None
    top: float
    face_y: float
    bottom: float
    ticks: tuple[DepthTick, ...]
    marks: tuple[DrawnDepth, ...]


@dataclass(frozen=True)
class DepthByEnergy:
    width: float
    height: float
    left: float
    right: float
    strips: tuple[DrawnStrip, ...]
    edges: tuple[float, ...]
    energy_ticks: tuple[AxisLabel, ...]
    depth_words: str
    energy_words: str
    key: str
    title: str
    words: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def depth_by_energy(
    name: str,
    groups: Sequence[DepthGroup],
    *,
    rung_words: Sequence[str],
    edges: Sequence[float] = (),
    axis_words: str = "energy",
    unit: str = "J",
    depth_unit: str = "mm",
) -> DepthByEnergy:
    """The whole picture. `edges`: those of the energy bands, in the axis' unit; depths come in SI."""
    if len(rung_words) != 6:
        raise ValueError("there are six rungs, so six words")
    marks = [mark for group in groups for mark in group.marks]
    bands = list(zip(edges, edges[1:], strict=False))
    axis = energy_axis([mark.energy_j for mark in marks], bands, start=LEFT, end=RIGHT, unit=unit)
    depths = [from_si(mark.depth_m, depth_unit) for mark in marks if mark.depth_m is not None]
    deepest, ticks = _depths(depths, depth_unit)
    unknown = any(mark.sort in ("unknown", "maybe") for mark in marks)
    words = _Wording(rung_words, unit, depth_unit)
    strips: list[DrawnStrip] = []
    y = 18.0
    for group in groups:
        strips.append(_strip(group, y, axis=axis.scale, deepest=deepest, ticks=ticks, unknown=unknown, words=words))
        y = strips[-1].bottom + BETWEEN
    bottom = strips[-1].bottom if strips else 20.0
    return DepthByEnergy(
        width=WIDTH, height=round(bottom + 44.0, 1), left=LEFT, right=RIGHT, strips=tuple(strips),
        edges=axis.inner_edges, energy_ticks=tuple(tick.on_line(bottom + 18.0, 0.0) for tick in axis.ticks),
        depth_words=f"past the rear face, {depth_unit}", energy_words=f"{axis_words}, {unit}", key=_key({mark.sort for mark in marks}),
        title=f"{name}: depth behind the rear face by {axis_words}", words=words.all(name, groups),
        columns=("Head", "Shot", f"{axis_words.capitalize()}, {unit}", f"Past the rear face, {depth_unit}", "Rung"),
        rows=tuple(words.row(group, mark) for group in groups for mark in _in_order(group.marks)),
    )  # fmt: skip


def _key(sorts: set[str]) -> str:
    """How the picture is read; only what is in it."""
    return " ".join(["Heavy line: the rear face.", *(words for sort, words in KEYS.items() if sort in sorts)])


def _depths(depths: Sequence[float], depth_unit: str) -> tuple[float, tuple[tuple[str, float], ...]]:
    """The deepest that is drawn, with air over it, and the numbers beside the scale; all in the reader's unit."""
    deepest = max(depths, default=0.0) * 1.12 or from_si(0.05, depth_unit)
    values = nice_ticks(0.0, deepest, 3)
    places = decimals_for(values[1] - values[0]) if len(values) > 1 else 0
    return deepest, tuple((number_text(value, places), value) for value in values)


def _strip(
    group: DepthGroup, top: float, *, axis: LinearScale, deepest: float, ticks: Sequence[tuple[str, float]], unknown: bool, words: _Wording
) -> DrawnStrip:
    unknown_y = round(top + TITLE + UNKNOWN / 2, 1) if unknown else None
    plot_top = top + TITLE + (UNKNOWN + 6.0 if unknown else 0.0)
    face = round(plot_top + PLOT, 1)
    scale = LinearScale(0.0, deepest, face, plot_top)
    drawn = []
    for mark in _in_order(group.marks):
        if mark.sort == "stopped":
            y = face + STOPPED / 2
        elif mark.depth_m is None:
            y = unknown_y or plot_top
        else:
            y = scale(from_si(mark.depth_m, words.depth_unit))
        drawn.append(DrawnDepth(round(axis.clamped(mark.energy_j), 1), round(y, 1), mark.sort, words.mark(mark), mark.href))
    return DrawnStrip(
        words=group.words, glyph=group.glyph, count=words.count(group), title_y=round(top + 14.0, 1), glyph_y=round(top + 3.0, 1),
        unknown_y=unknown_y, top=round(plot_top, 1), face_y=face, bottom=round(face + STOPPED, 1),
        ticks=tuple(DepthTick(text, round(scale(value), 1)) for text, value in ticks), marks=tuple(drawn),
    )  # fmt: skip


def _in_order(marks: Sequence[DepthMark]) -> list[DepthMark]:
    return sorted(marks, key=lambda mark: (mark.energy_j, mark.label))


@dataclass(frozen=True)
class _Wording:
    rung_words: Sequence[str]
    unit: str
    depth_unit: str

    def energy(self, mark: DepthMark) -> str:
        return number_text(mark.energy_j, 0 if mark.energy_j >= 10 else 1)

    def depth(self, mark: DepthMark) -> str:
        if mark.depth_m is None:
            return "not measured" if mark.sort in ("unknown", "maybe") else "nothing behind"
        if mark.sort == "stopped":
            return "nothing behind"
        value = from_si(mark.depth_m, self.depth_unit)
        return ("≥ " if mark.at_least else "") + number_text(value, 2 if self.depth_unit == "in" else 0)

    def rung(self, mark: DepthMark) -> str:
        low, high = self.rung_words[mark.rung_low].lower(), self.rung_words[mark.rung_high].lower()
        return low if mark.rung_low == mark.rung_high else f"{low} {'or' if mark.rung_high - mark.rung_low == 1 else 'to'} {high}"

    def mark(self, mark: DepthMark) -> str:
        depth = self.depth(mark)
        if mark.sort == "stopped":
            return f"{mark.label}: {self.energy(mark)} {self.unit}, {self.rung(mark)}"
        far = f"{depth} {self.depth_unit} behind" if mark.depth_m is not None else "depth not measured"
        return f"{mark.label}: {self.energy(mark)} {self.unit}, {self.rung(mark)}, {far}"

    def count(self, group: DepthGroup) -> str:
        """ "4 of 9 behind", "4 or 5 of 9 behind"."""
        high = sum(mark.rung_high >= FIRST_BEHIND for mark in group.marks)
        low = sum(mark.rung_low >= FIRST_BEHIND for mark in group.marks)
        many = str(low) if low == high else f"{low} {'or' if high - low == 1 else 'to'} {high}"
        return f"{many} of {len(group.marks)} behind" if group.marks else "none shot"

    def all(self, name: str, groups: Sequence[DepthGroup]) -> str:
        if not any(group.marks for group in groups):
            return f"{name}: no shots to show."
        said = []
        for group in groups:
            behind = [mark for mark in _in_order(group.marks) if mark.sort != "stopped"]
            each = "; ".join(map(self.mark, behind))
            said.append(f"{group.words}: {self.count(group)}" + (f". {each}" if each else ""))
        return ". ".join(said) + "."

    def row(self, group: DepthGroup, mark: DepthMark) -> tuple[str, ...]:
        return (group.words, mark.label, self.energy(mark), self.depth(mark), self.rung(mark))
