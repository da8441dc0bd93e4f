"""The energy that each shot passed to the panel, by its energy at the target: a stroke from least to most for every shot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.axes import Frame, frame_of
from proofyard.charts.binned import MOST_MARKS, Ranges, said_of_all
from proofyard.charts.figure import Figure, Group, Rect, many, upright

KEY = (
    "Each line is a shot that did not get through, from the least to the most energy passed to the panel; a dashed line may "
    "reach higher, because its armour is not rigid. Illustrative: this does not show what anyone could bear."
)


@dataclass(frozen=True)
class BluntMark:
    """One shot. `words` is what its stroke says; `open_above`: more can have stayed than the greatest here."""

    href: str
    words: str
    energy_j: float
    least_j: float
    most_j: float
    open_above: bool


def draw_blunt(marks: Sequence[BluntMark], *, unit: str, title: str, words: str) -> Figure:
    """`unit`: of both axes, an energy; the upright axis begins at nothing."""
    if not marks:
        raise ValueError("there is nothing to draw without a shot")
    frame = frame_of(
        [one.energy_j for one in marks],
        [end for one in marks for end in (one.least_j, one.most_j)],
        x_name="Energy at the target",
        y_name="Passed to the panel",
        x_unit=unit,
        y_unit=unit,
        y_from_zero=True,
    )
    shown, how = (marks, "") if len(marks) <= MOST_MARKS else _together(marks, Ranges.of(frame.x), unit=unit)
    drawn = (frame.axes(), *(_stroke(one, frame) for one in shown))
    return Figure(title, words + how, frame.height, drawn, key=KEY + how, x=frame.x, y=frame.y)


def _together(marks: Sequence[BluntMark], ranges: Ranges, *, unit: str) -> tuple[list[BluntMark], str]:
    """One line for all shots of a range of energy, from the least to the most of any of them; and that it is so, in words."""
    found: dict[int, list[BluntMark]] = {}
    for one in marks:
        found.setdefault(ranges.at(one.energy_j), []).append(one)
    made = []
    for at, some in sorted(found.items()):
        words = f"{ranges.words(at)} {unit}: {many(len(some), 'shot')}"
        middle, least, most = sum(ranges.ends(at)) / 2, min(one.least_j for one in some), max(one.most_j for one in some)
        made.append(BluntMark("", words, middle, least, most, any(one.open_above for one in some)))
    return made, f" {said_of_all(len(marks), f'a line is all shots in {ranges.width()} {unit}')}"


def _stroke(one: BluntMark, frame: Frame) -> Group:
    x, top, bottom = frame.x(one.energy_j), frame.y(one.most_j), frame.y(one.least_j)
    # A range too narrow to be seen is still a shot that is there.
    if bottom - top < 3:
        top, bottom = (top + bottom) / 2 - 1.5, (top + bottom) / 2 + 1.5
    stroke = upright(x, top, bottom, "chart__stroke" + (" chart__stroke--open" if one.open_above else ""))
    return Group((stroke, Rect(x - 6, top - 8, 12.0, bottom - top + 16, "chart__hold")), words=one.words, href=one.href)
