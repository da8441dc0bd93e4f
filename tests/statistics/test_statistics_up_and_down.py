"""Whether energies followed the outcomes."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse
from proofyard.statistics.up_and_down import RuleBreak, UpAndDown, up_and_down


def run(energies: list[float], through: list[int]) -> UpAndDown:
    found = up_and_down(energies, through)
    assert isinstance(found, UpAndDown)
    return found


@given(st.lists(st.integers(0, 1), min_size=2, max_size=40))
def test_a_run_made_by_the_rule_breaks_it_nowhere(through: list[int]) -> None:
    energies = [45.0]
    for hit in through[:-1]:
        energies.append(energies[-1] / 1.1 if hit else energies[-1] * 1.1)
    found = run(energies, through)
    assert found.breaks == ()
    assert found.one_step == pytest.approx(1.1)


@given(st.lists(st.integers(0, 1), min_size=2, max_size=40))
def test_a_run_made_against_the_rule_breaks_it_everywhere(through: list[int]) -> None:
    energies = [45.0]
    for hit in through[:-1]:
        energies.append(energies[-1] * 1.1 if hit else energies[-1] / 1.1)
    found = run(energies, through)
    assert len(found.breaks) == found.moves
    assert found.followed_share == 0


def test_every_break_has_its_shot_its_outcome_and_the_energy_that_came_next() -> None:
    found = run([40.0, 45, 45, 50, 45], [0, 0, 1, 0, 1])
    assert found.breaks == (RuleBreak(2, 0, 45, 45), RuleBreak(3, 1, 45, 50), RuleBreak(4, 0, 50, 45))


def test_uneven_steps_are_no_one_step() -> None:
    assert run([40.0, 44, 60], [0, 0, 0]).one_step is None
    assert run([40.0, 40, 40], [0, 0, 0]).one_step is None


def test_one_shot_follows_from_none() -> None:
    assert isinstance(up_and_down([40.0], [1]), CantTell)
    assert isinstance(up_and_down([], []), CantTell)


@pytest.mark.parametrize(("energies", "through"), [([0.0, 1.0], [0, 1]), ([1.0], [0, 1]), ([1.0, 2.0], [0, 3]), ([1.0, math.inf], [0, 1])])
def test_what_no_record_could_hold_is_refused(energies: list[float], through: list[int]) -> None:
    with pytest.raises(CantUse):
        up_and_down(energies, through)
