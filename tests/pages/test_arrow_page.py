"""What an arrow has been through: its hits, its fates, whether it is to check; work on its head starts a count again."""

from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit


def test_an_arrow_says_its_hits_its_fates_and_that_it_is_to_check(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.reading(book, kit.shot(book, yard, label="A1"), outcome_low="2", head_fate=["curled"], shaft_fate=["sound"])
    kit.reading(book, kit.shot(book, yard, label="A2"), hit="missed")
    page = viewer.get(f"/arrows/{yard.arrow.arrow}").text
    assert "<h1>Arrow" in page and "2 shots. 1 hit since it was made" in page
    assert "head: point curled (A1)" in page
    assert "To check" in page and "Flex it and look it over" in page
    kit.checked_sound(book, yard.arrow.build)
    page = viewer.get(f"/arrows/{yard.arrow.arrow}").text
    assert "Flex it and look it over" not in page


def test_work_on_the_head_starts_a_count_again(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard)
    kit.new_arrow_build(book, yard.arrow)
    page = viewer.get(f"/arrows/{yard.arrow.arrow}").text
    new, old = page.split("Build 2, reground")[1].split("Build 1")
    assert "Hits of this build</dt><dd>0" in new and "No shots yet" in new
    assert "Hits of this build</dt><dd>1" in old
