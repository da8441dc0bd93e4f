"""Claims of energies at the ends of what can be: open ends, an end at the limit, no number of shots that would do."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some
from proofyard.quantities.reason import CantTell, CantUse
from proofyard.statistics.energy_claims import ends_for_type, more_shots_to_settle, verdict_above

ENDS = some.floats(0.2, 5.0)


def reason(found: int | CantTell) -> str:
    assert isinstance(found, CantTell)
    return found.reason.code


@given(ENDS, ENDS, ENDS)
def test_no_interval_says_yes_and_no_and_one_that_holds_the_limit_says_neither(low: float, high: float, limit: float) -> None:
    low, high = sorted((low, high))
    said = verdict_above(low, high, limit=limit)
    if low <= limit <= high:
        assert said == "not_yet"
    turned = {"yes": "no", "no": "yes", "not_yet": "not_yet"}
    assert verdict_above(1 / high, 1 / low, limit=1 / limit) == turned[said]


def test_an_end_at_the_limit_or_an_open_one_decides_nothing() -> None:
    assert verdict_above(1.1, 2.0, limit=1.1) == "not_yet"
    assert verdict_above(1.0, 1.1, limit=1.1) == "not_yet"
    assert verdict_above(None, None, limit=1.1) == "not_yet"
    assert verdict_above(None, 1.0, limit=1.1) == "no"


@pytest.mark.parametrize("wrong", [0.0, -1.0, float("nan"), float("inf")])
def test_a_limit_or_an_end_out_of_range_is_refused(wrong: float) -> None:
    with pytest.raises(CantUse):
        verdict_above(1.0, 2.0, limit=wrong)
    with pytest.raises(CantUse):
        verdict_above(wrong, None, limit=1.0)
    with pytest.raises(CantUse):
        ends_for_type(1.0, 2.0, estimate=wrong, spread=0.1, units=(2,), level=0.95)
    with pytest.raises(CantUse):
        more_shots_to_settle(lambda level: (1.0, 2.0), estimate=wrong, limit=1.0, level=0.95, shots=10)


@given(some.floats(0.0, 0.5), some.integers(1, 12))
def test_a_type_is_never_told_more_narrowly_than_its_arrows(spread: float, arrows: int) -> None:
    low, high = ends_for_type(1.1, 1.9, estimate=1.4, spread=spread, units=(arrows, arrows), level=0.95)
    assert low is not None and high is not None and low <= 1.1 + 1e-12 and high >= 1.9 - 1e-12
    assert ends_for_type(None, 1.9, estimate=1.4, spread=spread, units=(arrows,), level=0.95)[0] is None


def test_no_arrow_at_all_is_refused() -> None:
    with pytest.raises(CantUse):
        ends_for_type(1.0, 2.0, estimate=1.4, spread=0.1, units=(0,), level=0.95)


def test_what_is_settled_takes_no_more_and_what_hangs_on_the_energies_none_either() -> None:
    assert more_shots_to_settle(lambda level: (1.2, 2.0), estimate=1.5, limit=1.1, level=0.95, shots=20) == 0
    told = {"estimate": 1.05, "limit": 1.0, "level": 0.95, "shots": 20}
    assert reason(more_shots_to_settle(lambda level: (0.9, 1.2), **told, own_relative=0.05)) == "energies_too_unsure_to_settle"
    assert reason(more_shots_to_settle(lambda level: (0.9, 1.2), **told)) == "estimate_too_near_the_limit"
    at_it = {**told, "estimate": 1.0}
    assert reason(more_shots_to_settle(lambda level: (0.9, 1.2), **at_it, own_relative=0.05)) == "estimate_too_near_the_limit"


def test_more_shots_than_any_yard_shoots_are_not_promised() -> None:
    def ends_at(level: float) -> tuple[float, float]:
        return (1.01, 1.3) if level < 0.51 else (0.9, 1.3)

    told = {"estimate": 1.05, "limit": 1.0, "level": 0.999, "shots": 400}
    assert reason(more_shots_to_settle(ends_at, **told)) == "more_shots_than_any_yard"


def test_an_open_end_bounds_nothing_yet() -> None:
    assert reason(more_shots_to_settle(lambda level: (None, None), estimate=1.5, limit=1.0, level=0.95, shots=8)) == (
        "estimate_too_near_the_limit"
    )
