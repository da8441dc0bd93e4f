"""Impacts on panels and chests by hand: nobody printed them. What print there is stands in tests/published/test_blunt.py."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from proofyard.physics.panel_impact import impact_after, impact_between, stuck_impact
from proofyard.physics.trauma import TRIED_ON, body_wall_m

AsPrinted = Callable[[float, str], None]


def test_the_wall_of_a_chest_by_hand(as_printed: AsPrinted) -> None:
    """0.711 cm times the cube root of 75 is 2.9984031 cm; 0.593 cm times 4, the cube root of 64, is 2.372 cm. Both factors
    are an assumption, remembered of Sturdivan, Viano and Champion, 2004."""
    as_printed(body_wall_m(75.0, "man") * 100, "2.9984031")
    as_printed(body_wall_m(64.0, "woman") * 100, "2.372")


def test_a_hung_panel_lies_outside_all_that_the_criterion_was_tried_on() -> None:
    """A baton of 38 mm at 18 to 37 m/s (Tolerance of the skull to blunt ballistic temporo-parietal impact, abstract); a panel
    of 1 kg goes at 3 m/s over 0.3 m."""
    impact = stuck_impact(0.060, 55.0, panel_kg=1.0)
    assert TRIED_ON["speed"].low == 18.0 and TRIED_ON["speed"].high == 37.0 and TRIED_ON["diameter"].low == 0.038
    for name, value in (("speed", impact.speed_m_s), ("diameter", 0.3)):
        assert not TRIED_ON[name].low <= value <= TRIED_ON[name].high


def test_an_arrow_that_dropped_left_all_its_momentum_in_the_panel(as_printed: AsPrinted) -> None:
    """Worked out: brought to rest, 60 g at 55 m/s leave 1.0 kg at 3.3 m/s with 5.445 J; together they go at 3.113208 m/s."""
    found = impact_between(0.060, 55.0, panel_kg=(1.0, 1.0), ending="dropped")
    as_printed(found.speed_m_s[0], "3.113208")
    as_printed(found.speed_m_s[1], "3.30")
    as_printed(found.energy_j[1], "5.445")


def test_a_speed_that_was_read_afterwards_leaves_only_the_masses_open(as_printed: AsPrinted) -> None:
    """Worked out: 60 g at 55 m/s, back at 5 m/s, leave 3.6 kg m/s: 6.48 J in 1.0 kg, 2.16 J in 3.0 kg. On at 30 m/s they leave
    1.5 kg m/s, which a panel lighter than 60 g x 25/30 = 50 g would have to outrun."""
    back = impact_after(0.060, 55.0, panel_kg=(1.0, 3.0), after_m_s=-5.0)
    as_printed(back.energy_j[1], "6.480")
    as_printed(back.energy_j[0], "2.160")
    on = impact_after(0.060, 55.0, panel_kg=(0.010, 1.0), after_m_s=30.0)
    as_printed(on.momentum_kg_m_s[0], "1.500")
    assert on.speed_m_s[1] == pytest.approx(30.0) and on.energy_j[1] == pytest.approx(1.5**2 / (2 * 0.050))
