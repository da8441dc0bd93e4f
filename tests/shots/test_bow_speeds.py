"""Of a bow that shot very many arrows every page fits the newest of one archer, in whatever order it has them."""

from __future__ import annotations

import pytest
from proofyard.quantities.reason import CantTell, because
from proofyard.records.speed_facts import CombinationFact
from proofyard.shots import bow_speeds as speeds
from proofyard.shots.impact import Impacts
from proofyard.storage import Storage


def test_the_newest_of_very_many_arrows_are_fitted_whoever_asks(demo_book: Storage, monkeypatch: pytest.MonkeyPatch) -> None:
    unread = CantTell(because("no_force_read"))
    with demo_book.read() as session:
        impacts = Impacts.load(session)
        groups: dict[tuple[str, str], list[CombinationFact]] = {}
        for fact in impacts.combinations.values():
            groups.setdefault((fact.bow_build_id, fact.archer_id), []).append(fact)
        mine = max(groups.values(), key=len)
        newest = sorted(mine, key=lambda fact: fact.combination_id)[-4:]
        assert len(mine) > 4
        whole = speeds.bow_speeds(impacts, mine, stored=unread, weight_n=None)
        wanted = speeds.bow_speeds(impacts, newest, stored=unread, weight_n=None)
        monkeypatch.setattr(speeds, "MOST_ARROWS", 4)
        for some in (mine, mine[::-1]):
            found = speeds.bow_speeds(impacts, some, stored=unread, weight_n=None)
            assert found.for_the_fit == wanted.for_the_fit and found.fit == wanted.fit
        assert len(whole.arrows) > len(wanted.arrows) > 0
