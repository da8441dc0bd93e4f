"""Another bow, from books whose bows and shots are known beforehand, and from the demo."""

from __future__ import annotations

import math

import pytest
from proofyard.answers.another_bow.page import AnotherBowFound, read_another_bow
from proofyard.exchange.another_bow_csv import table_of_page
from proofyard.exchange.data_dictionary import FILES
from proofyard.exchange.fetched import fetch
from proofyard.physics.another_bow import EFFICIENCIES
from proofyard.quantities import from_si
from proofyard.quantities.reason import CantTell
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit
from tests.fifty_percent_for_tests import Shooting, mirrored

ASKED = {"weight": "160 lb", "mass": "80 g", "distance": "30 m", "shaft": "12 mm", "fair": "any"}


def asked(book: Storage, **more: str) -> AnotherBowFound:
    return read_another_bow(book, {name: [value] for name, value in {**ASKED, **more}.items()}, reader="metric")


def words(found: AnotherBowFound) -> str:
    return said(found.finding).replace("\N{NO-BREAK SPACE}", " ")


def bow(book: Storage, name: str, pounds: int, speeds: dict[str, float], *, archer: str = "", draw: str = "31 in", **more: str) -> str:
    """A bow with arrows of these masses at these speeds, and the archer's id."""
    who = archer or kit.archer(book, f"Archer of {name}", draw_length=draw)
    made = kit.bow(book, name, marked_weight=f"{pounds} lbf" if pounds else "", **more)
    for mass, speed in speeds.items():
        arrow = kit.arrow(book, f"{name} {mass}", masses=(mass,), diameter="12 mm")
        readings = (f"{speed - 0.2:.2f}", f"{speed + 0.2:.2f}", f"{speed:.2f}")
        kit.speeds(book, kit.Combination(made.build, arrow.build, who), *readings)
    return who


def modelled(pounds: float, mass_kg: float) -> float:
    """Invented: q F x = 0.53 J a newton, K = 50 mg a newton."""
    weight = pounds * 4.4482216152605
    return math.sqrt(2 * 0.27 * weight / (mass_kg + 5.0e-5 * weight))


def two_bows(book: Storage) -> None:
    for name, pounds in (("Elm 90", 90), ("Yew 120", 120)):
        bow(book, name, pounds, {f"{grams} g": modelled(pounds, grams / 1000) for grams in (55, 65, 80)})


def test_another_bow_is_foretold_from_the_own_ones_and_its_energy_falls_over_the_distance(book: Storage) -> None:
    two_bows(book)
    found = asked(book)
    assert found.way is not None
    true = modelled(160, 0.080)
    assert found.way.bow.low_m_s < true < found.way.bow.high_m_s
    assert found.way.bow.speed.value == pytest.approx(true, rel=0.04)
    assert found.way.from_m == pytest.approx(2.0)
    leaving, there = found.way.leaving_j, found.way.at_target_j
    assert there.value < leaving.value and there.low < there.value < there.high
    # Carried on, a range only widens: in proportion to the energy.
    assert there.high / there.low > (found.way.bow.high_m_s / found.way.bow.low_m_s) ** 2 * 0.999
    assert words(found).startswith("An arrow of 80 g from a bow of 160 lb (712 N) should leave at ")
    assert " and reach 30 m with " in words(found) and words(found).endswith(", an extrapolation.")


def test_a_bow_between_the_own_ones_is_no_extrapolation(book: Storage) -> None:
    two_bows(book)
    found = asked(book, weight="105 lb", mass="65 g", draw="31 in")
    assert found.way is not None and found.way.bow.beyond == () and "extrapolation" not in words(found)
    assert not any(one.code.startswith("another_bow_beyond") for one in found.cautions)


def test_what_is_not_typed_is_taken_from_the_book_and_said(book: Storage) -> None:
    two_bows(book)
    shooting = Shooting(book)
    shooting.loose("needle", *mirrored(90.0, 1.1))
    found = read_another_bow(book, {"weight": ["120 lb"], "fair": ["any"]}, reader="metric")
    assert found.way is not None
    question = found.way.question
    assert set(question.taken) == {"mass", "distance", "draw", "shaft"}
    assert question.distance_m == 20.0 and question.shaft_m == pytest.approx(0.0095)
    assert question.mass_kg == pytest.approx((0.055 + 0.065 + 0.080) / 3)
    told = " ".join(said(one) for one in found.rests_on).replace("\N{NO-BREAK SPACE}", " ")
    assert "Not entered, so taken: " in told and "20 m, the distance that was shot most" in told


def test_one_bow_only_is_said_and_the_range_takes_how_bows_in_print_differ(book: Storage) -> None:
    bow(book, "Yew 120", 120, {"65 g": 52.0})
    one = asked(book)
    assert one.way is not None and "another_bow_one_bow" in [reason.code for reason in one.cautions]
    assert EFFICIENCIES[0] < one.way.bow.arrow_share.value < EFFICIENCIES[1]
    assert one.foretold == (), "there is no other bow to foretell it"
    assert "It rests on one bow, Yew 120" in " ".join(said(reason) for reason in one.cautions)
    bow(book, "Elm 90", 90, {"55 g": 50.0})
    two = asked(book)
    assert two.way is not None
    assert two.way.bow.high_m_s / two.way.bow.low_m_s < one.way.bow.high_m_s / one.way.bow.low_m_s


@pytest.mark.parametrize(
    ("pounds", "speeds", "more", "lacks"),
    [
        (120, {}, {}, "no bow of the book"),
        (0, {"65 g": 52.0}, {}, "its draw weight is not recorded"),
        (120, {"65 g": 52.0}, {"draw": "", "marked_draw": ""}, "how far it is drawn is not recorded"),
    ],
)
def test_what_cant_be_reckoned_says_why_and_what_would_help(
    book: Storage, pounds: int, speeds: dict[str, float], more: dict[str, str], lacks: str
) -> None:
    bow(book, "Yew", pounds, speeds, **more)
    found = asked(book)
    assert found.way is None and found.drawing is None
    assert words(found).startswith("This can’t be reckoned: ")
    assert lacks in f"{words(found)} {said(found.helps)}"


def test_a_bow_without_speeds_is_named_and_says_how_many_arrows_wait(book: Storage) -> None:
    two_bows(book)
    made = kit.bow(book, "Ash 70", marked_weight="70 lbf")
    arrow = kit.arrow(book, "X", masses=("50 g",), diameter="12 mm")
    kit.combination(book, kit.Combination(made.build, arrow.build, kit.archer(book, "Wren")))
    told = [said(one) for one in asked(book).rests_on]
    assert "Ash 70, Wren is not used: no speed was read of its one arrow, or none was weighed" in told


def test_no_distance_or_no_shaft_is_asked_for(book: Storage) -> None:
    bow(book, "Yew 120", 120, {"65 g": 52.0})
    nowhere = read_another_bow(book, {"weight": ["120 lb"], "shaft": ["12 mm"]}, reader="metric")
    assert "Enter the distance" in words(nowhere)
    bare = read_another_bow(book, {"weight": ["120 lb"], "distance": ["20 m"]}, reader="metric")
    assert "Enter the shaft’s diameter" in words(bare)


def test_a_weight_marked_at_another_draw_is_brought_to_the_archers(book: Storage) -> None:
    bow(book, "Yew 120", 120, {"65 g": 52.0}, draw="28 in", marked_draw="32 in")
    (one,) = asked(book).own.shot
    assert one.own.weight_n == pytest.approx(120 * 4.44822, rel=1e-4), "without a brace height it stays as marked"
    assert one.brace_assumed


def shoot(book: Storage, *, bows: bool = True) -> None:
    """Two bows, and heads at 1.6 mm plate: a needle with half at 90 J, a leaf that never got through, a barbed head that always did."""
    if bows:
        two_bows(book)
    shooting = Shooting(book)
    shooting.loose("needle", *mirrored(90.0, 1.1))
    shooting.loose("leaf", [100.0, 104.0, 108.0, 112.0], [0, 0, 0, 0])
    shooting.loose("barbed", [60.0, 62.0, 64.0, 66.0], [1, 1, 1, 1])


def test_each_head_gets_a_share_a_bound_or_the_reason_why_not(book: Storage) -> None:
    shoot(book)
    found = asked(book)
    by_head = {one.row.key: one for one in found.heads}
    needle, leaf, barbed = by_head["needle"], by_head["leaf"], by_head["barbed"]
    assert not isinstance(needle.found, CantTell) and needle.found.share is not None and needle.found.share > 0.5
    assert needle.found.low < needle.found.share < needle.found.high
    assert not isinstance(barbed.found, CantTell) and barbed.found.share is None and barbed.found.low == pytest.approx(0.398, abs=0.001)
    assert isinstance(leaf.found, CantTell) and leaf.verdict == "none"
    assert found.drawing is not None and len(found.drawing.rows) == 5


def test_more_energy_gets_more_through_and_the_verdict_follows_the_range(book: Storage) -> None:
    shoot(book)
    shares = []
    for weight in ("70 lb", "110 lb", "160 lb", "220 lb"):
        one = next(head for head in asked(book, weight=weight, distance="10 m").heads if head.row.key == "needle")
        assert not isinstance(one.found, CantTell) and one.found.share is not None
        shares.append(one.found.share)
        assert one.verdict == ("through" if one.found.low > 0.5 else "held" if one.found.high < 0.5 else "open")
    assert shares == sorted(shares)


def test_shares_under_ten_shots_lead_with_no_percentage(book: Storage) -> None:
    two_bows(book)
    shooting = Shooting(book)
    shooting.loose("needle", [50.0, 60.0, 70.0, 80.0, 90.0, 100.0], [0, 0, 1, 0, 1, 1])
    (needle,) = asked(book).heads
    assert needle.fifty_percent.shots == 6 and needle.share.parts["share"] is None


def test_each_own_bow_of_the_demo_is_foretold_by_the_others(demo_book: Storage) -> None:
    found = asked(demo_book)
    assert len(found.foretold) == len(found.own.shot) == 4 and all(one.held for one in found.foretold)
    # The demo's own model at 160 lb: 196 J set in motion, 36.4 g of virtual mass.
    assert found.way is not None and found.way.bow.low_m_s < math.sqrt(2 * 196 / 0.1164) < found.way.bow.high_m_s


def test_the_file_says_of_a_weight_what_the_page_of_the_demo_says(demo_book: Storage) -> None:
    """The download takes tens of pounds with the arrow and the distance that the page takes; its row of 160 lb is the page's of 160 lb."""
    offered = FILES["another_bow.csv"]
    table = offered.make(fetch(demo_book, tables=offered.tables))
    names = [column.name for column in table.columns]
    rows = [dict(zip(names, row, strict=True)) for row in table.rows]
    found = read_another_bow(demo_book, {"weight": ["160 lb"]}, reader="metric")
    assert found.way is not None and len(found.heads) > 8
    weights = [from_si(float(one), "lbf") for one in dict.fromkeys(row["bow_weight_n"] for row in rows)]
    assert weights == pytest.approx([weights[0] + 10 * n for n in range(len(weights))])
    weakest, strongest = (from_si(found.own.shot[n].own.weight_n, "lbf") for n in (0, -1))
    assert weights[0] <= weakest < weights[1] and weights[-2] < 1.5 * strongest <= weights[-1]
    here = [row for row in rows if round(from_si(row["bow_weight_n"], "lbf")) == 160]
    for row, head in zip(here, found.heads, strict=True):
        assert (row["panel_type"], row["head_form"], row["verdict"]) == (head.on, head.row.key, head.verdict)
        told = (row["energy_at_target_j"], row["energy_at_target_low_j"], row["energy_at_target_high_j"])
        there = found.way.at_target_j
        assert told == pytest.approx((there.value, there.low, there.high))
        ends = (None, None) if isinstance(head.found, CantTell) else (head.found.low, head.found.high)
        assert (row["share_low"], row["share_high"]) == (pytest.approx(ends) if ends[0] is not None else ends)
        assert (row["why_not"] is not None) == isinstance(head.found, CantTell)
        assert (row["share"] is None) == ("share" not in head.share.parts or head.share.parts["share"] is None)
    page = table_of_page(found)
    assert [row[1:] for row in page.rows] == [pytest.approx(tuple(row.values())[1:]) for row in here]


def test_a_weight_that_cant_be_reckoned_has_its_row_and_why(book: Storage) -> None:
    """Without a shot there is no distance to take."""
    two_bows(book)
    offered = FILES["another_bow.csv"]
    table = offered.make(fetch(book, tables=offered.tables))
    assert len(table.rows) == 10, "90 to 180 lb"
    assert all(row[-1] and "distance" in str(row[-1]) and set(row[1:-1]) == {None} for row in table.rows)


def test_a_book_without_a_bow_makes_a_file_of_headings_alone(book: Storage) -> None:
    offered = FILES["another_bow.csv"]
    assert offered.make(fetch(book, tables=offered.tables)).rows == ()
