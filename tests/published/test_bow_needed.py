"""Bows stronger than one that was measured: against a printed bow, and against scipy's root finder."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from server.physics.bow_needed import times_the_bow
from server.physics.energy import kinetic_energy_j
from server.physics.ranges import CantTell, OutOfRange
from server.physics.virtual_mass import ArrowSpeed, VirtualMass, virtual_mass_of_pair
from server.quantities import to_si

AsPrinted = Callable[[float, str], None]


def test_the_printed_bow_of_64_pounds_asked_for_half_as_much_again(as_printed: AsPrinted) -> None:
    """Karpowicz (steppenreiter.de/bogen1.htm, verified): 64 lbf at 28 in, 475 gr at 205 ft/s, 640 gr at 182 ft/s, that is
    60.085 J and 63.810 J (worked out). By hand for the heavier arrow: K and E from the pair, then s from
    m s E/(m + s K) = 1.5 x 63.810 J."""
    light, heavy = (to_si(gr, "gr") for gr in (475.0, 640.0))
    fast, slow = (to_si(v, "ft/s") for v in (205.0, 182.0))
    as_printed(kinetic_energy_j(light, fast), "60.085401")
    now = kinetic_energy_j(heavy, slow)
    as_printed(now, "63.810240")
    bow = virtual_mass_of_pair(ArrowSpeed(light, fast), ArrowSpeed(heavy, slow))
    assert isinstance(bow, VirtualMass)
    k, e = bow.virtual_mass_kg.value, bow.bow_energy_j.value
    found = times_the_bow(1.5 * now, now, arrow_kg=heavy, virtual_kg=k)
    assert found == pytest.approx(brentq(lambda s: heavy * s * e / (heavy + s * k) - 1.5 * now, 1.0, 5.0), rel=1e-9)
    assert times_the_bow(1.5 * now, now, arrow_kg=heavy) == pytest.approx(1.5)


@given(st.floats(20, 150), st.floats(1.0, 1.4), st.floats(0.02, 0.12), st.floats(0.0, 0.03))
def test_the_bow_asked_for_gives_what_was_asked(now: float, more: float, arrow: float, virtual: float) -> None:
    found = times_the_bow(now * more, now, arrow_kg=arrow, virtual_kg=virtual)
    if isinstance(found, CantTell):
        assert virtual > 0 and more > 1
        return
    bow_j = now * (arrow + virtual) / arrow
    assert arrow * found * bow_j / (arrow + found * virtual) == pytest.approx(now * more)
    assert found >= more * (1 - 1e-12)  # heavier limbs never help


@given(st.floats(20, 100), st.floats(20, 100), st.floats(20, 100))
def test_more_energy_never_needs_a_weaker_bow(now: float, a: float, b: float) -> None:
    less, more = (times_the_bow(x, now, arrow_kg=0.08, virtual_kg=0.02) for x in sorted((a, b)))
    if not isinstance(more, CantTell):
        assert not isinstance(less, CantTell) and less <= more


def test_what_no_bow_of_the_make_can_give_is_said() -> None:
    assert "its own limbs" in times_the_bow(300.0, 60.0, arrow_kg=0.02, virtual_kg=0.03).reason  # type: ignore[union-attr]
    assert "3 times" in times_the_bow(300.0, 60.0, arrow_kg=0.08).reason  # type: ignore[union-attr]


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_nothing_is_made_of_nothing(bad: float) -> None:
    with pytest.raises(OutOfRange):
        times_the_bow(bad, 60.0, arrow_kg=0.06)
    with pytest.raises(OutOfRange):
        times_the_bow(60.0, bad, arrow_kg=0.06)
    with pytest.raises(OutOfRange):
        times_the_bow(60.0, 60.0, arrow_kg=bad)
