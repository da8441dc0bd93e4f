"""A trial's rule and why it stopped stand wherever its results are."""

from __future__ import annotations

from proofyard.caveats.over_time import rule_kept
from proofyard.records.trial import Trial
from proofyard.storage import Storage
from proofyard.wording.reasons.results import kept_rule
from proofyard.wording.reasons.said import said as reason_words
from starlette.testclient import TestClient

from tests import kit_for_tests as kit


def test_what_was_not_written_down_is_left_out() -> None:
    assert rule_kept(Trial(id="t", rev=1, question="?", state="open")) is None
    none = Trial(id="t", rev=1, question="?", state="open", next_shot_rule="none", stop_rule="shots")
    assert all(not words for _, words in kept_rule(none))


def test_rule_stop_and_reason_are_one_sentence_each() -> None:
    trial = Trial(
        id="t",
        rev=1,
        question="?",
        state="open",
        next_shot_rule="smallest_interval",
        stop_rule="width",
        stop_width_percent=50,
        stopped_because="It rained.",
    )
    said = reason_words(rule_kept(trial))
    assert (
        said.startswith("Next shot: smallest interval: the shot expected to narrow the 50 % energy most.")
        and "50\u00a0% above" in said
        and said.endswith("Stopped because: it rained.")
    )
    shots = Trial(id="t", rev=1, question="?", state="open", stop_rule="shots", stop_shots=20)
    assert reason_words(rule_kept(shots)) == "Stop: after 20 shots."


def test_they_stand_on_the_trials_page_and_with_its_results(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    more = {"next_shot_rule": "up_and_down", "stop_rule": "shots", "stop_shots": "12", "stopped_because": "the light went"}
    kit.put(book, "trial", more, record_id=yard.trial, base_rev=1)
    kit.speeds(book, kit.Combination(yard.bow.build, yard.arrow.build, yard.archer))
    for place, outcome_level in enumerate(("2", "4")):
        kit.read_shot(book, yard, outcome_low=outcome_level, x=f"{-50 + 100 * place} mm", y="0", entry="plate")
        kit.checked_sound(book, yard.arrow.build)
    page = viewer.get(f"/trials/{yard.trial}").text
    assert "After 12 shots" in page and "the light went" in page and f"/trials/{yard.trial}/plan" in page
    results = viewer.get("/results", params={"trial": yard.trial}).text
    assert "Stop: after 12 shots." in results and "Stopped because: the light went." in results
