"""Sheets whose last row can't stand: nothing of the rows before it comes in either, and the row says why."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from proofyard.opening import open_book
from starlette.testclient import TestClient

from tests.conftest import House, copied, house_of
from tests.pages.test_bring_in_page import boxes, counts, held, words

pytestmark = pytest.mark.slow

SHOT = (
    "Date,Archer,Bow,Arrow,Panel,Speed (m/s),Outcome,Depth (mm),Right of middle (mm),Above middle (mm),Angle (deg)\n"
    "2025-09-13,Wren,Yew,1,M2,52,3,4,10,20,0\n"
)
ARROW = "Tag,Mass (g),Shaft length (mm),Profile\nA1,60,800,parallel\n"
BOW = "Name,Draw weight (lb),Draw (in),Type\nYew,110,31,self\n"
PANEL = "Name,Construction,Thickness (mm),Width (mm)\nP1,plate,1.5,300\n"
# name -> what the sheet holds, its text, what the row says
HOSTILE: dict[str, tuple[str, str, str]] = {
    "a speed that is no number": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,fast,3,4,10,20,0\n", "no number"),
    "a speed above all": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,9999,3,4,10,20,0\n", "too high"),
    "a speed with an exponent": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,1e400,3,4,10,20,0\n", "exponent"),
    "not a number": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,NaN,3,4,10,20,0\n", "no number"),
    "infinity": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,inf,3,4,10,20,0\n", "no number"),
    "a day that there is none": ("shot", SHOT + "2025-02-31,Wren,Yew,1,M2,52,3,4,10,20,0\n", "no day"),
    "a day in words": ("shot", SHOT + "yesterday,Wren,Yew,1,M2,52,3,4,10,20,0\n", "no day"),
    "a year of nobody": ("shot", SHOT + "0001-01-01,Wren,Yew,1,M2,52,3,4,10,20,0\n", "not a year"),
    "no archer": ("shot", SHOT + "2025-09-13,,Yew,1,M2,52,3,4,10,20,0\n", "nothing stands here"),
    "no panel": ("shot", SHOT + "2025-09-13,Wren,Yew,1,,52,3,4,10,20,0\n", "nothing stands here"),
    "an outcome that nobody knows": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,52,vanished,4,10,20,0\n", "none of the answers"),
    "an outcome of nine": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,52,9,4,10,20,0\n", "none of the answers"),
    "a place with one figure": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,52,3,4,10,,0\n", "how far right and how far up"),
    "a place far off": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,52,3,4,99999,20,0\n", "too high"),
    "a depth below nothing": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,52,3,-4,10,20,0\n", "too low"),
    "an angle of a full turn": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,52,3,4,10,20,360\n", "too high"),
    "an outcome of a miss": ("shot", SHOT + "2025-09-13,Wren,Yew,1,M2,52,missed,x,10,20,0\n", "no number"),
    "an archer's name of a page": ("shot", SHOT + f"2025-09-13,{'W' * 5000},Yew,1,M2,52,3,4,10,20,0\n", "too many"),
    "a bow's name of a page": ("shot", SHOT + f"2025-09-13,Wren,{'Y' * 61},1,M2,52,3,4,10,20,0\n", "too many"),
    "letters that turn round": ("shot", SHOT + "2025-09-13,Wren\u202eevil,Yew,1,M2,52,3,4,10,20,0\n", "U+202E"),
    "letters that are not seen": ("shot", SHOT + "2025-09-13,Wr\u200ben,Yew,1,M2,52,3,4,10,20,0\n", "U+200B"),
    "two thicknesses of one panel": (
        "shot",
        "Date,Archer,Bow,Arrow,Panel,Thickness (mm),Outcome\n2025-09-13,Wren,Yew,1,M2,1.2,3\n2025-09-13,Wren,Yew,1,M2,1.6,3\n",
        "row 2 says",
    ),
    "a thickness that the first row of a panel lacks": (
        "shot",
        "Date,Archer,Bow,Arrow,Panel,Thickness (mm),Outcome\n2025-09-13,Wren,Yew,1,M2,,3\n2025-09-13,Wren,Yew,1,M2,1.6,3\n",
        "says nothing of it",
    ),
    "two weights of one bow": (
        "shot",
        "Date,Archer,Bow,Draw weight (lb),Arrow,Panel,Outcome\n2025-09-13,Wren,Yew,110,1,M2,3\n2025-09-13,Wren,Yew,120,1,M2,3\n",
        "row 2 says",
    ),
    "two arrows of one tag": ("arrow", ARROW + "a1,61,800,parallel\n", "already"),
    "an arrow without a tag": ("arrow", ARROW + ",61,800,parallel\n", "nothing stands here"),
    "a tag too long": ("arrow", ARROW + f"{'9' * 21},61,800,parallel\n", "too many"),
    "an arrow of a ton": ("arrow", ARROW + "A2,1000 kg,800,parallel\n", "too high"),
    "an arrow that weighs nothing": ("arrow", ARROW + "A2,0,800,parallel\n", "too low"),
    "a mass in joules": ("arrow", ARROW + "A2,60 J,800,parallel\n", "is an energy"),
    "a mass with its doubt": ("arrow", ARROW + "A2,60 ± 1,800,parallel\n", "uncertainty"),
    "a sum": ("arrow", ARROW + "A2,=30*2,800,parallel\n", "Type a mass"),
    "a program's call": ("arrow", ARROW + "A2,=cmd|' /C calc'!A0,800,parallel\n", "Type a mass"),
    "a length of two": ("arrow", ARROW + "A2,60,800 810,parallel\n", "more than one number"),
    "a length of a mile": ("arrow", ARROW + "A2,60,1600000,parallel\n", "too high"),
    "a profile of nobody": ("arrow", ARROW + "A2,60,800,spiral\n", "none of the answers"),
    "two bows of one name": ("bow", BOW + "YEW,100,31,self\n", "already"),
    "a bow that draws a ton": ("bow", BOW + "Ash,2000,31,self\n", "too high"),
    "a bow with two draws": ("bow", BOW + "Ash,110@28,31,self\n", "differ"),
    "a bow with two marks": ("bow", BOW + "Ash,110@28@30,28,self\n", "more than one @"),
    "a draw of a street": ("bow", BOW + "Ash,110,999,self\n", "too high"),
    "a bow of no kind": ("bow", BOW + "Ash,110,31,trebuchet\n", "none of the answers"),
    "two panels of one name": ("panel", PANEL + "p1,plate,1.5,300\n", "already"),
    "a plate by its gauge": ("panel", PANEL + "P2,plate,16 ga,300\n", "gauge"),
    "a plate as thick as a wall": ("panel", PANEL + "P2,plate,500,300\n", "too high"),
    "a panel wider than a door": ("panel", PANEL + "P2,plate,1.5,30000\n", "too high"),
    "a panel of no construction": ("panel", PANEL + "P2,moonlight,1.5,300\n", "none of the answers"),
}


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory, empty_book_file: Path) -> Iterator[House]:
    storage = open_book(copied(empty_book_file, tmp_path_factory.mktemp("hostile") / "book"))
    yield house_of(storage)
    storage.close()


@pytest.fixture(scope="module")
def owner(house: House) -> TestClient:
    return house.client("owner")


@pytest.mark.parametrize("name", HOSTILE)
def test_one_row_that_cannot_stand_keeps_all_of_them_out(house: House, owner: TestClient, name: str) -> None:
    holds, content, told = HOSTILE[name]
    before = counts(house.storage)
    at = held(owner, holds, content)
    page = owner.get(at)
    assert page.status_code == 200 and told in words(page.text)
    refused = owner.post(at, data={**boxes(page.text), "act": "bring"}, follow_redirects=False)
    assert refused.status_code == 422 and told in words(refused.text)
    assert counts(house.storage) == before


def test_with_the_files_they_are_more_than_sixty() -> None:
    assert len(HOSTILE) >= 40


def test_a_formula_for_a_name_stays_a_text(house: House, owner: TestClient) -> None:
    at = held(owner, "bow", 'Name,Type\n"=HYPERLINK(""http://evil"")",self\n')
    page = owner.get(at)
    assert "=HYPERLINK(" in words(page.text)
    done = owner.post(at, data={**boxes(page.text), "act": "bring"}, follow_redirects=False)
    assert done.status_code == 303
    assert owner.post(f"{done.headers['location']}/cross-out", data={"reason": "a test"}, follow_redirects=False).status_code == 303
