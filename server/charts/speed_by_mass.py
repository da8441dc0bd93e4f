"""Speed against arrow mass, one mark an arrow, and the line that the bow's virtual mass makes of them.

Between the lightest and the heaviest arrow that were shot the line is drawn through; beyond them it is dashed, since
nothing was measured there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.two_axes import BOTTOM, LEFT, RIGHT, TOP, Frame, frame_of, path, place
from server.quantities import Uncertain, written, written_with_uncertainty


@dataclass(frozen=True)
class ArrowMark:
    """One arrow that was shot. `readings`: how many speeds its mean rests on."""

    label: str
    href: str
    mass_kg: float
    speed: Uncertain
    readings: int


@dataclass(frozen=True)
class FitPoint:
    """One point of the line, with the uncertainty of it where that is known."""

    mass_kg: float
    speed_m_s: float
    u_m_s: float | None
    inside: bool


@dataclass(frozen=True)
class DrawnArrow:
    """`bar`: from where to where its uncertainty reaches, None where it isn't known."""

    x: float
    y: float
    bar: tuple[float, float] | None
    words: str
    href: str


@dataclass(frozen=True)
class SpeedByMass:
    """`asked`: the arrow that is asked about, where the line puts it; dashed where its mass is outside."""

    frame: Frame
    arrows: tuple[DrawnArrow, ...]
    line: str
    beyond: tuple[str, ...]
    reach: str
    asked: DrawnArrow | None
    asked_inside: bool
    title: str
    words: str


def draw_speed_by_mass(
    name: str,
    arrows: Sequence[ArrowMark],
    fit: Sequence[FitPoint],
    *,
    mass_unit: str,
    speed_unit: str,
    fit_words: str,
    asked: tuple[float, Uncertain, bool] | None = None,
) -> SpeedByMass:
    """`fit` in order of mass, or empty where there is no line; then `fit_words` say why. `asked`: mass, speed, inside."""
    if not arrows:
        raise ValueError("there is nothing to draw without an arrow")
    masses = [one.mass_kg for one in arrows] + [one.mass_kg for one in fit] + ([asked[0]] if asked else [])
    speeds = [end for one in arrows for end in _ends(one.speed)] + [one.speed_m_s for one in fit]
    speeds += list(_ends(asked[1])) if asked else []
    frame = frame_of(masses, speeds, x_name="Arrow mass", y_name="Speed", x_unit=mass_unit, y_unit=speed_unit)
    spots = [(frame.x(one.mass_kg), frame.y(one.speed_m_s), one.inside) for one in fit]
    inside = [(x, y) for x, y, held in spots if held]
    before = [(x, y) for x, y, held in spots if not held and inside and x < inside[0][0]] + inside[:1]
    after = inside[-1:] + [(x, y) for x, y, held in spots if not held and inside and x > inside[-1][0]]
    drawn = tuple(_arrow(one, frame, mass_unit, speed_unit=speed_unit) for one in arrows)
    return SpeedByMass(
        frame=frame,
        arrows=drawn,
        line=path(inside) if len(inside) > 1 else "",
        beyond=tuple(path(some) for some in (before, after) if len(some) > 1),
        reach=_reach(fit, frame),
        asked=None if asked is None else _asked(asked, frame, mass_unit, speed_unit=speed_unit),
        asked_inside=bool(asked and asked[2]),
        title=f"{name}: speed against arrow mass",
        words=f"{'; '.join(one.words for one in drawn)}. {fit_words}",
    )


def _ends(speed: Uncertain) -> tuple[float, float]:
    u = speed.standard_uncertainty or 0.0
    return speed.value - u, speed.value + u


def _arrow(one: ArrowMark, frame: Frame, mass_unit: str, *, speed_unit: str) -> DrawnArrow:
    many = "1 reading" if one.readings == 1 else f"{one.readings} readings"
    said = f"{one.label}, {written(one.mass_kg, mass_unit)}: {written_with_uncertainty(one.speed, speed_unit, figures=3)}, {many}"
    return _mark(one.mass_kg, one.speed, frame, words=said, href=one.href)


def _asked(asked: tuple[float, Uncertain, bool], frame: Frame, mass_unit: str, *, speed_unit: str) -> DrawnArrow:
    mass, speed, inside = asked
    where = "inside the masses that were shot" if inside else "outside the masses that were shot"
    said = f"Expected of {written(mass, mass_unit)}: {written_with_uncertainty(speed, speed_unit, figures=3)}, {where}"
    return _mark(mass, speed, frame, words=said, href="")


def _mark(mass: float, speed: Uncertain, frame: Frame, *, words: str, href: str) -> DrawnArrow:
    bar = None
    if speed.standard_uncertainty:
        low, high = _ends(speed)
        bar = (place(frame.y(high)), place(frame.y(low)))
    return DrawnArrow(place(frame.x(mass)), place(frame.y(speed.value)), bar, words, href)


def _reach(fit: Sequence[FitPoint], frame: Frame) -> str:
    """Where the line may lie, one standard uncertainty either way, kept inside the picture."""
    known = [one for one in fit if one.u_m_s is not None]
    if len(known) < 2:
        return ""

    def spot(one: FitPoint, sign: int) -> tuple[float, float]:
        y = frame.y(one.speed_m_s + sign * (one.u_m_s or 0.0))
        return min(max(frame.x(one.mass_kg), LEFT), RIGHT), min(max(y, TOP), BOTTOM)

    return path([spot(one, 1) for one in known] + [spot(one, -1) for one in reversed(known)]) + "Z"
