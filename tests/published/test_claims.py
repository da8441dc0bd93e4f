"""Claims about a share beside figures from elsewhere.

The worked figures are an independent computation: another program, made for the plan of these statistics from the formulas alone
(numpy 2.4.6, scipy 1.17.1), its figures kept as it printed them. Beside them scipy's own integral and intervals.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from proofyard.pages.home.guide import read_page
from proofyard.quantities.reason import CantTell
from proofyard.statistics.claim_shots import more_shots, most_shots_to_refute, shots_to_support
from proofyard.statistics.claims import Counts, any_time_bounds, bound_of_one_look, e_values, verdict_for_type, verdict_of
from proofyard.statistics.clustered_shares import design_effect
from scipy.integrate import quad
from scipy.stats import beta, binomtest

AsPrinted = Callable[[float, str], None]

# k, through, shots, e_no, verdict as the other program printed them.
REFUTING = [
    (10, 4, 4, "2222", "no"),
    (10, 2, 2, "37.0", "no"),
    (10, 3, 5, "22.83", "no"),
    (10, 2, 4, "4.533", "not_yet"),
    (10, 2, 3, "10.25", "not_yet"),
    (10, 7, 15, "250.7", "no"),
    (5, 3, 3, "39.0", "no"),
]
# k, through, shots, e_yes, verdict.
SUPPORTING = [
    (10, 0, 12, "3.239", "not_yet"),
    (10, 0, 29, "18.34", "not_yet"),
    (10, 0, 30, "20.34", "yes"),
    (10, 1, 86, "20.70", "yes"),
    (5, 0, 15, "24.46", "yes"),
    (20, 0, 62, "20.71", "yes"),
]
ONE_IN = (5, 10, 20, 50)


@pytest.mark.parametrize(("one_in", "through", "shots", "printed", "verdict"), REFUTING)
def test_an_e_value_against_the_claim_is_the_other_programs(
    one_in: int, through: int, shots: int, printed: str, verdict: str, as_printed: AsPrinted
) -> None:
    as_printed(e_values(through, shots, one_in=one_in).no, printed)
    counts = Counts(through, shots)
    assert verdict_of(counts, counts, one_in=one_in) == verdict


@pytest.mark.parametrize(("one_in", "through", "shots", "printed", "verdict"), SUPPORTING)
def test_an_e_value_for_the_claim_is_the_other_programs(
    one_in: int, through: int, shots: int, printed: str, verdict: str, as_printed: AsPrinted
) -> None:
    as_printed(e_values(through, shots, one_in=one_in).yes, printed)
    counts = Counts(through, shots)
    assert verdict_of(counts, counts, one_in=one_in) == verdict


def test_any_time_bounds_and_bounds_of_one_look_are_the_other_programs(as_printed: AsPrinted) -> None:
    as_printed(any_time_bounds(4, 4).low, "0.3520")
    as_printed(any_time_bounds(7, 15).low, "0.1558")
    as_printed(any_time_bounds(0, 12).high, "0.2303")
    as_printed(any_time_bounds(0, 30).high, "0.0995")
    as_printed(bound_of_one_look(0, 12), "0.2209")
    as_printed(bound_of_one_look(0, 29), "0.0981")


@pytest.mark.parametrize(("shots", "printed", "verdict"), [(2, "19.3", "not_yet"), (3, "49.1", "no")])
def test_one_arrow_speaks_for_its_type_as_the_other_program_found(shots: int, printed: str, verdict: str, as_printed: AsPrinted) -> None:
    effect = design_effect([shots], intraclass_correlation=0.2)
    as_printed(e_values(shots / effect, shots / effect, one_in=10).no, printed)
    counts = Counts(shots, shots, by_arrow=(shots,), by_panel=(1,) * shots)
    assert verdict_for_type(counts, counts, one_in=10) == verdict


def test_more_shots_without_a_through_are_the_other_programs() -> None:
    assert more_shots(0, 12, one_in=10) == 18
    assert more_shots(0, 12, one_in=10, set_beforehand=True) == 17
    assert more_shots(1, 12, one_in=10) == 74


# Rows of its table of shots needed, for 1 in 5, 10, 20, 50: level in errors, through, set beforehand.
SHOTS_NEEDED = [
    (0.10, 0, True, (11, 22, 45, 114)),
    (0.05, 0, True, (14, 29, 59, 149)),
    (0.10, 0, False, (11, 24, 48, 121)),
    (0.05, 0, False, (15, 30, 62, 156)),
    (0.05, 1, False, (41, 86, 176, 446)),
    (0.05, 2, False, (51, 107, 218, 553)),
    (0.05, 3, False, (61, 126, 257, 650)),
    (0.05, 1, True, (22, 46, 93, 236)),
    (0.05, 2, True, (30, 61, 124, 313)),
    (0.05, 3, True, (37, 76, 153, 386)),
]


@pytest.mark.parametrize(("alpha", "through", "set_beforehand", "shots"), SHOTS_NEEDED)
def test_shots_needed_are_the_other_programs(alpha: float, through: int, set_beforehand: bool, shots: tuple[int, ...]) -> None:
    found = [shots_to_support(one_in=k, alpha=alpha, through=through, set_beforehand=set_beforehand) for k in ONE_IN]
    assert tuple(found) == shots


@pytest.mark.parametrize(("one_in", "most"), [(5, (None, 3, 5, 7)), (10, (2, 5, 8, 12)), (20, (3, 8, 13, 20)), (50, (6, 15, 27, 41))])
def test_how_few_through_refute_is_the_other_programs(one_in: int, most: tuple[int | None, ...]) -> None:
    for through, shots in zip((2, 3, 4, 5), most, strict=True):
        found = most_shots_to_refute(through, one_in=one_in)
        assert isinstance(found, CantTell) if shots is None else found == shots


def test_one_through_of_one_refutes_one_in_fifty() -> None:
    assert most_shots_to_refute(1, one_in=50) == 1


@pytest.mark.parametrize(("through", "shots", "one_in"), [(0, 0, 10), (0, 12, 10), (1, 12, 10), (4, 4, 5), (7, 15, 20), (2.5, 6.25, 10)])
def test_e_values_are_the_mean_likelihood_ratios_that_scipy_integrates(through: float, shots: float, one_in: float) -> None:
    """scipy.integrate.quad over the shares themselves, instead of beta integrals."""
    p0 = 1 / one_in

    def ratio(p: float) -> float:
        return float((p / p0) ** through * ((1 - p) / (1 - p0)) ** (shots - through))

    above, below = quad(ratio, p0, 1)[0] / (1 - p0), quad(ratio, 0, p0)[0] / p0
    never = (1 - p0) ** -shots if through == 0 else 0.0
    found = e_values(through, shots, one_in=one_in)
    assert (found.no, found.yes) == (pytest.approx(above, rel=1e-9), pytest.approx(0.8 * never + 0.2 * below, rel=1e-9))


@pytest.mark.parametrize(("through", "shots"), [(0, 12), (0, 29), (1, 46), (3, 76), (40, 120)])
def test_the_bound_of_one_look_is_scipys_one_sided_clopper_pearson(through: int, shots: int) -> None:
    found = bound_of_one_look(through, shots)
    assert found == pytest.approx(float(beta.ppf(0.95, through + 1, shots - through)), abs=1e-12)
    one_sided = binomtest(through, shots, alternative="less").proportion_ci(0.95, method="exact")
    assert found == pytest.approx(float(one_sided.high), abs=1e-9)
    # The least share under which so few through are as rare as the level says.
    assert binomtest(through, shots, found, alternative="less").pvalue == pytest.approx(0.05, rel=1e-6)


def test_many_shots_overflow_nothing() -> None:
    """At 2,000 shots the plain products lie far outside a float; the small one is checked by its first terms."""
    found = e_values(1000, 2000, one_in=10)
    assert 900 < found.log_no < 1100 and math.isinf(found.no)
    assert found.log_yes == pytest.approx(math.log(0.2 / 1001 * 0.9 / (1 - 2003 * 0.1 / 1002)), abs=0.01)


def test_the_guide_prints_what_the_formulas_give() -> None:
    guide = Path(__file__).resolve().parents[2] / "static" / "guide" / "claims.md"
    support, refute = [block.rows[1:] for block in read_page(guide).blocks if block.sort == "table"][:2]
    asked = [(0.05, 0, False), (0.10, 0, False), (0.05, 0, True), (0.05, 1, False)]
    for (_, *cells), (alpha, through, set_beforehand) in zip(support, asked, strict=True):
        found = [shots_to_support(one_in=k, alpha=alpha, through=through, set_beforehand=set_beforehand) for k in ONE_IN]
        assert [int(cell) for cell in cells] == found
    for (words, *cells), through in zip(refute, (3, 4, 5), strict=True):
        assert words.startswith(str(through))
        assert [int(cell) for cell in cells] == [most_shots_to_refute(through, one_in=k) for k in ONE_IN[:3]]
    text = guide.read_text(encoding="utf-8")
    assert round(10 / design_effect([10], intraclass_correlation=0.2), 1) == 3.6 and "then count for 3.6" in text
    assert round(e_values(4, 4, one_in=10).no) == 2222 and "2222 times likelier" in text
    assert more_shots(0, 4, one_in=10) == 26 and "26 more shots without a through" in text
