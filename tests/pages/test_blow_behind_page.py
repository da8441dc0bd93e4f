"""The page of the blow behind and its columns: everything in the address, cautions wherever a figure stands, nothing that could be read as leave."""

from __future__ import annotations

import csv
import html
import io
import re

import pytest
from starlette.testclient import TestClient

from server.findings.blow.cautions import CAUTIONS, IN_FILES
from server.findings.methods import method_names
from server.storage import Storage
from tests import kit_for_tests as kit
from tests.findings.test_blow_behind import hung, struck
from tests.pages.drawn_forms import send

# What nobody may take from this page.
LEAVE = re.compile(r"\b(?:safe|safely|survivable|survive[sd]?|harmless|unhurt|protects|passes|ok)\b", re.IGNORECASE)


def text_of(page: str) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))).replace("\N{NO-BREAK SPACE}", " ")


def main_of(page: str) -> str:
    return page[page.index("<main") : page.index("</main>")]


def test_a_first_look_asks_for_a_trial_under_its_cautions(viewer: TestClient, book: Storage) -> None:
    hung(book)
    page = viewer.get("/blow-behind")
    assert page.status_code == 200 and "What would the wearer’s side have got?" in page.text
    assert all(words in text_of(page.text) for words in CAUTIONS)
    assert '<details class="layout__part blow__ask" id="blow-ask" open>' in page.text


def test_the_finding_stands_first_then_the_cautions_the_picture_the_table(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    for did in ("dropped", "bounced", "stood_armour"):
        struck(book, yard, outcome="3", arrow_did=did)
    page = viewer.get(f"/blow-behind?trial={yard.trial}")
    places = [page.text.index(words) for words in ("3 blows that did not come through left", 'id="blow-cautions"', 'id="blow-chart"', 'id="blow-rows"', "What stood behind", "Why 44 mm is no measure here")]
    assert places == sorted(places) and page.status_code == 200
    assert page.text.count('class="blow__stroke"') == 3


def test_one_shot_is_worked_out_with_the_method_of_each_figure(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot = struck(book, yard, outcome="2", arrow_did="bounced", back_face="9 mm", x="60 mm", y="80 mm")
    page = viewer.get(f"/blow-behind?trial={yard.trial}&shot={shot}")
    said = text_of(page.text)
    assert page.status_code == 200 and "went on in the panel" in said and "What lies outside of what it was tried on" in said
    assert "pushed in 9 mm" in said and "44 mm" in said and "borrowed" in said
    named = set(re.findall(r'href="/methods#(\w+)"', page.text))
    assert {"blow_between", "momentum_kg_m_s", "blunt_criterion", "printed_back_face", "printed_drop"} <= named <= method_names()
    assert said.count("illustrative, outside validated range") >= 2


def test_a_shot_of_which_it_cannot_be_told_says_what_is_missing(viewer: TestClient, book: Storage) -> None:
    yard = hung(book, mass=None, hung_mass=None)
    page = viewer.get(f"/blow-behind?shot={struck(book, yard)}")
    said = text_of(page.text)
    assert page.status_code == 200 and "its blow can’t be told" in said and "was never weighed" in said and "type 0 kg if nothing does" in said
    assert 'id="blow-chart"' not in page.text and all(words in said for words in CAUTIONS)


def test_a_shot_asked_alone_leads_to_the_others_of_its_trial(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot = struck(book, yard, arrow_did="bounced")
    struck(book, yard, arrow_did="dropped")
    page = viewer.get(f"/blow-behind?shot={shot}&after=3+m/s").text
    assert f'href="/blow-behind?trial={yard.trial}"' in page and 'name="after"' in page and 'href="/methods#blow_after"' in page
    assert 'id="blow-chart"' not in page and 'id="blow-rows"' not in page
    assert 'name="after"' not in viewer.get(f"/blow-behind?trial={yard.trial}").text


def test_in_the_readers_own_units(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    struck(book, yard, arrow_did="dropped", back_face="9 mm")
    viewer.post("/units", data={"units": "imperial", "next": "/blow-behind"})
    said = text_of(viewer.get(f"/blow-behind?trial={yard.trial}").text)
    assert "Struck with, ft·lbf" in said and "Back pushed in, in" in said


def test_what_cannot_be_used_stands_beside_its_field_with_what_was_typed(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    struck(book, yard)
    page = viewer.get(f"/blow-behind?trial={yard.trial}&width=broad&body_mass=300+kg&panel=nothing")
    assert page.status_code == 422
    assert 'value="broad"' in page.text and 'value="300 kg"' in page.text
    assert all(f'href="#{name}"' in page.text and f'id="{name}-error"' in page.text for name in ("width", "body_mass", "panel"))
    assert all(words in text_of(page.text) for words in CAUTIONS)


def test_a_trial_or_shot_that_is_not_there_is_said(viewer: TestClient, book: Storage) -> None:
    hung(book)
    assert viewer.get("/blow-behind?trial=nothing").status_code == 422
    assert viewer.get("/blow-behind?shot=nothing").status_code == 422


def test_no_word_on_it_gives_leave(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot = struck(book, yard, arrow_did="dropped", back_face="9 mm")
    kit.put(book, "stand_layer", {"stand": yard.stand, "place": "1", "role": "backing", "material": "clay", "thickness": "90 mm"})
    kit.put(book, "backing_check", {"stand": yard.stand, "at": kit.BEGAN, "drop_mass": "1.043 kg", "drop_across": "63.5 mm", "drop_height": "2 m", "drops": "5", "found": "19 mm"})
    for address in ("/blow-behind", f"/blow-behind?trial={yard.trial}", f"/blow-behind?trial={yard.trial}&shot={shot}", "/guide/blow-behind"):
        assert LEAVE.findall(text_of(main_of(viewer.get(address).text))) == [], address
    assert LEAVE.search("It would have been safe") and LEAVE.search("survivable")


def test_shot_trial_results_and_what_if_lead_to_it(viewer: TestClient, book: Storage) -> None:
    yard = hung(book)
    shot = struck(book, yard, arrow_did="dropped", back_face="9 mm")
    led = {
        f"/shots/{shot}": f"/blow-behind?trial={yard.trial}&amp;shot={shot}", f"/trials/{yard.trial}": f"/blow-behind?trial={yard.trial}",
        f"/results?trial={yard.trial}": f"/blow-behind?trial={yard.trial}", "/results": "/blow-behind", f"/what-if?panel={yard.panel.build}": f"/blow-behind?panel={yard.panel.build}",
    }  # fmt: skip
    for page, address in led.items():
        assert f'href="{address}"' in viewer.get(page).text, page
        assert viewer.get(html.unescape(address)).status_code == 200
    assert IN_FILES in text_of(viewer.get(f"/shots/{shot}").text)


def test_only_who_may_write_is_offered_a_check_of_the_backing(viewer: TestClient, archer: TestClient, book: Storage) -> None:
    yard = hung(book)
    struck(book, yard)
    address = f"/kit/stand/{yard.stand}/backing"
    assert f'href="{address}"' in archer.get(f"/blow-behind?trial={yard.trial}").text
    assert f'href="{address}"' not in viewer.get(f"/blow-behind?trial={yard.trial}").text


def test_a_check_of_the_backing_is_written_down_and_wrong_figures_stay_with_their_message(archer: TestClient, book: Storage) -> None:
    stand = kit.stand(book)
    page = archer.get(f"/kit/stand/{stand}/backing")
    asked = ("found", "drops", "drop_mass", "drop_across", "drop_height", "temperature")
    assert all(f'name="{name}"' in page.text for name in asked)
    body = {"found": "19 mm", "drops": "5", "drop_mass": "1.04 kg", "drop_across": "63.5 mm", "drop_height": "200 yd", "temperature": "16 °C"}
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
    struck(book, yard, outcome="3", arrow_did="stood_armour")
    kit.reading(book, kit.shot(book, yard, short_draw="yes"), outcome_low="2", back_face="4 mm")  # a short draw takes no mean
    kit.read_shot(book, yard, hit="missed")
    stood, printed, missed = rows_of(viewer)
    assert float(stood["blow_energy_high_j"]) == pytest.approx(3.5**2 / (2 * 2.07)) and float(stood["blow_energy_low_j"]) == pytest.approx(3.5**2 / (2 * 3.07))
    assert stood["blow_ending"] == "stood" and stood["blow_energy_open_above"] == "no" and stood["blow_caution"] == IN_FILES
    assert float(stood["blow_energy_high_u_j"]) > 0 and stood["blow_not_known_because"] == ""
    assert printed["blow_energy_low_j"] == "" and printed["blow_not_known_because"] and printed["blow_caution"] == IN_FILES
    assert missed["blow_caution"] == missed["blow_not_known_because"] == ""


def test_armour_that_is_not_rigid_leaves_the_upper_end_empty(viewer: TestClient, book: Storage) -> None:
    yard = hung(book, construction="mail")
    struck(book, yard, arrow_did="dropped")
    row = rows_of(viewer)[0]
    assert row["blow_energy_high_j"] == "" and row["blow_energy_open_above"] == "yes" and float(row["blow_energy_low_j"]) > 0


def test_the_dictionary_has_a_row_of_the_caution_and_each_column_points_at_it(viewer: TestClient) -> None:
    text = viewer.get("/download/data_dictionary.csv?form=analysis").content.decode("utf-8-sig")
    rows = {row["column"]: row["meaning"] for row in csv.DictReader(io.StringIO(text)) if row["file"] == "shots.csv"}
    assert IN_FILES in rows["blow_caution"]
    figures = [name for name in rows if name.startswith("blow_") and name not in ("blow_caution", "blow_not_known_because")]
    assert len(figures) >= 11 and all("see blow_caution" in rows[name] for name in figures)
    assert "blow_caution" in viewer.get("/download").text and "nobody may try it on anyone" in viewer.get("/download").text
