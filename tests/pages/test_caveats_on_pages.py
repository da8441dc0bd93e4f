"""What the tool found, as it stands on pages; totals hidden where energies were chosen; a hit read by a second person."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from proofyard.caveats.caveat import RestsOn
from proofyard.pages.frame.rendering import environment
from proofyard.records.caveat_facts import caveat_facts
from proofyard.records.ids import new_id
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.test_trial_page import operation
from tests.results_for_tests import _spots
from tests.statements_for_tests import statements

TEMPLATES = Path(__file__).parents[2] / "templates"
UP_AND_DOWN = ((60, 70, 80, 90, 80, 70, 80, 90, 80, 90, 80), (0, 0, 0, 1, 1, 0, 0, 1, 0, 1, 1))
BY_A_LIST = ((60, 70, 80, 90, 60, 70, 80, 90, 60, 70, 80), (0, 0, 0, 1, 0, 0, 1, 1, 0, 1, 1))


def shoot(book: Storage, energies: Sequence[int], through: Sequence[int], **trial: str) -> kit.Yard:
    """An arrow of 70 g whose speed was read on each shot, each in an end of its own; one more whose place nobody knows."""
    yard = kit.yard(book)
    if trial:
        kit.put(book, "trial", trial, record_id=yard.trial, base_rev=1)
    arrow = kit.arrow(book, "70", masses=("70.0 g", "70.0 g"))
    for n, (energy, hit, (x, y)) in enumerate(zip((*energies, 75), (*through, 1), _spots(), strict=False)):
        shooting_end = kit.shooting_end(book, yard.setup, begun_at=kit.BEGAN + n * 600_000)
        loosed = kit.shot(book, yard, shooting_end_id=shooting_end, arrow_build=arrow.build, loosed_at=kit.BEGAN + n * 600_000 + 1000)
        kit.shot_speed(book, loosed, f"{(2 * energy / 0.070) ** 0.5:.2f} m/s")
        place = {"x": x, "y": y, "place_known": "yes"} if n < len(energies) else {"place_known": "no"}
        kit.reading(book, loosed, outcome_low="4" if hit else "2", entry="plate", **place)
    return yard


@pytest.fixture
def chosen(book: Storage) -> kit.Yard:
    return shoot(book, *UP_AND_DOWN)


def test_totals_over_energies_are_hidden_where_the_outcomes_chose_them(viewer: TestClient, chosen: kit.Yard) -> None:
    asked = "?at=chronograph&edges=55,+75,+95"
    page = viewer.get("/results" + asked).text
    assert "Energies chosen by the outcomes" in page
    assert "All bands together" not in viewer.get("/results/table" + asked).text
    every_shot = viewer.get("/results/every-shot" + asked).text
    assert "No total over all energies, because each energy was chosen by the outcomes so far." in every_shot
    assert re.search(r'id="count-needle-\d"[^>]*>\d of \d', page), "counts in a band stay"


def test_one_band_over_all_energies_is_a_total_and_hidden_too(viewer: TestClient, chosen: kit.Yard) -> None:
    page = viewer.get("/results?at=chronograph&edges=50,+100").text
    assert ">Energies were chosen by the outcomes so far, so one share over all of them means nothing.</p>" in page
    table = viewer.get("/results/table?at=chronograph&edges=50,+100").text
    assert ">hidden<" in table and re.search(r'id="count-needle-1"[^>]*>11 shots<', table)
    assert re.search(r'id="count-needle-1"[^>]*>11 shots<', page) and 'class="results__bar"' not in page
    assert not re.search(r'id="count-[^>]*>\d+ of \d+<', table)
    assert not re.search(r'id="count-[^>]*>\d+ of \d+<', page)


def test_where_half_get_through_the_count_by_head_is_hidden_too(viewer: TestClient, chosen: kit.Yard) -> None:
    page = viewer.get("/fifty-percent").text
    row = re.search(r'id="point-needle-[^"]*".*?</li>', page, re.S)
    assert row and "11 shots" in row[0] and not re.search(r"\d+ of 11", row[0])


def test_the_same_shots_by_a_list_keep_their_totals(viewer: TestClient, book: Storage) -> None:
    yard = shoot(book, *BY_A_LIST)
    page = viewer.get("/results?at=chronograph&edges=55,+75,+95").text
    assert "Energies chosen by the outcomes" not in page
    assert "All bands together" in viewer.get("/results/table?at=chronograph&edges=55,+75,+95").text
    assert "long needle bodkin in 5 of 11" in viewer.get(f"/trials/{yard.trial}").text


def test_a_trials_page_hides_its_count_by_head_and_says_why(viewer: TestClient, chosen: kit.Yard) -> None:
    page = viewer.get(f"/trials/{chosen.trial}").text
    assert "No count by head: energies were chosen by the outcomes so far" in page
    assert "long needle bodkin in" not in page and 'id="trial-caveats"' in page


def test_a_trial_that_declares_its_rule_is_believed_on_all_pages(viewer: TestClient, book: Storage) -> None:
    yard = shoot(book, *BY_A_LIST, next_shot_rule="up_and_down")
    for path in ("/results", f"/trials/{yard.trial}", f"/sessions/{yard.session}"):
        assert "The trial chose each next energy by the outcomes" in viewer.get(path).text, path


def test_a_range_by_jeffreys_is_a_fourth_choice(viewer: TestClient, chosen: kit.Yard) -> None:
    page = viewer.get("/results/table?method=jeffreys&at=chronograph&edges=55,+75,+95").text
    assert re.search(r'name="method"[^>]*value="jeffreys"[^>]*checked', page) and "Intervals: 95 %, Jeffreys" in page


def test_what_stands_beside_a_count_follows_what_is_stated(viewer: TestClient, chosen: kit.Yard) -> None:
    notes = [
        re.findall(
            r"if correlated by [\d.]+: 95\s%\sinterval [\d to]+",
            viewer.get(f"/results/table?at=chronograph&edges=55,+75,+95&alike={alike}").text,
        )
        for alike in ("0.05", "0.5")
    ]
    assert len(notes[0]) == len(notes[1]) == 1 and notes[0] != notes[1]
    assert viewer.get("/results?alike=2").status_code == 422


def test_the_finding_says_on_which_panel(viewer: TestClient, chosen: kit.Yard) -> None:
    assert re.search(r"<h1>Results</h1>\s*<p[^>]*>[^<]*all on P[^<]*</p>", viewer.get("/results?at=chronograph&edges=55,+75,+95").text)


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
    shot = kit.read_shot(book, yard, outcome_low="4", depth="12 mm", entry="plate", x="0", y="0", place_known="yes")
    other = kit.archer(book, "Pip")
    form = archer.get(f"/shots/{shot}/read-again").text
    assert "12 mm" not in form and not re.search(r'value="4"[^>]*(checked|selected)', form), "the first reading isn’t shown"
    assert "Broke rings" not in form, "only the entries that a plate has"
    action = f"/shots/{shot}/read-again"
    body = {"operation": operation(form, action), "read_by": other, "outcome_low": "3", "depth": "≥ 10", "entry": "ridge"}
    got = archer.post(action, data=body)
    assert got.status_code == 303
    assert archer.post(action, data=body).status_code == 303, "the same form sent twice is one reading"
    page = archer.get(f"/shots/{shot}").text
    assert page.count("Pip: ") == 1 and "Differs from the first reading:</b> outcome, where it went in, depth, by 2" in page
    assert "Second reading of" in page, "the story of the shot tells it"
    with book.read() as session:
        (kept,) = caveat_facts(session).again
    assert (kept.outcome_low, kept.outcome_high, kept.depth_bound, kept.read_by) == (3, 3, "at_least", "Pip")
    assert (
        "1 hit was read by a second person: same outcome in 0 of 1, within one level in 1 of 1" in archer.get(f"/trials/{yard.trial}").text
    )


def test_what_is_wrong_is_said_by_its_field_with_what_was_typed(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    shot, other = kit.read_shot(book, yard), kit.archer(book, "Pip")
    action = f"/shots/{shot}/read-again"
    for wrong, said in (
        ({"outcome_low": ""}, "outcome_low-error"),
        ({"read_by": ""}, "read_by-error"),
        ({"outcome_low": "1", "outcome_high": "5"}, "outcome_high-error"),
        ({"depth": "a lot"}, "depth-error"),
        ({"entry": "broke_rings"}, "entry-error"),
    ):
        got = archer.post(action, data={"operation": new_id(), "read_by": other, "outcome_low": "3", "note": "kept as typed", **wrong})
        assert got.status_code == 422 and f'id="{said}"' in got.text and "kept as typed" in got.text, wrong
    with book.read() as session:
        assert caveat_facts(session).again == ()
    assert archer.get("/shots/none/read-again").status_code == 404


def test_a_slip_of_the_second_reader_is_crossed_out_with_a_reason(archer: TestClient, viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.read_shot(book, yard)
    made = kit.put(book, "second_reading", {"shot": shot, "read_by": yard.archer, "outcome_low": "2"})
    action = f"/shots/{shot}/read-again/{made}/cross-out"
    assert action not in viewer.get(f"/shots/{shot}").text
    page = archer.get(f"/shots/{shot}").text
    assert archer.post(action, data={"operation": operation(page, action), "reason": ""}).status_code == 422
    assert archer.post(action, data={"operation": operation(page, action), "reason": "read the wrong hit"}).status_code == 303
    assert "Nobody has read it a second time" in archer.get(f"/shots/{shot}").text
    assert archer.post(action, data={"operation": new_id(), "reason": "again"}).status_code == 404


def test_a_second_reading_changes_no_count(viewer: TestClient, book: Storage, chosen: kit.Yard) -> None:
    before = re.findall(r'id="count-[^>]*>([^<]*)<', viewer.get("/results").text)
    assert before
    with book.read() as session:
        shots = session.connection().exec_driver_sql("SELECT id FROM shot").scalars().all()
    for shot in shots:
        kit.put(book, "second_reading", {"shot": shot, "read_by": chosen.archer, "outcome_low": "0"})
    page = viewer.get("/results").text
    assert re.findall(r'id="count-[^>]*>([^<]*)<', page) == before
    assert "11 hits were read by a second person: same outcome in 0 of 11" in page


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
    assert caveats.count('class="caveats__one fold"') == caveats.count("Affects ") > 0


def test_the_sheet_of_caveats_is_among_those_that_are_served() -> None:
    assert "pages/caveats.css" in (Path(__file__).parents[2] / "static/css/app.css").read_text(encoding="utf-8")


@pytest.mark.parametrize("path", ["/results", "/fifty-percent", "/protection", "/measures", "/trials/{trial}"])
def test_caveats_have_one_dress_on_every_page(viewer: TestClient, chosen: kit.Yard, path: str) -> None:
    """Lines that open; at most three in sight, the rest behind one more line."""
    page = viewer.get(path.format(trial=chosen.trial)).text
    (caveats,) = re.findall(r'<section class="layout__part caveats".*?</section>', page, re.S)
    in_sight, *rest = caveats.split('<details class="fold"><summary>')
    assert 1 <= in_sight.count('class="caveats__one fold"') <= 3 and len(rest) <= 1
    assert caveats.count("<p>") == caveats.count('class="caveats__one fold"'), "nothing is said outside its fold"


def test_one_template_draws_them_all() -> None:
    draws = {str(path.relative_to(TEMPLATES)): path.read_text(encoding="utf-8") for path in TEMPLATES.rglob("*.html")}
    with_caveats = {name: text for name, text in draws.items() if re.search(r"caveats = \w+\.to_check", text)}
    assert len(with_caveats) >= 7
    assert all(text.count('include "caveats/lines.html"') == text.count(".to_check, place") for text in with_caveats.values())
    assert [name for name, text in draws.items() if "caveats/one.html" in text] == ["caveats/lines.html"]


@dataclass(frozen=True)
class _Said:
    """As much of a caveat as the line of one asks for."""

    shots: tuple[RestsOn, ...]
    title: str = "Unread shots"
    words: str = "Many."
    touches: str = "every share"


@pytest.mark.parametrize(("count", "more"), [(60, ""), (61, "and 1 more"), (1_407, "and 1347 more")])
def test_of_many_shots_a_caveat_names_sixty_and_says_how_many_more_there_are(count: int, more: str) -> None:
    shots = tuple(RestsOn(f"id-{n}", f"A{n}") for n in range(count))
    told = environment().get_template("caveats/one.html").render(one=_Said(shots))
    assert told.count("<a ") == 60 and f"({count} shots)" in told
    assert more in told and (more or "more" not in told)
