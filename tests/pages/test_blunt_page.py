"""The page of blunt impact behind armour and its columns: everything in the address, cautions wherever a figure stands, nothing that could
be read as leave."""

from __future__ import annotations

import csv
import html
import io
import re

import pytest
from proofyard.answers.methods.page import method_names
from proofyard.storage import Storage
from proofyard.wording.blunt_cautions import CAUTIONS, IN_FILES
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.answers.test_blunt import hung, shot_at
from tests.pages.drawn_forms import send

# What nobody may take from this page.
LEAVE = re.compile(r"\b(?:safe|safely|survivable|survive[sd]?|harmless|unhurt|protects|passes|ok)\b", re.IGNORECASE)


def text_of(page: str) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))).replace("\N{NO-BREAK SPACE}", " ")


def main_of(page: str) -> str:
    return page[page.index("<main") : page.index("</main>")]


def test_a_first_look_asks_for_a_trial_under_its_cautions(viewer: TestClient, book: Storage) -> None:
    hung(book)
    page = viewer.get("/blunt")
    assert page.status_code == 200 and "How hard was the push behind armour that held?" in page.text
    assert all(words in text_of(page.text) for words in CAUTIONS)
    assert '<details class="layout__part blunt__ask" id="blunt-ask" open>' in page.text


def test_the_finding_stands_first_then_the_cautions_the_photo_the_table(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    for did in ("dropped", "bounced", "stuck_armour"):
        shot_at(book, yard, outcome="3", arrow_did=did)
    page = viewer.get(f"/blunt?trial={yard.trial}")
    places = [
        page.text.index(words)
        for words in (
            "In a typical shot, ",
            "In all 3 shots that did not get through",
            'id="blunt-cautions"',
            'id="blunt-chart"',
            'id="blunt-rows"',
            "Backing",
            "Why 44 mm (1.7 in) is no measure here",
        )
    ]
    assert places == sorted(places) and page.status_code == 200
    assert page.text.count('class="chart__stroke"') == 3
    (address,) = re.findall(r'href="(/blunt/drawings/[^"]+\.svg[^"]*)"', page.text)
    file = viewer.get(html.unescape(address))
    assert file.status_code == 200 and file.text.count("hit with") >= 3 and "Illustrative" in file.text
    assert viewer.get("/blunt/drawings/other.svg").status_code == 404


def test_one_shot_is_worked_out_with_the_method_of_each_figure(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot = shot_at(book, yard, outcome="2", arrow_did="bounced", back_face="9 mm", x="60 mm", y="80 mm")
    page = viewer.get(f"/blunt?trial={yard.trial}&shot={shot}")
    said = text_of(page.text)
    assert page.status_code == 200 and "energy of" in said and "Inputs outside the range it was tested on" in said
    assert "back-face depth is 9 mm" in said and "44 mm" in said and "borrowed" in said
    named = set(re.findall(r'href="/methods/of/(\w+)"', page.text))
    assert {"impact_between", "momentum_kg_m_s", "blunt_criterion", "printed_back_face_m", "printed_drop"} <= named <= method_names()
    assert said.count("illustrative, outside validated range") >= 2


def test_a_shot_of_which_it_cannot_be_told_says_what_is_missing(viewer: TestClient, book: Storage) -> None:
    yard = hung(book, mass=None, hung_mass=None)
    page = viewer.get(f"/blunt?shot={shot_at(book, yard)}")
    said = text_of(page.text)
    assert (
        page.status_code == 200
        and "could not be worked out" in said
        and "has no recorded mass" in said
        and "enter 0 kg if nothing does" in said
    )
    assert 'id="blunt-chart"' not in page.text and all(words in said for words in CAUTIONS)


def test_a_shot_asked_alone_leads_to_the_others_of_its_trial(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot = shot_at(book, yard, arrow_did="bounced")
    shot_at(book, yard, arrow_did="dropped")
    page = viewer.get(f"/blunt?shot={shot}&after=3+m/s").text
    assert f'href="/blunt?trial={yard.trial}"' in page and 'name="after"' in page and 'href="/methods/of/impact_after"' in page
    assert 'id="blunt-chart"' not in page and 'id="blunt-rows"' not in page
    assert 'name="after"' not in viewer.get(f"/blunt?trial={yard.trial}").text


def test_in_the_readers_own_units(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot_at(book, yard, arrow_did="dropped", back_face="9 mm")
    viewer.post("/units", data={"units": "imperial", "next": "/blunt"})
    said = text_of(viewer.get(f"/blunt?trial={yard.trial}").text)
    assert "Energy at the target, ft·lbf" in said and "Back-face depth, in" in said


def test_what_cannot_be_used_stands_beside_its_field_with_what_was_typed(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot_at(book, yard)
    page = viewer.get(f"/blunt?trial={yard.trial}&width=broad&body_mass=300+kg&panel=nothing")
    assert page.status_code == 422
    assert 'value="broad"' in page.text and 'value="300 kg"' in page.text
    assert all(f'href="#{name}"' in page.text and f'id="{name}-error"' in page.text for name in ("width", "body_mass", "panel"))
    assert all(words in text_of(page.text) for words in CAUTIONS)


def test_a_trial_or_shot_that_is_not_there_is_said(viewer: TestClient, book: Storage) -> None:
    hung(book)
    assert viewer.get("/blunt?trial=nothing").status_code == 422
    assert viewer.get("/blunt?shot=nothing").status_code == 422


def test_no_word_on_it_gives_leave(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot = shot_at(book, yard, arrow_did="dropped", back_face="9 mm")
    kit.put(book, "stand_layer", {"stand": yard.stand, "place": "1", "role": "backing", "material": "clay", "thickness": "90 mm"})
    kit.put(
        book,
        "backing_check",
        {
            "stand": yard.stand,
            "at": kit.BEGAN,
            "drop_mass": "1.043 kg",
            "drop_across": "63.5 mm",
            "drop_height": "2 m",
            "drops": "5",
            "found": "19 mm",
        },
    )
    for address in ("/blunt", f"/blunt?trial={yard.trial}", f"/blunt?trial={yard.trial}&shot={shot}", "/guide/blunt"):
        assert LEAVE.findall(text_of(main_of(viewer.get(address).text))) == [], address
    assert LEAVE.search("It would have been safe") and LEAVE.search("survivable")


def test_shot_trial_results_and_what_if_lead_to_it(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot = shot_at(book, yard, arrow_did="dropped", back_face="9 mm")
    led = {
        f"/shots/{shot}": f"/blunt?trial={yard.trial}&amp;shot={shot}",
        f"/trials/{yard.trial}": f"/blunt?trial={yard.trial}",
        f"/results/shares?trial={yard.trial}": f"/blunt?trial={yard.trial}",
        "/results/left-out": "/blunt",
        f"/what-if?panel={yard.panel.build}": f"/blunt?panel={yard.panel.build}",
    }
    for page, address in led.items():
        assert f'href="{address}"' in viewer.get(page).text, page
        assert viewer.get(html.unescape(address)).status_code == 200
    assert IN_FILES in text_of(viewer.get(f"/shots/{shot}").text)


def test_only_who_may_write_is_offered_a_check_of_the_backing(viewer: TestClient, archer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot_at(book, yard)
    address = f"/kit/stand/{yard.stand}/backing"
    assert f'href="{address}"' in archer.get(f"/blunt?trial={yard.trial}").text
    assert f'href="{address}"' not in viewer.get(f"/blunt?trial={yard.trial}").text


def test_a_check_of_the_backing_is_written_down_and_wrong_figures_stay_with_their_message(archer: TestClient, book: Storage) -> None:
    stand = kit.stand(book)
    page = archer.get(f"/kit/stand/{stand}/backing")
    asked = ("found", "drops", "drop_mass", "drop_across", "drop_height", "temperature")
    assert all(f'name="{name}"' in page.text for name in asked)
    body = {
        "found": "19 mm",
        "drops": "5",
        "drop_mass": "1.04 kg",
        "drop_across": "63.5 mm",
        "drop_height": "200 yd",
        "temperature": "16 °C",
    }
    wrong = send(archer, f"/kit/stand/{stand}/backing", **body)
    assert wrong.status_code == 422 and 'value="200 yd"' in wrong.text and 'id="drop_height-error"' in wrong.text
    assert send(archer, f"/kit/stand/{stand}/backing", **body | {"drop_height": "2 m"}).status_code == 303
    assert "63.5" in archer.get(f"/kit/stand/{stand}/backing").text


# Files


def rows_of(client: TestClient) -> list[dict[str, str]]:
    text = client.get("/download/shots.csv?form=analysis").content.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


def test_the_file_says_the_same_as_the_page_with_its_caution(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot_at(book, yard, outcome="3", arrow_did="stuck_armour")
    kit.reading(book, kit.shot(book, yard, short_draw="yes"), outcome_low="2", back_face="4 mm")  # a short draw takes no mean
    kit.read_shot(book, yard, hit="missed")
    stood, printed, missed = rows_of(viewer)
    assert float(stood["blunt_energy_high_j"]) == pytest.approx(3.5**2 / (2 * 2.07)) and float(
        stood["blunt_energy_low_j"]
    ) == pytest.approx(3.5**2 / (2 * 3.07))
    assert stood["blunt_ending"] == "stood" and stood["blunt_energy_open_above"] == "no" and stood["blunt_caution"] == IN_FILES
    assert float(stood["blunt_energy_high_u_j"]) > 0 and stood["blunt_not_known_because"] == ""
    assert printed["blunt_energy_low_j"] == "" and printed["blunt_not_known_because"] and printed["blunt_caution"] == IN_FILES
    assert missed["blunt_caution"] == missed["blunt_not_known_because"] == ""


def test_the_file_bounds_a_bounce_by_its_length_as_the_page_does(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot_at(book, yard, arrow_did="bounced", bounced="1.1 m")
    shot_at(book, yard, arrow_did="bounced")
    read, unread = rows_of(viewer)
    assert (read["blunt_ending"], unread["blunt_ending"]) == ("bounced_length", "bounced") and unread["blunt_bounce_speed_high_m_s"] == ""
    assert float(read["blunt_bounce_speed_high_m_s"]) == pytest.approx(6.391, abs=1e-3)
    assert float(read["blunt_energy_high_j"]) == pytest.approx((0.070 * 56.391) ** 2 / 4, rel=1e-3)
    assert float(read["blunt_energy_high_j"]) < 0.5 * float(unread["blunt_energy_high_j"])


def test_the_height_of_the_spot_is_asked_where_a_bounce_was_read(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot_at(book, yard, arrow_did="dropped")
    assert 'name="height"' not in viewer.get(f"/blunt?trial={yard.trial}").text
    shot = shot_at(book, yard, arrow_did="bounced", bounced="1.1 m")
    page = viewer.get(f"/blunt?trial={yard.trial}&shot={shot}&height=1.2+m").text
    assert 'name="height"' in page and 'value="1.2 m"' in page and "/methods/of/fastest_bounce_m_s" in page and "as you entered" in page
    wrong = viewer.get(f"/blunt?trial={yard.trial}&height=0+m")
    assert wrong.status_code == 422 and 'id="height-error"' in wrong.text and 'value="0 m"' in wrong.text


def test_armour_that_is_not_rigid_leaves_the_upper_end_empty(viewer: TestClient, book: Storage) -> None:
    yard = hung(book, construction="mail")
    shot_at(book, yard, arrow_did="dropped")
    row = rows_of(viewer)[0]
    assert row["blunt_energy_high_j"] == "" and row["blunt_energy_open_above"] == "yes" and float(row["blunt_energy_low_j"]) > 0


def test_the_dictionary_has_a_row_of_the_caution_and_each_column_points_at_it(viewer: TestClient) -> None:
    text = viewer.get("/download/data_dictionary.csv?form=analysis").content.decode("utf-8-sig")
    rows = {row["column"]: row["meaning"] for row in csv.DictReader(io.StringIO(text)) if row["file"] == "shots.csv"}
    assert IN_FILES in rows["blunt_caution"]
    figures = [name for name in rows if name.startswith("blunt_") and name not in ("blunt_caution", "blunt_not_known_because")]
    assert len(figures) >= 11 and all("see blunt_caution" in rows[name] for name in figures)
    assert "blunt_caution" in viewer.get("/download").text and "nobody may try it on anyone" in viewer.get("/download").text
