"""Which measure explains, from heads whose order is known beforehand."""

from __future__ import annotations

import pytest
from proofyard.answers.measures.page import Measures, read_measures
from proofyard.quantities.reason import because
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit
from tests.fifty_percent_for_tests import Shooting

ANY = {"fair": ["any"], "at": ["chronograph"], "edges": ["40, 50"]}


def asked(book: Storage, **more: list[str]) -> Measures:
    return read_measures(book, {**ANY, **more}, reader="metric")


def heads(book: Storage, widths_mm: list[float], *, shots: int = 6) -> Shooting:
    """Round heads, each wider than the one before, that get through less often the wider they are: the widest never, the
    narrowest always; all at 45 J."""
    shooting = Shooting(book)
    for n, width in enumerate(widths_mm):
        tag = f"H{n}"
        made = shooting.arrow(tag, "short_bodkin")
        kit.put(
            book, "head", {"section": "round", "width": f"{width} mm"}, record_id=made.head, base_rev=kit.row(book, "head", made.head).rev
        )
        through = round(shots * (1 - n / (len(widths_mm) - 1)))
        shooting.loose("short_bodkin", [45.0] * shots, [1] * through + [0] * (shots - through), tag=tag)
    return shooting


def test_six_heads_that_their_width_orders_show_it(book: Storage) -> None:
    heads(book, [6.0, 7.0, 8.0, 9.0, 10.0, 11.0])
    found = asked(book, measure=["front"])
    (row,) = found.rows
    assert row.found is not None and row.how == "concordance" and row.found.p == pytest.approx(2 / 720)
    words = said(found.finding).replace("\N{NO-BREAK SPACE}", " ")
    assert words == (
        "On 1.6 mm one-piece plate heads with less frontal area get through more easily "
        "(6 heads; luck alone does as well in less than 1 of 100 cases)."
    )
    assert row.drawing is not None and len(found.units) == 6


def test_four_heads_are_charted_and_refused(book: Storage) -> None:
    heads(book, [6.0, 7.0, 8.0, 9.0])
    found = asked(book, measure=["front"])
    (row,) = found.rows
    assert found.finding.code == "measures_not_told" and "4" in said(found.finding) and "5 heads" in said(found.finding)
    assert row.drawing is not None and row.found is not None and row.found.p is None and (row.found.strength or 0) > 0.9


def test_heads_shaped_alike_count_as_one_only_if_they_may_be_as_hard(book: Storage) -> None:
    """By picks: two softer than 40 HRC, one of 50 to 55. A middle is told of the closed range alone: 513 to 595 HV (ASTM E140, Table 1)."""
    heads(book, [6.0, 6.0, 6.0, 6.0])
    ids = {one.shot.fact.arrow_tag: one.shot.fact.head_id or "" for unit in asked(book).units for one in unit.shots}
    for name, picks in {
        "H0": {"slides": "", "bites": "40"},
        "H1": {"slides": "", "bites": "40"},
        "H2": {"slides": "50", "bites": "55"},
    }.items():
        kit.hardness(book, "head", ids[name], **picks)
    soft, hard, unread = asked(book).units
    assert [len(unit.names) for unit in (soft, hard, unread)] == [2, 1, 1]
    assert soft.measures["hardness"] is None and unread.measures["hardness"] is None
    assert hard.measures["hardness"] == pytest.approx((513 + 595) / 2, rel=0.01)


def test_heads_that_are_alike_count_as_one(book: Storage) -> None:
    heads(book, [6.0, 6.05, 8.0, 10.0])
    assert [len(unit.names) for unit in asked(book).units] == [2, 1, 1]


def test_a_measure_that_nobody_took_says_so(book: Storage) -> None:
    heads(book, [6.0, 7.0, 8.0, 9.0, 10.0, 11.0])
    row = next(row for row in asked(book).rows if row.key == "edge")
    assert said(row.told) == "measured of 0 heads: nothing to order by" and row.drawing is None


def test_where_energies_differ_from_head_to_head_their_fifty_percent_energies_are_set_against_it(book: Storage) -> None:
    shooting = Shooting(book)
    for n, middle in enumerate((40.0, 46.0, 52.0, 58.0, 64.0)):
        made = shooting.arrow(f"H{n}", "short_bodkin")
        kit.put(
            book, "head", {"section": "round", "width": f"{6 + n} mm"}, record_id=made.head, base_rev=kit.row(book, "head", made.head).rev
        )
        places = [middle * 1.08**step for step in (-3, -2, -1, 1, 2, 3)]
        shooting.loose("short_bodkin", places, [0, 0, 1, 0, 1, 1], tag=f"H{n}")
    found = asked(book, measure=["front"], edges=["20, 100"])
    (row,) = found.rows
    assert row.how == "correlation" and row.found is not None and not row.found.rises
    assert row.found.strength == pytest.approx(1.0, abs=0.02) and row.found.p == pytest.approx(1 / 120)


def test_energy_is_looked_at_with_one_and_the_same_head(book: Storage) -> None:
    Shooting(book).loose("needle", [40.0, 45.0, 50.0, 55.0], [0, 1, 0, 1])
    assert asked(book).energy == because("energy_orders", more=3, pairs=4)


def test_heads_narrower_than_their_shaft_are_named_as_dragging_in_the_hole(book: Storage) -> None:
    """Shafts are 9.5 mm across here."""
    told = said(asked(heads(book, [7.0, 9.0, 11.0]).book).drag).replace("\N{NO-BREAK SPACE}", " ")
    assert told.startswith("A shaft that is wider than its head drags in the hole; it is in none of these measures. It does behind ")
    assert told.count("shaft 9.5 mm") == 2 and "head 7 mm" in told and "head 9 mm" in told and "head 11 mm" not in told


def test_where_no_shaft_drags_and_where_it_cannot_be_told_is_said(book: Storage) -> None:
    shooting = heads(book, [11.0, 12.0])
    assert "No head here is narrower than its shaft." in said(asked(book).drag)
    shooting.loose("leaf", [50.0], [1], tag="unmeasured")
    told = said(asked(book).drag).replace("\N{NO-BREAK SPACE}", " ")
    assert "None of the 2 heads measured with their shafts is narrower than its shaft." in told
    assert told.endswith("Of 1 head it can’t be told: head or shaft was not measured.")


def test_the_angle_is_charted_where_it_changed(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", [45.0, 50.0], [1, 1])
    assert asked(book).angle is None
    shooting.loose("needle", [45.0, 50.0], [0, 1], angle="30")
    angle = asked(book).angle
    assert angle is not None and angle.words.startswith("4 shots, 3 through")
