"""The energy at which half get through, from shots whose answer is known beforehand."""

from __future__ import annotations

import math
import random

import pytest

from server.findings.half.nearest_hit import nearest_earlier_m
from server.findings.half.page import HalfThrough, HeadHalf, read_half
from server.quantities import to_si
from server.records.shot_facts import shot_facts
from server.storage import Storage
from tests import kit_for_tests as kit
from tests.half_for_tests import Shooting, mirrored

ANY = {"fair": ["any"], "at": ["chronograph"]}
MANY = [30.0 + n for n in range(40)]  # 40 energies; with every(…) mixed outcomes around 50 J
MIXED = [int(energy > 50) ^ int(place % 7 == 3) for place, energy in enumerate(MANY)]


def asked(book: Storage, reader: str = "metric", **more: str | list[str]) -> HalfThrough:
    query = {**ANY, **{name: value if isinstance(value, list) else [value] for name, value in more.items()}}
    return read_half(book, query, reader=reader)


def only(half: HalfThrough) -> HeadHalf:
    assert [len(part.heads) for part in half.parts] == [1]
    return half.parts[0].heads[0]


def test_outcomes_that_mirror_put_the_half_in_the_middle_and_its_ends_alike_on_both_sides(book: Storage) -> None:
    energies, through = mirrored(45.0, 1.12)
    Shooting(book).loose("needle", energies, through)
    found = only(asked(book)).found
    assert found.point is not None and found.point.low_j is not None and found.point.high_j is not None
    assert found.point.energy_j == pytest.approx(45.0, rel=1e-6)
    assert found.point.low_j * found.point.high_j == pytest.approx(45.0**2, rel=1e-4)
    assert (found.shots, found.hits) == (14, 7)


def test_curve_band_and_point_are_of_one_model(book: Storage) -> None:
    Shooting(book).loose("needle", MANY, MIXED)
    head = only(asked(book))
    assert head.picture is not None and head.picture.curve is not None and head.found.point is not None
    low, high = head.found.point.low_j, head.found.point.high_j
    assert low and high
    x = head.picture.frame.x
    assert head.picture.curve.middle == (pytest.approx(x(head.found.point.energy_j), abs=0.1), pytest.approx(head.picture.frame.y(0.5), abs=0.1))
    assert head.picture.curve.reach == (pytest.approx(x(low), abs=0.1), pytest.approx(x(high), abs=0.1))
    assert head.lead.replace("\N{NO-BREAK SPACE}", " ").startswith("Half get through 1.6 mm one-piece plate with the long needle at 49.7 J, 43.2 to 57.2 J (95 %, 40 shots)")


def test_the_order_of_shots_and_the_readers_units_change_nothing(book: Storage) -> None:
    shots = list(zip(MANY, MIXED, strict=True))
    random.Random(3).shuffle(shots)
    Shooting(book).loose("needle", [energy for energy, _ in shots], [did for _, did in shots])
    metric, archery = only(asked(book)), only(asked(book, "archery"))
    assert metric.found.point is not None and archery.found.point is not None
    assert archery.found.point.energy_j == metric.found.point.energy_j
    shown = float(archery.cells.point.split()[2])
    assert archery.cells.point.endswith("ft·lbf")
    assert to_si(shown, "ft·lbf") == pytest.approx(metric.found.point.energy_j, rel=0.005)


def test_sorts_of_panel_are_never_put_into_one_curve(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.panel("M1", construction="mail")
    energies, through = mirrored(45.0, 1.12)
    shooting.loose("needle", energies, through)
    shooting.loose("needle", [2 * one for one in energies], through, panel="M1", way_in="broke_rings")
    found = {part.words: part.heads[0].found.point for part in asked(book).parts}
    assert len(found) == 2
    assert sorted(round(point.energy_j, 3) for point in found.values() if point) == [45.0, 90.0]


def test_shots_that_may_be_through_are_in_no_curve_and_what_they_could_do_is_said(book: Storage) -> None:
    energies, through = mirrored(45.0, 1.12)
    shooting = Shooting(book)
    shooting.loose("needle", energies, through)
    shooting.loose("needle", [45.0], ["34"])
    head = only(asked(book))
    assert head.found.shots == 14 and head.found.point is not None and head.found.point.energy_j == pytest.approx(45.0, rel=1e-6)
    assert head.found.if_all is not None and head.found.if_none is not None
    assert head.found.if_all.energy_j < 45.0 < head.found.if_none.energy_j
    assert any("may have got through or not, and is left out" in words for words in head.notes)


def test_one_head_that_needs_twice_the_energy_is_said_to_need_twice(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", MANY, MIXED)
    shooting.loose("leaf", [2 * one for one in MANY], MIXED)
    (part,) = asked(book).parts
    ((head, times, may_be),) = part.compared.rows
    assert (head, times) in {("Leaf", "2.00"), ("Long needle", "0.50")}
    assert "to" in may_be and "alike" not in may_be
    assert "more energy helps every head alike" in part.compared.words


def test_a_head_that_never_got_through_is_bounded_on_one_side_only(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", MANY, MIXED)
    shooting.loose("leaf", MANY[20:], [0] * 20)
    (part,) = asked(book).parts
    assert [row[0] for row in part.compared.rows] == ["Leaf"]
    assert part.compared.rows[0][2].endswith("or more")


def test_tails_are_told_from_forty_shots_on_and_inside_the_energies_shot(book: Storage) -> None:
    Shooting(book).loose("needle", MANY, MIXED)
    told = dict(only(asked(book, tails="45, 1")).tails.facts)
    assert "J, " in told["Where 45\N{NO-BREAK SPACE}% get through"]
    assert "outside the energies shot" in told["Where 1\N{NO-BREAK SPACE}% get through"]


def test_below_forty_shots_no_tail_is_told(book: Storage) -> None:
    Shooting(book).loose("needle", MANY[:39], MIXED[:39])
    ((asked_for, words),) = only(asked(book)).tails.facts
    assert asked_for == "Where 10\N{NO-BREAK SPACE}% and 90\N{NO-BREAK SPACE}% get through"
    assert words == "39 shots say too little about the tails: it takes 40."


def test_what_all_energies_share_widens_the_range_once(book: Storage) -> None:
    """Limits of 1 % of the speed and 0.1 g of the mass, and their displays' steps, by hand (GUM 4.3.7, 5.1.6)."""
    Shooting(book).loose("needle", MANY, MIXED)
    head = only(asked(book))
    point = head.found.point
    assert point is not None and point.low_j is not None
    # At the slowest shot the display's step of 0.1 m/s weighs most, and the least sure speaks for all.
    slowest = math.sqrt(2 * min(MANY) / 0.0801)
    speed = math.hypot(0.01 / math.sqrt(3), 0.1 / math.sqrt(12) / slowest)
    mass = math.hypot(0.1 / math.sqrt(3), 0.1 / math.sqrt(12)) / 80.1
    shared = math.hypot(2 * speed, mass)
    low = point.energy_j * math.exp(-math.hypot(math.log(point.energy_j / point.low_j), 1.959964 * shared))
    assert head.doubt[0].startswith(f"With what is not known of the energies: {low:.3g} to ")
    assert head.doubt[3] == "Every shot here has a speed of its own, so none stands at its pairing’s mean."
    assert f"{100 * shared:.2g}\N{NO-BREAK SPACE}% that all these energies share" in head.doubt[1]


def test_where_no_instrument_says_how_good_it_is_no_doubt_is_made_up(book: Storage) -> None:
    Shooting(book, chronograph=kit.instrument(book, "Old one", "chronograph")).loose("needle", MANY, MIXED)
    assert only(asked(book)).doubt == ("How far the energies may be off can’t be told for any of these shots, so no such doubt is in that range.",)


def test_shots_that_take_their_pairings_mean_flatten_the_curve_by_their_scatter(book: Storage) -> None:
    """Four pairings of one bow, each with a mean of its own and no speed on its shots."""
    shooting = Shooting(book)
    for place, (energy, hits) in enumerate(((32.0, 1), (40.0, 2), (50.0, 8), (62.0, 9))):
        tag = f"N{place}"
        shooting.loose("needle", [None] * 10, [1] * hits + [0] * (10 - hits), tag=tag)
        speed = math.sqrt(2 * energy / 0.0801)
        readings = [f"{speed + off:.4f} m/s" for off in (-1.0, -0.5, 0.0, 0.5, 1.0)]
        kit.speeds(book, kit.Pairing(shooting.bow.build, shooting.arrows[tag].build, shooting.archer), *readings, instrument_id=shooting.chronograph)
    head = only(asked(book))
    assert head.found.shots == 40
    # 2 s/v of each pairing's mean, s = 0.7906 of five readings; type A of a mean is s over the root of five.
    spread = 0.79057
    most = 2 * spread / math.sqrt(5) / math.sqrt(2 * 32.0 / 0.0801)
    assert f"up to {100 * most:.2g}\N{NO-BREAK SPACE}% of a pairing’s own (4 pairings" in head.doubt[2]
    assert "flattens the curve by " in head.doubt[3]


def test_terms_beside_the_energy_are_refused_with_too_few_of_the_rarer_outcome(book: Storage) -> None:
    energies, through = mirrored(45.0, 1.12)
    Shooting(book).loose("needle", energies, through, each=[{"angle": f"{n}°"} for n in range(14)])
    words = only(asked(book, term="angle")).terms.words
    assert words == ("Refused: it takes 10 shots of the rarer outcome to ask about 1 more thing beside the energy: there are 7.",)


def test_an_angle_that_does_nothing_is_said_to_do_nothing_perhaps(book: Storage) -> None:
    angles = [{"angle": f"{(7 * n) % 13}°"} for n in range(40)]
    Shooting(book).loose("needle", MANY, MIXED, each=angles)
    words = only(asked(book, term="angle")).terms.words
    assert words[0].startswith("10° more off square: half get through at ") and words[0].endswith("so it may do nothing.")
    assert words[1].startswith("Of 40 shots.")


def test_an_angle_that_costs_energy_is_found_to_cost_it(book: Storage) -> None:
    """Every shot at 10° needs 1.5 times the energy of one that is square, so the factor is 1.5."""
    shooting = Shooting(book)
    shooting.loose("needle", MANY, MIXED, angle="0°")
    shooting.loose("needle", [1.5 * one for one in MANY], MIXED, angle="10°")
    (first, _) = only(asked(book, term="angle")).terms.words
    assert "half get through at 1.50 times the energy, may be 1.2" in first


def test_a_way_in_that_all_shots_share_can_be_no_part_of_it(book: Storage) -> None:
    Shooting(book).loose("needle", MANY, MIXED)
    assert "went in the same way" in only(asked(book, term="way")).terms.words[0]


def test_ways_in_stand_against_the_commonest(book: Storage) -> None:
    ways = [{"way_in": "ridge" if n % 3 == 0 else "plate"} for n in range(40)]
    Shooting(book).loose("needle", MANY, MIXED, each=ways)
    assert only(asked(book, term="way")).terms.words[0].startswith("In by ridge and not by plate: half get through at ")


def test_the_limit_of_the_standards_is_a_mean_that_a_hand_can_check(book: Storage) -> None:
    """44 to 51 m/s, three stopped and three through: the worked example of the rule's own docstring, 47.75 m/s."""
    speeds, through = [44.0, 47.0, 48.0, 47.5, 49.0, 51.0], [0, 0, 0, 1, 1, 1]
    Shooting(book).loose("needle", [0.0801 * v * v / 2 for v in speeds], through)
    head = only(asked(book))
    facts = dict(head.limit.facts)
    assert facts["Averaging limit"].startswith("47.8\N{NO-BREAK SPACE}m/s, which is 91.3\N{NO-BREAK SPACE}J with 80.1\N{NO-BREAK SPACE}g")
    assert "the 3 highest that did not get through and the 3 lowest that did, of 6 shots with arrow needle" in facts["Made of"]
    assert "borrowed from tests of bullets" in head.limit.label


def test_arrows_of_other_masses_are_no_one_projectile_until_one_is_picked(book: Storage) -> None:
    shooting = Shooting(book)
    speeds, through = [44.0, 47.0, 48.0, 47.5, 49.0, 51.0], [0, 0, 0, 1, 1, 1]
    shooting.loose("needle", [0.0801 * v * v / 2 for v in speeds], through, tag="N1")
    shooting.loose("needle", [0.060 * v * v / 2 for v in speeds], through, tag="N2", mass_kg=0.060)
    assert "the rule is for one projectile, and here are 2: arrow N1, arrow N2" in only(asked(book)).limit.facts[0][1]
    picked = only(asked(book, arrow=shooting.arrows["N2"].arrow)).limit.facts
    assert picked[0][1].startswith("47.8\N{NO-BREAK SPACE}m/s, which is 68.4\N{NO-BREAK SPACE}J")


def test_arrows_within_two_percent_are_one_projectile(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", [0.0801 * v * v / 2 for v in (44.0, 48.0, 49.0)], [0, 0, 1], tag="N1")
    shooting.loose("needle", [0.0815 * v * v / 2 for v in (47.0, 47.5, 51.0)], [0, 1, 1], tag="N2", mass_kg=0.0815)
    assert "2 arrows that are alike" in dict(only(asked(book)).limit.facts)["Made of"]


def test_a_spread_that_is_narrower_refuses_the_same_shots(book: Storage) -> None:
    speeds, through = [44.0, 47.0, 48.0, 47.5, 49.0, 51.0], [0, 0, 0, 1, 1, 1]
    Shooting(book).loose("needle", [0.0801 * v * v / 2 for v in speeds], through)
    assert "they lie 7 m/s apart, 5 at most" in only(asked(book, few_spread="5 m/s")).limit.facts[0][1]


def test_the_nearest_hit_before_is_the_nearest_that_was_there_before(book: Storage) -> None:
    shooting = Shooting(book)
    places = [("0 mm", "0 mm"), ("30 mm", "40 mm"), ("0 mm", "10 mm")]
    shots = shooting.loose("needle", [40.0] * 3, [0] * 3, each=[{"x": x, "y": y, "place_known": "yes"} for x, y in places])
    with book.read() as session:
        found = nearest_earlier_m(shot_facts(session))
    assert found[shots[0]] is None, "nothing was there before it"
    assert found[shots[1]] == pytest.approx(0.05), "3, 4, 5"
    assert found[shots[2]] == pytest.approx(0.01), "the second lies further off, and the third came last"


def test_a_place_that_nobody_knows_leaves_the_nearest_untold(book: Storage) -> None:
    shooting = Shooting(book)
    known = {"x": "0 mm", "y": "0 mm", "place_known": "yes"}
    shots = shooting.loose("needle", [40.0] * 3, [0] * 3, each=[known, {"place_known": "no"}, {**known, "x": "20 mm"}])
    with book.read() as session:
        found = nearest_earlier_m(shot_facts(session))
    assert [found[shot] for shot in shots] == [None, None, None]
