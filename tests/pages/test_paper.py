"""The log on paper: what the sheet asks is what the log asks, and what is typed in from it loses nothing."""

import html
import re
from typing import Any

import pytest
from proofyard.pages.paper_log.plain_log import READ, SHOT_FIELDS
from proofyard.pages.paper_log.sheet import OF_READING, OF_SHOT
from proofyard.pages.paper_log.typed_in import MOST_ROWS
from proofyard.records.columns import meanings
from proofyard.records.listing import count_of
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.fair_hits import ShotOrder
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.drawn_forms import filled


def test_the_sheet_has_the_columns_of_the_log_and_the_order_that_a_phone_knows_by_itself() -> None:
    assert tuple(name for _, name in OF_SHOT) == ("number", "position", *SHOT_FIELDS, "value")
    assert tuple(name for _, name in OF_READING) == READ
    assert all(name in meanings(table) for table, name in (*OF_SHOT, *OF_READING))


def test_every_column_of_the_log_stands_on_the_printed_sheet_with_its_unit(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    page = archer.get(f"/sessions/{yard.session}/sheet?rows=3").text
    heads = [html.unescape(re.sub(r"<[^>]+>", "", one)) for one in re.findall(r"<th scope=\"col\"[^>]*>(.*?)</th>", page)]
    log = archer.get("/log").text
    for name in (*SHOT_FIELDS, *READ):
        table = Shot if name in SHOT_FIELDS else ShotReading
        label = meanings(table)[name][1].label
        assert any(head == label or head.startswith(f"{label}, ") for head in heads), name
        assert label in html.unescape(log), name
    assert "Speed, m/s" in heads and "Right of the middle, mm" in heads and "End number" in heads
    assert page.count('class="sheet__row"') == 3
    assert "Nobody is near the panel" in page and "Point through (4)" in page and yard.session in page


def test_a_sheet_prints_as_a4_lying_on_its_side(archer: TestClient, book: Storage) -> None:
    page = archer.get(f"/sessions/{kit.yard(book).session}/sheet").text
    sheet = re.search(r'href="(/static/[^"]*app[^"]*\.css)"', page)
    assert sheet and "size: A4 landscape" in archer.get(sheet.group(1)).text


def typed_rows(client: TestClient, yard: kit.Yard, rows: list[dict[str, str]], *, more: str = "") -> tuple[str, dict[str, Any]]:
    """The form with these rows typed into it; "s-arrow_build" is the arrow of that row."""
    where, form = filled(client, f"/sessions/{yard.session}/type-in?rows={max(len(rows), 1)}{more}", f"/sessions/{yard.session}/type-in")
    for n, row in enumerate(rows, 1):
        form |= {f"{name[0]}{n}-{name[2:]}": value for name, value in row.items()}
    return where, form


def facts(book: Storage, yard: kit.Yard) -> list[Any]:
    with book.read() as session:
        return shot_facts(session, session_id=yard.session)


def test_thirty_rows_go_in_at_once_in_their_order_without_a_time(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    rows: list[dict[str, str]] = []
    for n in range(30):
        first = n == 0
        rows.append(
            {
                "w-number": str(n // 3 + 1) if n % 3 == 0 else "",
                "s-archer": yard.archer if first else "",
                "s-bow_build": yard.bow.build if first else "",
                "s-arrow_build": yard.arrow.build,
                "v-value": f"{52 + n / 10:.1f}".replace(".", ","),
                "r-hit": "on_panel",
                "r-x": str(10 * n - 140),
                "r-y": "0",
                "r-outcome_low": str(n % 6),
                "r-note": f"row {n + 1}",
            }
        )
    where, form = typed_rows(archer, yard, rows)
    before = len(facts(book, yard))
    assert archer.post(where, data=form).status_code == 303
    typed = facts(book, yard)
    assert len(typed) - before == 30
    by_note = sorted(typed, key=lambda f: int(f.reading_note.split()[1]))
    assert [f.label for f in by_note] == [f"B{n}" for n in range(1, 31)]
    assert [(f.shooting_end_number, f.position) for f in by_note] == [(n // 3 + 1, n % 3 + 1) for n in range(30)]
    assert all(f.loosed_at is None and f.shooting_end_begun_at is None for f in typed)
    assert [f.outcome_low for f in by_note] == [n % 6 for n in range(30)]
    assert all(f.archer_id == yard.archer and f.purpose == "counted" and f.place_known for f in typed)
    assert by_note[3].x_m == pytest.approx(-0.110)
    with book.read() as session:
        assert count_of(session, "speed_reading") == 30 and count_of(session, "shooting_end") == 10 + 1
    order = ShotOrder(typed)
    assert all(order.earlier(by_note[n], by_note[n + 1]) is True and order.earlier(by_note[n + 1], by_note[n]) is False for n in range(29))
    assert archer.post(where, data=form).status_code == 303, "the same sheet sent twice"
    assert len(facts(book, yard)) - before == 30


def test_one_wrong_box_stores_nothing_and_everything_typed_is_still_there(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    row = {
        "s-archer": yard.archer,
        "s-bow_build": yard.bow.build,
        "s-arrow_build": yard.arrow.build,
        "v-value": "52.6",
        "r-note": "a lace <cut>",
    }
    rows = [row, {**row, "v-value": "fast", "r-damage": "two rings"}, {**row, "s-arrow_build": "", "r-depth": "deep", "r-hit": "on_panel"}]
    where, form = typed_rows(archer, yard, rows)
    form["r3-head_fate"] = ["curled", "loose"]
    answer = archer.post(where, data=form)
    assert answer.status_code == 422
    text = html.unescape(answer.text)
    for box in ("v2-value", "s3-arrow_build", "r3-depth"):
        assert f'id="{box}-error"' in answer.text and f'href="#{box}"' in answer.text
    assert "Row 2, Speed" in text and "Row 3, Arrow" in text and "“deep”" in text
    assert facts(book, yard) == []
    again = filled_again(answer.text)
    for name, value in form.items():
        if name not in ("operation", "r3-head_fate") and value:
            assert again[name] == value, name
    assert answer.text.count("checked") >= 2
    form |= {"v2-value": "53.1", "s3-arrow_build": yard.arrow.build, "r3-depth": "31 mm"}
    assert archer.post(where, data=form).status_code == 303
    typed = facts(book, yard)
    assert len(typed) == 3 and typed[2].head_fate == ("curled", "loose") and typed[1].damage == "two rings"


def filled_again(page: str) -> dict[str, Any]:
    from tests.pages.drawn_forms import forms_of

    return next(form for where, form in forms_of(page).items() if where.endswith("/type-in"))


def test_an_empty_sheet_or_one_without_its_set_up_is_told(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    where, form = typed_rows(archer, yard, [{}])
    assert "Enter at least one row." in archer.post(where, data=form).text
    where, form = typed_rows(archer, yard, [{"s-archer": yard.archer}])
    answer = archer.post(where, data={**form, "setup": ""})
    assert answer.status_code == 422 and "Choose the set-up" in answer.text
    other = kit.yard(book, question="Another?")
    assert "Choose the set-up" in archer.post(where, data={**form, "setup": other.setup}).text


def test_a_sheet_of_a_day_whose_cautions_are_not_ticked_is_refused_once_and_kept_typed(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    day = kit.session(book, yard.trial, ticked=False)
    kit.setup(book, day, yard.panel.build)
    where, form = filled(archer, f"/sessions/{day}/type-in?rows=2", f"/sessions/{day}/type-in")
    form |= {"s1-archer": yard.archer, "s1-bow_build": yard.bow.build, "s1-arrow_build": yard.arrow.build, "r1-note": "kept"}
    answer = archer.post(where, data=form)
    assert answer.status_code == 422 and html.unescape(answer.text).count("cautions of this session are not all ticked") == 2
    assert "kept" in answer.text


def test_a_second_sheet_of_the_same_shooting_end_meets_it_and_leaves_the_order_to_a_person(
    book: Storage, archer: TestClient, owner: TestClient
) -> None:
    yard = kit.yard(book)
    row = {"w-number": "1", "s-archer": yard.archer, "s-bow_build": yard.bow.build, "s-arrow_build": yard.arrow.build}
    for client in (archer, owner):
        where, form = typed_rows(client, yard, [row, {"s-arrow_build": yard.arrow.build}])
        assert client.post(where, data=form).status_code == 303
    typed = facts(book, yard)
    assert len({f.shooting_end_id for f in typed}) == 1 and len(typed) == 4
    assert sorted(f.position or 0 for f in typed) == [0, 0, 1, 2]
    first, unknown = next(f for f in typed if f.position == 1), next(f for f in typed if f.position is None)
    assert ShotOrder(typed).earlier(first, unknown) is None
    assert "Set the order of these hits" in archer.get(f"/sessions/{yard.session}").text


def test_a_place_that_was_written_down_outranks_the_row(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    row = {"s-archer": yard.archer, "s-bow_build": yard.bow.build, "s-arrow_build": yard.arrow.build}
    where, form = typed_rows(archer, yard, [{**row, "s-position": "2", "r-note": "second"}, {**row, "s-position": "1", "r-note": "first"}])
    assert archer.post(where, data=form).status_code == 303
    assert {f.reading_note: f.position for f in facts(book, yard)} == {"second": 2, "first": 1}


def test_more_rows_than_a_page_takes_are_not_drawn(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    assert archer.get(f"/sessions/{yard.session}/type-in?rows={MOST_ROWS + 1}").status_code == 422
    assert archer.get(f"/sessions/{yard.session}/type-in?rows={MOST_ROWS}").status_code == 200


def test_earlier_builds_of_bows_and_arrows_can_be_typed_in(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    again = kit.put(book, "arrow_build", {"arrow": yard.arrow.arrow, "number": "2", "work": "re-mounted"})
    page = archer.get(f"/sessions/{yard.session}/type-in").text
    box = page[page.index('name="s1-arrow_build"') :].partition("</select>")[0]
    assert f'value="{again}"' in box and f'value="{yard.arrow.build}"' in box
    assert "build 1 (earlier)" in box and "build 2 (earlier)" not in box
    where, form = typed_rows(archer, yard, [{"s-arrow_build": yard.arrow.build, "s-archer": yard.archer, "s-bow_build": yard.bow.build}])
    assert archer.post(where, data=form, follow_redirects=False).status_code == 303
    assert [fact.arrow_build_id for fact in facts(book, yard)] == [yard.arrow.build]
