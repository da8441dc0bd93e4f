"""Readings of one thing, taken again and again, and how well their mean is known (GUM, type A and type B)."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities.reason import CantTell, CantUse, Reason, as_level, as_readings, as_width, because


@dataclass(frozen=True)
class Readings:
    """Mean and spread of readings of one thing. One reading has a mean, and no spread: that isn't a spread of 0."""

    values: tuple[float, ...]
    n: int
    mean: float
    spread: float | None
    standard_uncertainty_type_a: float | None
    dof: int


@dataclass(frozen=True)
class Component:
    """One source of uncertainty: what it is, its standard uncertainty, its degrees of freedom, how it was found."""

    name: Reason | str
    standard_uncertainty: float
    dof: float
    kind: str

    def __post_init__(self) -> None:
        if not 0 <= self.standard_uncertainty < math.inf:
            raise CantUse("standard_uncertainty", self.standard_uncertainty, "0 or more and finite")
        if not self.dof > 0:
            raise CantUse("dof", self.dof, "above 0; one reading has none and tells nothing about spread")
        if self.kind not in ("A", "B"):
            raise CantUse("kind", self.kind, "A (from repeated readings) or B (from anything else)")


@dataclass(frozen=True)
class Combined:
    """Several sources of uncertainty as one standard uncertainty, with the sources kept."""

    standard_uncertainty: float
    dof: float
    components: tuple[Component, ...]


# What the figure on an instrument's sheet may mean, and what it is to be divided by. GUM 4.3.3, 4.3.7, 4.3.9.
ACCURACY_MEANINGS: MappingProxyType[str, float] = MappingProxyType(
    {
        "limit": math.sqrt(3),  # never further out than this, anywhere within alike
        "triangular": math.sqrt(6),  # never further out, the middle likelier
        "standard": 1.0,  # already one sigma
        "expanded_k2": 2.0,  # a calibration certificate's U with k = 2
    }
)


def summarise_readings(values: Iterable[float]) -> Readings | CantTell:
    """Mean of repeated readings, their spread, and the standard uncertainty of the mean (type A).

    mean = sum x / n, s^2 = sum (x - mean)^2 / (n - 1), u = s / sqrt(n)

    Takes
        values  array of finite numbers, one unit  readings of one thing under the same conditions, none left out
                unless its reason is written down
    Gives
        Readings with n - 1 degrees of freedom. With one reading spread and uncertainty are None, not 0.
        CantTell when there is no reading
    Refuses
        CantUse  a reading that is not finite
    Holds while
        the readings are independent and nothing drifts between them
    Weak when
        n is small: with 5 readings the uncertainty is itself unsure by 36 % (GUM Table E.1)
    Source
        JCGM 100:2008 (GUM), 4.2.1 to 4.2.3, equations (3), (4), (5).
        Checked in tests/published/test_uncertainties_of_the_gum.py
    >>> found = summarise_readings([171, 169, 172, 170, 170, 168])
    >>> found.mean, round(found.spread, 6), round(found.standard_uncertainty_type_a, 6), found.dof
    (170.0, 1.414214, 0.57735, 5)
    """
    readings = as_readings("values", values)
    n = len(readings)
    if n == 0:
        return CantTell(because("no_readings"))
    mean = math.fsum(readings) / n
    if n == 1:
        return Readings(readings, n, mean, None, None, 0)
    spread = math.sqrt(math.fsum((value - mean) ** 2 for value in readings) / (n - 1))
    return Readings(readings, n, mean, spread, spread / math.sqrt(n), n - 1)


def accuracy_uncertainty(accuracy: float, meaning: str) -> float:
    """Standard uncertainty behind the accuracy on an instrument's sheet (type B).

    limit: a/sqrt(3), triangular: a/sqrt(6), standard: a, expanded_k2: a/2

    Takes
        accuracy  scalar, 0 or more, the instrument's unit  the figure after the plus-minus, so half of the full width
        meaning   "limit", "triangular", "standard" or "expanded_k2"  what the maker means by it
    Gives
        scalar, the same unit, 0 or more
    Refuses
        CantUse  accuracy below 0 or not finite; a meaning not in ACCURACY_MEANINGS
    Holds while
        the instrument still is what its sheet says: see its checks against something known
    Weak when
        the sheet doesn't say what its figure means. "limit" is the usual reading then (GUM 4.3.7)
    Source
        JCGM 100:2008 (GUM), 4.3.3, 4.3.7 equation (7), 4.3.9 equation (9b).
        Checked in tests/published/test_uncertainties_of_the_gum.py
    >>> round(accuracy_uncertainty(0.5, "limit"), 6)
    0.288675
    """
    if meaning not in ACCURACY_MEANINGS:
        raise CantUse("meaning", meaning, "one of " + ", ".join(ACCURACY_MEANINGS))
    return as_width("accuracy", accuracy) / ACCURACY_MEANINGS[meaning]


def resolution_uncertainty(step: float) -> float:
    """Standard uncertainty that comes from reading in steps (type B).

    u = (step/2) / sqrt(3)

    Takes
        step  scalar, 0 or more, the instrument's unit  the smallest change that it can show
    Gives
        scalar, the same unit, 0 or more
    Refuses
        CantUse  step below 0 or not finite
    Holds while
        the instrument rounds to the nearest step. One that cuts off reads half a step low on average
    Weak when
        the readings scatter over many steps: the spread then holds it already, and adding it counts it twice,
        on the safe side
    Source
        JCGM 100:2008 (GUM), F.2.2.1: u = 0.29 step. Checked in tests/published/test_uncertainties_of_the_gum.py
    >>> round(resolution_uncertainty(1.0), 2)
    0.29
    """
    return as_width("step", step) / 2 / math.sqrt(3)


def type_a(readings: Readings) -> Component | CantTell:
    """The uncertainty that the scatter of readings leaves, as a component to combine.

    u and degrees of freedom of summarise_readings

    Takes
        readings  Readings  of one thing
    Gives
        Component of kind A; CantTell when one reading is all there is
    Refuses
        nothing beyond what made the readings
    Holds while
        the readings are independent and nothing drifts between them
    Weak when
        n is small: 2 readings give one degree of freedom, and an expanded uncertainty of 12.7 times u
    Source
        JCGM 100:2008 (GUM), 4.2.3. Checked in tests/published/test_uncertainties_of_the_gum.py
    >>> type_a(summarise_readings([52.4]))
    CantTell(reason=Reason(code='one_reading_has_no_scatter', items=()))
    """
    if readings.standard_uncertainty_type_a is None:
        return CantTell(because("one_reading_has_no_scatter"))
    return Component(because("scatter_of_readings"), readings.standard_uncertainty_type_a, readings.dof, "A")


def type_b(name: Reason | str, standard_uncertainty: float, *, dof: float = math.inf) -> Component:
    """An uncertainty that no repeated reading would show, as a component to combine.

    u as given; degrees of freedom without end unless you say how sure u itself is

    Takes
        name                  text or reason                  what the source is: "accuracy of the scale"
        standard_uncertainty  scalar, 0 or more               from accuracy_uncertainty, resolution_uncertainty, ...
        dof                   scalar, above 0, may be inf     how sure that figure itself is (GUM G.4.2)
    Gives
        Component of kind B
    Refuses
        CantUse  uncertainty below 0 or not finite, dof not above 0
    Holds while
        the limits were chosen so that being outside them is very unlikely (GUM G.4.3)
    Weak when
        the figure is a guess: then it deserves few degrees of freedom
    Source
        JCGM 100:2008 (GUM), 4.3 and G.4.3. Checked in tests/published/test_uncertainties_of_the_gum.py
    >>> type_b("resolution", 0.03).dof
    inf
    """
    return Component(name, standard_uncertainty, dof, "B")


def combine(*components: Component) -> Combined:
    """One standard uncertainty out of several independent ones, with its effective degrees of freedom.

    u_c^2 = sum u_i^2, nu_eff = u_c^4 / sum (u_i^4 / nu_i)

    Takes
        components  one Component or more, all in one unit, each already multiplied by its sensitivity
    Gives
        Combined; degrees of freedom without end when nothing finite weighs in
    Refuses
        CantUse  no component at all
    Holds while
        the causes are independent
    Weak when
        the largest component has one or two degrees of freedom: nu_eff is then itself rough
    Source
        JCGM 100:2008 (GUM), 5.1.2 equation (10), G.4.1 equation (G.2b), the Welch-Satterthwaite formula.
        Checked in tests/published/test_uncertainties_of_the_gum.py
    >>> found = combine(Component("scatter", 3.0, 4, "A"), type_b("accuracy", 4.0))
    >>> found.standard_uncertainty, round(found.dof, 2)
    (5.0, 30.86)
    """
    if not components:
        raise CantUse("components", components, "one component or more")
    total = math.hypot(*(part.standard_uncertainty for part in components))
    if total == 0:
        return Combined(0.0, math.inf, components)
    # By shares of the total, not by fourth powers: 1e-90 to the fourth is 0 in a float.
    weight = math.fsum((part.standard_uncertainty / total) ** 4 / part.dof for part in components)
    return Combined(total, 1 / weight if weight > 0 else math.inf, components)


def coverage_factor(dof: float, level: float = 0.95) -> float:
    """How many standard uncertainties to take to each side to hold the true value with this level.

    k = t quantile of (1 + level)/2 at dof; the normal one when dof has no end

    Takes
        dof    scalar, above 0, may be inf and may be broken  effective degrees of freedom. GUM G.4.1 lets you use a
               broken number as it is, or cut it down to the next whole one: cut before you call, if you want that
        level  scalar, 0.5 up to 1  confidence level
    Gives
        scalar, no unit, above 0
    Refuses
        CantUse  dof not above 0 (one reading), level outside its range
    Holds while
        the mean is nearly normal, or readings are many
    Weak when
        dof is 1 or 2: the factor is 12.7 or 4.3, and one more reading is worth more than any formula
    Source
        JCGM 100:2008 (GUM), G.3.2 and Table G.2. Checked in tests/published/test_uncertainties_of_the_gum.py
    >>> round(coverage_factor(19), 2)
    2.09
    """
    if not dof > 0:
        raise CantUse("dof", dof, "above 0; one reading has none and tells nothing about spread")
    upper = (1 + as_level(level)) / 2
    from scipy.special import ndtri, stdtrit

    # At a million the two agree to 6 figures, and stdtrit of infinity is not defined everywhere.
    return float(ndtri(upper)) if dof > 1e6 else float(stdtrit(dof, upper))
