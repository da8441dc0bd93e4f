"""Each benchmark runs and measures something. No time is asserted here: a busy machine would make a liar of it."""

from __future__ import annotations

import math
import os
import re
from pathlib import Path

import pytest

from tests.bench import walks
from tests.conftest import copied

pytestmark = pytest.mark.slow


@pytest.mark.skipif(os.name == "nt", reason="processor times of children are not kept there")
def test_import_time_is_measured() -> None:
    from tests.bench import import_time

    found = import_time.measure(rounds=1, compiled_before=True)
    assert set(found.seconds) == set(import_time.IMPORTS) - {"nothing"}
    assert all(math.isfinite(one) and one > 0 for one in (found.ratio, found.control))


def test_durable_saves_are_measured_and_really_stored() -> None:
    from tests.bench import durable_saves

    found = durable_saves.measure(saves=5)
    assert found.stored == 25
    assert found.bare_ms > 0 and found.ours_ms > 0
    print(f"ratio {found.ratio:.2f}, control {found.control:.2f}")


@pytest.mark.parametrize("every", [5, pytest.param(1, marks=pytest.mark.long)])
def test_statements_of_pages_are_counted(every: int) -> None:
    from tests.bench.page_statements import PAGES, counted, measure

    with counted() as asked:
        pass
    assert asked == []
    pages = ("/trials", "/range", *PAGES[::every])
    found = {one.page: one for one in measure(tuple(dict.fromkeys(pages)))}
    assert set(found) == set(pages) and all(one.status == 200 for one in found.values())
    assert found["/trials"].many > 0
    assert found["/range"].many <= 12


def test_statements_of_a_page_are_as_many_for_few_shots_as_for_many() -> None:
    from tests.bench.a_thousand_shots import measure

    few, many = measure(12), measure(60)
    assert few.statements == many.statements
    assert all(count <= 12 for page, count in many.statements.items() if not page.startswith("/download"))
    assert many.near_ratio > 0 and many.target_ratio > 0 and many.results_ratio > 0


@pytest.mark.long
def test_searches_are_measured_beside_a_plain_query_and_saves_without_an_index() -> None:
    from tests.bench.search import TYPED, measure

    found = measure(600, rounds=3)
    assert set(found.searched) == set(found.plain) == set(TYPED) and found.shots >= 600
    assert found.ratio > 0 and found.saved > 0 and found.taken_in > 0
    assert min(found.seen.values()) > 0 and len(found.poor) <= 4, found.poor


@pytest.mark.long
def test_a_thousand_shots_are_measured() -> None:
    from tests.bench.a_thousand_shots import measure

    found = measure(1000)
    print(f"ratio to reading the rows: {found.near_ratio:.1f} at the chronograph, {found.target_ratio:.1f} at the target")
    assert found.statements["/results"] <= 12
    assert math.isfinite(found.target_ratio) and found.shots == 1000


@pytest.mark.long
def test_the_weight_of_the_phones_page_is_measured(needs_chromium: str) -> None:
    from tests.bench import page_weight

    found = page_weight.measure()
    assert "/range" in found.parts
    assert 0 < found.second < found.first
    # Bytes, not seconds: these are what a phone at the far end of the yard has to fetch.
    assert found.first <= 100 * 1024, found.parts
    assert found.second <= 5 * 1024, found.second_parts


def test_a_package_is_measured_beside_its_floor() -> None:
    from tests.bench.going_out import measure

    found = measure(site=False)
    assert found.shots > 100 and found.floor_s > 0 and found.package_s > 0
    assert found.package_mb > 0.05 and found.site_s is None


@pytest.fixture(scope="module")
def walked() -> dict[str, walks.Walk]:
    return walks.measure()


def test_the_way_of_a_request_through_the_files_is_followed(walked: dict[str, walks.Walk]) -> None:
    assert set(walked) == set(walks.WALKS)
    assert "views/counted.py" in walked["results"].files and "records/apply.py" in walked["tap"].files
    assert all(len(one.files) <= one.functions and one.moves > 0 for one in walked.values())


def test_the_time_of_a_point_is_measured_against_an_ordinary_fit() -> None:
    from tests.bench.time_of_fifty_percent import measure

    for one in measure(times=3):
        assert one.point_s > 0 and one.fit_s > 0 and one.band_s > one.point_s
        print(f"{one.library}: {one.ratio:.1f} times one ordinary fit")


@pytest.mark.long
def test_savers_beside_readers_are_measured_and_none_is_refused() -> None:
    from tests.bench import savers_and_readers

    found = savers_and_readers.measure(seconds=2, shots=300)
    assert found.shots >= 300
    assert sum(len(turn.took) for turn in (found.alone, found.beside, found.again)) <= found.stored, "an answered save was not stored"
    assert not found.alone.refused and not found.beside.refused and not found.again.refused
    assert found.alone.locked + found.beside.locked + found.again.locked == 0
    assert set(found.costs) == set(savers_and_readers.PAGES) and min(found.costs.values()) > 0
    assert found.beside.done > 0 and found.beside.work_s(found.costs) > 0 and not found.beside.pages_refused


def test_what_is_kept_of_shots_is_measured_cold_and_warm_and_beside_saves(tmp_path: Path, demo_book_file: Path) -> None:
    from tests.bench.kept_shots import measure

    found = measure(copied(demo_book_file, tmp_path / "demo"), alone_s=0.3, pages=["results"])
    assert found.shots == 151 and found.fill_cpu_s > 0 and found.most_mb > 10
    assert found.warm and all(page > plain > 0 for page, plain in found.warm.values())
    assert 0 < found.again["results"] < found.warm["results"][0], "a page that is kept is not made again"
    assert len(found.alone) > 3 and len(found.beside) > 3


def test_pages_are_measured_and_one_that_takes_too_long_is_given_up(tmp_path: Path, demo_book_file: Path) -> None:
    from tests.bench.pages_by_size import Book, measure, missed

    book = Book(copied(demo_book_file, tmp_path / "demo"), most_s=120.0)
    try:
        (found,) = measure([book], "/arrows/{arrow_id}")
        assert found.status == 200 and found.statements > 3 and found.rows > 20 and found.cpu_s > 0 and found.is_page
        assert missed(found, found) == []
        book.most_s = 0.0
        (given_up,) = measure([book], "/shots")
        assert given_up.gave_up == 0.0 and given_up.status == 0 and missed(given_up, given_up)
        book.most_s = 120.0
        assert measure([book], "/api/ping")[0].status == 200, "its process was begun anew"
    finally:
        book.close()


def test_every_page_of_the_table_of_routes_is_measured_or_it_says_why_not(demo_book_file: Path, tmp_path: Path) -> None:
    from contextlib import closing

    from tests.bench.every_address import NOT_ASKED, address, ids_of, pages
    from tests.conftest import opened
    from tests.contract.test_routes_and_roles import TABLE

    with closing(opened(copied(demo_book_file, tmp_path / "demo"))) as book:
        ids = ids_of(book)
    filled = [address(page, ids) for page in pages()]
    assert len(filled) > 200 and not any("{" in one or "None" in one for one in filled)
    assert {f"GET {path}" for path in NOT_ASKED} <= set(TABLE)


def test_the_demo_takes_at_most_six_tenths_of_the_bytes_that_it_took_before() -> None:
    """A count of bytes, the same on every machine."""
    from tests.bench.bytes_a_shot import measure

    found = measure()
    assert found.shots == 151 and found.before > 3_000_000
    assert found.now < found.with_cache < found.before and found.share <= 0.6


def test_every_bench_that_the_table_of_error_rates_names_is_there() -> None:
    here = Path(__file__).parent
    text = (here / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(\w+\.py)", text))
    assert len(named) >= 5 and all((here / name).is_file() for name in named)
    assert {one.name for one in here.glob("*_error_rates.py") if not one.name.startswith("test_")} <= named


def test_whoever_follows_a_number_of_the_results_page_opens_at_most_45_files(walked: dict[str, walks.Walk]) -> None:
    """A count of calls, the same on every machine. A file that holds little and is met on this walk belongs to one beside it."""
    assert set(walked) == set(walks.WALKS) and all(walk.functions >= len(walk.files) for walk in walked.values())
    assert len(walked["results"].files) <= 45, walked["results"].files
