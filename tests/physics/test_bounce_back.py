"""What must be true of any bounce of known length, and of an impact that it bounds."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.physics.bounce_back import fastest_bounce_m_s
from proofyard.physics.panel_impact import impact_between
from proofyard.quantities.reason import CantTell, OutOfRange

LENGTHS, FALLS, SLOPES = st.floats(0.01, 3.0), st.floats(0.2, 3.0), st.floats(0.0, 0.8)


@given(LENGTHS, FALLS, SLOPES, st.floats(0.0, 1.0), st.floats(1.0, 3.0))
def test_a_throw_at_that_speed_and_slope_comes_down_there_and_a_gentler_one_further(
    length: float, fall: float, slope: float, share: float, times: float
) -> None:
    fastest = fastest_bounce_m_s(length, fall, down_rad=slope)
    if isinstance(fastest, CantTell):
        assert length * math.tan(slope) >= fall
        return
    seconds = length / fastest
    assert fastest * math.tan(slope) * seconds + 9.80665 * seconds**2 / 2 == pytest.approx(fall)
    gentler, higher, shorter = (
        fastest_bounce_m_s(length, fall, down_rad=slope * share),
        fastest_bounce_m_s(length, fall * times, down_rad=slope),
        fastest_bounce_m_s(length * share, fall, down_rad=slope),
    )
    for slower in (gentler, higher, shorter):
        assert not isinstance(slower, CantTell) and slower <= fastest * (1 + 1e-9)


@given(st.floats(0.01, 0.3), st.floats(1.0, 120.0), st.floats(0.02, 200.0), st.floats(1.0, 5.0), st.floats(0.0, 20.0))
def test_a_bound_on_the_way_back_never_widens_an_impact_and_holds_each_mass_between(
    mass: float, speed: float, panel: float, times: float, back: float
) -> None:
    free = impact_between(mass, speed, panel_kg=(panel, panel * times), ending="bounced")
    bound = impact_between(mass, speed, panel_kg=(panel, panel * times), ending="bounced", fastest_back_m_s=back)
    assert bound.energy_j[1] <= free.energy_j[1] * (1 + 1e-9) and bound.momentum_kg_m_s[1] <= mass * (speed + back) * (1 + 1e-9)
    assert bound.energy_j[0] == pytest.approx(free.energy_j[0])
    between = panel * (1 + 0.4 * (times - 1))
    assert impact_between(mass, speed, panel_kg=(between, between), ending="bounced", fastest_back_m_s=back).energy_j[1] <= bound.energy_j[
        1
    ] * (1 + 1e-9)


def test_an_arrow_that_came_back_with_nothing_left_what_a_dropped_one_leaves() -> None:
    """Worked out: 60 g at 55 m/s on 1.0 kg: 3.3^2/2 J at rest, 3.6^2/2 J back at 5 m/s."""
    rest, slow = (impact_between(0.060, 55.0, panel_kg=(1.0, 1.0), ending="bounced", fastest_back_m_s=back) for back in (0.0, 5.0))
    assert (rest.energy_j[1], slow.energy_j[1]) == pytest.approx((5.445, 6.480))


@pytest.mark.parametrize(
    "asked",
    [
        lambda: fastest_bounce_m_s(-0.1, 1.0, down_rad=0.0),
        lambda: fastest_bounce_m_s(1.0, 0.0, down_rad=0.0),
        lambda: fastest_bounce_m_s(1.0, 1.0, down_rad=-0.1),
        lambda: fastest_bounce_m_s(1.0, 1.0, down_rad=1.6),
        lambda: fastest_bounce_m_s(math.nan, 1.0, down_rad=0.0),
        lambda: impact_between(0.06, 50.0, panel_kg=(1.0, 1.0), ending="bounced", fastest_back_m_s=-1.0),
    ],
)
def test_outside_its_range_it_refuses(asked: Callable[[], object]) -> None:
    with pytest.raises(OutOfRange):
        asked()
