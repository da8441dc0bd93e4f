"""What a panel has had so far, and what an arrow has been through."""

from starlette.testclient import TestClient

from server.storage import Storage
from tests import kit_for_tests as kit


def test_a_panel_shows_its_hits_in_order_across_trials_and_its_free_spots(viewer: TestClient, book: Storage) -> None:
    one, two = kit.yard(book), kit.yard(book, question="Another?")
    for name, x in (("1", "-100 mm"), ("2", "0 mm"), ("3", "100 mm")):
        kit.put(book, "panel_area", {"panel_build": one.panel.build, "sort": "aim", "name": name, "x": x, "y": "0 mm"})
    kit.reading(book, kit.shot(book, one, label="A1"), outcome_low="3", x="-95 mm", y="3 mm")
    there = kit.walk(book, kit.setup(book, two.session, one.panel.build))
    kit.reading(book, kit.shot(book, two, label="B1", walk_id=there), outcome_low="1", x="100 mm", y="0 mm")
    kit.reading(book, kit.shot(book, one, label="A2"), hit="missed")
    page = viewer.get(f"/panels/{one.panel.build}").text
    assert "2 hits on Panel 1 so far" in page
    # A1 opened it 5 mm from spot 1; B1 only marked it, and a mark spoils nothing.
    assert "2 of 3 aim spots still free: 2, 3." in page
    assert "Loosed at it, and not on it" in page and ">A2<" in page
    trial = viewer.get(f"/trials/{two.trial}").text
    assert "in another trial" in trial


def test_another_build_has_none_of_the_first_ones_hits(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard, x="0", y="0")
    relaced = kit.put(book, "panel_build", {"panel": yard.panel.panel, "number": "2", "work": "relaced"})
    page = viewer.get(f"/panels/{relaced}").text
    assert "No hits on Panel 1, build 2 so far" in page
    assert f'href="/panels/{yard.panel.build}"' in page and "Build 1, as first made" in page


def test_a_panel_without_a_size_is_listed_and_not_drawn(viewer: TestClient, book: Storage) -> None:
    panel = kit.panel(book, "Bare", width="", height="")
    assert "No drawing: the panel’s width and height" in viewer.get(f"/panels/{panel.build}").text


def test_an_arrow_says_its_strikes_its_fates_and_that_it_is_to_check(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.reading(book, kit.shot(book, yard, label="A1"), outcome_low="2", head_fate=["curled"], shaft_fate=["sound"])
    kit.reading(book, kit.shot(book, yard, label="A2"), hit="missed")
    page = viewer.get(f"/arrows/{yard.arrow.arrow}").text
    assert "loosed twice" in page or "loosed 2 times" in page
    assert "struck once" in page and "head: point curled (A1)" in page
    assert "To check" in page and "Flex it and look at it" in page
    kit.checked_sound(book, yard.arrow.build)
    page = viewer.get(f"/arrows/{yard.arrow.arrow}").text
    assert "Flex it and look at it" not in page


def test_work_on_the_head_starts_a_count_anew(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard)
    kit.new_arrow_build(book, yard.arrow)
    page = viewer.get(f"/arrows/{yard.arrow.arrow}").text
    new, old = page.split("Build 2, reground")[1].split("Build 1")
    assert "Strikes since it was reground</dt><dd>0" in new and "Never loosed" in new
    assert "Strikes since it was made</dt><dd>1" in old
