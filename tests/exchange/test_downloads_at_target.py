"""What a shot had at the target, and its head's measures, in the file: the same figures as the pages', empty where not told."""

from __future__ import annotations

import csv
import io
import math

import pytest
from proofyard.exchange.data_dictionary import FILES
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.impact import Impacts
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit


def rows_of(client: TestClient) -> dict[str, dict[str, str]]:
    text = client.get("/download/shots.csv").content.decode("utf-8-sig")
    return {row["shot_label"]: row for row in csv.DictReader(io.StringIO(text))}


def two_shots(book: Storage) -> tuple[str, str]:
    """One of a shaft that was measured with a head that was; one of neither."""
    yard = kit.yard(book)
    chrono, scale = kit.chronograph(book), kit.scale(book, accuracy="0.1 g")
    setup = kit.setup(book, yard.session, yard.panel.build, chronograph=chrono, chronograph_at="2 m", distance="20 m")
    shooting_end, made = kit.shooting_end(book, setup), []
    head = {"section": "square", "width": "8 mm", "tip_flat": "0.5 mm", "edge_length": "0"}
    for label, more, shaft in (("A1", head, {"diameter": "9.5 mm"}), ("A2", {}, {})):
        arrow = kit.arrow(book, masses=(), head_more=more, **shaft)
        kit.mass_reading(book, arrow.build, "60.0 g", instrument=scale)
        made.append(kit.shot(book, yard, label=label, shooting_end_id=shooting_end, arrow_build=arrow.build))
        kit.shot_speed(book, made[-1], "55.0")
    return made[0], made[1]


def test_the_file_has_what_the_page_has(viewer: TestClient, book: Storage) -> None:
    one, _ = two_shots(book)
    with book.read() as session:
        fact = shot_facts(session, shot_id=one)[0]
        there = Impacts.load(session).of_shot(fact).at_target
    assert there is not None
    row = rows_of(viewer)["A1"]
    figures = {
        "speed_at_target_m_s": there.speed.value,
        "energy_at_target_j": there.energy_j.value,
        "energy_at_target_u_j": there.energy_j.standard_uncertainty,
        "momentum_at_target_kg_m_s": there.momentum_kg_m_s.value,
        "time_of_flight_s": there.time_s,
        "flown_m": 18.0,
        "drag_coefficient": 1.95,
    }
    assert {name: float(row[name]) for name in figures} == pytest.approx(figures)
    parts = [float(row[f"energy_at_target_u_{whose}_j"]) for whose in ("instruments", "combination", "shot")]
    assert math.hypot(*parts) == pytest.approx(float(row["energy_at_target_u_j"]))
    assert (row["drag_basis"], row["air_basis"], row["no_target_because"]) == ("default", "taken", "")
    # It falls over all 20 m from the bow, at 55 m/s: without air g x^2/(2 v^2) = 0.648 m, and the air adds a little.
    assert 0.648 < float(row["drop_m"]) < 0.668 and math.degrees(float(row["angle_of_fall_rad"])) == pytest.approx(1.9, abs=0.05)
    measures = {
        "tip_area_m2": 0.25e-6,
        "frontal_area_m2": 64e-6,
        "tip_flat_m": 0.0005,
        "sectional_density_kg_m2": 0.06 / 64e-6,
        "shaft_diameter_m": 0.0095,
    }
    assert {name: float(row[name]) for name in measures} == pytest.approx(measures)
    assert row["cutting_edge_m"] == ""


def test_what_cant_be_told_is_empty_with_its_reason(viewer: TestClient, book: Storage) -> None:
    two_shots(book)
    row = rows_of(viewer)["A2"]
    assert row["energy_at_chronograph_j"] and "how thick the shaft" in row["no_target_because"]
    for name in (
        "energy_at_target_j",
        "energy_at_target_u_j",
        "speed_at_target_m_s",
        "drop_m",
        "tip_area_m2",
        "frontal_area_m2",
        "wedge_angle_rad",
        "sectional_density_kg_m2",
        "drag_basis",
    ):
        assert row[name] == "", name


def test_the_dictionary_says_of_each_new_column_what_it_is_and_in_which_unit() -> None:
    columns = {column.name: column for column in FILES["shots.csv"].columns}
    units = {
        "energy_at_target_j": "J",
        "speed_at_target_m_s": "m/s",
        "angle_of_fall_rad": "rad",
        "frontal_area_m2": "m²",
        "sectional_density_kg_m2": "kg/m²",
        "time_of_flight_s": "s",
    }
    assert {name: columns[name].unit for name in units} == units
    assert columns["energy_at_target_u_j"].meaning.startswith("Standard uncertainty")


def test_the_download_page_says_of_each_figure_where_it_holds_as_the_file_does(viewer: TestClient, book: Storage) -> None:
    """It said that energy and momentum are those at the chronograph, while the file holds both."""
    two_shots(book)
    page = " ".join(viewer.get("/download").text.split())
    columns = {column.name for column in FILES["shots.csv"].columns}
    for place, reason in (("chronograph", "not_measured_because"), ("target", "no_target_because")):
        held = {name for name in columns if f"_at_{place}_" in name}
        assert {name.partition("_at_")[0] for name in held} >= {"speed", "energy", "momentum"}
        assert f"“…_at_{place}_…”" in page and f"“{reason}”" in page and reason in columns
    assert "not at the target" not in page
