"""Logistic fits that others printed: plain where they are plain, penalised where they are penalised."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

import numpy as np
import pytest
from proofyard.quantities.reason import CantTell
from proofyard.statistics.heads_by_curve import TwoHeads, ratio_of_energies, two_heads_by_curve
from proofyard.statistics.penalised_logistic import LogisticFit, chi_square, coefficient_interval, fit_logistic

AsPrinted = Callable[[float, str], None]


def shots_of(counts: Iterable[tuple[float, int, int]]) -> tuple[list[list[float]], list[int]]:
    """(x, shot at, did it) as a row and an outcome for each."""
    rows: list[list[float]] = []
    outcomes: list[int] = []
    for x, n, hits in counts:
        rows += [[1.0, x]] * n
        outcomes += [1] * hits + [0] * (n - hits)
    return rows, outcomes


def plain(counts: Iterable[tuple[float, int, int]]) -> LogisticFit:
    rows, outcomes = shots_of(counts)
    fit = fit_logistic(rows, outcomes, penalised=False)
    assert isinstance(fit, LogisticFit)
    return fit


# Bliss 1935, as in Dobson, An Introduction to Generalized Linear Models, 2nd ed., Table 7.2: log10 dose, beetles, killed.
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
# Dalal, Fowlkes and Hoadley 1989, 23 flights: temperature in F, any distress of an O-ring (R package DAAG, orings).
FLIGHTS_F = [53, 57, 58, 63, 66, 67, 67, 67, 68, 69, 70, 70, 70, 70, 72, 73, 75, 75, 76, 76, 78, 79, 81]
DISTRESS = [1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0]
DAMAGED_OF_SIX = [5, 1, 1, 1, 0, 0, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0]
# Montgomery and Runger, Applied Statistics and Probability for Engineers, logistic regression: 24 flights.
FLIGHTS_24_F = [53, 56, 57, 63, 66, 67, 67, 67, 68, 69, 70, 70, 70, 70, 72, 73, 75, 75, 76, 76, 78, 79, 80, 81]
DISTRESS_24 = [1, 1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0]
# R package MASS, menarche: age, girls, of whom yes.
MENARCHE = [
    (9.21, 376, 0),
    (10.21, 200, 0),
    (10.58, 93, 0),
    (10.83, 120, 2),
    (11.08, 90, 2),
    (11.33, 88, 5),
    (11.58, 105, 10),
    (11.83, 111, 17),
    (12.08, 100, 16),
    (12.33, 93, 29),
    (12.58, 100, 39),
    (12.83, 108, 51),
    (13.08, 99, 47),
    (13.33, 106, 67),
    (13.58, 105, 81),
    (13.83, 117, 88),
    (14.08, 98, 79),
    (14.33, 97, 90),
    (14.58, 120, 113),
    (14.83, 102, 95),
    (15.08, 122, 117),
    (15.33, 111, 107),
    (15.58, 94, 92),
    (15.83, 114, 112),
    (17.58, 1049, 1049),
]
# Collett, Modelling Binary Data; Venables and Ripley, Modern Applied Statistics with S, 4th ed., section 7.2:
# log2 dose 0 to 5, 20 moths each.
MALE_DEAD, FEMALE_DEAD = [1, 4, 9, 13, 18, 20], [0, 2, 6, 10, 12, 16]
# Heinze and Schemper 2002; R package brglm2, endometrial: NV, PI, EH, HG of 79 patients.
ENDOMETRIAL = """
0,13,1.64,0;0,16,2.26,0;0,8,3.14,0;0,34,2.68,0;0,20,1.28,0;0,5,2.31,0;0,17,1.8,0;0,10,1.68,0;0,26,1.56,0;
0,17,2.31,0;0,8,2.01,0;0,7,1.89,0;0,20,3.15,0;0,10,1.23,0;0,18,1.27,0;0,16,1.76,0;0,18,2.0,0;0,8,2.64,1;0,29,0.88,1;
0,12,1.27,1;0,20,1.37,1;1,38,0.97,1;1,22,1.14,1;1,7,0.88,1;1,25,0.91,1;1,15,0.58,1;0,7,0.97,1;0,28,1.5,0;0,11,1.33,0;
0,19,2.37,0;0,10,1.82,0;0,10,3.13,0;0,18,1.31,0;0,14,1.92,0;0,21,1.64,0;0,11,2.01,0;0,17,1.88,0;0,25,1.93,0;
0,16,2.11,0;0,19,1.29,0;0,15,1.72,0;0,33,0.75,0;0,24,1.92,0;0,48,1.84,1;0,12,1.11,1;0,19,1.61,1;0,2,1.18,1;
1,22,1.44,1;1,40,1.18,1;1,5,0.93,1;1,0,1.17,1;0,21,1.19,1;0,15,1.06,1;0,29,2.02,0;0,15,2.29,0;0,12,2.33,0;0,3,2.9,0;
0,20,1.7,0;0,23,1.41,0;0,12,2.25,0;0,22,1.54,0;0,42,1.97,0;0,15,1.75,0;0,13,2.16,0;0,14,2.57,0;0,19,1.37,0;
0,12,3.61,0;0,13,2.04,0;0,10,2.17,0;0,12,1.69,1;1,49,0.27,1;0,6,1.84,1;0,5,1.3,1;0,17,0.96,1;1,11,1.01,1;1,21,0.98,1;
0,5,0.35,1;1,19,1.02,1;0,33,0.85,1"""
# R package logistf, sex2: case, age, oc, vic, vicl, vis, dia, and how many of the 239 women.
SEX2 = """
0000010:1;0001000:2;0001010:1;0001100:8;0001110:18;0010000:42;0010010:1;0011000:1;0011100:5;0011110:6;0101100:2;
0101110:4;0110000:14;0110010:1;0111000:1;0111110:2;1000010:1;1001000:14;1001010:3;1001100:10;1001110:12;1001111:1;
1010000:44;1010001:3;1011000:15;1011001:1;1011010:2;1011100:7;1011110:3;1101000:2;1101010:1;1101011:1;1101100:1;
1101111:1;1110000:5;1111000:3"""


def endometrial() -> tuple[list[list[float]], list[int]]:
    rows = [[float(one) for one in row.split(",")] for row in ENDOMETRIAL.replace("\n", "").split(";")]
    assert len(rows) == 79
    return [[1.0, *row[:3]] for row in rows], [int(row[3]) for row in rows]


def sex2() -> tuple[list[list[float]], list[int]]:
    rows: list[list[float]] = []
    cases: list[int] = []
    for group in SEX2.replace("\n", "").split(";"):
        bits, count = group.split(":")
        rows += [[1.0, *map(float, bits[1:])]] * int(count)
        cases += [int(bits[0])] * int(count)
    assert len(rows) == 239
    return rows, cases


PLAIN = {
    "beetles, Dobson 2nd ed., Table 7.4": (BEETLES, "-60.72", "5.18", "34.27", "2.91"),
    "O-rings of 23 flights, Dalal and others 1989": (
        [(t, 1, y) for t, y in zip(FLIGHTS_F, DISTRESS, strict=True)],
        "15.0429",
        None,
        "-0.2322",
        None,
    ),
    "O-rings of 24 flights, Montgomery and Runger": (
        [(t, 1, y) for t, y in zip(FLIGHTS_24_F, DISTRESS_24, strict=True)],
        "10.875",
        "5.703",
        "-0.17132",
        "0.08344",
    ),
    "damaged of six O-rings, several textbooks": (
        [(t, 6, y) for t, y in zip(FLIGHTS_F, DAMAGED_OF_SIX, strict=True)],
        "11.6630",
        None,
        "-0.2162",
        None,
    ),
    "menarche, Venables and Ripley 4th ed., section 7.2": (MENARCHE, "-21.2264", None, "1.6320", None),
}


@pytest.mark.parametrize("source", PLAIN)
def test_a_plain_fit_comes_out_as_printed(source: str, as_printed: AsPrinted) -> None:
    counts, intercept, its_error, slope, slope_error = PLAIN[source]
    fit = plain(counts)
    as_printed(fit.coefficients[0], intercept)
    as_printed(fit.coefficients[1], slope)
    if its_error is not None and slope_error is not None:
        as_printed(fit.standard_errors[0], its_error)
        as_printed(fit.standard_errors[1], slope_error)


def test_dobsons_fitted_beetles(as_printed: AsPrinted) -> None:
    """Dobson prints 33.89 for the fourth: 33.8980 cut, not rounded; the other seven are rounded."""
    fit = plain(BEETLES)
    chances = fit.chances([[1.0, x] for x, _, _ in BEETLES])
    fitted = [n * p for (_, n, _), p in zip(BEETLES, chances, strict=True)]
    for value, printed in zip(fitted, ["3.46", "9.84", "22.45", "33.90", "50.10", "53.29", "59.22", "58.74"], strict=True):
        as_printed(value, printed)


def test_montgomerys_likelihood_of_24_flights(as_printed: AsPrinted) -> None:
    fit = plain([(t, 1, y) for t, y in zip(FLIGHTS_24_F, DISTRESS_24, strict=True)])
    as_printed(fit.log_likelihood, "-11.515")


def test_venables_and_ripleys_doses_for_female_moths(as_printed: AsPrinted) -> None:
    """One slope for both sexes; the doses for a quarter, half and three quarters with standard errors by dose.p."""
    rows = [[float(sex == 0), float(sex == 1), float(dose)] for sex in (0, 1) for dose in range(6) for _ in range(20)]
    dead = [int(k < hits) for deaths in (FEMALE_DEAD, MALE_DEAD) for hits in deaths for k in range(20)]
    fit = fit_logistic(rows, dead, penalised=False)
    assert isinstance(fit, LogisticFit)
    for value, printed in zip(fit.coefficients, ("-3.473155", "-2.372412", "1.064214"), strict=True):
        as_printed(value, printed)
    for share, dose, error in ((0.25, "2.2313", "0.2499"), (0.5, "3.2636", "0.2298"), (0.75, "4.2959", "0.2747")):
        at = (math.log(share / (1 - share)) - fit.coefficients[0]) / fit.coefficients[2]
        turn = np.array([-1.0, 0.0, -at]) / fit.coefficients[2]
        as_printed(at, dose)
        as_printed(math.sqrt(turn @ fit.covariance @ turn), error)


def test_the_penalised_fit_of_a_quasi_separated_set(as_printed: AsPrinted) -> None:
    """brglm2's page prints these for endometrial; plain likelihood has no end for NV (it prints 18.2 with error 1716)."""
    rows, high_grade = endometrial()
    fit = fit_logistic(rows, high_grade)
    assert isinstance(fit, LogisticFit)
    for value, printed in zip(fit.coefficients, ("3.77456", "2.92927", "-0.03475", "-2.60416"), strict=True):
        as_printed(value, printed)
    assert isinstance(fit_logistic(rows, high_grade, penalised=False), CantTell)


def test_profile_intervals_of_a_quasi_separated_set(as_printed: AsPrinted) -> None:
    """NV 0.61 to 7.85: Heinze and Schemper 2002 (from memory). All four worked out with firthmodels 0.8.2, method pl."""
    rows, high_grade = endometrial()
    fit = fit_logistic(rows, high_grade)
    assert isinstance(fit, LogisticFit)
    theirs = [(1.082537, 7.209281), (0.609724, 7.854632), (-0.124459, 0.040455), (-4.365183, -1.232721)]
    for place, ends in enumerate(theirs):
        found = coefficient_interval(fit, place)
        assert (found.low, found.high) == pytest.approx(ends, abs=2e-4)
    nv = coefficient_interval(fit, 1)
    assert nv.low is not None and nv.high is not None
    as_printed(nv.low, "0.61")
    as_printed(nv.high, "7.85")


def test_the_penalised_fit_of_sex2(as_printed: AsPrinted) -> None:
    """Coefficients and likelihood as in logistf's own tests, intervals as on firthlogist's page."""
    rows, cases = sex2()
    fit = fit_logistic(rows, cases)
    assert isinstance(fit, LogisticFit)
    printed = ["0.120254", "-1.10598", "-0.0688167", "2.26887", "-2.11141", "-0.788317", "3.09601"]
    for value, text in zip(fit.coefficients, printed, strict=True):
        as_printed(value, text)
    as_printed(fit.log_likelihood, "-132.5394")
    for place, low, high in ((3, "1.27304", "3.43543"), (6, "0.774568", "8.03028")):
        found = coefficient_interval(fit, place)
        assert found.low == pytest.approx(float(low), abs=1e-4)
        assert found.high == pytest.approx(float(high), abs=1e-4)


def test_female_moths_need_about_twice_the_dose_of_males() -> None:
    """Venables and Ripley's common slope, plain: 2^((3.473155 - 2.372412)/1.064214) = 2.048. Ours is penalised: nearly."""
    doses = [float(2**dose) for _ in range(2) for dose in range(6) for _ in range(20)]
    dead = [int(k < hits) for deaths in (MALE_DEAD, FEMALE_DEAD) for hits in deaths for k in range(20)]
    found = two_heads_by_curve(doses, dead, second=[False] * 120 + [True] * 120)
    assert isinstance(found, TwoHeads)
    assert found.ratio == pytest.approx(2.048, rel=0.01)
    low = ratio_of_energies(found, limit_times=1.1).low
    assert low is not None and low > 1
    # Their section 7.2 finds no need of two slopes: deviance 6.757 - 4.994 on one degree, p 0.18 (from memory).
    assert 0.1 < found.slopes_differ_p < 0.3


def test_the_chi_square_quantile(as_printed: AsPrinted) -> None:
    """Any table of the distribution."""
    as_printed(chi_square(0.95), "3.841")
    as_printed(chi_square(0.90), "2.706")
    as_printed(chi_square(0.99), "6.635")
