"""Points at which half respond, against figures that others printed or worked out with other programs."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from proofyard.statistics.fifty_percent_point import Curve, EnergyPoint, fifty_percent_point, fit_curve
from proofyard.statistics.penalised_logistic import LogisticFit, coefficient_interval, fit_logistic, ratio_interval

AsPrinted = Callable[[float, str], None]

# Bliss 1935, as in Dobson, Table 7.2: log10 dose, beetles, killed.
BEETLES = [
    (1.6907, 59, 6),
    (1.7242, 60, 13),
    (1.7552, 62, 18),
    (1.7842, 56, 28),
    (1.8113, 63, 52),
    (1.8369, 59, 53),
    (1.8610, 62, 61),
    (1.8839, 60, 60),
]
# Dalal, Fowlkes and Hoadley 1989: temperature in F of 23 flights, and whether all O-rings were sound.
FLIGHTS_F = [53, 57, 58, 63, 66, 67, 67, 67, 68, 69, 70, 70, 70, 70, 72, 73, 75, 75, 76, 76, 78, 79, 81]
SOUND = [0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 0, 1, 0, 1, 1, 1, 1, 0, 1, 1, 1, 1, 1]
# Hamada, Mang and Hoff 2019, Quality Engineering, doi 10.1080/08982112.2018.1551547, Table 1: a drop hammer, 25 drops.
DROP_CM = [
    25.4,
    28.5,
    25.4,
    28.5,
    32.0,
    35.9,
    32.0,
    35.9,
    40.3,
    35.9,
    32.0,
    28.5,
    32.0,
    28.5,
    32.0,
    28.5,
    32.0,
    35.9,
    40.3,
    35.9,
    32.0,
    35.9,
    40.3,
    35.9,
    40.3,
]
WENT_OFF = [0, 1, 0, 0, 0, 1, 0, 0, 1, 1, 1, 0, 1, 0, 1, 0, 0, 0, 1, 1, 0, 0, 1, 0, 1]
# Neyer 1994, Technometrics 36:61, Table 1: 20 heights in a test that homes in on the middle.
NEYER_M = [1.00, 1.20, 1.40, 1.80, 2.60, 4.20, 3.40, 3.80, 4.00, 4.10, 4.28, 4.52, 5.55, 5.24, 6.37, 6.08, 7.38, 7.09, 6.89, 6.74]
NEYER_WENT = [0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 1, 0, 1, 0, 1, 1, 1, 1]


def plain_point(xs: list[float], ys: list[int], *, level: float = 0.95) -> tuple[float, float | None, float | None]:
    fit = fit_logistic([[1.0, x] for x in xs], ys, penalised=False)
    assert isinstance(fit, LogisticFit)
    ends = ratio_interval(fit, 1, over=np.array([1.0, 0.0]), offset=np.zeros(2), level=level)
    return -fit.coefficients[0] / fit.coefficients[1], *ends


def test_the_middle_of_the_beetles_and_its_profile() -> None:
    """1.771721, 1.763982 to 1.779187: worked out with statsmodels and an optimiser, not ours; delta 1.7717 +- 0.0039."""
    xs = [x for x, n, _ in BEETLES for _ in range(n)]
    ys = [int(k < hits) for _, n, hits in BEETLES for k in range(n)]
    assert plain_point(xs, ys) == pytest.approx((1.771721, 1.763982, 1.779187), abs=2e-6)


def test_the_middle_of_the_o_rings_and_its_lopsided_profile() -> None:
    """64.794641, 52.48725 to 69.26992: worked out as above. The delta method gives 59.3 to 70.3, much too short below."""
    found = plain_point([float(t) for t in FLIGHTS_F], SOUND)
    assert found == pytest.approx((64.794641, 52.48725, 69.26992), abs=1e-4)


def test_the_penalised_middle_of_separated_shots(as_printed: AsPrinted) -> None:
    """Ten levels, the upper half through: by symmetry 42.5. The rest worked out with firthmodels 0.8.2."""
    fit = fit_logistic([[1.0, x] for x in range(20, 70, 5)], [0] * 5 + [1] * 5)
    assert isinstance(fit, LogisticFit)
    as_printed(-fit.coefficients[0] / fit.coefficients[1], "42.5000000")
    as_printed(fit.coefficients[0], "-8.250521")
    as_printed(fit.coefficients[1], "0.194130")
    as_printed(fit.log_likelihood, "0.528740")
    as_printed(float(fit.chances([[1.0, 20.0]])[0]), "0.012519")
    as_printed(float(fit.chances([[1.0, 65.0]])[0]), "0.987481")
    slope = coefficient_interval(fit, 1)
    assert (slope.low, slope.high) == pytest.approx((0.039232, 1.112811), abs=5e-5)


def test_hamadas_drop_hammer_lies_inside_its_published_interval() -> None:
    """They print a height for half of 34.017 cm (probit), and 1.475 to 1.649 in log10 as the interval of a Bayes fit.

    Another curve and another way, so not to the digit: the middle within 1 %, the ends within 0.03 of log10.
    """
    curve = fit_curve(DROP_CM, WENT_OFF)
    assert isinstance(curve, Curve)
    found = fifty_percent_point(curve)
    assert isinstance(found, EnergyPoint)
    assert found.low_j is not None and found.high_j is not None
    assert found.energy_j == pytest.approx(34.01661, rel=0.01)
    assert math.log10(found.low_j) == pytest.approx(1.475, abs=0.03)
    assert math.log10(found.high_j) == pytest.approx(1.649, abs=0.03)


def test_neyers_test_ends_where_he_says() -> None:
    """He prints a middle of 5.39 (normal curve, plain likelihood). Logistic and plain agree within 0.1 of it."""
    middle, low, high = plain_point(NEYER_M, NEYER_WENT)
    assert middle == pytest.approx(5.39, abs=0.1)
    assert low is not None and high is not None and low < 5.39 < high
