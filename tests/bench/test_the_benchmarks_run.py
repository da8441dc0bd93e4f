"""Each benchmark runs and measures something. No time is asserted here: a busy machine would make a liar of it."""

from __future__ import annotations

import math
import os

import pytest


@pytest.mark.skipif(os.name == "nt", reason="processor times of children are not kept there")
def test_import_time_is_measured() -> None:
    from tests.bench import import_time

    found = import_time.measure(rounds=1)
    assert set(found.seconds) == set(import_time.IMPORTS) - {"nothing"}
    assert all(math.isfinite(one) and one > 0 for one in (found.ratio, found.control))


def test_durable_saves_are_measured_and_really_stored() -> None:
    from tests.bench import durable_saves

    found = durable_saves.measure(saves=5)
    assert found.stored == 25
    assert found.bare_ms > 0 and found.ours_ms > 0
    print(f"ratio {found.ratio:.2f}, control {found.control:.2f}")


def test_statements_of_pages_are_counted() -> None:
    from tests.bench.page_statements import counted, measure

    with counted() as asked:
        pass
    assert asked == []
    found = {one.page: one for one in measure()}
    assert found["/trials"].many > 0
    assert found["/range"].many <= 12


def test_statements_of_a_page_are_as_many_for_few_shots_as_for_many() -> None:
    from tests.bench.a_thousand_shots import measure

    few, many = measure(12), measure(60)
    assert few.statements == many.statements
    assert all(count <= 12 for page, count in many.statements.items() if not page.startswith("/download"))
    assert many.near_ratio > 0 and many.target_ratio > 0 and many.results_ratio > 0


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


def test_the_time_of_a_point_is_measured_against_an_ordinary_fit() -> None:
    from tests.bench.time_of_the_half import measure

    for one in measure(times=3):
        assert one.point_s > 0 and one.fit_s > 0 and one.band_s > one.point_s
        print(f"{one.library}: {one.ratio:.1f} times one ordinary fit")
