"""Runs that went up and down by their outcomes, as published, and one that didn't quite."""

from __future__ import annotations

import pytest
from proofyard.statistics.up_and_down import UpAndDown, up_and_down

# Hamada, Mang and Hoff 2019, Quality Engineering, doi 10.1080/08982112.2018.1551547, Table 1: drop heights in cm.
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
# R package gonogo (MIT licence), wxdat set 11, shots 10 to 40: step 0.25.
SET_11 = [
    (18.0, 0),
    (18.25, 0),
    (18.5, 0),
    (18.75, 0),
    (19.0, 0),
    (19.25, 1),
    (19.0, 1),
    (18.75, 0),
    (19.0, 1),
    (18.75, 0),
    (19.0, 0),
    (19.25, 1),
    (19.0, 0),
    (19.25, 1),
    (19.0, 1),
    (18.75, 0),
    (19.0, 1),
    (18.75, 0),
    (19.0, 0),
    (19.25, 0),
    (19.5, 1),
    (19.25, 1),
    (19.0, 1),
    (18.75, 1),
    (18.5, 0),
    (18.75, 0),
    (19.0, 0),
    (18.75, 0),
    (18.5, 0),
    (18.75, 0),
    (18.5, 0),
]


def test_a_published_drop_hammer_run_keeps_the_rule_throughout() -> None:
    """Their step is 0.05 in log10: a factor of 1.122."""
    found = up_and_down(DROP_CM, WENT_OFF)
    assert isinstance(found, UpAndDown)
    assert found.breaks == ()
    assert found.followed_share == 1
    assert found.one_step == pytest.approx(10**0.05, abs=0.002)


def test_a_public_run_breaks_the_rule_after_shots_36_37_and_39() -> None:
    """Worked out by hand from the set: each time a shot was stopped and the next had less."""
    found = up_and_down([energy for energy, _ in SET_11], [hit for _, hit in SET_11])
    assert isinstance(found, UpAndDown)
    assert [one.after_shot + 9 for one in found.breaks] == [36, 37, 39]
    assert {one.outcome for one in found.breaks} == {0}
