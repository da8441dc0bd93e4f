"""Does an earlier hit nearby matter?"""

from __future__ import annotations

import math

import numpy as np
import pytest
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.comparing import difference_of_shares
from proofyard.statistics.heads_by_curve import CurveWithTerms
from proofyard.statistics.wear import CAVEAT, Wear, wear


def many(effect: float) -> tuple[list[int], list[bool | None], list[float | None]]:
    lots = np.random.default_rng(8)
    logs, worn = lots.uniform(math.log(30), math.log(65), 200), lots.random(200) < 0.4
    chance = 1 / (1 + np.exp(-(8 * (logs - math.log(45)) + effect * worn)))
    return (lots.random(200) < chance).astype(int).tolist(), [not one for one in worn], np.exp(logs).tolist()


def test_not_fair_less_fair_with_the_test_and_what_so_few_could_show() -> None:
    through, fair = [1, 1, 1, 0, 0, 0, 1, 0, 1], [False] * 4 + [True] * 4 + [None]
    found = wear(through, fair, energies_j=[45.0] * 9)
    assert isinstance(found, Wear)
    assert found.difference == difference_of_shares(3, 4, other_hits=1, other_shots=4)
    assert found.p_value == pytest.approx(18 / 70)  # mid-P of 3 of 4 against 1 of 4, by hand
    assert found.could_show.reason == because("only_all_against_none_could_tell", shots=4, other_shots=4)
    assert found.not_known == 1
    assert isinstance(found.at_like_energy, CantTell)
    assert found.caveat == CAVEAT == because("nobody_drew_lots_for_near_hits")


def test_a_known_effect_of_an_earlier_hit_is_found_at_like_energy() -> None:
    found = wear(*many(2.0)[:2], energies_j=many(2.0)[2])
    assert isinstance(found, Wear) and isinstance(found.at_like_energy, CurveWithTerms)
    one = found.at_like_energy.terms[0]
    assert one.low is not None and one.high is not None and 0 < one.low < 2 < one.high
    assert one.energy_factor < 1


def test_no_effect_is_not_made_one() -> None:
    through, fair, energies = many(0.0)
    found = wear(through, fair, energies_j=energies)
    assert isinstance(found, Wear) and isinstance(found.at_like_energy, CurveWithTerms)
    one = found.at_like_energy.terms[0]
    assert one.low is not None and one.high is not None and one.low < 0 < one.high


def test_one_kind_alone_cant_be_compared() -> None:
    assert wear([1, 0], [True, None], energies_j=[40, 50]) == CantTell(because("none_near_an_earlier_hit"))
    assert wear([1, 0], [False, None], energies_j=[40, 50]) == CantTell(because("no_fair_shot"))
    assert wear([], [], energies_j=[]) == CantTell(because("none_near_an_earlier_hit"))


@pytest.mark.parametrize(
    ("through", "fair", "energies"), [([1], [True, False], [40.0]), ([1, 2], [True, False], [40.0, 50.0]), ([1], [True], [])]
)
def test_what_no_record_could_hold_is_refused(through: list[int], fair: list[bool | None], energies: list[float]) -> None:
    with pytest.raises(CantUse):
        wear(through, fair, energies_j=energies)
