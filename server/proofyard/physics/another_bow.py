"""Speed of an arrow from a bow that was never shot, by the archers' own bows and what bows in print give their arrows.

A bow of draw weight F, drawn over a stroke x, sets E = q F x in motion: the arrow's m and a virtual mass K of limbs and string. q and K
are learnt from the bows that were shot; how far another bow differs from them is part of the answer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from proofyard.physics.bow_needed import MOST_TIMES
from proofyard.physics.virtual_mass import FURTHEST_ABOVE, FURTHEST_BELOW, ArrowSpeed
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, because, must_be_above_zero, must_be_finite_result, must_lie_between, must_not_be_negative

# Bows in print give an arrow 0.4 to 0.8 of what they set in motion: 0.59 to 0.68 (Hickman), 0.42 to 0.77 (Kooi, from memory).
EFFICIENCIES = (0.40, 0.80)
# How far bows of one weight and stroke differ in q, relative, and the degrees of freedom behind that: three bows' efficiencies of
# Hickman, 68, 62 and 67 %, scatter by 5 %; quality times efficiency of four of Kooi's bows by 4.5 % (from memory).
BOWS_DIFFER, BOWS_DIFFER_DOF = 0.05, 5
# Steps over the efficiency and over how limbs get heavier with the draw weight: from not at all (0) to in proportion (1).
_STEPS_OF_EFFICIENCY, _STEPS_OF_LIMBS = 41, 5

Array: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True)
class OwnBow:
    """One bow as one archer shoots it. `bow`: which bow it is, whoever shoots it; two of one name count as one bow."""

    bow: str
    weight_n: float
    stroke_m: float
    arrows: tuple[ArrowSpeed, ...]

    def __post_init__(self) -> None:
        must_be_above_zero("weight_n", self.weight_n)
        must_be_above_zero("stroke_m", self.stroke_m)


@dataclass(frozen=True)
class AnotherBow:
    """Speed of one arrow from a bow that was never shot.

    low_m_s, high_m_s  its 95 % range
    arrow_share        what the arrow gets of the energy that the bow sets in motion, m/(m + K)
    bows, arrows       own bows and arrows that it rests on
    bows_differ        how far the own bows differ in q, relative standard deviation; None with one
    beyond             what lies outside what was shot: "weight", "stroke", "arrow" (its mass for each newton of draw weight)
    """

    speed: Uncertain
    low_m_s: float
    high_m_s: float
    arrow_share: Uncertain
    bows: int
    arrows: int
    bows_differ: float | None
    beyond: tuple[str, ...]


def speed_by_draw_m_s(draw_weight_n: float, stroke_m: float, *, quality: float, arrow_kg: float, virtual_kg: float) -> float:
    """Speed that a bow gives an arrow, from its draw weight and stroke.

    v = sqrt(2 q F x / (m + K))

    Takes
        draw_weight_n  scalar, N, above 0           F, at the archer's draw
        stroke_m       scalar, m, above 0           x, from the string at rest to full draw
        quality        scalar, no unit, above 0 to 1  q, what is set in motion over F x: 0.5 would be a straight force-draw line
                       of which nothing is lost
        arrow_kg       scalar, kg, above 0          m, the whole arrow
        virtual_kg     scalar, kg, 0 or more        K, the bow's virtual mass
    Gives
        scalar, m/s
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        K is the same for arrows of a sensible range of mass
    Source
        As virtual_mass_of_pair, with E written as a share of F x: the static quality of B. W. Kooi, On the Mechanics of the Bow
        and Arrow, 1983 (from memory). Checked in tests/published/test_another_bow.py
    >>> round(speed_by_draw_m_s(700.0, 0.6, quality=0.45, arrow_kg=0.080, virtual_kg=0.035), 2)
    57.33
    """
    for name, value in (("draw_weight_n", draw_weight_n), ("stroke_m", stroke_m), ("quality", quality), ("arrow_kg", arrow_kg)):
        must_be_above_zero(name, value)
    must_lie_between("quality", quality, low=0.0, high=1.0)
    must_not_be_negative("virtual_kg", virtual_kg)
    return must_be_finite_result("speed_by_draw_m_s", math.sqrt(2 * quality * draw_weight_n * stroke_m / (arrow_kg + virtual_kg)))


def speed_of_another_bow(
    own: Sequence[OwnBow], draw_weight_n: float, *, stroke_m: float, arrow_kg: float, speed_scale_u: float = 0.0
) -> AnotherBow | CantTell:
    """Speed to expect of an arrow from a bow that is not in the book.

    v = sqrt(2 q F x / (m + K)), K = m_0 (1/eta - 1) (F/F_0)^p, m_0 and F_0 geometric means of what was shot;
    mean and spread over eta from 0.4 to 0.8 and p from 0 to 1, each as likely as its fit to the speeds within each bow says;
    ln q: mean of the own bows, +- s sqrt(1 + 1/bows), s^2 = (sum of squares of the own + 5 * 0.05^2)/(bows - 1 + 5)

    Takes
        own            array of OwnBow              the bows that were shot, each by each archer
        draw_weight_n  scalar, N, above 0           of the bow asked about
        stroke_m       scalar, m, above 0           from its string at rest to full draw
        arrow_kg       scalar, kg, above 0          the arrow
        speed_scale_u  scalar, no unit, 0 or more   standard uncertainty of the chronograph's factor, common to all
    Gives
        AnotherBow; CantTell without a bow that has arrows, over three times the strongest or under a third of the weakest, or
        for an arrow under half of the lightest or over twice the heaviest for its draw weight. The 95 % range takes Student's t
        on ln v, its degrees of freedom by Welch and Satterthwaite (JCGM 100:2008, G.4.1)
    Refuses
        OutOfRange  what OwnBow and ArrowSpeed refuse, anything asked outside its range or not finite
    Holds while
        the bow is of the make of the own ones; weights and draws were measured alike. Held against bows of known truth in
        tests/physics/test_another_bow_holds.py
    Source
        Derived: speed_by_draw_m_s over what isn't known of it; means over grids by Bayes' rule with flat weights. The spread
        between bows joins the own with those in print by their degrees of freedom, a conjugate prior (from memory).
        Checked in tests/published/test_another_bow.py
    >>> shot = tuple(ArrowSpeed(m, (2 * 130 / (m + 0.026)) ** 0.5, 0, 0.2) for m in (0.055, 0.065, 0.080))
    >>> found = speed_of_another_bow([OwnBow("A", 500.0, 0.62, shot)], 700.0, stroke_m=0.62, arrow_kg=0.080)
    >>> round(found.speed.value, 1), round(found.low_m_s, 1), round(found.high_m_s, 1), found.beyond
    (57.3, 52.3, 62.8, ('weight',))
    """
    for name, value in (("draw_weight_n", draw_weight_n), ("stroke_m", stroke_m), ("arrow_kg", arrow_kg)):
        must_be_above_zero(name, value)
    must_not_be_negative("speed_scale_u", speed_scale_u)
    shot = [one for one in own if one.arrows]
    why_not = _too_far(shot, draw_weight_n, arrow_kg)
    if why_not is not None:
        return why_not
    fits = _Fits.of(shot)
    virtual = fits.virtual(draw_weight_n)
    logs = (fits.quality.mean(axis=0) + math.log(2 * draw_weight_n * stroke_m) - np.log(arrow_kg + virtual)) / 2
    bows = fits.quality.shape[0]
    of_bows = bows - 1 + BOWS_DIFFER_DOF
    squares = ((fits.quality - fits.quality.mean(axis=0)) ** 2).sum(axis=0)
    between = (squares + BOWS_DIFFER_DOF * BOWS_DIFFER**2) / of_bows * (1 + 1 / bows) / 4
    mean = float((fits.weights * logs).sum())
    differ = float((fits.weights * between).sum())
    rest = float((fits.weights * (fits.of_means + (logs - mean) ** 2)).sum()) + speed_scale_u**2
    relative = math.sqrt(differ + rest)
    dof = of_bows * ((differ + rest) / differ) ** 2
    shares = arrow_kg / (arrow_kg + virtual)
    share = float((fits.weights * shares).sum())
    speed, reach = must_be_finite_result("speed", math.exp(mean)), _t(dof) * relative
    return AnotherBow(
        speed=Uncertain(speed, speed * relative, dof, bows),
        low_m_s=speed * math.exp(-reach),
        high_m_s=speed * math.exp(reach),
        arrow_share=Uncertain(share, math.sqrt(float((fits.weights * (shares - share) ** 2).sum()))),
        bows=bows,
        arrows=sum(len(one.arrows) for one in shot),
        bows_differ=math.sqrt(float((fits.weights * squares).sum()) / (bows - 1)) if bows > 1 else None,
        beyond=_beyond(shot, draw_weight_n, stroke_m=stroke_m, arrow_kg=arrow_kg),
    )


@dataclass(frozen=True)
class _Fits:
    """Over every efficiency and every way in which limbs get heavier: weights that sum to 1; ln q of each bow (first axis), and what
    the readings leave open of their mean ln v."""

    mass_kg: float
    weight_n: float
    share: Array
    power: Array
    weights: Array
    quality: Array
    of_means: Array

    @classmethod
    def of(cls, shot: Sequence[OwnBow]) -> _Fits:
        mass = math.exp(_mean([math.log(arrow.mass_kg) for one in shot for arrow in one.arrows]))
        weight = math.exp(_mean([math.log(one.weight_n) for one in shot]))
        share, power = (
            grid.ravel() for grid in np.meshgrid(np.linspace(*EFFICIENCIES, _STEPS_OF_EFFICIENCY), np.linspace(0, 1, _STEPS_OF_LIMBS))
        )
        alike = any(arrow.speed_u_m_s == 0 for one in shot for arrow in one.arrows)
        squares, quality, variances = np.zeros(share.size), [], []
        for one in shot:
            virtual = mass * (1 / share - 1) * (one.weight_n / weight) ** power
            counts = np.array([1.0 if alike else (arrow.speed_m_s / arrow.speed_u_m_s) ** 2 for arrow in one.arrows])
            logs = np.array([[math.log(arrow.speed_m_s)] for arrow in one.arrows])
            rests = logs + np.log(np.array([[arrow.mass_kg] for arrow in one.arrows]) + virtual) / 2
            mean = (counts[:, None] * rests).sum(axis=0) / counts.sum()
            squares = squares + (counts[:, None] * (rests - mean) ** 2).sum(axis=0)
            quality.append(2 * mean - math.log(2 * one.weight_n * one.stroke_m))
            variances.append(1 / counts.sum())
        free = sum(len(one.arrows) for one in shot) - len(shot) - 1
        scatter = squares.min() / free if free > 0 else 0.0
        times = scatter if alike else max(1.0, scatter)
        odds = np.exp(-(squares - squares.min()) / (2 * times)) if times > 0 and free > 0 else np.ones(share.size)
        bows = list(dict.fromkeys(one.bow for one in shot))
        each = np.array([np.mean([q for q, one in zip(quality, shot, strict=True) if one.bow == bow], axis=0) for bow in bows])
        return cls(mass, weight, share, power, odds / odds.sum(), each, np.full(share.size, times * _mean(variances) / len(shot)))

    def virtual(self, weight_n: float) -> Array:
        """Virtual mass of a bow of this weight, for each efficiency and power."""
        found: Array = self.mass_kg * (1 / self.share - 1) * (weight_n / self.weight_n) ** self.power
        return found


def _too_far(shot: Sequence[OwnBow], weight_n: float, arrow_kg: float) -> CantTell | None:
    if not shot:
        return CantTell(because("no_bow_with_speeds"))
    weights = [one.weight_n for one in shot]
    if not min(weights) / MOST_TIMES <= weight_n <= max(weights) * MOST_TIMES:
        return CantTell(because("bow_too_far_from_those_shot", most_times=MOST_TIMES))
    ratios = [arrow.mass_kg / one.weight_n for one in shot for arrow in one.arrows]
    if not FURTHEST_BELOW * min(ratios) <= arrow_kg / weight_n <= FURTHEST_ABOVE * max(ratios):
        return CantTell(because("arrow_too_far_for_its_bow"))
    return None


def _beyond(shot: Sequence[OwnBow], weight_n: float, *, stroke_m: float, arrow_kg: float) -> tuple[str, ...]:
    """A hundredth further is no extrapolation: weights and draws are read no better."""
    known = {
        "weight": (weight_n, [one.weight_n for one in shot]),
        "stroke": (stroke_m, [one.stroke_m for one in shot]),
        "arrow": (arrow_kg / weight_n, [arrow.mass_kg / one.weight_n for one in shot for arrow in one.arrows]),
    }
    return tuple(name for name, (asked, held) in known.items() if not 0.99 * min(held) <= asked <= 1.01 * max(held))


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def _t(dof: float) -> float:
    """Student's t that 95 % lie within."""
    from scipy.special import stdtrit

    return float(stdtrit(dof, 0.975))
