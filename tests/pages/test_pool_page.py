"""The page of groups pooled, with one's own book and others that were brought in."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.conftest import House, copied, house_of, opened
from tests.invented_days import Plan, Truth, shoot_day
from tests.other_books_for_tests import brought_in, package_of
from tests.pages.page_text import text_of

pytestmark = pytest.mark.slow  # three books are shot, two of them brought in

ALONE = Plan(heads=("needle",), shots_a_head=24, varied="energy", question="At which energy does the needle get through?")


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory, empty_book_file: Path) -> Iterator[House]:
    folder = tmp_path_factory.mktemp("pool")
    own = copied(empty_book_file, folder / "own")
    for seed, (name, half) in enumerate({"Weir group": 78.0, "Heath group": 84.0}.items(), start=2):
        (folder / name).mkdir()
        truth = Truth({"needle": half}, slope=9.0)
        package = package_of(folder / name, empty_book_file, lambda book, truth=truth, seed=seed: shoot_day(book, truth, ALONE, seed=seed))
        brought_in(package, own, name)
    with closing(opened(own)) as book:
        made = house_of(book)
        shoot_day(book, Truth({"needle": 72.0}, slope=9.0), ALONE, seed=1)
        yield made


@pytest.fixture
def viewer(house: House) -> TestClient:
    return house.client("viewer")


def words_of(client: TestClient, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return " ".join(text_of(answer.text, frame=False).split())


def test_it_answers_in_its_first_sentence_and_names_every_group(viewer: TestClient) -> None:
    page = words_of(viewer, "/pool")
    assert page.startswith("# Groups pooled Over 3 groups and 72 shots, the 50 % energy of the")
    for name in ("Your own book", "Heath group", "Weir group"):
        assert name in page
    assert page.count("n = 24") >= 3 and "1.6 mm" in page and "Nothing that is recorded differs." in page


def test_its_figure_of_ones_own_book_is_that_of_the_page_of_fifty_percents(viewer: TestClient) -> None:
    own = words_of(viewer, "/pool?at=target").split("Your own book", 1)[1]
    figure = own.split("95", 1)[0].strip(" -:").split(" J")[0].split()[-1]
    assert f"{figure} J" in words_of(viewer, "/fifty-percent?at=target")


def test_its_table_and_chart_can_be_taken_along(viewer: TestClient) -> None:
    rows = list(csv.DictReader(io.StringIO(viewer.get("/pool/table.csv").content.decode("utf-8-sig"))))
    assert [row["group"] for row in rows] == ["Your own book", "Heath group", "Weir group", ""]
    assert [row["shots"] for row in rows] == ["24", "24", "24", "72"] and float(rows[-1]["low"]) < float(rows[-1]["value"])
    drawing = viewer.get("/pool/drawings/forest.svg")
    assert drawing.headers["content-type"].startswith("image/svg+xml") and "All groups together" in drawing.text
    assert viewer.get("/pool/drawings/other.svg").status_code == 404


def test_a_share_without_an_energy_is_refused_in_the_first_sentence(viewer: TestClient) -> None:
    page = words_of(viewer, "/pool?figure=share")
    assert page.startswith("# Groups pooled A share through holds at one energy, so enter an energy")


def test_without_another_book_it_leads_to_where_one_is_brought_in(demo_house: House) -> None:
    page = words_of(demo_house.client("viewer"), "/pool")
    assert "It takes 3 groups" in page and "No other book is here yet." in page
