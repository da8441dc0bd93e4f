"""A spreadsheet with anybody's columns becomes part of the book: looked at first, all rows or none, crossed out as one."""

from __future__ import annotations

import pytest
from proofyard.exchange.bring_in import batch
from proofyard.records.import_batch import ImportBatch
from proofyard.records.nouns import TABLES
from proofyard.storage import Storage
from sqlalchemy import func, select
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.page_text import text_of
from tests.pages.whole_forms import forms_on

# Invented, as somebody might have kept it: a title, German separators and commas, thousands with a comma, words of their own, a total.
LAST_YEAR = """Last year at the farm;;;;;;;;;
Date;Archer;Bow;Arrow;Head;Target;Arrow weight;Speed (fps);Result;Depth mm
13.09.2025;Wren;Yew 110;12;short bodkin;M2;1,120 gr;172;full;23,5
13.09.2025;Wren;Yew 110;13;needle;M2;1,065 gr;175;stuck;
14.09.2025;Tallow;Yew 110;12;short bodkin;P3;1,120 gr;171;dented;
14.09.2025;Tallow;Yew 110;13;needle;P3;1,065 gr;fast;missed;

Total;;;;;;;;4;
"""
ARROWS = "Tag,Total weight (gr),Length,Head type,Wood,Fletching\n21,1040,31 in,needle,ash,goose\n22,1065,31 in,short bodkin,ash,goose\n"


def words(html: str) -> str:
    return " ".join(text_of(html, frame=False).replace("\xa0", " ").split())


def held(owner: TestClient, holds: str, content: str | bytes, name: str = "last-year.csv") -> str:
    """The address of the preview of a sheet that was sent."""
    data = content.encode() if isinstance(content, str) else content
    answer = owner.post("/bring-in", data={"holds": holds}, files={"file": (name, data)}, follow_redirects=False)
    assert answer.status_code == 303, words(answer.text)
    return answer.headers["location"]


def boxes(html: str) -> dict[str, list[str]]:
    """What the preview's form would send as it stands."""
    form = next(one for one in forms_on(html) if one.action.startswith("/bring-in/sheet/"))
    found: dict[str, list[str]] = {}
    for name, value in form.sends():
        found.setdefault(name, []).append(value)
    return found


def counts(book: Storage) -> dict[str, int]:
    with book.read() as session:
        return {
            noun: session.execute(
                select(func.count()).select_from(table.__table__).where(table.__table__.c.voided_rev.is_(None))
            ).scalar_one()
            for noun, table in TABLES.items()
        }


def test_shots_of_a_sheet_come_in_as_one_batch_and_are_crossed_out_as_one(owner: TestClient, book: Storage) -> None:
    before = counts(book)
    at = held(owner, "shot", LAST_YEAR)
    page = owner.get(at)
    assert page.status_code == 200
    said = words(page.text)
    assert "10 of 10 columns would be taken, and 2 rows. 2 rows can’t be read yet." in said
    assert "| Row 8 | a total or a mean, not a row of its own |" in said
    assert "“stuck” is none of the answers here." in said and "“fast” has no number in it." in said
    assert "1120 gr" in said and "172 ft/s" in said and "2025-09-13" in said
    assert counts(book) == before, "looking stores nothing"

    sent = boxes(page.text)
    refused = owner.post(at, data={**sent, "act": "bring"})
    assert refused.status_code == 422 and "Mend the cells, or leave the rows out" in words(refused.text)
    assert counts(book) == before

    stuck = next(name for name in sent if name.startswith("word-"))
    sent |= {stuck: ["3"], "cell-6-7": ["173 fps"], "method": ["chronograph"], "in_order": ["yes"], "all-distance": ["14 m"]}
    again = owner.post(at, data={**sent, "act": "look"})
    assert again.status_code == 200 and "and 4 rows. Nothing is in the book yet." in words(again.text)
    sent = boxes(again.text)
    done = owner.post(at, data={**sent, "act": "bring"}, follow_redirects=False)
    assert done.status_code == 303, words(done.text)[:1500]
    after = counts(book)
    made = {noun: after[noun] - before[noun] for noun in after if after[noun] != before[noun]}
    records = {"trial": 1, "session": 2, "setup": 2, "shooting_end": 2, "archer": 2, "bow": 1, "bow_build": 1, "head": 2, "arrow": 2}
    records |= {"arrow_build": 2, "panel": 2, "panel_build": 2, "reading": 2, "shot": 4, "shot_reading": 4, "speed_reading": 4}
    assert made == {**records, "combination": 4, "import_batch": 1, "imported_record": sum(records.values())}
    with book.read() as session:
        made_batch = session.execute(select(ImportBatch)).scalars().one()
        readings = session.execute(select(TABLES["shot_reading"]).order_by(TABLES["shot_reading"].id)).scalars().all()
        speeds = session.execute(select(TABLES["speed_reading"])).scalars().all()
        trial = session.execute(select(TABLES["trial"])).scalars().one()
    assert (made_batch.file_name, made_batch.holds, made_batch.rows_taken) == ("last-year.csv", "shot", 4)
    assert [(one.hit, one.outcome_low) for one in readings] == [("on_panel", "5"), ("on_panel", "3"), ("on_panel", "2"), ("missed", None)]
    assert readings[0].depth_m == pytest.approx(0.0235)
    assert sorted(one.value_m_s for one in speeds) == pytest.approx(sorted(0.3048 * fps for fps in (171, 172, 173, 175)))
    assert trial.state == "closed"

    # Sent once more, it is the same batch.
    twice = owner.post(at, data={**sent, "act": "bring"}, follow_redirects=False)
    assert twice.headers["location"] == done.headers["location"] and counts(book) == after

    place = done.headers["location"]
    assert "Shot 4" in words(owner.get(place).text).replace("~ ", "")
    assert "last-year.csv" in words(owner.get("/bring-in").text)
    unsaid = owner.post(f"{place}/cross-out", data={"reason": ""})
    assert unsaid.status_code == 422 and counts(book) == after
    assert owner.post(f"{place}/cross-out", data={"reason": "the wrong year"}).status_code == 303
    assert counts(book) == {**before, "combination": after["combination"], "imported_record": after["imported_record"]}
    assert "This batch is crossed out" in words(owner.get(place).text)
    assert owner.post(f"{place}/cross-out", data={"reason": "it was right", "back": "yes"}).status_code == 303
    assert counts(book) == after


def test_arrows_come_in_with_their_heads_and_their_mass_and_the_next_sheet_like_it_is_known(owner: TestClient, book: Storage) -> None:
    at = held(owner, "arrow", ARROWS, "arrows.csv")
    page = owner.get(at)
    assert "6 of 6 columns would be taken, and 2 rows." in words(page.text)
    done = owner.post(at, data={**boxes(page.text), "act": "bring"}, follow_redirects=False)
    assert done.status_code == 303
    with book.read() as session:
        arrows = session.execute(select(TABLES["arrow"]).order_by(TABLES["arrow"].tag)).scalars().all()
        masses = session.execute(select(TABLES["reading"])).scalars().all()
    assert [(one.tag, one.material, one.fletching) for one in arrows] == [("21", "ash", "goose"), ("22", "ash", "goose")]
    assert [one.length_m for one in arrows] == pytest.approx([0.7874, 0.7874])
    # 1 grain is 64.79891 mg by definition
    assert sorted(one.value_si for one in masses) == pytest.approx([1040 * 64.79891e-6, 1065 * 64.79891e-6])

    same = owner.get(held(owner, "arrow", ARROWS.replace("21,", "31,").replace("22,", "22,"), "arrows-2.csv"))
    assert "Known headings." in words(same.text)
    assert "The book has a “22” already. Give it another name, or leave this row out." in words(same.text)


def test_a_batch_crossed_out_leaves_what_something_else_stands_on(owner: TestClient, book: Storage) -> None:
    at = held(owner, "arrow", ARROWS, "arrows.csv")
    place = owner.post(at, data={**boxes(owner.get(at).text), "act": "bring"}, follow_redirects=False).headers["location"]
    yard = kit.yard(book)
    with book.read() as session:
        build = session.execute(
            select(TABLES["arrow_build"].id)
            .join(TABLES["arrow"], TABLES["arrow"].id == TABLES["arrow_build"].arrow_id)
            .where(TABLES["arrow"].tag == "21")
        ).scalar_one()
    body = {"label": "K77", "shooting_end": yard.shooting_end, "bow_build": yard.bow.build, "arrow_build": build, "archer": yard.archer}
    kit.put(book, "shot", {**body, "purpose": "counted"})
    assert "These would stay" in words(owner.get(place).text)
    owner.post(f"{place}/cross-out", data={"reason": "the wrong file"})
    with book.read() as session:
        left = session.execute(select(TABLES["arrow"].tag).where(TABLES["arrow"].voided_rev.is_(None))).scalars().all()
    assert "21" in left and "22" not in left


def test_a_day_brought_in_takes_paper_without_cautions_but_no_shot_of_a_phone(owner: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    at = held(owner, "shot", LAST_YEAR)
    sent = boxes(owner.get(at).text)
    sent |= {"trial": [yard.trial], "leave_wrong": ["yes"]}
    assert owner.post(at, data={**sent, "act": "bring"}, follow_redirects=False).status_code == 303
    with book.read() as session:
        end = session.execute(
            select(TABLES["shooting_end"].id)
            .join(TABLES["setup"], TABLES["setup"].id == TABLES["shooting_end"].setup_id)
            .where(TABLES["setup"].session_id != yard.session)
            .limit(1)
        ).scalar_one()
    body = {"shooting_end": end, "bow_build": yard.bow.build, "arrow_build": yard.arrow.build, "archer": yard.archer, "purpose": "counted"}
    assert kit.ask(book, "shot", {**body, "label": "K78"}).taken
    said = kit.ask(book, "shot", {**body, "label": "K79", "loosed_at": kit.BEGAN})
    assert not said.taken and "cautions of this session are not all ticked" in said.problems[0].sentence


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ({"holds": "shot"}, "Choose a file, or paste its rows."),
        ({"holds": "nothing", "pasted": "a,b\n1,2"}, "Choose what the sheet holds."),
        ({"holds": "shot", "pasted": "\x00\x01"}, "It is no text that can be read"),
    ],
)
def test_what_is_missing_is_said_beside_its_field_and_what_was_pasted_stays(owner: TestClient, data: dict[str, str], told: str) -> None:
    answer = owner.post("/bring-in", data=data)
    assert answer.status_code == 422 and told in words(answer.text)


def test_pasted_rows_are_read_as_a_file_is(owner: TestClient) -> None:
    answer = owner.post("/bring-in", data={"holds": "bow", "pasted": 'Bow\tDraw weight\nYew 112\t112 lb @ 30"\n'})
    answer = owner.get(answer.headers["location"])
    assert answer.status_code == 200 and "2 of 2 columns would be taken, and 1 row." in words(answer.text)


def test_a_sheet_that_is_no_longer_held_says_what_to_do(owner: TestClient) -> None:
    answer = owner.get("/bring-in/sheet/0198c0de-0000-7000-8000-000000000000")
    assert answer.status_code == 404 and "Choose the file once more." in words(answer.text)


def test_only_the_owner_brings_in(archer: TestClient, viewer: TestClient) -> None:
    assert [one.get("/bring-in").status_code for one in (archer, viewer)] == [403, 403]
    assert "Bring in" not in words(viewer.get("/download").text)


def test_what_the_book_refuses_of_a_long_sheet_is_said_when_it_is_brought_in(
    owner: TestClient, book: Storage, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(batch, "MOST_TRIED", 0)
    one_figure = (
        "Date,Archer,Bow,Arrow,Panel,Right of middle (mm),Above middle (mm)\n2025-09-13,Wren,Yew,1,M2,10,\n2025-09-13,Wren,Yew,1,M2,10,20\n"
    )
    at = held(owner, "shot", one_figure)
    page, before = owner.get(at), counts(book)
    assert "2 rows. Nothing is in the book yet." in words(page.text)
    refused = owner.post(at, data={**boxes(page.text), "act": "bring"}, follow_redirects=False)
    assert refused.status_code == 422 and "how far right and how far up" in words(refused.text)
    assert counts(book) == before


def test_a_sheet_of_too_many_rows_for_one_batch_says_so(owner: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(batch, "MOST_ROWS", 1)
    at = held(owner, "arrow", ARROWS, "arrows.csv")
    refused = owner.post(at, data={**boxes(owner.get(at).text), "act": "bring"}, follow_redirects=False)
    assert refused.status_code == 422 and "rows at most" in words(refused.text)
