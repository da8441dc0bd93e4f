"""Bows stronger than one that was measured: against a printed bow, and against scipy's root finder."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.physics.bow_needed import times_the_bow
from proofyard.physics.energy import kinetic_energy_j
from proofyard.quantities import to_si
from proofyard.quantities.reason import CantTell, OutOfRange, because
from scipy.optimize import brentq


def test_hickmans_yew_bow_asked_for_a_quarter_more() -> None:
    """Hickman, Nagler and Klopsteg, Archery: the Technical Side, 1947 (verified): 400 gr at 155 ft/s, efficiency 68 %; so
    K = m (1/0.68 - 1) and E = 28.9262 J/0.68. scipy finds the s of m s E/(m + s K) = 1.25 x 28.9262 J."""
    arrow = to_si(400, "gr")
    now = kinetic_energy_j(arrow, to_si(155, "ft/s"))
    k, e = arrow * (1 / 0.68 - 1), now / 0.68
    found = times_the_bow(1.25 * now, now, arrow_kg=arrow, virtual_kg=k)
    assert found == pytest.approx(brentq(lambda s: arrow * s * e / (arrow + s * k) - 1.25 * now, 1.0, 5.0), rel=1e-9)
    assert times_the_bow(1.25 * now, now, arrow_kg=arrow) == pytest.approx(1.25)


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
    assert times_the_bow(300.0, 60.0, arrow_kg=0.02, virtual_kg=0.03).reason == because("limbs_would_take_the_rest")
    assert times_the_bow(300.0, 60.0, arrow_kg=0.08).reason == because("too_many_times_the_bow", most_times=3.0)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_nothing_is_made_of_nothing(bad: float) -> None:
    with pytest.raises(OutOfRange):
        times_the_bow(bad, 60.0, arrow_kg=0.06)
    with pytest.raises(OutOfRange):
        times_the_bow(60.0, bad, arrow_kg=0.06)
    with pytest.raises(OutOfRange):
        times_the_bow(60.0, 60.0, arrow_kg=bad)
