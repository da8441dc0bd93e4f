"""The sync card's codes say the book, the moment and how sure that is, ten a second; the card's page asks for them."""

from __future__ import annotations

import io

import segno
from PIL import Image
from proofyard.records.devices import the_book
from proofyard.records.film_words import read_card
from proofyard.records.notebook import latest_seq
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests.conftest import House


def test_codes_come_a_tenth_of_a_second_apart_with_the_laptops_clock(archer: TestClient, book: Storage) -> None:
    said = archer.get("/sync-card/codes?begin=1790000000123&count=20&error=12").json()
    assert [int(at) for at in said["codes"]] == [1_790_000_000_100 + 100 * nth for nth in range(20)]
    assert said["t1"] <= said["t2"]
    with book.read() as session:
        the, seq = the_book(session), latest_seq(session)
    assert the is not None
    rows = said["codes"]["1790000000100"]
    size = int(rows[0], 16)
    drawn = [[bit == "1" for bit in f"{int(row, 16):0{size}b}"] for row in rows[1:]]
    assert len(drawn) == size
    made = f"proofyard|{the.book_id[:8]}|{seq}|1790000000100|12"
    assert _matrix(made) == drawn
    read = read_card(made, "2026-01-01")
    assert read is not None
    assert (read.at_ms, read.error_ms, read.book, read.to_the_second) == (1_790_000_000_100, 12, the.book_id[:8], False)


def _matrix(text: str) -> list[list[bool]]:
    buffer = io.BytesIO()
    segno.make(text, micro=False, error="m").save(buffer, kind="png", scale=1, border=0)
    image = Image.open(buffer).convert("L")
    return [[image.getpixel((x, y)) < 128 for x in range(image.width)] for y in range(image.height)]


def test_too_many_codes_or_none_of_a_moment_are_refused(archer: TestClient) -> None:
    assert archer.get("/sync-card/codes?begin=1790000000000&count=101").status_code == 422
    assert archer.get("/sync-card/codes?begin=-1").status_code == 422
    assert archer.get("/sync-card/codes?begin=1790000000000&count=0").json()["codes"] == {}


def test_the_card_is_for_archers_and_says_when_to_show_it(house: House, archer: TestClient) -> None:
    page = archer.get("/sync-card").text
    assert "once when the film begins and once before it ends" in page and 'data-codes="/sync-card/codes"' in page
    assert house.client("viewer").get("/sync-card").status_code == 403
