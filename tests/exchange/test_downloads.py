"""What stands in the files: every shot, every reading, every column in the dictionary, and the same as on the page."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter

import pytest
from proofyard.answers.results.page import Results, read_results, results_of
from proofyard.exchange.csv_writing import SOURCES, Table, csv_bytes, csv_text
from proofyard.exchange.data_dictionary import FILES, column_topics
from proofyard.exchange.fetched import Fetched, fetch
from proofyard.exchange.file_forms import FILE_FORMS, name_in_form
from proofyard.records.ids import new_id
from proofyard.records.listing import all_of, while_nobody_writes
from proofyard.records.trial import Trial
from proofyard.shots.loosed import load_loosed
from proofyard.storage import Storage
from proofyard.views.panel_type import panel_type_of
from starlette.testclient import TestClient

from tests import kit_for_tests as kit

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.results_for_tests import HOSTILE, Filled, book, filled, filled_once, loosed  # noqa: F401


@pytest.fixture
def fetched(book: Storage) -> Fetched:
    return fetch(book)


def read(table: Table, form: str = "analysis") -> list[dict[str, str]]:
    text = "".join(csv_text(table, form)).removeprefix("\ufeff")
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def shots(fetched: Fetched) -> dict[str, dict[str, str]]:
    return {row["shot_label"]: row for row in read(FILES["shots.csv"].make(fetched))}


def test_every_shot_is_there_unread_and_crossed_out_ones_too(fetched: Fetched) -> None:
    found = shots(fetched)
    assert set(found) == {f"A{n}" for n in range(1, 74)}
    assert [label for label, row in found.items() if row["voided"] == "yes"] == ["A72"]
    assert found["A72"]["voided_reason"] == "wrong arrow picked, =2+2"
    assert [label for label, row in found.items() if row["unread"] == "yes"] == ["A59", "A73"]
    assert found["A73"]["outcome_low"] == "" and found["A73"]["left_out_by_default_because"] == "unread"


def of_every_type(book: Storage) -> Results:
    """What the pages count, of all panel types; the page of one type has the same shots of that type."""
    with book.read() as session:
        whole = results_of(load_loosed(session), {})
    one = read_results(book, {}).counted_shots
    mine = [shot for shot in whole.counted_shots if panel_type_of(shot.shot.fact) == panel_type_of(one[0].shot.fact)]
    assert one and {shot.shot.fact.shot_id for shot in one} == {shot.shot.fact.shot_id for shot in mine}
    return whole


def test_the_page_and_the_file_agree_row_by_row(book: Storage, fetched: Fetched) -> None:
    page, found = of_every_type(book), shots(fetched)
    on_page = {one.shot.fact.label: one for group in page.groups for cell in group.cells for one in cell.shots}
    assert {label for label, row in found.items() if row["counted_by_default"] == "yes"} == set(on_page)
    for label, one in on_page.items():
        row = found[label]
        assert one.energy is not None
        assert float(row["energy_at_chronograph_j"]) == one.energy.value
        assert float(row["energy_at_chronograph_u_j"]) == one.energy.standard_uncertainty
        assert (int(row["outcome_low"]), int(row["outcome_high"])) == (one.shot.fact.outcome_low, one.shot.fact.outcome_high)
        assert row["fair"] == "fair"
        assert row["shot_id"] == one.shot.fact.shot_id
    left = Counter(row["left_out_by_default_because"] for row in found.values() if row["counted_by_default"] == "no")
    assert left == Counter({row.key: row.count for row in page.left_out}) + Counter(voided=page.voided, let_down=page.let_down)


def test_the_share_of_a_cell_follows_from_the_file(book: Storage, fetched: Fetched) -> None:
    """An analyst who groups the file by head and band gets the page's counts."""
    page, rows = of_every_type(book), shots(fetched).values()
    for group in page.groups:
        for cell in group.cells:
            mine = [
                row
                for row in rows
                if row["counted_by_default"] == "yes"
                and row["head_form"] == group.form
                and cell.band.low_j <= float(row["energy_at_chronograph_j"]) < cell.band.high_j
            ]
            assert len(mine) == cell.tally.shots
            assert sum(int(row["outcome_low"]) >= 4 for row in mine) == cell.tally.hits_low
            assert sum(int(row["outcome_high"]) >= 4 for row in mine) == cell.tally.hits_high


def test_energy_in_the_file_is_half_m_v_squared_of_the_file(fetched: Fetched) -> None:
    """E = m v²/2 and p = m v, from the definitions; the units are those in the columns' names."""
    measured = [row for row in shots(fetched).values() if row["energy_at_chronograph_j"]]
    assert len(measured) > 50
    for row in measured:
        mass, speed = float(row["arrow_mass_kg"]), float(row["speed_at_chronograph_m_s"])
        assert float(row["energy_at_chronograph_j"]) == pytest.approx(mass * speed**2 / 2, rel=1e-12)
        assert float(row["momentum_at_chronograph_kg_m_s"]) == pytest.approx(mass * speed, rel=1e-12)


def test_what_was_not_measured_is_empty_and_says_why(fetched: Fetched) -> None:
    row = shots(fetched)["A66"]
    assert row["energy_at_chronograph_j"] == row["momentum_at_chronograph_kg_m_s"] == row["speed_at_chronograph_m_s"] == ""
    assert row["speed_basis"] == "not_measured"
    assert "No speed was read" in row["not_measured_because"]


def test_readings_of_many_sorts_stand_in_their_columns(fetched: Fetched) -> None:
    found = shots(fetched)
    assert (found["A60"]["depth_m"], found["A60"]["depth_bound"]) == ("0.022", "at_least")
    assert found["A69"]["head_fate"] == "curled;loose"
    assert found["A69"]["shaft_fate"] == "cracked"
    assert found["A63"]["fair_overruled"] == "yes" and found["A63"]["fair_overrule_reason"] == "seen from both sides"
    assert found["A61"]["fair_because"] == "12\xa0mm from A60"
    assert found["A1"]["loosed_at_utc"] == "2026-10-24T10:00:00.000Z"
    assert found["A1"]["outcome_low_words"] == "Dented"
    assert found["A71"]["rear_check"] == "yes"
    assert float(found["A1"]["distance_m"]) == 14.0


def test_hostile_text_is_raw_for_analysis_and_harmless_for_a_spreadsheet(fetched: Fetched) -> None:
    table = FILES["shots.csv"].make(fetched)
    by_label = {form: {row["shot_label"]: row for row in read(table, form)} for form in ("analysis", "spreadsheet")}
    assert by_label["analysis"]["A60"]["damage"] == HOSTILE
    assert by_label["spreadsheet"]["A60"]["damage"] == "'" + HOSTILE
    assert by_label["spreadsheet"]["A55"]["hit_why"] == "'=HYPERLINK(1)"
    assert by_label["spreadsheet"]["A73"]["shot_note"] == "'-wind, gusty"
    assert by_label["spreadsheet"]["A1"]["x_m"] == "-0.098", "a place left of the middle is a negative number"


def test_numbers_are_the_same_in_both_forms(fetched: Fetched) -> None:
    for file in FILES.values():
        table = file.make(fetched)
        numbers = [column.name for column in table.columns if column.number]
        for one, other in zip(read(table), read(table, "spreadsheet"), strict=True):
            assert [one[name] for name in numbers] == [other[name] for name in numbers]


def test_every_column_is_in_the_dictionary_and_the_other_way_round(fetched: Fetched) -> None:
    said = [(row["file"], row["column"]) for row in read(FILES["data_dictionary.csv"].make(fetched))]
    there = [(file.name, column.name) for file in FILES.values() for column in file.make(fetched).columns]
    assert said == there
    assert len(set(said)) == len(said), "no column twice in a file"


def test_every_column_says_what_it_means_in_which_unit_and_from_where(fetched: Fetched) -> None:
    endings = {
        "_kg_m_s": "kg·m/s",
        "_m_s": "m/s",
        "_j_m2_kg": "J·m²/kg",
        "_kg_m2": "kg/m²",
        "_kg_m": "kg/m",
        "_kg": "kg",
        "_j": "J",
        "_k": "K",
        "_pa": "Pa",
        "_rad": "rad",
        "_ratio": "1",
        "_ms": "ms",
        "_n": "N",
        "_m": "m",
        "_hrc": "HRC",
    }
    for file in FILES.values():
        for column in file.columns:
            at = f"{file.name}: {column.name}"
            assert column.meaning and column.source in SOURCES, at
            assert (
                bool(column.unit) == column.number or column.name in ("accuracy_si",) or "_si" in column.name or "hardness" in column.name
            ), at
            if column.number:
                ending = next((unit for end, unit in endings.items() if column.name.endswith(end)), None)
                assert ending in (None, column.unit), f"{at} is in {column.unit}"


def test_every_speed_is_there_with_what_became_of_it(book: Storage, filled: Filled) -> None:
    combination = kit.Combination(filled.bows["Elm bow"].build, filled.arrows["leaf", "Elm bow"].build, filled.archers["Wren"])
    series = kit.speeds(book, combination, "12.0")
    with book.read() as session:
        from proofyard.records.listing import belonging
        from proofyard.records.speed import SpeedReading

        wrong = belonging(session, SpeedReading, "series_id", series)[0].id
    left = kit.put(book, "speed_reading", {"series": series, "value": "88 m/s", "left_out_reason": "=clipped the frame"})
    kit.void(book, "speed_reading", wrong)
    rows = {row["speed_reading_id"]: row for row in read(FILES["speeds.csv"].make(fetch(book)))}
    assert len(rows) == 12 * 3 + 2 + 2
    assert (rows[left]["used"], rows[left]["left_out_reason"], rows[left]["speed_m_s"]) == ("no", "=clipped the frame", "88.0")
    assert (rows[wrong]["used"], rows[wrong]["voided"]) == ("no", "yes")
    own = [row for row in rows.values() if row["shot_label"]]
    assert {(row["shot_label"], row["speed_m_s"], row["used"]) for row in own} == {("A59", "51.0", "yes"), ("A68", "44.1", "no")}
    mean = [row for row in rows.values() if row["arrow"] == "L60" and row["used"] == "yes"]
    assert float(mean[0]["combination_mean_m_s"]) == pytest.approx(sum(float(row["speed_m_s"]) for row in mean) / len(mean))


def test_kit_files_hold_every_build_and_what_was_typed(book: Storage, filled: Filled) -> None:
    kit.hardness(book, "panel_build", filled.panels["P1"].build)
    kit.new_arrow_build(book, filled.arrows["leaf", "Elm bow"])
    got = {name: read(file.make(fetch(book))) for name, file in FILES.items()}
    assert len(got["arrows.csv"]) == 13 and len(got["heads.csv"]) == 12 and len(got["bows.csv"]) == 3 and len(got["panels.csv"]) == 7
    reground = next(row for row in got["arrows.csv"] if row["arrow_build_number"] == "2")
    assert (reground["arrow_tag"], reground["arrow_mass_kg"], reground["arrow_mass_u_kg"]) == ("L60", "0.0798", "")
    hard = next(row for row in got["readings.csv"] if row["measured"] == "hardness")
    assert (hard["of_name"], hard["hardness_slides_hrc"], hard["hardness_bites_hrc"]) == ("P1, build 1", "30.0", "35.0")
    assert float(got["bows.csv"][0]["bow_marked_weight_n"]) == pytest.approx(82 * 4.4482216152605)  # NIST SP 811, B.8: lbf
    assert '"82 lbf"' in got["bows.csv"][0]["bow_as_typed"]


def test_a_viewer_of_one_trial_takes_home_that_trial_alone(book: Storage, filled: Filled) -> None:
    mine = fetch(book, only_trial=filled.other_trial)
    got = {name: read(file.make(mine)) for name, file in FILES.items()}
    assert {row["shot_label"] for row in got["shots.csv"]} == {"A69", "A70"}
    assert {row["panel_name"] for row in got["panels.csv"]} == {"M1"}
    assert {row["arrow_tag"] for row in got["arrows.csv"]} == {"S74", "B74"}
    assert {row["arrow"] for row in got["speeds.csv"]} == {"S74", "B74"}
    assert {row["of_name"] for row in got["readings.csv"]} == {"S74, build 1", "B74, build 1"}
    whole = "".join(text for name in FILES if name != "data_dictionary.csv" for text in csv_text(FILES[name].make(mine), "analysis"))
    assert filled.trial not in whole and "1.6 mm plate" not in whole


@pytest.mark.parametrize("form", FILE_FORMS)
def test_the_page_names_every_file_in_the_form_that_was_chosen(form: str, viewer: TestClient) -> None:
    page = viewer.get(f"/download?form={form}")
    assert page.status_code == 200 and FILE_FORMS[form].hint in page.text
    for name in FILES:
        address = f"/download/{name}?form={form}"
        assert f'href="{address}"' in page.text
        got = viewer.get(address)
        assert got.status_code == 200
        assert got.headers["content-type"] == FILE_FORMS[form].media_type
        assert name_in_form(name, form) in got.headers["content-disposition"]
        assert got.content.startswith(b"\xef\xbb\xbf") == (form in ("spreadsheet", "semicolon"))


def test_a_form_that_there_is_not_is_said_beside_those_that_there_are(viewer: TestClient) -> None:
    page = viewer.get("/download?form=pdf")
    assert page.status_code == 422 and "no form “pdf”" in page.text and "For a spreadsheet" in page.text


def test_each_column_of_each_file_stands_on_one_page_of_the_dictionary(viewer: TestClient) -> None:
    contents = viewer.get("/download/dictionary").text
    topics = column_topics()
    assert len({topic.key for topic in topics}) == len(topics) > len(FILES)
    for file in FILES.values():
        said = []
        for topic in (one for one in topics if one.file is file):
            assert f'href="/download/dictionary/{topic.key}"' in contents
            said += re.findall(r"<h2><code>(\w+)</code></h2>", viewer.get(f"/download/dictionary/{topic.key}").text)
        assert said == [column.name for column in file.columns]


def test_the_filter_of_the_dictionary_finds_a_column_by_its_name_and_by_what_it_means(viewer: TestClient) -> None:
    everywhere = viewer.get("/download/dictionary?q=momentum+target").text
    assert "momentum_at_target_kg_m_s" in everywhere and "momentum_at_chronograph_kg_m_s" not in everywhere
    assert 'href="/download/dictionary/shots-target"' in everywhere and 'value="momentum target"' in everywhere
    here = viewer.get("/download/dictionary/shots-target?q=DRAG").text
    assert re.findall(r"<h2><code>(\w+)</code></h2>", here) == ["drag_coefficient", "drag_coefficient_u", "drag_basis"]
    assert "3 of 21 columns here with “DRAG”" in here
    none = viewer.get("/download/dictionary?q=%3Cb%3E")
    assert none.status_code == 200 and "No column says “&lt;b&gt;”" in none.text
    assert viewer.get("/download/dictionary/nothing").status_code == 404


def test_a_file_or_form_that_is_not_there_is_said(viewer: TestClient) -> None:
    assert viewer.get("/download/secrets.csv").status_code == 404
    wrong = viewer.get("/download/shots.csv?form=%3Cb%3E")
    assert wrong.status_code == 422
    assert "There is no form “&lt;b&gt;”" in wrong.text


def test_the_file_is_read_to_the_end_before_the_first_byte_goes_out(book: Storage) -> None:
    """While half a file is with a slow phone, the book takes a shot."""
    pieces = csv_text(FILES["shots.csv"].make(fetch(book)), "analysis")
    next(pieces)
    kit.archer(book, "Somebody new")
    assert "".join(pieces)


def test_what_a_second_person_read_is_a_file_of_its_own(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.read_shot(book, yard, outcome_low="4", entry="plate", x="0", y="0", place_known="yes")
    pip = kit.archer(book, "Pip")
    kit.put(book, "second_reading", {"shot": shot, "read_by": pip, "outcome_low": "3", "depth": "≥ 10", "entry": "ridge"})
    (row,) = read(FILES["second_readings.csv"].make(fetch(book, tables=FILES["second_readings.csv"].tables)))
    assert (row["shot_id"], row["read_by"], row["second_reading_voided"]) == (shot, "Pip", "no")
    assert (row["second_reading_outcome_low"], row["second_reading_depth_m"], row["second_reading_depth_bound"]) == (
        "3",
        "0.01",
        "at_least",
    )
    assert read(FILES["second_readings.csv"].make(fetch(book, only_trial=new_id()))) == [], "a viewer of another trial sees none"


def test_files_of_one_trial_are_the_same_bytes_whether_the_whole_book_was_read_for_them_or_its_own_scope(demo_book: Storage) -> None:
    with demo_book.read() as session:
        trial = all_of(session, Trial)[0].id

    def files() -> dict[str, bytes]:
        mine = fetch(demo_book, only_trial=trial)
        return {name: b"".join(csv_bytes(file.make(mine), "analysis")) for name, file in FILES.items()}

    scoped = files()
    with while_nobody_writes():  # then all of the book is read, whatever is asked of it
        whole = files()
    assert scoped == whole and len(scoped["shots.csv"]) > 5_000
