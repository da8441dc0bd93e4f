"""Protection for weight, from panels whose weights and shots whose answer are known beforehand."""

from __future__ import annotations

import pytest
from proofyard.answers.compare.page import read_comparison
from proofyard.answers.protection.page import HeadForWeight, Protection, read_protection
from proofyard.exchange.data_dictionary import FILES
from proofyard.exchange.fetched import fetch
from proofyard.quantities.reason import CantTell, because
from proofyard.statistics.energy_for_weight import EnergyForExtraWeight
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit
from tests.charts.marks_of import dots
from tests.fifty_percent_for_tests import Shooting, mirrored

ANY = {"fair": ["any"], "at": ["chronograph"]}


def asked(book: Storage, **more: str) -> Protection:
    return read_protection(book, {**ANY, **{name: [value] for name, value in more.items()}}, reader="metric")


def only(found: Protection) -> HeadForWeight:
    (head,) = found.heads
    return head


def words(found: Protection) -> str:
    return said(found.finding).replace("\N{NO-BREAK SPACE}", " ")


def two_plates(book: Storage) -> Shooting:
    """1.2 mm weighing 1.14 kg over 0.12 m², half at 40 J; 1.6 mm weighing 1.50 kg, half at 80 J: 40 J for 3 kg/m²."""
    shooting = Shooting(book)
    shooting.panel("Thin", thickness="1.2 mm", mass="1.14 kg")
    shooting.panel("Thick", thickness="1.6 mm", mass="1.50 kg")
    shooting.loose("needle", *mirrored(40.0, 1.04), panel="Thin")
    shooting.loose("needle", *mirrored(80.0, 1.04), panel="Thick")
    return shooting


def test_a_figure_is_the_fifty_percent_energy_over_what_a_square_metre_weighs(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.panel("Thin", thickness="1.2 mm", mass="1.14 kg")
    shooting.loose("needle", *mirrored(40.0, 1.12), panel="Thin")
    (row,) = only(asked(book)).rows
    weight = row.weight.value
    assert weight is not None and (weight.value, weight.standard_uncertainty) == pytest.approx((9.5, 9.5 * 0.01 * 2**0.5))
    point, figure = row.found.point, row.for_weight
    assert point is not None and point.low_j is not None and figure is not None and figure.low is not None
    assert figure.value == pytest.approx(40.0 / 9.5, rel=1e-6)
    assert figure.low < point.low_j / 9.5, "the weight's uncertainty is in it"
    assert words(asked(book)).startswith("Against the long needle bodkin, 1.2 mm one-piece plate gives 4.2 J per kg/m², 95 % interval ")


@pytest.mark.parametrize("third", [False, True])
def test_whether_more_weight_holds_more_is_said_by_the_one_comparison_of_the_two(book: Storage, third: bool) -> None:
    """Two 50 % energies by themselves know nothing of other questions, which /compare pays for: a third type makes it not shown."""
    shooting = Shooting(book)
    shooting.panel("Thin", thickness="1.2 mm", mass="1.14 kg")
    shooting.panel("Thick", thickness="1.6 mm", mass="1.50 kg")
    shooting.loose("needle", *mirrored(40.0, 1.06), panel="Thin")
    shooting.loose("needle", *mirrored(56.0, 1.06), panel="Thick")
    if third:
        shooting.panel("Third", thickness="2 mm", mass="1.90 kg")
        shooting.loose("needle", *mirrored(60.0, 1.06, steps=3), panel="Third")
    found = asked(book)
    extra = only(found).extra[0]
    assert isinstance(extra.found, EnergyForExtraWeight) and extra.found.shown, "by themselves the two lie apart"
    (family,) = read_comparison(book, {**ANY, "by": ["panel_type"]}).families
    assert extra.pair is not None and extra.compared is not None
    line = next(one for one in (*family.lines, *family.more) if one.pair == extra.pair.names)
    assert said(line.verdict).startswith("Not shown" if third else "Shown")
    assert said(extra.told).startswith("not shown that more weight holds more") == third
    assert words(found).startswith("Against the long needle bodkin, what 1.6 mm one-piece plate weighs more than") != third


def test_a_panel_that_was_not_weighed_goes_by_its_measures(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", *mirrored(45.0, 1.12))
    (row,) = only(asked(book)).rows
    assert row.weight.value is not None and row.weight.value.value == pytest.approx(0.0016 * 7850)
    assert "nominal, not measured" in said(row.weight.panels[0].told)


def test_what_each_extra_kilogram_adds_is_the_finding_where_it_is_shown(book: Storage) -> None:
    two_plates(book)
    head = only(asked(book))
    assert [row.words.replace("\N{NO-BREAK SPACE}", " ") for row in head.rows] == ["1.2 mm one-piece plate", "1.6 mm one-piece plate"]
    (extra,) = head.extra
    assert extra.extra.kg_m2 == pytest.approx(3.0)
    assert isinstance(extra.found, EnergyForExtraWeight) and extra.found.shown
    assert extra.found.value == pytest.approx(40.0 / 3.0, rel=1e-5)
    wanted = "what 1.6 mm one-piece plate weighs more than 1.2 mm one-piece plate adds to the 50 % energy: 13 J per kg/m²"
    assert wanted in words(asked(book))
    assert said(extra.heavier_by).replace("\N{NO-BREAK SPACE}", " ") == (
        "1.6 mm one-piece plate is heavier than 1.2 mm one-piece plate by 3.0 kg/m² ± 0.2"
    )


def test_a_lighter_panel_is_compared_with_nothing_that_weighs_the_same(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.panel("Thin", thickness="1.2 mm", mass="1.50 kg")
    shooting.panel("Thick", thickness="1.6 mm", mass="1.51 kg")
    shooting.loose("needle", *mirrored(40.0, 1.12), panel="Thin")
    shooting.loose("needle", *mirrored(60.0, 1.12), panel="Thick")
    (extra,) = only(asked(book)).extra
    assert isinstance(extra.found, CantTell) and extra.found.reason.code == "weights_too_alike"


def test_an_open_side_of_the_energy_stays_open(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.panel("Thin", thickness="1.2 mm", mass="1.14 kg")
    shooting.loose("needle", [30.0 + n for n in range(20)], [0] * 19 + [1], panel="Thin")
    (row,) = only(asked(book)).rows
    assert row.for_weight is not None and row.for_weight.high is None and row.for_weight.low is not None
    assert "(one-sided, 97.5\N{NO-BREAK SPACE}%), how far above can’t be told" in said(row.figure)


def test_without_a_weight_or_an_energy_the_reason_stands_in_the_figures_place(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.panel("Rag", construction="textile")
    shooting.loose("needle", *mirrored(40.0, 1.12), panel="Rag", entry="field")
    shooting.loose("leaf", [40.0, 50.0], [0, 0])
    found = asked(book)
    by_form = {head.words: head.rows[0] for head in found.heads}
    assert by_form["Long needle bodkin"].why_not == because("cloth_layer_not_weighed")
    assert said(by_form["Long needle bodkin"].figure) == "none: what each layer of cloth weighs was not written down"
    assert by_form["Leaf"].why_not == because("none_got_through", shots=2)
    assert said(by_form["Leaf"].figure) == "none"
    assert words(found).startswith("No figure for weight yet: ")


def test_several_panels_of_a_type_weigh_their_mean_over_the_shots(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.panel("One", thickness="1.2 mm", mass="1.14 kg")
    shooting.panel("Other", thickness="1.2 mm", mass="1.20 kg")
    energies, through = mirrored(40.0, 1.12)
    shooting.loose("needle", energies[:10], through[:10], panel="One")
    shooting.loose("needle", energies[10:], through[10:], panel="Other")
    (row,) = only(asked(book)).rows
    assert row.weight.value is not None
    assert row.weight.value.value == pytest.approx((10 * 9.5 + 4 * 10.0) / 14)
    assert (row.weight.value.standard_uncertainty or 0) > 0.25, "half the gap of the two, beside what the scale leaves open"


def test_past_the_body_line_the_garment_counts_and_must_have_been_weighed(book: Storage) -> None:
    shooting = Shooting(book)
    made = kit.panel(book, "Thin", thickness="1.2 mm", mass="1.14 kg")
    stand = kit.stand(book, "Frame")
    layer = kit.put(book, "stand_layer", {"stand": stand, "place": "1", "role": "garment", "material": "quilted linen"})
    kit.put(book, "stand_layer", {"stand": stand, "place": "2", "role": "backing", "material": "clay", "areal": "150 kg/m²"})
    shooting.setups["Thin"] = kit.setup(
        book, shooting.trial.session, made.build, stand_id=stand, distance="20 m", chronograph=shooting.chronograph, chronograph_at="2 m"
    )
    energies, through = mirrored(40.0, 1.12)
    each = [{"reached": "body_line" if did else "armour_only"} for did in through]
    shooting.loose("needle", energies, [1] * len(energies), panel="Thin", each=each)
    assert only(asked(book, through="body_line")).rows[0].why_not == because("garment_not_weighed")
    kit.put(book, "stand_layer", {"areal": "3.1 kg/m²"}, record_id=layer, base_rev=1)
    row = only(asked(book, through="body_line")).rows[0]
    assert row.weight.value is not None and row.weight.value.value == pytest.approx(9.5 + 3.1) and row.weight.garment
    assert [(one.layer.role, said(one.told).replace("\N{NO-BREAK SPACE}", " ")) for one in asked(book).layers] == [
        ("garment", "3.1 kg/m²"),
        ("backing", "150 kg/m²"),
    ]


def test_the_chart_puts_each_panel_type_at_its_weight_and_energy(book: Storage) -> None:
    two_plates(book)
    drawing = only(asked(book)).drawing
    assert drawing is not None and drawing.x is not None and drawing.y is not None
    assert [(dot.x, dot.y) for dot in dots(drawing)] == [
        (pytest.approx(drawing.x(9.5), abs=0.1), pytest.approx(drawing.y(40.0), abs=0.1)),
        (pytest.approx(drawing.x(12.5), abs=0.1), pytest.approx(drawing.y(80.0), abs=0.1)),
    ]


def test_the_file_says_what_the_page_of_the_demo_says(demo_book: Storage) -> None:
    found = read_protection(demo_book, {}, reader="metric")
    offered = FILES["protection.csv"]
    table = offered.make(fetch(demo_book, tables=offered.tables))
    names = [column.name for column in table.columns]
    rows = [dict(zip(names, row, strict=True)) for row in table.rows]
    each = [(head, row) for head in found.heads for row in head.rows]
    assert any(row.for_weight for _, row in each) and any(row.why_not for _, row in each)
    for row, (head, shown) in zip(rows, each, strict=True):
        assert (row["head_form"], row["panel_type"], row["shots"]) == (head.key, shown.words, shown.found.shots)
        assert row["energy_for_weight_j_m2_kg"] == (shown.for_weight.value if shown.for_weight else None)
        assert row["areal_kg_m2"] == (shown.weight.value.value if shown.weight.value else None)
        assert row["why_not"] == (said(shown.why_not) or None)


def test_the_file_of_panels_has_every_builds_weight_or_why_not(book: Storage) -> None:
    kit.panel(book, "Weighed", mass="1.14 kg")
    kit.panel(book, "Rag", construction="textile")
    offered = FILES["panels.csv"]
    table = offered.make(fetch(book, tables=offered.tables))
    names = [column.name for column in table.columns]
    rows = {row[names.index("panel_name")]: dict(zip(names, row, strict=True)) for row in table.rows}
    assert rows["Weighed"]["panel_areal_kg_m2"] == pytest.approx(9.5)
    assert rows["Weighed"]["panel_areal_how"] == "mass over rectangle"
    assert (
        rows["Rag"]["panel_areal_kg_m2"] is None
        and rows["Rag"]["panel_areal_how"] == "what each layer of cloth weighs was not written down"
    )


def test_an_empty_book_has_no_figure(book: Storage) -> None:
    found = read_protection(book, {}, reader="metric")
    assert found.heads == () and found.finding == because("no_shots_for_weight")
