"""The next shot by the outcome of the last, followed through a run that was printed shot by shot."""

from __future__ import annotations

import pytest
from proofyard.statistics.next_shot import NextByOutcome, next_by_outcome

# Hamada, Mang and Hoff 2019, Quality Engineering, doi 10.1080/08982112.2018.1551547, Table 1: drop heights in cm, whether
# it went off. Their step is 0.05 in log10.
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
AT_HAND = [22.6, 25.4, 28.5, 32.0, 35.9, 40.3, 45.2]


@pytest.mark.parametrize("shot", range(24))
def test_the_printed_drop_hammer_run_is_followed_shot_by_shot(shot: int) -> None:
    found = next_by_outcome(DROP_CM[shot], WENT_OFF[shot], at_hand_j=AT_HAND)
    assert isinstance(found, NextByOutcome)
    assert found.energy_j == DROP_CM[shot + 1]
