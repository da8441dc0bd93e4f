"""The benchmarks of several servers on one database run, with kills and restarts, and nothing acknowledged is lost. No time is asserted."""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.slow


def test_nothing_acknowledged_is_lost_or_doubled_when_a_server_is_killed_and_the_database_restarted() -> None:
    from tests.bench import several_servers

    found = several_servers.measure(seconds=8, phones=12, readers=2, kill_s=3, restarts=1, pause_s=1.0)
    assert found.kills >= 2 and found.restarts == 1
    assert len(found.acknowledged) >= 12 and len(found.saves) == len(found.acknowledged)
    assert (found.lost, found.doubled, found.holes) == (0, 0, 0)


@pytest.mark.long
def test_operations_a_second_are_measured_in_both_places() -> None:
    from tests.bench import ops_a_second

    found = ops_a_second.measure(seconds=0.5, clients=(2,))
    assert [one.place for one in found] == ["a file", "PostgreSQL"]
    assert all(one.done > 2 and one.p95_ms > 0 and one.cpu_ms > 0 for one in found)
