"""A laptop whose clock is far from the phones' is said on the page of the day, and on the phone before the first shot."""

from __future__ import annotations

import pytest
from proofyard.answers.session.page import clocks_apart
from proofyard.records.apply import apply_each
from proofyard.records.ids import new_id
from proofyard.records.operations import Operation
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said as words_of
from starlette.testclient import TestClient

from tests import kit_for_tests as kit

MINUTE, DAY = 60_000, 86_400_000


def loosed(book: Storage, yard: kit.Yard, *, offset: int, label: str) -> None:
    body = {
        "label": label,
        "shooting_end": yard.shooting_end,
        "archer": yard.archer,
        "bow_build": yard.bow.build,
        "arrow_build": yard.arrow.build,
        "purpose": "counted",
    }
    op = Operation(
        new_id(), kit.recorder(book), "put", "shot", new_id(), body=body, clock_offset_ms=offset, clock_error_ms=40, t_device=kit.BEGAN
    )
    (answer,) = apply_each(book, [op])
    assert answer.taken, answer.problems


@pytest.mark.parametrize(
    ("offset", "words"), [(94 * DAY, "94 days ahead"), (-3 * 60 * MINUTE, "3 hours behind"), (25 * MINUTE, "25 minutes ahead")]
)
def test_the_days_page_says_how_far_the_laptops_clock_is_from_the_phones(
    archer: TestClient, book: Storage, offset: int, words: str
) -> None:
    yard = kit.yard(book)
    loosed(book, yard, offset=9 * MINUTE, label="Z1")
    page = f"/sessions/{yard.session}"
    assert "Clocks apart." not in archer.get(page).text
    loosed(book, yard, offset=offset, label="Z2")
    assert f"This laptop’s clock was {words}" in archer.get(page).text
    loosed(book, yard, offset=2000, label="Z3")  # somebody has set it since
    assert "Clocks apart." not in archer.get(page).text


def test_all_phones_that_say_so_are_named() -> None:
    said = words_of(clocks_apart([("Bo", 500), ("Tallow", -94 * DAY), ("Wren", -94 * DAY - 3000)]))
    assert said.startswith("This laptop’s clock was 94 days behind Tallow’s and Wren’s phones when their shots came in.")
    assert clocks_apart([("Bo", 10 * MINUTE)]) is None
