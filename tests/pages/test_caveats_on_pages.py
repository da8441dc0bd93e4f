"""What the tool found, as it stands on pages; totals hidden where energies were chosen; a hit read by a second person."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from server.records.caveat_facts import caveat_facts
from server.records.ids import new_id
from server.storage import Storage
from tests import kit_for_tests as kit
from tests.pages.test_trials_and_their_days import operation, statements
from tests.results_for_tests import _spots

UP_AND_DOWN = ((60, 70, 80, 90, 80, 70, 80, 90, 80, 90, 80), (0, 0, 0, 1, 1, 0, 0, 1, 0, 1, 1))
BY_A_LIST = ((60, 70, 80, 90, 60, 70, 80, 90, 60, 70, 80), (0, 0, 0, 1, 0, 0, 1, 1, 0, 1, 1))


def shoot(book: Storage, energies: Sequence[int], through: Sequence[int], **trial: str) -> kit.Yard:
    """An arrow of 70 g whose speed was read on each shot, each in a walk of its own; one more whose place nobody knows."""
    yard = kit.yard(book)
    if trial:
        kit.put(book, "trial", trial, record_id=yard.trial, base_rev=1)
    arrow = kit.arrow(book, "70", masses=("70.0 g", "70.0 g"))
    for n, (energy, hit, (x, y)) in enumerate(zip((*energies, 75), (*through, 1), _spots(), strict=False)):
        walk = kit.walk(book, yard.setup, begun_at=kit.BEGAN + n * 600_000)
        loosed = kit.shot(book, yard, walk_id=walk, arrow_build=arrow.build, loosed_at=kit.BEGAN + n * 600_000 + 1000)
        kit.shot_speed(book, loosed, f"{(2 * energy / 0.070) ** 0.5:.2f} m/s")
        place = {"x": x, "y": y, "place_known": "yes"} if n < len(energies) else {"place_known": "no"}
        kit.reading(book, loosed, outcome_low="4" if hit else "2", way_in="plate", **place)
    return yard


@pytest.fixture
def chosen(book: Storage) -> kit.Yard:
    return shoot(book, *UP_AND_DOWN)


def test_totals_over_energies_are_hidden_where_the_outcomes_chose_them(viewer: TestClient, chosen: kit.Yard) -> None:
    page = viewer.get("/results?at=chronograph&edges=55,+75,+95").text
    assert "Energies chosen by the outcomes" in page
    assert "All bands together" not in page
    assert "No count over all energies: they were chosen by the outcomes so far." in page
    assert re.search(r'id="count-needle-\d"[^>]*>\d of \d', page), "counts in a band stay"


def test_one_band_over_all_energies_is_a_total_and_hidden_too(viewer: TestClient, chosen: kit.Yard) -> None:
    page = viewer.get("/results?at=chronograph&edges=50,+100").text
    assert "<h1>Energies were chosen by the outcomes so far, so one share over all of them means nothing</h1>" in page
    assert ">hidden<" in page and re.search(r'id="count-needle-1"[^>]*>11 shots<', page)
    assert " of 11" not in page.split('id="results-caveats"')[0]
    assert not re.search(r'id="count-[^>]*>\d+ of \d+<', page)


def test_where_half_get_through_the_count_by_head_is_hidden_too(viewer: TestClient, chosen: kit.Yard) -> None:
    page = viewer.get("/half").text
    row = re.search(r'id="point-needle-[^"]*".*?</li>', page, re.S)
    assert row and "11 shots" in row[0] and not re.search(r"\d+ of 11", row[0])


def test_the_same_shots_by_a_list_keep_their_totals(viewer: TestClient, book: Storage) -> None:
    yard = shoot(book, *BY_A_LIST)
    page = viewer.get("/results?at=chronograph&edges=55,+75,+95").text
    assert "Energies chosen by the outcomes" not in page and "All bands together" in page
    assert "long needle in 5 of 11" in viewer.get(f"/trials/{yard.trial}").text


def test_a_trials_page_hides_its_count_by_head_and_says_why(viewer: TestClient, chosen: kit.Yard) -> None:
    page = viewer.get(f"/trials/{chosen.trial}").text
    assert "No count by head: energies were chosen by the outcomes so far" in page
    assert "long needle in" not in page and 'id="trial-caveats"' in page


def test_a_trial_that_declares_its_rule_is_believed_on_all_pages(viewer: TestClient, book: Storage) -> None:
    yard = shoot(book, *BY_A_LIST, next_shot_rule="up_and_down")
    for path in ("/results", f"/trials/{yard.trial}", f"/sessions/{yard.session}"):
        assert "Its trial says that each next energy was chosen" in viewer.get(path).text, path


def test_a_range_by_jeffreys_is_a_fourth_choice(viewer: TestClient, chosen: kit.Yard) -> None:
    page = viewer.get("/results?method=jeffreys&at=chronograph&edges=55,+75,+95").text
    assert re.search(r'name="method"[^>]*value="jeffreys"[^>]*checked', page) and "Ranges: Jeffreys, 95 %" in page


def test_what_stands_beside_a_count_follows_what_is_stated(viewer: TestClient, chosen: kit.Yard) -> None:
    notes = [re.findall(r"if alike to [\d.]+, may be [\d to]+", viewer.get(f"/results?at=chronograph&edges=55,+75,+95&alike={alike}").text) for alike in ("0.05", "0.5")]
    assert len(notes[0]) == len(notes[1]) == 1 and notes[0] != notes[1]
    assert viewer.get("/results?alike=2").status_code == 422


def test_the_finding_says_on_which_panel(viewer: TestClient, chosen: kit.Yard) -> None:
    assert re.search(r"<h1>[^<]*all on Panel[^<]*</h1>|<h1>[^<]*all on P[^<]*</h1>", viewer.get("/results?at=chronograph&edges=55,+75,+95").text)


def test_a_day_says_that_speeds_fell(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    for n in range(10):
        loosed = kit.shot(book, yard)
        kit.shot_speed(book, loosed, f"{52.0 - 0.2 * n + (0.05, -0.05)[n % 2]:.2f} m/s")
        kit.reading(book, loosed)
    page = viewer.get(f"/sessions/{yard.session}").text
    assert "Speeds drifted" in page and re.search(r"fell by 3\.\d", page)


# Read by a second person


def test_a_second_reading_is_written_down_beside_the_first(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.read_shot(book, yard, outcome_low="4", depth="12 mm", way_in="plate", x="0", y="0", place_known="yes")
    other = kit.archer(book, "Pip")
    form = archer.get(f"/shots/{shot}/read-again").text
    assert "12 mm" not in form and not re.search(r'value="4"[^>]*(checked|selected)', form), "the first reading isn’t shown"
    assert "Broke rings" not in form, "only the ways in that a plate has"
    action = f"/shots/{shot}/read-again"
    body = {"operation": operation(form, action), "read_by": other, "outcome_low": "3", "depth": "≥ 10", "way_in": "ridge"}
    got = archer.post(action, data=body)
    assert got.status_code == 303
    assert archer.post(action, data=body).status_code == 303, "the same form sent twice is one reading"
    page = archer.get(f"/shots/{shot}").text
    assert page.count("Pip: ") == 1 and "Differs from the first reading:</b> rung, way in, depth, by 2" in page
    assert "Second reading of" in page, "the story of the shot tells it"
    with book.read() as session:
        (kept,) = caveat_facts(session).again
    assert (kept.outcome_low, kept.outcome_high, kept.depth_bound, kept.read_by) == (3, 3, "at_least", "Pip")
    assert "1 hit was read by a second person: same rung 0 of 1, within one rung 1 of 1" in archer.get(f"/trials/{yard.trial}").text


def test_what_is_wrong_is_said_by_its_field_with_what_was_typed(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    shot, other = kit.read_shot(book, yard), kit.archer(book, "Pip")
    action = f"/shots/{shot}/read-again"
    for wrong, said in (
        ({"outcome_low": ""}, "outcome_low-error"),
        ({"read_by": ""}, "read_by-error"),
        ({"outcome_low": "1", "outcome_high": "5"}, "outcome_high-error"),
        ({"depth": "a lot"}, "depth-error"),
        ({"way_in": "broke_rings"}, "way_in-error"),
    ):
        got = archer.post(action, data={"operation": new_id(), "read_by": other, "outcome_low": "3", "note": "kept as typed", **wrong})
        assert got.status_code == 422 and f'id="{said}"' in got.text and "kept as typed" in got.text, wrong
    with book.read() as session:
        assert caveat_facts(session).again == ()
    assert archer.get("/shots/none/read-again").status_code == 404


def test_a_slip_of_the_second_reader_is_struck_through_with_a_reason(archer: TestClient, viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.read_shot(book, yard)
    made = kit.put(book, "second_reading", {"shot": shot, "read_by": yard.archer, "outcome_low": "2"})
    action = f"/shots/{shot}/read-again/{made}/strike"
    assert action not in viewer.get(f"/shots/{shot}").text
    page = archer.get(f"/shots/{shot}").text
    assert archer.post(action, data={"operation": operation(page, action), "reason": ""}).status_code == 422
    assert archer.post(action, data={"operation": operation(page, action), "reason": "read the wrong hit"}).status_code == 303
    assert "Nobody has read it a second time" in archer.get(f"/shots/{shot}").text
    assert archer.post(action, data={"operation": new_id(), "reason": "again"}).status_code == 404


def test_a_second_reading_changes_no_count(viewer: TestClient, book: Storage, chosen: kit.Yard) -> None:
    before = re.findall(r'class="tally__count"[^>]*>([^<]*)<', viewer.get("/results").text)
    with book.read() as session:
        shots = session.connection().exec_driver_sql("SELECT id FROM shot").scalars().all()
    for shot in shots:
        kit.put(book, "second_reading", {"shot": shot, "read_by": chosen.archer, "outcome_low": "0"})
    page = viewer.get("/results").text
    assert re.findall(r'class="tally__count"[^>]*>([^<]*)<', page) == before
    assert "11 hits were read by a second person: same rung 0 of 11" in page


def test_pages_with_caveats_take_at_most_twelve_statements(archer: TestClient, book: Storage, chosen: kit.Yard) -> None:
    with book.read() as session:
        shot = session.connection().exec_driver_sql("SELECT id FROM shot").scalars().first()
    kit.put(book, "second_reading", {"shot": shot, "read_by": chosen.archer, "outcome_low": "0"})
    for path in ("/results", f"/trials/{chosen.trial}", f"/sessions/{chosen.session}", f"/shots/{shot}", f"/shots/{shot}/read-again"):
        archer.get(path)
        with statements(book) as said:
            assert archer.get(path).status_code == 200
        assert len(said) <= 12, (path, len(said))


def test_every_caveat_has_shots_to_tap_or_touches_all(viewer: TestClient, chosen: kit.Yard) -> None:
    page = viewer.get("/results").text
    caveats = page.split('id="results-caveats"')[1].split("</section>")[0]
    for shot in set(re.findall(r'href="(/shots/[^"]+)"', caveats)):
        assert viewer.get(shot).status_code == 200
    assert caveats.count("<li>") == caveats.count("Touches ")


def test_the_sheet_of_caveats_is_among_those_that_are_served() -> None:
    assert "pages/caveats.css" in (Path(__file__).parents[2] / "static/css/app.css").read_text(encoding="utf-8")
