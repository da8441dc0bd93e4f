"""A page about some shots fetches and works out what those need, and its figures are those of the whole book."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from proofyard.answers.results.page import read_results
from proofyard.records.listing import all_of
from proofyard.records.shot_facts import shot_facts
from proofyard.records.trial import Trial
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import load_loosed
from proofyard.storage import Storage


@pytest.fixture
def demo(demo_book: Storage) -> Storage:
    return demo_book


def test_figures_of_a_trials_shots_are_those_of_the_whole_book_from_fewer_readings(demo: Storage) -> None:
    with demo.read() as session:
        whole = Impacts.load(session)
        compared = 0
        for trial in all_of(session, Trial):
            facts = shot_facts(session, trial_id=trial.id)
            part = Impacts.load(session, facts)
            assert [repr(part.of_shot(fact)) for fact in facts] == [repr(whole.of_shot(fact)) for fact in facts]
            assert set(part.combinations) <= set(whole.combinations)
            builds = {fact.arrow_build_id for fact in facts}
            assert {build: part.mass_of(build) for build in builds} == {build: whole.mass_of(build) for build in builds}
            compared += len(facts)
        assert compared >= 100
        few = Impacts.load(session, facts[:1])
        assert 0 < len(few.combinations) < len(whole.combinations), "nothing was left out, so this compared the whole with itself"


def test_a_view_that_pools_has_every_combination(demo: Storage) -> None:
    with demo.read() as session:
        facts = shot_facts(session)[:1]
        assert set(Impacts.load(session, facts, pool=True).combinations) == set(Impacts.load(session).combinations)


def test_figures_of_shots_that_a_view_passes_over_are_not_worked_out(demo: Storage, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: Counter[str] = Counter()
    of_shot = Impacts.of_shot

    def counted(self: Impacts, fact: Any) -> Any:
        asked[fact.shot_id] += 1
        return of_shot(self, fact)

    monkeypatch.setattr(Impacts, "of_shot", counted)
    with demo.read() as session:
        trial = all_of(session, Trial)[0].id
        everything = {shot.fact.shot_id: shot.fact.trial_id for shot in load_loosed(session).shots}
    assert not asked
    read_results(demo, {"trial": [trial]})
    assert asked and {everything[shot] for shot in asked} == {trial}
    assert max(asked.values()) == 1, "a figure is worked out once"
