"""The page that lays trials side by side: all in the address, what is wrong said by its field, and no trial shown that a viewer may not
see."""

from __future__ import annotations

import re

import pytest
from proofyard.access.seats import hash_of, new_token
from proofyard.records import devices
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.bench.page_statements import counted
from tests.conftest import House
from tests.trials_for_tests import Two, plain_shots, shoot, yard_of_two

HOSTILE = '<script>alert("1")</script>'


@pytest.fixture
def two(book: Storage) -> Two:
    return yard_of_two(book)


def pair(book: Storage, two: Two) -> tuple[str, str]:
    first = shoot(book, two)
    return first, shoot(
        book, two, plain_shots(two.wren, "333433"), day="2026-10-17", panel=two.thicker, follows=first, question=f"And thicker? {HOSTILE}"
    )


def test_the_page_says_what_changed_and_counts_alike(viewer: TestClient, book: Storage, two: Two) -> None:
    first, second = pair(book, two)
    answer = viewer.get(f"/trials/compare?trial={first}&trial={second}&at=chronograph&edges=70,+90")
    assert answer.status_code == 200
    assert "<p>Changed for every shot: the panel type and the day.</p>" in answer.text
    assert "1.2\u00a0mm one-piece plate" in answer.text and "1.6\u00a0mm one-piece plate" in answer.text
    assert HOSTILE not in answer.text and "And thicker? &lt;script&gt;" in answer.text
    assert re.search(r">5 of 6</a>.*>1 of 6</a>", answer.text, re.DOTALL)
    # The count leads to its shots, of its own trial and band.
    href = re.search(r'href="([^"]+)">1 of 6</a>', answer.text)
    assert href is not None
    listed = viewer.get(href.group(1).replace("&amp;", "&"))
    assert listed.status_code == 200 and listed.text.count('id="shot-') == 6


def test_one_trial_alone_asks_for_another(viewer: TestClient, book: Storage, two: Two) -> None:
    first, _ = pair(book, two)
    answer = viewer.get(f"/trials/compare?trial={first}")
    assert answer.status_code == 200 and "Pick one more trial." in answer.text
    assert f'value="{first}" checked' in answer.text


def test_with_nothing_asked_the_newest_pair_stands_there(viewer: TestClient, book: Storage, two: Two) -> None:
    first, second = pair(book, two)
    answer = viewer.get("/trials/compare")
    assert "Shown by default: the newest trial that follows another" in answer.text
    assert f'value="{first}" checked' in answer.text and f'value="{second}" checked' in answer.text


WRONG = {
    "trial": ("trial=none", "does not exist"),
    "edges": ("edges=low,+high", "low"),
    "through": ("through=9", "is not one of the choices"),
    "fair": ("fair=maybe", "is not one of the choices"),
    "head": ("head=spoon", "No shot has that head"),
    "depth": ("through=depth&depth=deep", "deep"),
    "method": ("method=guess", "is not one of the choices"),
    "entry": ("entry=door", "is not one of the choices"),
    "at": ("at=home", "is not one of the choices"),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_is_said_by_its_field_and_the_rest_is_shown(viewer: TestClient, book: Storage, two: Two, name: str) -> None:
    first, second = pair(book, two)
    query, said = WRONG[name]
    answer = viewer.get(f"/trials/compare?trial={first}&trial={second}&{query}")
    assert answer.status_code == 422
    assert f'href="#{name}"' in answer.text and f'id="{name}-error"' in answer.text
    assert said in answer.text.split(f'id="{name}-error"')[1].split("</p>")[0]
    assert "Changed for every shot" in answer.text


def test_like_with_like_is_one_tap_away(viewer: TestClient, book: Storage, two: Two) -> None:
    from tests.trials_for_tests import Shot

    first = shoot(book, two)
    second = shoot(book, two, [Shot(two.wren, "52.0 m/s", "4")] * 4 + [Shot(two.tallow, "52.0 m/s", "2")] * 2, spot=8)
    page = viewer.get(f"/trials/compare?trial={first}&trial={second}").text
    href = re.search(r'<a href="([^"]+)">Count only shots that are alike', page)
    assert href is not None
    alike = viewer.get(href.group(1).replace("&amp;", "&"))
    assert alike.status_code == 200 and "2 not alike" in alike.text and "Count all shots again" in alike.text


def test_the_links_are_where_one_looks(archer: TestClient, book: Storage, two: Two) -> None:
    first, second = pair(book, two)
    assert 'href="/trials/compare"' in archer.get("/trials").text
    assert f'href="/trials/compare?trial={first}&amp;trial={second}"' in archer.get(f"/trials/{second}").text
    assert f'href="/trials/compare?trial={first}"' in archer.get(f"/trials/{first}").text


def test_a_viewer_of_one_trial_sees_nothing_of_another(house: House, book: Storage, two: Two) -> None:
    first, second = pair(book, two)
    token = new_token()
    with book.write() as session:
        devices.add_device(session, call_name="Pip", role="viewer", session_hash=hash_of(token), trial_id=first)
    house.tokens["scoped"] = token
    client = house.client("scoped")
    for query in ("", f"?trial={first}&trial={second}"):
        answer = client.get(f"/trials/compare{query}")
        assert answer.status_code in (200, 422)
        assert "And thicker?" not in answer.text and "1.6\u00a0mm" not in answer.text and "a comparison needs two" in answer.text


def test_no_more_than_twelve_statements(viewer: TestClient, book: Storage, two: Two) -> None:
    first, second = pair(book, two)
    viewer.get("/trials/compare")
    with counted(book) as asked:
        viewer.get(f"/trials/compare?trial={first}&trial={second}")
    assert len(asked) <= 12, "\n".join(asked)


def test_trials_without_shots_can_be_laid_side_by_side(viewer: TestClient, book: Storage) -> None:
    first, second = kit.trial(book, "One?"), kit.trial(book, "Two?")
    answer = viewer.get(f"/trials/compare?trial={first}&trial={second}")
    assert answer.status_code == 200 and "No shot is counted in any of them yet." in answer.text
