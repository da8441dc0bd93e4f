"""The benchmark of many who save and many who listen runs, and what it measures is really stored. No time is asserted."""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.long


def test_savers_are_measured_with_and_without_listeners_and_none_fails() -> None:
    from tests.bench import savers_and_listeners

    found = savers_and_listeners.measure(seconds=2, savers=6, listeners=45)
    for turn in (found.alone, found.among, found.again):
        assert len(turn.took) >= 6 and not turn.failed
    # Forty streams hear the bell, and the five for whom there is no room ask every two seconds.
    assert found.among.heard > 0 and found.among.polled > 0 and not found.among.not_heard
    assert found.alone.heard == found.again.polled == 0
    assert found.p95_ratio > 0 and found.ours_a_second > 0 and found.bare_a_second > 0
    print(f"p95 ratio {found.p95_ratio:.2f}, throughput ratio {found.ours_a_second / found.bare_a_second:.2f}")
