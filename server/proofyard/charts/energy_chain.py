"""One range of energy from the bow to the armour: it leaves, it arrives, and it falls across the 50 % energy of every head.

The grey band is the energy at the target with its range; a head whose bar lies left of it lets more than half through.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.axes import numbers
from proofyard.charts.figure import WIDTH, Circle, Figure, Mark, Path, Rect, Text, hidden, level, path, upright
from proofyard.charts.group_rows import GroupRow, drawn_rows
from proofyard.charts.scale import LinearScale
from proofyard.quantities import from_si, to_si

LEFT, RIGHT = 16.0, 318.0
BAR, ROW_END, CAP, ARROW = 8.0, 10.0, 4.0, 4.0


@dataclass(frozen=True)
class EnergyRow:
    """One line: an energy with its ends (None: not bounded), and what stands at its right. `energy_j` None: no figure.

    way  a step of the arrow's way, drawn as a thick bar; else a head's 50 % energy
    """

    words: str
    beside: str
    said: str
    energy_j: float | None
    low_j: float | None
    high_j: float | None
    way: bool = False
    heading: str = ""
    glyph: str = ""
    href: str = ""


def draw_energy_chain(
    name: str,
    rows: Sequence[EnergyRow],
    *,
    band_j: tuple[float, float, float],
    unit: str,
    words: str,
    columns: tuple[str, ...],
    table: Sequence[tuple[str, ...]],
) -> Figure:
    """`band_j`: low end, value and high end of the energy at the target; `unit` of energy as the reader has it."""
    if not rows:
        raise ValueError("there is nothing to draw without a line")
    scale, ticks = _axis(rows, band_j, unit)
    by_name = {(one.heading, one.words): one for one in rows}
    asked = [GroupRow(words=one.words, heading=one.heading, glyph=one.glyph, href=one.href) for one in rows]
    headings, drawn, end = drawn_rows(
        asked,
        count=lambda row: by_name[row.heading, row.words].beside,
        said=lambda row: by_name[row.heading, row.words].said,
        marks=lambda row, base: _bar(by_name[row.heading, row.words], base, scale),
    )
    low, value, high = (scale.clamped(one) for one in band_j)
    return Figure(
        title=name,
        words=words,
        height=end + 42.0,
        marks=(
            hidden(
                [
                    Rect(low, 0.0, high - low, end, "chart__band"),
                    upright(value, 0.0, end, "chart__hair"),
                    *(upright(at, 0.0, end, "chart__hair") for _, at in ticks),
                    level(LEFT, RIGHT, end, "chart__axis"),
                    *headings,
                    *(Text(text, at, end + 18.0, anchor="middle") for text, at in ticks),
                    Text(f"energy, {unit}", WIDTH, end + 36.0, anchor="end"),
                ]
            ),
            *drawn,
        ),
        columns=columns,
        rows=tuple(table),
        key=(
            "Thick bars: the arrow’s energy with its 95\N{NO-BREAK SPACE}% range; grey, all the way down: at the target. "
            "Dots: 50\N{NO-BREAK SPACE}% energies with their intervals; an arrow is a side that the shots don’t bound. "
            "A dot left of the grey: more than half of such shots; right of it: fewer."
        ),
        x=scale,
    )


def _axis(rows: Sequence[EnergyRow], band_j: tuple[float, float, float], unit: str) -> tuple[LinearScale, list[tuple[str, float]]]:
    """Every figure and the whole band; an interval that runs far off is shown to run off."""
    middles = [one.energy_j for one in rows if one.energy_j is not None] + list(band_j)
    ends = [end for one in rows for end in (one.low_j, one.high_j) if end is not None and end <= 1.5 * max(middles)]
    low, high = 0.85 * min(*middles, *ends), 1.05 * max(*middles, *ends)
    scale = LinearScale(low, high, LEFT, RIGHT)
    return scale, [(text, scale(to_si(value, unit))) for text, value in numbers(from_si(low, unit), from_si(high, unit))]


def _bar(one: EnergyRow, base: float, scale: LinearScale) -> tuple[list[Mark], float]:
    y = base + 4.0 + BAR / 2
    after = y + BAR / 2 + ROW_END
    if one.energy_j is None:
        return [], base + ROW_END
    left = LEFT if one.low_j is None else scale.clamped(one.low_j)
    right = RIGHT if one.high_j is None else scale.clamped(one.high_j)
    if one.way:
        return [
            Rect(left, y - BAR / 2, right - left, BAR, "chart__reach"),
            upright(scale(one.energy_j), y - 6, y + 6, "chart__cell"),
        ], after
    ends = [
        *_end(left, y, way=1, is_open=one.low_j is None or one.low_j < scale.low),
        *_end(right, y, way=-1, is_open=one.high_j is None or one.high_j > scale.high),
    ]
    return [level(left, right, y, "chart__axis"), *ends, Circle(scale(one.energy_j), y, 4.5, "chart__dot")], after


def _end(x: float, y: float, *, way: int, is_open: bool) -> list[Mark]:
    """A cap, or an arrow that points on; `way`: 1 at the lower end, -1 at the upper."""
    if not is_open:
        return [upright(x, y - CAP, y + CAP, "chart__axis")]
    return [Path(path([(x + way * ARROW, y - ARROW), (x, y), (x + way * ARROW, y + ARROW)]), "chart__axis")]
