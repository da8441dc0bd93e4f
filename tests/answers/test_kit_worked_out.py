"""What follows from a head's and a panel's measures: intervals stay intervals, and what can't be told says why."""

from __future__ import annotations

import math
import re

import pytest
from proofyard.answers.kit.kit_worked_out import head_worked_out, mounted_worked_out, panel_worked_out
from proofyard.answers.methods.page import method_names
from proofyard.physics.hardness import HardnessRange
from proofyard.quantities import Uncertain
from proofyard.records.arrow import Head
from proofyard.records.instrument import HardnessReading, Reading
from proofyard.records.panel import Panel
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.hardness_found import hardness_worked_out, range_words
from proofyard.shots.panel_measures import LayersThere, in_its_way, layers_there, layers_told
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said
from starlette.testclient import TestClient

from tests import kit_for_tests as kit


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


def hard(**given: object) -> HardnessReading:
    return HardnessReading(id="h", rev=1, noun="head", record_id="x", **given)


def told(lines: object) -> dict[str, str]:
    return {one.label: plain(one.words) for one in lines}


# --- hardness -------------------------------------------------------------------------------------------------------


def test_picks_of_two_sets_make_one_interval_with_its_conversions() -> None:
    """45 and 50 HRC are 446 and 513 HV, 421 and 481 HBW, 1480 and 1760 MPa: the printed rows of hardness_table.py."""
    found = told(hardness_worked_out([hard(slides_hrc=40, bites_hrc=50), hard(slides_hrc=45, bites_hrc=55)]))
    assert found == {
        "Hardness": "45 to 50 HRC, steel only, surface only",
        "On other scales": "446 to 513 HV, 421 to 481 HBW, by the table, which calls itself approximate",
        "Strength": "1480 to 1760 MPa, to within a tenth, if it is as hard within",
    }


def test_an_open_end_stays_open_on_every_scale() -> None:
    found = told(hardness_worked_out([hard(slides_hrc=60)]))
    assert found["Hardness"].startswith("harder than 60 HRC")
    assert "harder than 697 HV" in found["On other scales"]
    assert "Strength" not in found or found["Strength"].startswith("above")
    soft = told(hardness_worked_out([hard(bites_hrc=40)]))
    assert (
        soft["Hardness"].startswith("softer than 40 HRC")
        and soft["Strength"] == "below 1250 MPa, to within a tenth, if it is as hard within"
    )


def test_places_of_one_piece_are_kept_apart_and_what_was_left_out_is_out() -> None:
    rows = [
        hard(slides_hrc=40, bites_hrc=45, place="tip"),
        hard(bites_hrc=30, place="socket"),
        hard(slides_hrc=60, place="tip", left_out_reason="slipped"),
    ]
    found = told(hardness_worked_out(rows))
    assert found["Hardness, tip"].startswith("40 to 45 HRC") and found["Hardness, socket"].startswith("softer than 30 HRC")


def test_findings_that_contradict_each_other_are_said_and_not_averaged() -> None:
    found = told(hardness_worked_out([hard(slides_hrc=50), hard(bites_hrc=40)]))
    assert list(found) == ["Hardness"] and "contradict" in found["Hardness"]


def test_testers_readings_of_one_place_are_a_range_and_never_beside_a_bracket_a_point() -> None:
    found = told(hardness_worked_out([hard(value=180.0, scale="HV"), hard(value=190.0, scale="HV")]))
    assert found["Hardness"].startswith("180 to 190 HV")  # softer than Rockwell C begins
    both = told(hardness_worked_out([hard(value=446.0, scale="HV"), hard(slides_hrc=40, bites_hrc=50)]))
    assert both["Hardness"].startswith("45 HRC")  # the tester's own reading lies inside the bracket
    rockwell_b = told(hardness_worked_out([hard(value=80.0, scale="HRB")]))
    assert rockwell_b == {"Hardness": "80 HRB"}


@pytest.mark.parametrize(
    ("row", "thickness", "said"),
    [
        (hard(value=30.0, scale="HRC"), 0.0008, "too thin"),
        (hard(value=30.0, scale="HRC"), 0.0016, ""),
        (hard(value=200.0, scale="HV", typed='{"value": "200 HV10"}'), 0.0004, "0.46"),
        (hard(value=200.0, scale="HV", typed='{"value": "200 HV10"}'), 0.0005, ""),
        (hard(value=200.0, scale="HV", typed='{"value": "200 HV"}'), 0.0001, ""),
        (hard(value=200.0, scale="HBW", typed='{"value": "200 HBW 2.5/187.5"}'), 0.0008, "0.96"),
        (hard(slides_hrc=40.0), 0.0001, ""),
    ],
)
def test_a_sheet_too_thin_for_the_method_is_said(row: HardnessReading, thickness: float, said: str) -> None:
    found = [one.words for one in hardness_worked_out([row], thickness_m=thickness) if "too thin" in one.words]
    assert (said in " ".join(found)) if said else found == []


def test_ranges_in_words() -> None:
    assert plain(range_words(HardnessRange(1250.0, None, "MPa"))) == "above 1250 MPa"
    assert plain(range_words(HardnessRange(None, 40.0, "HRC"))) == "softer than 40 HRC"


# --- heads ---------------------------------------------------------------------------------------------------------


def test_a_heads_measures_stand_with_uncertainty_and_method(book: Storage) -> None:
    """8 mm square is 64 mm2; 80 mm to widest from a flat of 0.5 mm opens 2 atan(3.75/80) = 5.367 degrees."""
    head = Head(id="x", rev=1, name="N1", form="needle", section="square", width_m=0.008, tip_to_widest_m=0.08, tip_flat_m=0.0005)
    lines = head_worked_out(head, [])
    found = told(lines)
    assert found["Frontal area"] == "64.0 mm² ± 1.9, square, width taken from flat to flat"
    assert found["Opens at"].startswith("5.37° ± 0.16")
    assert found["Tip at first contact"].startswith("0.25 mm² ± 0.02, the flat, square as its section")
    assert found["Cutting edge presented"] == "not known: its cutting edge was not measured"
    assert {one.method for one in lines if one.method} <= method_names()
    assert told(mounted_worked_out(head, Uncertain(0.064, 0.0001)))["Sectional density"].startswith("1000 kg/m² ± 30")
    assert "never weighed" in told(mounted_worked_out(head, None))["Sectional density"]


# --- panels --------------------------------------------------------------------------------------------------------


def panel(**given: object) -> Panel:
    plate = {"construction": "plate", "outline": "rectangle", "width_m": 0.3, "height_m": 0.4}
    return Panel(id="p", rev=1, name="P", **{**plate, **given})


def test_a_plates_mass_for_its_size_agrees_with_its_thickness() -> None:
    """1.6 mm of steel at 7850 kg/m3 is 12.56 kg/m2; 1.51 kg on 0.12 m2 is 12.58."""
    found = told(panel_worked_out(panel(mass_kg=1.51, thickness_m=0.0016), [], hardness=[], tools={}))
    assert found["Weighed, for its size"].startswith("12.58 kg/m² ± 0.18")
    assert found["By its measures"].startswith("12.6 kg/m² ± 0.3, nominal, not measured")
    assert found["Weighed beside measures"] == "0 % more than its measures account for: no more than both may be off by"


def test_a_panel_that_weighs_more_than_its_measures_lacks_one() -> None:
    found = told(panel_worked_out(panel(mass_kg=1.80, thickness_m=0.0016), [], hardness=[], tools={}))
    assert (
        "19 % more" in found["Weighed beside measures"] and "a measure, a layer or a rivet is missing" in found["Weighed beside measures"]
    )


def test_readings_of_thickness_outrank_what_it_was_sold_as() -> None:
    rows = [
        Reading(id=str(n), rev=1, noun="panel_build", record_id="b", measured="thickness", value_si=value)
        for n, value in enumerate((0.00150, 0.00154))
    ]
    found = told(panel_worked_out(panel(thickness_m=0.0016), rows, hardness=[], tools={}))
    assert found["By its measures"].startswith("11.9 kg/m² ± 0.2, mean of 2 readings")  # 7850 * 0.00152
    assert found["Weighed, for its size"] == "not known: it was not weighed"


def test_small_plates_are_reckoned_with_their_overlap_and_rows() -> None:
    """25 by 60 mm plates, 5 mm overlap, 9 rows on 400 mm: rows (400 - 60)/8 = 42.5 mm apart, (25/20)(60/42.5) = 1.7647 layers."""
    lamellar = panel(construction="lamellar", thickness_m=0.001, plate_width_m=0.025, plate_height_m=0.060, overlap_m=0.005, rows=9)
    found = told(panel_worked_out(lamellar, [], hardness=[], tools={}))
    assert found["Layers of plate"].startswith("1.8 on average")
    assert found["By its measures"].startswith("13.9 kg/m² ±")  # 7.85 * 1.764706 = 13.853
    assert "without lacing" in found["By its measures"]


def lamellar(**more: object) -> Panel:
    """25 by 60 mm plates, 20 mm apart across and (400 - 60)/8 = 42.5 mm down."""
    return panel(construction="lamellar", thickness_m=0.001, plate_width_m=0.025, plate_height_m=0.060, overlap_m=0.005, rows=9, **more)


def test_lacing_is_weighed_with_the_plates() -> None:
    """7850 * 0.001 * (25/20)(60/42.5) = 13.853; a plate's 0.21 m of 5 g/m on 20 by 42.5 mm is 1.235; together 15.088 kg/m2."""
    found = told(panel_worked_out(lamellar(lace_each_m=0.21, lace_mass_kg_m=0.005), [], hardness=[], tools={}))
    assert found["By its measures"].startswith("15.1 kg/m² ±") and "with its lacing" in found["By its measures"]


def test_mail_over_cloth_is_rings_and_layers_together() -> None:
    """110 rings of 0.38 g in 100 by 100 mm are 4.18 kg/m2, 16 layers of 240 g/m2 are 3.84: 8.02. 0.98 kg on 0.12 m2 is 8.17."""
    mail = panel(construction="mail", mass_kg=0.98, ring_mass_kg=0.00038, rings_counted=110, cloth_layers=16, cloth_layer_kg_m2=0.24)
    lines = panel_worked_out(mail, [], hardness=[], tools={})
    found = told(lines)
    assert found["Its rings"].startswith("4.18 kg/m² ±") and "0.38 g, weighed" in found["Its rings"]
    assert found["Its cloth"].startswith("3.84 kg/m² ±")
    assert found["By its measures"].startswith("8.02 kg/m² ±")
    assert found["Weighed beside measures"] == "2 % more than its measures account for: no more than both may be off by"
    assert {one.method for one in lines if one.method} <= method_names()
    alone = told(
        panel_worked_out(
            panel(construction="mail", ring_outer_m=0.010, ring_wire_m=0.0015, rings_counted=110, cloth="linen"), [], hardness=[], tools={}
        )
    )
    assert alone["By its measures"].startswith("4.1 kg/m² ±") and "without its cloth" in alone["By its measures"]  # 0.3704 g a ring


def test_cloth_alone_is_its_layers() -> None:
    found = told(panel_worked_out(panel(construction="textile", cloth_layers=10, cloth_layer_kg_m2=0.24), [], hardness=[], tools={}))
    assert found["By its measures"].startswith("2.40 kg/m² ± 0.07, 10 layers of 240 g/m² each")
    assert "Its cloth" not in found, "one part is the whole"


def test_layers_at_a_spot_by_measures_say_how_far_a_place_may_be_off() -> None:
    """111 mm from the left, 200 and 215 mm from the top: one plate, and two where the next row's top is at 212.5 mm."""
    sure = layers_there(lamellar(), -0.039, y_m=0.0, position_accuracy_m=0.005)
    assert sure == LayersThere(1, 1, 1) and said(layers_told(sure, 1)) == "1 by plates, overlap and rows"
    near = layers_there(lamellar(), -0.039, y_m=-0.015, position_accuracy_m=0.005)
    assert near == LayersThere(2, 1, 2) and said(layers_told(near, None)).endswith(", or 1 to 2 within the position accuracy")
    assert "not what was read" in said(layers_told(sure, 3))
    # every second row shifted by half a pitch: the fifth is not, the fourth is, and there two plates overlap at 112 mm
    assert layers_there(lamellar(row_shift_m=0.010), -0.038, y_m=0.043, position_accuracy_m=0.001) == LayersThere(2, 2, 2)
    assert layers_there(lamellar(), -0.039, y_m=0.190, position_accuracy_m=0.005) is None, "at the panel's own edge there is no row above"
    assert (
        layers_there(lamellar(), None, y_m=0.0, position_accuracy_m=0.005) is None
        and layers_there(panel(), 0.0, y_m=0.0, position_accuracy_m=0.005) is None
    )


def test_a_shot_on_small_plates_says_what_lay_there_by_measures(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book, construction="lamellar")
    row = kit.row(book, "panel", yard.panel.panel)
    more = {
        "width": "300 mm",
        "height": "400 mm",
        "plate_width": "25 mm",
        "plate_height": "60 mm",
        "overlap": "5 mm",
        "rows": "9",
        "thickness": "1 mm",
    }
    kit.put(book, "panel", more, record_id=row.id, base_rev=row.rev)
    shot = kit.reading(book, kit.shot(book, yard), x="-39 mm", y="0", angle="60°")
    page = plain(archer.get(f"/shots/{shot}").text)
    assert '<a href="/methods/of/layers_at_point">1</a> by plates, overlap and rows' in page
    assert '<a href="/methods/of/line_of_sight_thickness_m">2 mm</a> along the shot: 1 mm nominal, at 60° from square' in page


@pytest.mark.parametrize(
    ("given", "label", "said"),
    [
        ({"construction": "textile", "cloth_layer_kg_m2": 0.24}, "By its measures", "how many layers"),
        ({"construction": "mail"}, "By its measures", "weigh a hundred"),
        ({"construction": "mail", "ring_outer_m": 0.010, "ring_wire_m": 0.0015}, "By its measures", "one ring weighs about 0.37 g"),
        ({"construction": "mail", "ring_outer_m": 0.002, "ring_wire_m": 0.0015}, "By its measures", "no hole"),
        ({"construction": "textile"}, "By its measures", "each layer of cloth"),
        ({}, "By its measures", "thickness was not measured"),
        ({"construction": "scale", "thickness_m": 0.001}, "By its measures", "plates and their overlap"),
        (
            {"construction": "scale", "thickness_m": 0.001, "plate_width_m": 0.02, "plate_height_m": 0.03, "overlap_m": 0.005},
            "By its measures",
            "rows and its height",
        ),
        (
            {"construction": "scale", "thickness_m": 0.001, "plate_width_m": 0.02, "plate_height_m": 0.03, "overlap_m": 0.025, "rows": 3},
            "By its measures",
            "don’t fit",
        ),
        ({"mass_kg": 1.0, "outline": "breastplate"}, "Weighed, for its size", "outline is not known"),
        ({"mass_kg": 1.0, "width_m": None}, "Weighed, for its size", "not both written down"),
    ],
)
def test_what_a_panel_cant_tell_says_why(given: dict[str, object], label: str, said: str) -> None:
    assert said in told(panel_worked_out(panel(**given), [], hardness=[], tools={}))[label]


# --- on the pages --------------------------------------------------------------------------------------------------


def test_the_pages_of_a_head_an_arrow_and_a_panel_show_it(archer: TestClient, book: Storage) -> None:
    arrow = kit.arrow(book, head_more={"section": "square", "width": "8 mm", "tip_flat": "0.5 mm"})
    kit.hardness(book, "head", arrow.head, slides="45", bites="50", place="tip")
    page = plain(archer.get(f"/kit/head/{arrow.head}").text)
    assert re.search(r'<a href="/methods/of/frontal_area_m2">64\.0 mm² ± 1\.9', page)
    assert "45 to 50 HRC</a>, steel only, surface only" in page and "1480 to 1760 MPa" in page
    assert "kg/m² ± " in plain(archer.get(f"/kit/arrow/{arrow.arrow}").text)
    plate = kit.panel(book, thickness="1.6 mm", mass="1.51 kg")
    assert "12.58 kg/m² ± 0.18" in plain(archer.get(f"/kit/panel/{plate.panel}").text)


def test_what_lay_in_a_shots_way_grows_with_its_slant(archer: TestClient, book: Storage) -> None:
    """1.6 mm at 60 degrees from square is 3.2 mm along the shot."""
    yard = kit.yard(book)
    plate = kit.panel(book, thickness="1.6 mm")
    shooting_end = kit.shooting_end(book, kit.setup(book, yard.session, plate.build, angle="60"))
    shot = kit.reading(book, kit.shot(book, yard, shooting_end_id=shooting_end))
    with book.read() as session:
        fact = shot_facts(session, shot_id=shot)[0]
    assert fact.setup_angle_rad == pytest.approx(math.pi / 3)
    assert plain(said(in_its_way(fact))) == "3.2 mm along the shot: 1.6 mm nominal, at 60° from square"
    page = plain(archer.get(f"/shots/{shot}").text)
    assert '<a href="/methods/of/line_of_sight_thickness_m">3.2 mm</a> along the shot: 1.6 mm nominal, at 60° from square' in page
