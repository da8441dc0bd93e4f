"""What each blow left in the panel against what it struck with: a stroke from least to most for every shot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.two_axes import Frame, frame_of, place


@dataclass(frozen=True)
class BlowMark:
    """One shot. `words` is what its stroke says; `open_above`: more can have stayed than the greatest here."""

    label: str
    href: str
    words: str
    energy_j: float
    least_j: float
    most_j: float
    open_above: bool


@dataclass(frozen=True)
class DrawnBlow:
    """A stroke from `top` down to `bottom` at `x`; without a cap at its top it goes on."""

    x: float
    top: float
    bottom: float
    words: str
    href: str
    open_above: bool


@dataclass(frozen=True)
class BlowByEnergy:
    frame: Frame
    marks: tuple[DrawnBlow, ...]
    title: str
    words: str


def draw_blows(marks: Sequence[BlowMark], *, unit: str, title: str, words: str) -> BlowByEnergy:
    """`unit`: of both axes, an energy; the upright axis begins at nothing."""
    if not marks:
        raise ValueError("there is nothing to draw without a blow")
    ends = [end for one in marks for end in (one.least_j, one.most_j)]
    frame = frame_of(
        [one.energy_j for one in marks], ends, x_name="Struck with", y_name="Went on in the panel", x_unit=unit, y_unit=unit, y_from_zero=True
    )
    return BlowByEnergy(frame, tuple(_drawn(one, frame) for one in marks), title, words)


def _drawn(one: BlowMark, frame: Frame) -> DrawnBlow:
    top, bottom = place(frame.y(one.most_j)), place(frame.y(one.least_j))
    # A range too narrow to be seen is still a shot that is there.
    if bottom - top < 3:
        top, bottom = place((top + bottom) / 2 - 1.5), place((top + bottom) / 2 + 1.5)
    return DrawnBlow(place(frame.x(one.energy_j)), top, bottom, one.words, one.href, one.open_above)

