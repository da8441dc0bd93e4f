"""Results at the target, and against measures of the head: can it be told whether a point concentrates what an edge spreads?"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.answers.results.listed_shots import shot_list_of
from proofyard.answers.results.page import Results, results_of
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import because
from proofyard.shots.head_measures import HeadShape, measures_of, sectional_density
from proofyard.shots.loosed import Loosed, load_loosed
from proofyard.storage import Storage
from proofyard.views.axes import (
    AXES,
    ROWS,
    _counted_by_columns,
    _unsure_of,
    bands_of,
    default_place,
    near_an_edge,
    on_axis,
    read_edges,
    round_edges,
    row_value,
)
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit

HEADS = {
    # form, section, width, thickness, tip to widest, tip flat, edge: a needle is a point, a leaf an edge. Invented.
    "needle": {"section": "square", "width": "8 mm", "tip_to_widest": "80 mm", "tip_flat": "0.5 mm"},
    "leaf": {"section": "flat", "width": "24 mm", "thickness": "3 mm", "tip_to_widest": "30 mm", "tip_radius": "0.5 mm"},
    "blunt": {},
}


@pytest.fixture
def shot_at_target(book: Storage) -> Loosed:
    """Four needles, four leaves and two blunts at one energy, 14 m off, shafts of 9.5 mm; and a needle on a shaft that nobody measured."""
    yard = kit.yard(book)
    chrono, scale = kit.chronograph(book), kit.scale(book, accuracy="0.1 g")
    setup = kit.setup(book, yard.session, yard.panel.build, chronograph=chrono, chronograph_at="2 m", distance="14 m")
    shooting_end, place = kit.shooting_end(book, setup), 0
    for form, count, shaft in (("needle", 4, "9.5 mm"), ("leaf", 4, "9.5 mm"), ("blunt", 2, "9.5 mm"), ("needle", 1, "")):
        arrow = kit.arrow(book, masses=(), form=form, head_more={"tip_to_widest": "", **HEADS[form]}, diameter=shaft)
        kit.mass_reading(book, arrow.build, "80.0 g", instrument=scale)
        for _ in range(count):
            loosed = kit.shot(book, yard, shooting_end_id=shooting_end, arrow_build=arrow.build, position=str(place + 1))
            kit.shot_speed(book, loosed, "50.0")
            x, y = -110 + 70 * (place % 4), -150 + 70 * (place // 4)
            low = "4" if form == "needle" else "2"
            kit.reading(book, loosed, outcome_low=low, x=f"{x} mm", y=f"{y} mm", place_known="yes", entry="plate")
            place += 1
    with book.read() as session:
        return load_loosed(session)


def counts(results: Results) -> dict[str, list[str]]:
    return {group.form: [cell.tally.words for cell in group.cells if cell.shots] for group in results.groups}


def test_what_can_be_told_for_most_is_shown_at_the_target_and_says_so(shot_at_target: Loosed) -> None:
    found = results_of(shot_at_target, {})
    assert found.settings.at == "target" and "Energy at the target" in found.showing
    assert {row.key: row.count for row in found.left_out} == {"no_target": 1}
    assert found.counted == 10 and found.loosed == 11
    assert [len(group.unmeasured) for group in found.groups] == [1, 0, 0]
    near = results_of(shot_at_target, {"at": ["chronograph"]})
    assert near.counted == 11 and "Energy at the chronograph" in near.showing
    means = [r.groups[0].cells[-1].energy.mean.value for r in (found, near)]
    assert means[0] < means[1] == pytest.approx(100.0)


def test_at_the_target_it_says_that_the_drag_was_taken(shot_at_target: Loosed) -> None:
    assert because("drag_assumed", shots=10) in results_of(shot_at_target, {}).about
    assert "drag_assumed" not in {one.code for one in results_of(shot_at_target, {"at": ["chronograph"]}).about}


def test_where_it_can_be_told_for_few_the_chronograph_stays(shot_at_target: Loosed) -> None:
    without = [shot for shot in shot_at_target.shots if shot.fact.shaft_diameter_m is None]
    with_it = [shot for shot in shot_at_target.shots if shot.fact.shaft_diameter_m is not None]
    assert default_place(without) == "chronograph"
    assert default_place([*without, *with_it[:1]]) == "chronograph"  # half is not most
    assert default_place([*without, *with_it[:2]]) == "target"
    assert default_place([]) == "chronograph"


def test_energy_for_each_mm2_of_tip_sets_points_and_edges_apart(shot_at_target: Loosed) -> None:
    """100 J over 0.5 mm square is 400 J/mm2; over a ball of 0.5 mm radius, 0.1 mm in, pi (2 R h - h2) = 0.2827 mm2, 354 J/mm2."""
    found = results_of(shot_at_target, {"axis": ["tip"], "at": ["chronograph"]})
    means = {group.form: [cell.energy.mean.value for cell in group.cells if cell.energy] for group in found.groups}
    assert means["needle"] == [pytest.approx(400.0)] and means["leaf"] == [pytest.approx(353.7, abs=0.05)]
    assert {row.key: (row.count, row.small) for row in found.left_out}["no_measure"] == (
        2,
        "2 its tip was not measured; in no band, listed by head in the table",
    )
    assert AXES["tip"].note in found.about and "known to 10 % at best" in said(AXES["tip"].note)
    # Ten percent of tip and the energy's own, by squares.
    needle = next(group for group in found.groups if group.form == "needle").cells
    energy = next(cell.energy for cell in needle if cell.energy)
    own = shot_at_target.shots[0].impact.energy_at_chronograph_j
    assert own is not None and energy.mean.standard_uncertainty == pytest.approx(
        400 * math.hypot(0.1, (own.standard_uncertainty or 0) / 100)
    )
    assert all("J/mm²" in cell.band.with_unit for group in found.groups for cell in group.cells)


def test_energy_for_each_mm_of_edge_knows_only_heads_with_an_edge(shot_at_target: Loosed) -> None:
    """A leaf 24 mm wide, 30 mm from tip to widest: two edges of sqrt(12^2 + 30^2) = 32.31 mm; 100 J over 64.62 mm is 1.5475 J/mm."""
    found = results_of(shot_at_target, {"axis": ["edge"], "at": ["chronograph"]})
    means = {group.form: [cell.energy.mean.value for cell in group.cells if cell.energy] for group in found.groups}
    assert means == {"needle": [], "leaf": [pytest.approx(1.5475, abs=5e-5)], "blunt": []}


def test_rows_may_be_bands_of_a_measure(shot_at_target: Loosed) -> None:
    """Wedges: needle 2 atan(3.75/80) = 5.37 degrees, leaf 2 atan(12/30) = 43.6 degrees."""
    found = results_of(shot_at_target, {"rows": ["wedge"], "row_edges": ["0, 10, 50"], "at": ["chronograph"]})
    assert {group.words: group.shots for group in found.groups} == {
        "Wedge angle 0 to 10°": 5,
        "Wedge angle 10 to 50°": 4,
        "Wedge angle not known": 2,
    }
    assert counts(found) == {"0-10": ["5 of 5"], "10-50": ["0 of 4"], "not_recorded": ["0 of 2"]}
    assert all(group.glyph == "" for group in found.groups)


@pytest.mark.parametrize("query", [{"rows": [rows], "axis": [axis]} for rows in ROWS for axis in AXES], ids=str)
def test_every_cell_lists_the_very_shots_that_it_counts_whatever_the_axis(shot_at_target: Loosed, query: dict[str, Sequence[str]]) -> None:
    found = results_of(shot_at_target, query)
    assert found.counted + sum(row.count for row in found.left_out) == found.loosed
    assert found.counted == sum(group.shots for group in found.groups)
    for group in found.groups:
        for cell in group.cells:
            listed = shot_list_of(shot_at_target, parse_qs(urlsplit(cell.href).query))
            assert listed.why_none == "" and [shot.fact.label for shot in listed.shots] == [one.shot.fact.label for one in cell.shots]
        listed = shot_list_of(shot_at_target, parse_qs(urlsplit(group.unmeasured_href).query))
        assert {shot.fact.label for shot in listed.shots} == {one.shot.fact.label for one in group.unmeasured}


def test_the_finding_ranks_by_the_figure_of_its_axis_and_says_which(shot_at_target: Loosed) -> None:
    """Needle and leaf at one energy, one through and one not: apart only with enough shots; here four and four are no more than a hint."""
    plain = results_of(shot_at_target, {}).finding
    assert plain.title.code == "two_seen" and [one.code for one in plain.more] == ["picked_for_difference", "others_at_that_energy"]
    assert "a hint, not a finding" in said(plain.more[0])
    found = results_of(shot_at_target, {"axis": ["front"], "rows": ["frontal_area"], "row_edges": ["0, 100"]})
    assert "J/mm²" in " ".join(cell.band.with_unit for group in found.groups for cell in group.cells)


@pytest.mark.parametrize(
    ("field", "value"), [("at", "moon"), ("axis", "weight"), ("rows", "colour"), ("row_edges", "1,2"), ("edges", "a b")]
)
def test_what_the_address_gets_wrong_is_said_by_its_field(shot_at_target: Loosed, field: str, value: str) -> None:
    found = results_of(shot_at_target, {"axis": ["tip"], "rows": ["wedge"], field: [value]})
    assert set(found.asked.problems) == {field}


# --- measures of a head --------------------------------------------------------------------------------------------


def shape(**more: float | str | None) -> HeadShape:
    plain: dict[str, float | str | None] = dict.fromkeys(
        ("form", "section", "width_m", "thickness_m", "tip_to_widest_m", "tip_flat_m", "tip_radius_m", "edge_length_m")
    )
    return HeadShape(**{**plain, **more})


@pytest.mark.parametrize(
    ("name", "given", "reason"),
    [
        ("tip_area", {}, "not measured"),
        ("tip_area", {"tip_flat_m": 0.0005}, "section was not given"),
        ("tip_area", {"tip_flat_m": 0.0005, "section": "diamond"}, "two measures"),
        ("tip_area", {"tip_flat_m": 0.0}, "radius was not measured"),
        ("tip_area", {"tip_radius_m": 0.00005}, "sharper"),
        ("frontal_area", {"width_m": 0.01}, "section was not given"),
        ("frontal_area", {"width_m": 0.01, "section": "other"}, "none that a formula covers"),
        ("frontal_area", {"section": "square"}, "width was not measured"),
        ("frontal_area", {"section": "flat", "width_m": 0.01}, "thickness was not measured"),
        ("frontal_area", {"section": "flat", "width_m": 0.01, "thickness_m": 0.02}, "don’t fit"),
        ("edge", {"form": "needle", "width_m": 0.01, "tip_to_widest_m": 0.05}, "not measured"),
        ("edge", {"edge_length_m": 0.0}, "no cutting edge"),
        ("wedge", {"width_m": 0.01}, "not measured"),
        ("wedge", {"width_m": 0.001, "tip_to_widest_m": 0.05, "tip_flat_m": 0.002}, "broader"),
        ("tip_flat", {}, "not measured"),
    ],
)
def test_a_measure_that_cant_be_told_says_why(name: str, given: dict[str, float | str], reason: str) -> None:
    found = getattr(measures_of(shape(**given)), name)
    assert found.value is None and reason in said(found.how)


def test_measures_of_a_head_are_those_of_the_formulas() -> None:
    found = measures_of(shape(section="diamond", width_m=0.02, thickness_m=0.006, tip_to_widest_m=0.04, edge_length_m=0.09))
    assert found.frontal_area.value is not None and found.frontal_area.value.value == pytest.approx(60e-6)
    assert found.edge.value is not None and found.edge.value.value == 0.09
    density = sectional_density(shape(section="square", width_m=0.008), Uncertain(0.064, 0.0001))
    assert density.value is not None and density.value.value == pytest.approx(1000.0)
    assert sectional_density(shape(section="square", width_m=0.008), None).how == because("arrow_never_weighed")


def test_a_shot_without_a_measure_has_no_place_and_an_energy_of_nothing_neither(shot_at_target: Loosed) -> None:
    blunt = next(shot for shot in shot_at_target.shots if shot.fact.form == "blunt")
    assert on_axis(blunt, AXES["tip"], place="target") is None and row_value(blunt, ROWS["tip_flat"]) is None
    assert row_value(blunt, ROWS["form"]) is None


# --- round edges ---------------------------------------------------------------------------------------------------


@given(st.lists(st.floats(1e-3, 1e5), min_size=1, max_size=20))
def test_round_edges_hold_every_value_and_are_few(values: list[float]) -> None:
    edges = round_edges(values)
    assert edges == tuple(sorted(set(edges))) and 2 <= len(edges) <= 12
    assert edges[0] <= min(values) and max(values) < edges[-1] or len(bands_of(edges, values)) <= len(edges) + 1
    assert all(any(band.holds(value) for band in bands_of(edges, values)) for value in values)


def test_edges_of_another_axis_are_plain_numbers() -> None:
    assert read_edges("0.5, 1, 2", unit="J/mm") == (0.5, 1.0, 2.0)
    assert read_edges("300 500 2000", unit="J/mm²") == (300.0, 500.0, 2000.0)
    assert "is not a band limit" in str(read_edges("50 J", unit="J/mm²"))
    assert round_edges([]) == (1.0, 10.0, 100.0)


def test_shots_unsure_of_their_band_are_those_near_an_edge() -> None:
    lots = random.Random(7)
    for _ in range(500):
        edges = tuple(sorted({float(lots.randrange(0, 200, 5)) for _ in range(lots.randrange(0, 8))}))
        values = [lots.choice([lots.uniform(0, 200), float(lots.randrange(0, 200, 5))]) for _ in range(20)]
        energies = [Uncertain(value, lots.choice([None, 0.0, 2.5, lots.uniform(0, 9)])) for value in values]
        near = sum(near_an_edge(one, edges) is not None for one in energies)
        assert _unsure_of(edges, energies) == near == _counted_by_columns(energies)(edges)
