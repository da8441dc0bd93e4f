"""Signs that nobody sees are refused beside the field, and people may write in the script that they write in."""

import pytest
from proofyard.records.shot import ShotReading
from proofyard.records.typed_values import take
from proofyard.records.unseen_signs import unseen_in
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House

# The bidirectional controls are those of Unicode Standard Annex 9, table of explicit and implicit formatting characters.
TURNING = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
NO_WIDTH = "\u200b\u2060\ufeff\u180e\u2063\u200d\u200c\U000e0041"
LEGITIMATE = [
    "Nock loose, 12° low",
    "Zoë’s Öse – ½ in",
    "Щит пробит",
    "ἡ αἰχμή",
    "החץ נשבר",
    "السهم انكسر",
    "می\u200cخواهم",
    "क्\u200dष, स्\u200cत",
    "ක්\u200dෂ",
    "鏃が曲がった",
    "화살촉",
    "ลูกศรหัก",
    "👨\u200d👩\u200d👧",
    "❤\ufe0f ok",
    "🏴\U000e0067\U000e0062\U000e0065\U000e006e\U000e0067\U000e007f",
    "e\u0301clat",
    "first\nsecond\tthird\r\n",
]


@pytest.mark.parametrize("sign", TURNING + NO_WIDTH, ids=lambda sign: f"U+{ord(sign):04X}")
def test_a_sign_that_nobody_sees_is_refused_and_the_sentence_says_where_it_stands(sign: str) -> None:
    taken = take(ShotReading, {"damage": f"lace cut{sign} at the hem"})
    assert "damage" not in taken.values
    (problem,) = taken.problems
    assert problem.field == "damage" and f"U+{ord(sign):04X}" in problem.sentence and "after “lace cut”" in problem.sentence
    assert sign not in problem.sentence


@pytest.mark.parametrize("text", LEGITIMATE)
def test_every_script_is_taken_as_it_is_written(text: str) -> None:
    assert unseen_in(text) is None
    taken = take(ShotReading, {"damage": text})
    assert taken.problems == [] and taken.typed["damage"] == text


def test_a_record_that_holds_one_from_before_can_still_be_changed_elsewhere(book: Storage) -> None:
    taken = take(ShotReading, {"depth": "20 mm"}, {"damage": "old\u202enote"})
    assert taken.problems == []


def test_the_form_keeps_what_was_typed_beside_the_sentence(house: House, archer: TestClient, book: Storage) -> None:
    answer = archer.post("/kit/archer/new", data={"call_name": "Wren\u202egnorw", "operation": kit.new_id()})
    assert answer.status_code == 422 and "invisible character" in answer.text
    assert "Wren\u202egnorw" in answer.text


@pytest.mark.parametrize("action", ["put", "void", "unvoid"])
def test_a_reason_with_one_is_refused_and_nothing_is_stored(book: Storage, action: str) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    if action == "unvoid":
        kit.void(book, "shot", shot)
    before = kit.row(book, "shot", shot)
    body = {"note": "low"} if action == "put" else {}
    answer = kit.ask(book, "shot", body, record_id=shot, base_rev=before.rev, action=action, reason="wrong arrow\u202e picked")
    (problem,) = answer.problems
    assert problem.field == "reason" and "U+202E" in problem.sentence and "after “wrong arrow”" in problem.sentence
    assert kit.row(book, "shot", shot) == before


@pytest.mark.parametrize("sign", "\u202e\u200b\u2066\ufeff", ids=lambda sign: f"U+{ord(sign):04X}")
@pytest.mark.parametrize("field", ["depth", "outcome_low", "hit", "x", "bounced"])
def test_no_other_sort_of_field_keeps_one(field: str, sign: str) -> None:
    """Amounts, places and choices too: what is typed stands on pages and in the file as it was typed."""
    usual = {"depth": "12 mm", "outcome_low": "4", "hit": "on_panel", "x": "12 mm", "bounced": "1.1 m"}[field]
    for text in (usual + sign, sign + usual, usual[:1] + sign + usual[1:]):
        taken = take(ShotReading, {field: text})
        assert taken.problems or sign not in str(taken.typed) + str(taken.values), text


def test_the_forms_of_reasons_say_so_beside_the_reason_and_keep_it(house: House, archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    reason = "wrong arrow\u200b picked"
    bow = kit.row(book, "bow", yard.bow.bow)
    forms = {
        f"/kit/bow/{bow.id}/correct": {"name": "Another", "base_rev": "1", "reason": reason},
        f"/shots/{shot}/cross-out": {"reason": reason},
        f"/shots/{shot}/correct": {"reason": reason, "note": "low", "rev-shot": "1"},
        f"/trials/{yard.trial}/state": {"state": "closed", "reason": reason},
    }
    for path, sent in forms.items():
        answer = archer.post(path, data={**sent, "operation": kit.new_id()})
        assert answer.status_code == 422, (path, answer.status_code)
        assert answer.text.count("invisible character in it, after “wrong arrow”") >= 2 and reason in answer.text, path
