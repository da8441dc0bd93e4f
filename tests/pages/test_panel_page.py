"""What a panel has had so far, in whatever trial: hits in order, aim spots still free, its builds."""

from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit


def test_a_panel_shows_its_hits_in_order_across_trials_and_its_free_spots(viewer: TestClient, book: Storage) -> None:
    one, two = kit.yard(book), kit.yard(book, question="Another?")
    for name, x in (("1", "-100 mm"), ("2", "0 mm"), ("3", "100 mm")):
        kit.put(book, "panel_area", {"panel_build": one.panel.build, "sort": "aim", "name": name, "x": x, "y": "0 mm"})
    kit.reading(book, kit.shot(book, one, label="A1"), outcome_low="3", x="-95 mm", y="3 mm")
    there = kit.shooting_end(book, kit.setup(book, two.session, one.panel.build))
    kit.reading(book, kit.shot(book, two, label="B1", shooting_end_id=there), outcome_low="1", x="100 mm", y="0 mm")
    kit.reading(book, kit.shot(book, one, label="A2"), hit="missed")
    page = viewer.get(f"/panels/{one.panel.build}").text
    assert "2 hits so far." in page
    # A1 opened it 5 mm from spot 1; B1 only marked it, and a mark spoils nothing.
    assert "2 of 3 aim spots still free: 2, 3." in page
    assert "Shot at it, not on it" in page and ">A2<" in page
    trial = viewer.get(f"/trials/{two.trial}").text
    assert "2 hits" in trial, "the small drawing shows what the panel took, whoever's trial it was"


def test_another_build_has_none_of_the_first_ones_hits(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard, x="0", y="0")
    relaced = kit.put(book, "panel_build", {"panel": yard.panel.panel, "number": "2", "work": "relaced"})
    page = viewer.get(f"/panels/{relaced}").text
    assert "No hits so far." in page
    assert f'href="/panels/{yard.panel.build}"' in page and "Build 1, as first made" in page


def test_a_panel_without_a_size_is_listed_and_not_drawn(viewer: TestClient, book: Storage) -> None:
    panel = kit.panel(book, "Bare", width="", height="")
    assert "No drawing: the panel’s width and height" in viewer.get(f"/panels/{panel.build}").text
