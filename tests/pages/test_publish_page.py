"""Publishing from the laptop: careful choices first, what goes out before it does, and a zip that opens."""

from __future__ import annotations

import io
import re
import zipfile

import pytest
from proofyard.publishing import elsewhere
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit

PLACE = "Osier meadow, Quellbury"
SHOW, MAKE = "/publish/preview", "/publish"


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    made = kit.yard(book)
    kit.read_shot(book, made, damage="split by the seam")
    kit.session(book, made.trial, place=PLACE, officer="Orla Venn", note="Pim held the lamp")
    kit.photo(book, "panel_build", made.panel.build, note="the front")
    return made


def test_it_begins_with_the_most_careful_choices(owner: TestClient, yard: kit.Yard) -> None:
    page = owner.get("/publish").text
    assert 'value="invented" checked' in page and 'value="none" checked' in page
    assert not re.search(r'name="(notes|photo)"[^>]* checked', page) and "Make the pages" not in page


def test_it_shows_each_name_place_note_and_photo_with_what_stands_for_it(owner: TestClient, yard: kit.Yard) -> None:
    page = owner.post(SHOW, data={"names": "initials", "places": "region", "region": "The fens"}).text
    assert "<dt>Orla Venn</dt><dd>O. V.</dd>" in page and f"<dt>{PLACE}</dt><dd>The fens</dd>" in page
    assert "None goes out. In the book are:" in page and "Pim held the lamp" in page and "0 of 1." in page
    assert "Make the pages" in page


def test_a_region_without_a_name_is_asked_for_and_all_that_was_typed_stays(owner: TestClient, yard: kit.Yard) -> None:
    typed = {"places": "region", "withheld": "Thornquist\r\nquay", "authors": "The Quarry group", "licence": "CC0-1.0", "notes": "yes"}
    for address in (SHOW, MAKE):
        got = owner.post(address, data=typed)
        assert got.status_code == 422 and got.text.count("Enter the region") == 2
        for kept in ("Thornquist\nquay", "The Quarry group", 'value="CC0-1.0" selected', 'value="region" checked'):
            assert kept in got.text.replace("\r", ""), kept
        assert "Make the pages" not in got.text


@pytest.mark.long
def test_the_pages_come_as_one_zip_made_by_another_process(owner: TestClient, yard: kit.Yard) -> None:
    got = owner.post(MAKE, data={"names": "invented", "places": "none", "trial": yard.trial})
    assert got.status_code == 200 and got.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(got.content)) as packed:
        names = packed.namelist()
        whole = b"\n".join(packed.read(name) for name in names).decode("utf-8", "replace")
    assert {"trials/index.html", "trials/search.html", "trials/feed.xml"} <= set(names)
    assert "Quellbury" not in whole and "Orla" not in whole and "Pim held" not in whole


@pytest.mark.long  # three sites; what stops one is tried in the slow tests of publishing
def test_a_withheld_word_that_would_go_out_stops_it_and_can_be_left_after_a_look(
    owner: TestClient, yard: kit.Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    got = owner.post(MAKE, data={"withheld": "perforated"})
    assert got.status_code == 422 and "Nothing was published." in got.text and "“perforated” in" in got.text
    assert 'name="leave" value="perforated"' in got.text
    left = owner.post(MAKE, data={"withheld": "perforated", "leave": "perforated"})
    assert left.status_code == 200, left.text
    again = owner.post(SHOW, data={"withheld": "perforated", "leave": "perforated"}).text
    assert re.search(r'name="leave" value="perforated" checked', again), "what was decided is still there"


@pytest.mark.slow
def test_a_process_that_dies_says_so_and_makes_nothing(owner: TestClient, yard: kit.Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(elsewhere, "_make", ends)
    got = owner.post(MAKE, data={})
    assert got.status_code == 422 and "ended by itself" in got.text


def ends(*_: object) -> None:
    """Stands for a process that the system ended."""


def test_only_one_is_made_at_a_time(owner: TestClient, yard: kit.Yard) -> None:
    from proofyard.pages.publish import page

    with page._one_at_a_time:
        got = owner.post(MAKE, data={})
    assert got.status_code == 503 and "being made already" in got.text
