"""A trial's rule and why it stopped stand wherever its results are."""

from __future__ import annotations

from starlette.testclient import TestClient

from server.findings.planning.kept_rule import kept_rule, rule_sentence
from server.records.trial import Trial
from server.storage import Storage
from tests import kit_for_tests as kit


def test_what_was_not_written_down_is_not_said() -> None:
    assert rule_sentence(Trial(id="t", rev=1, question="?", state="open")) == ""
    none = Trial(id="t", rev=1, question="?", state="open", next_shot_rule="none", stop_rule="shots")
    assert all(not words for _, words in kept_rule(none))


def test_rule_stop_and_reason_are_one_sentence_each() -> None:
    trial = Trial(id="t", rev=1, question="?", state="open", next_shot_rule="narrow_the_half", stop_rule="width", stop_width_percent=50, stopped_because="It rained.")
    said = rule_sentence(trial)
    assert said.startswith("Next shot: what is expected to narrow") and "50\u00a0% above" in said and said.endswith("Stopped because: it rained.")
    shots = Trial(id="t", rev=1, question="?", state="open", stop_rule="shots", stop_shots=20)
    assert rule_sentence(shots) == "Stop: after 20 shots."


def test_they_stand_on_the_trials_page_and_with_its_results(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    more = {"next_shot_rule": "up_and_down", "stop_rule": "shots", "stop_shots": "12", "stopped_because": "the light went"}
    kit.put(book, "trial", more, record_id=yard.trial, base_rev=1)
    kit.speeds(book, kit.Pairing(yard.bow.build, yard.arrow.build, yard.archer))
    for place, rung in enumerate(("2", "4")):
        kit.read_shot(book, yard, outcome_low=rung, x=f"{-50 + 100 * place} mm", y="0", way_in="plate")
        kit.checked_sound(book, yard.arrow.build)
    page = viewer.get(f"/trials/{yard.trial}").text
    assert "After 12 shots" in page and "the light went" in page and f"/trials/{yard.trial}/plan" in page
    results = viewer.get("/results", params={"trial": yard.trial}).text
    assert "Stop: after 12 shots." in results and "Stopped because: the light went." in results
