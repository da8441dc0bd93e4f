"""A reason: its parts, what an API carries of it, and the sentence made of it."""

from __future__ import annotations

import json
import pickle

import pytest
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons import said as saying
from proofyard.wording.reasons.said import said as reason_words
from proofyard.wording.reasons.said import sentence


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> Reason:
    """A reason in a reason, one said by a text and one by a function that asks for the reader."""
    table = {
        "few": "only {shots} of {needed:.3g} shots: {why}",
        "far": lambda *, distance_m, reader: f"{distance_m / 0.9144:.0f} yd" if reader == "archery" else f"{distance_m:g} m",
    }
    monkeypatch.setattr(saying, "SENTENCES", table)
    return because("few", shots=3, needed=10.0, why=because("far", distance_m=18.288))


def test_a_reason_is_said_in_the_readers_units_reasons_within_it_too(few: Reason) -> None:
    assert reason_words(few) == "only 3 of 10 shots: 18.288 m"
    assert reason_words(few, "archery") == "only 3 of 10 shots: 20 yd"
    assert sentence(few, "archery") == "Only 3 of 10 shots: 20 yd."
    assert reason_words(None) == sentence(None) == ""


def test_a_file_carries_code_and_parts(few: Reason) -> None:
    body = {"code": "few", "parts": {"needed": 10.0, "shots": 3, "why": {"code": "far", "parts": {"distance_m": 18.288}}}}
    assert json.loads(json.dumps(few.as_json())) == body
    assert because("two", of=(because("far", distance_m=1.0), 2)).as_json() == {
        "code": "two",
        "parts": {"of": [{"code": "far", "parts": {"distance_m": 1.0}}, 2]},
    }
    known = because("known", speed=Uncertain(52.0, 0.4, n=3)).as_json()
    assert known == {"code": "known", "parts": {"speed": {"value": 52.0, "standard_uncertainty": 0.4}}}


def test_reasons_with_the_same_parts_are_one_in_whatever_order_they_were_given(few: Reason) -> None:
    assert because("few", why=because("far", distance_m=18.288), needed=10.0, shots=3) == few
    assert len({few, because("far", distance_m=18.288), pickle.loads(pickle.dumps(few))}) == 2
    assert few.parts["shots"] == 3
    assert str(few) == "few(needed=10.0, shots=3, why=far(distance_m=18.288))"
