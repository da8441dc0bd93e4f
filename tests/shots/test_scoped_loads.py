"""A page about some shots fetches and works out what those need, and its figures are those of the whole book."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from proofyard.answers.results.page import read_results
from proofyard.records.caveat_facts import caveat_facts
from proofyard.records.listing import all_of
from proofyard.records.shot_facts import shot_facts
from proofyard.records.trial import Trial
from proofyard.records.trial_days import newest_trials
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import load_loosed
from proofyard.storage import Storage
from proofyard.views.settings import choices_of


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


def test_a_trials_shots_fetched_alone_are_as_in_the_whole_book(demo: Storage) -> None:
    with demo.read() as session:
        whole = load_loosed(session)
        every = {shot.fact.shot_id: shot for shot in (*whole.shots, *whole.voided)}
        compared = left_out = 0
        for trial in all_of(session, Trial):
            part = load_loosed(session, trial_id=trial.id)
            mine = [shot for shot in (*part.shots, *part.voided) if shot.fact.trial_id == trial.id]
            assert {shot.fact.shot_id for shot in mine} == {key for key, shot in every.items() if shot.fact.trial_id == trial.id}
            for shot in mine:
                same = every[shot.fact.shot_id]
                assert (shot.fact, shot.fair, repr(shot.impact)) == (same.fact, same.fair, repr(same.impact))
            assert {key: part.trials[key] for key in (trial.id,)} == {key: whole.trials[key] for key in (trial.id,)}
            assert part.claims.get(trial.id) == whole.claims.get(trial.id)
            compared += len(mine)
            left_out += len(every) - len(part.shots) - len(part.voided)
    assert compared >= 100 and left_out > 0


def test_caveats_of_some_shots_are_told_from_what_is_theirs(demo: Storage) -> None:
    with demo.read() as session:
        whole = caveat_facts(session)
        for trial in all_of(session, Trial):
            facts = shot_facts(session, trial_id=trial.id)
            part, heads, shots = caveat_facts(session, facts), {one.head_id for one in facts}, {one.shot_id for one in facts}
            assert part.hardness == tuple(one for one in whole.hardness if one.head_id in heads)
            assert part.again == tuple(one for one in whole.again if one.shot_id in shots)
            assert set(part.checks) <= set(whole.checks)
            builds, days = {one.bow_build_id for one in facts}, {one.day for one in facts}
            assert {one for one in whole.checks if one.bow_build_id in builds and one.day in days} <= set(part.checks)


def test_a_view_of_one_trial_offers_the_others_newest_first_and_of_the_rest_what_it_has(demo: Storage) -> None:
    with demo.read() as session:
        whole = load_loosed(session)
        offered = choices_of(whole)
        newest = list(offered["trial"])
        assert len(newest) >= 3 and newest_trials(session) == {key: offered["trial"][key] for key in newest}
        for trial in newest:
            some = choices_of(load_loosed(session, trial_id=trial))
            assert list(some["trial"].items()) == list(offered["trial"].items())
            assert 0 < len(some["panel"]) < len(offered["panel"])
            assert set(some["panel"]) == {shot.fact.panel_id for shot in whole.shots if shot.fact.trial_id == trial}
