"""An arrow that was hurt at another panel: every page says the same of its next hit, whatever shots the page is about."""

import html
import re

import pytest
from proofyard.answers.planning.next_shot_read import read_next_shot
from proofyard.quantities.reason import because
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.loosed import load_loosed, loosed_on
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.marks_for_tests import fair_marks

WANTED = ("not_fair", because("fair_arrow_hurt", shot="A1", fates=("blunted",)))


@pytest.fixture
def hurt_elsewhere(book: Storage) -> kit.Yard:
    """A1 hit another panel, of another trial, and blunted the arrow's point; A2 is the same arrow's hit at this one."""
    yard = kit.yard(book)
    other = kit.open_trial(book, "Something else?")
    shooting_end = kit.shooting_end(book, kit.setup(book, other.session, kit.panel(book).build))
    first = kit.shot(book, yard, shooting_end_id=shooting_end)
    kit.reading(book, first, x="0", y="0", head_fate=["blunted"])
    kit.reading(book, kit.shot(book, yard, shooting_end_id=kit.shooting_end(book, yard.setup, begun_at=kit.BEGAN + 60_000)), x="0", y="0")
    return yard


def test_results_panel_shot_and_single_shots_agree(book: Storage, hurt_elsewhere: kit.Yard) -> None:
    with book.read() as session:
        found = {
            "results": {s.fact.label: s.fair for s in load_loosed(session).shots},
            "panel": {s.fact.label: s.fair for s in loosed_on(session, [hurt_elsewhere.panel.build])},
        }
        facts = [f for f in shot_facts(session) if f.label == "A2"]
        found["alone"] = {"A2": fair_marks(session, facts)[facts[0].shot_id]}
    said = {name: (marks["A2"].answer, marks["A2"].reason) for name, marks in found.items() if marks["A2"]}
    assert said == {name: WANTED for name in found}
    assert set(found["panel"]) == {"A2"}  # what was loosed elsewhere only says what is fair, and is in no list


def test_each_page_says_that_it_is_not_fair(viewer: TestClient, book: Storage, hurt_elsewhere: kit.Yard) -> None:
    yard = hurt_elsewhere
    with book.read() as session:
        shot = next(f.shot_id for f in shot_facts(session) if f.label == "A2")
    pages = (f"/panels/{yard.panel.build}", f"/shots/{shot}", f"/arrows/{yard.arrow.arrow}")
    for page in pages:
        words = html.unescape(re.sub(r"<[^>]+>", " ", viewer.get(page).text))
        assert "arrow unsound: point blunted at A1" in words, page
        if not page.startswith("/arrows"):  # whose first flight, at the other panel, was fair
            assert "first hit on this build" not in words, page


def test_which_of_two_shooting_ends_came_first_is_told_by_the_whole_of_both(book: Storage) -> None:
    """By the flights alone the other end ended before this one began; its last shot shows that the two ran into each other."""
    yard = kit.yard(book)
    minute = 60_000
    away = kit.shooting_end(book, kit.setup(book, yard.session, kit.panel(book).build))
    one = kit.shot(book, yard, label="A1", shooting_end_id=away, loosed_at=kit.BEGAN)
    kit.reading(book, one, x="0", y="0", head_fate=["blunted"])
    late = kit.shot(book, yard, label="A9", shooting_end_id=away, arrow_build=kit.arrow(book).build, loosed_at=kit.BEGAN + 9 * minute)
    kit.reading(book, late, x="100 mm", y="0")
    two = kit.shot(book, yard, label="A2", loosed_at=kit.BEGAN + 5 * minute)
    kit.reading(book, two, x="0", y="0")
    with book.read() as session:
        results = {s.fact.label: s.fair for s in load_loosed(session).shots}
        panel = {s.fact.label: s.fair for s in loosed_on(session, [yard.panel.build])}
    assert results["A2"] == panel["A2"]


def test_the_next_shot_counts_it_as_results_do(book: Storage, hurt_elsewhere: kit.Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    from proofyard.answers.planning import next_shot_read

    seen = []
    real = next_shot_read.next_shot
    monkeypatch.setattr(next_shot_read, "next_shot", lambda trial, shots, **more: seen.extend(shots) or real(trial, shots, **more))
    with book.read() as session:
        read_next_shot(session, hurt_elsewhere.trial, reader="metric")
    assert [(s.fact.label, s.fair.answer, s.fair.reason) for s in seen if s.fair] == [("A2", *WANTED)]
