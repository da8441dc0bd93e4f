"""How fast a bounce of known length can have been, beside a desk calculator and a throw followed step by step by scipy.

Nobody printed a table of arrows that bounced: a throw without air is Galilei's (Discorsi, fourth day), with standard gravity,
9.80665 m/s^2 (BIPM, The International System of Units, 9th edition).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from proofyard.physics.bounce_back import fastest_bounce_m_s
from proofyard.quantities.reason import CantTell
from scipy.integrate import solve_ivp

AsPrinted = Callable[[float, str], None]

# Worked out: 1.2 m fallen takes sqrt(2 x 1.2/9.80665) = 0.494704 s; 15 degrees below level leave 1.2 - 1.1 tan 15 = 0.905256 m.
THROWS = ((1.1, 1.2, 0.0, "2.223553"), (1.1, 1.2, 15.0, "2.560073"), (1.21, 0.5, 15.0, "6.390637"))


@pytest.mark.parametrize(("length", "fall", "degrees", "speed"), THROWS)
def test_a_bounce_by_a_desk_calculator(length: float, fall: float, degrees: float, speed: str, as_printed: AsPrinted) -> None:
    found = fastest_bounce_m_s(length, fall, down_rad=math.radians(degrees))
    assert not isinstance(found, CantTell)
    as_printed(found, speed)


@pytest.mark.parametrize(("length", "fall", "degrees", "speed"), THROWS)
def test_a_throw_followed_by_scipy_comes_down_at_that_length(length: float, fall: float, degrees: float, speed: str) -> None:
    found = fastest_bounce_m_s(length, fall, down_rad=math.radians(degrees))
    assert not isinstance(found, CantTell)

    def moved(_: float, state: np.ndarray) -> list[float]:
        return [state[2], state[3], 0.0, -9.80665]

    def ground(_: float, state: np.ndarray) -> float:
        return float(state[1])

    ground.terminal = True
    start = [0.0, fall, found, -found * math.tan(math.radians(degrees))]
    flown = solve_ivp(moved, (0.0, 5.0), start, events=ground, rtol=1e-10, atol=1e-12)
    assert flown.y_events[0][0][0] == pytest.approx(length, rel=1e-8)
