"""The energy at which half get through, from shots whose answer is known beforehand."""

from __future__ import annotations

import math
import random

import pytest
from proofyard.answers.fifty_percent.page import FiftyPercentAnswer, HeadFiftyPercent, read_fifty_percent
from proofyard.answers.fifty_percent.terms import nearest_earlier_m
from proofyard.quantities import to_si
from proofyard.quantities.reason import Reason, because
from proofyard.records.shot_facts import shot_facts
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit
from tests.charts.marks_of import dots, ends, having, paths
from tests.fifty_percent_for_tests import Shooting, mirrored

ANY = {"fair": ["any"], "at": ["chronograph"]}
MANY = [30.0 + n for n in range(40)]  # 40 energies; with every(…) mixed outcomes around 50 J
MIXED = [int(energy > 50) ^ int(place % 7 == 3) for place, energy in enumerate(MANY)]


def asked(book: Storage, reader: str = "metric", **more: str | list[str]) -> FiftyPercentAnswer:
    query = {**ANY, **{name: value if isinstance(value, list) else [value] for name, value in more.items()}}
    return read_fifty_percent(book, query, reader=reader)


def only(half: FiftyPercentAnswer) -> HeadFiftyPercent:
    assert [len(part.heads) for part in half.parts] == [1]
    return half.parts[0].heads[0]


def uncertainty(head: HeadFiftyPercent) -> list[Reason]:
    """What is said of the energies' uncertainty: the last of the notes."""
    codes = [one.code for one in head.notes]
    return list(head.notes[codes.index("with_energy_uncertainty") :])


def test_outcomes_that_mirror_put_the_fifty_percent_energy_in_the_middle_and_its_ends_alike_on_both_sides(book: Storage) -> None:
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
    assert head.drawing is not None and having(head.drawing, "chart__path") and head.found.point is not None
    low, high = head.found.point.low_j, head.found.point.high_j
    assert low and high
    x, y = head.drawing.x, head.drawing.y
    (middle,), (reach,) = dots(head.drawing), paths(head.drawing, "chart__cell")
    assert (middle.x, middle.y) == (pytest.approx(x(head.found.point.energy_j), abs=0.1), pytest.approx(y(0.5), abs=0.1))
    assert ends(reach) == (pytest.approx(x(low), abs=0.1), pytest.approx(x(high), abs=0.1))
    assert (
        said(head.lead)
        .replace("\N{NO-BREAK SPACE}", " ")
        .startswith("The 50 % energy of the long needle bodkin against 1.6 mm one-piece plate is 50 J, 95 % interval 42 to 58 J (40 shots)")
    )


def test_the_order_of_shots_and_the_readers_units_change_nothing(book: Storage) -> None:
    shots = list(zip(MANY, MIXED, strict=True))
    random.Random(3).shuffle(shots)
    Shooting(book).loose("needle", [energy for energy, _ in shots], [did for _, did in shots])
    metric, archery = only(asked(book)), only(asked(book, "archery"))
    assert metric.found.point is not None and archery.found.point is not None
    assert archery.found.point.energy_j == metric.found.point.energy_j
    words = said(archery.point, "archery")
    shown = float(words.split()[0])
    assert words.endswith("ft·lbf")
    # The interval, 10 ft·lbf wide, carries whole ft·lbf: half of the last figure either way.
    assert abs(to_si(shown, "ft·lbf") - metric.found.point.energy_j) <= to_si(0.5, "ft·lbf")


def test_panel_types_are_never_put_into_one_curve(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.panel("M1", construction="mail")
    energies, through = mirrored(45.0, 1.12)
    shooting.loose("needle", energies, through)
    shooting.loose("needle", [2 * one for one in energies], through, panel="M1", entry="broke_rings")
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
    assert next(one for one in head.notes if one.code == "undecided_left_out").parts["shots"] == 1


def test_one_head_that_needs_twice_the_energy_is_said_to_need_twice(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", MANY, MIXED)
    shooting.loose("leaf", [2 * one for one in MANY], MIXED)
    (part,) = asked(book).parts
    ((pair, times, raw, corrected, verdict),) = part.compared.rows
    assert pair == "Long needle bodkin against leaf" and times.parts["ratio"] == pytest.approx(2.0, rel=1e-6)
    assert raw.parts["low"] and raw.parts["high"] and corrected.parts["low"] and verdict.parts["verdict"] == "first"
    assert {"heads_slopes_taken_alike", "heads_slopes_differ"} & {note.code for note in part.compared.notes}


def test_a_head_that_never_got_through_is_bounded_on_one_side_only(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", MANY, MIXED)
    shooting.loose("leaf", MANY[20:], [0] * 20)
    (part,) = asked(book).parts
    assert [row[0] for row in part.compared.rows] == ["Long needle bodkin against leaf"]
    assert part.compared.rows[0][2].parts["low"] and part.compared.rows[0][2].parts["high"] is None


def test_tails_are_told_from_forty_shots_on_and_inside_the_energies_shot(book: Storage) -> None:
    Shooting(book).loose("needle", MANY, MIXED)
    told = {said(asked_for): one for asked_for, one in only(asked(book, tails="45, 1")).tails}
    assert told["45\N{NO-BREAK SPACE}% energy"].code == "estimate"
    assert told["1\N{NO-BREAK SPACE}% energy"].parts["why"].code == "tail_outside_the_energies_shot"


def test_below_forty_shots_no_tail_is_told(book: Storage) -> None:
    Shooting(book).loose("needle", MANY[:39], MIXED[:39])
    ((asked_for, told),) = only(asked(book)).tails
    assert asked_for == because("energy_of_shares", shares=(0.1, 0.9))
    assert told == because("too_few_for_tails", shots=39, needed=40)


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
    widened, instruments, _, own = uncertainty(head)
    assert widened.parts["low_j"] == pytest.approx(low, rel=1e-3)
    assert own == because("each_its_own_speed")
    assert instruments.parts["part"] == pytest.approx(shared, rel=1e-6)


def test_where_no_instrument_says_how_good_it_is_why_no_uncertainty_is_made_up(book: Storage) -> None:
    Shooting(book, chronograph=kit.instrument(book, "Old one", "chronograph")).loose("needle", MANY, MIXED)
    assert because("no_energy_has_uncertainty") in only(asked(book)).notes


def test_shots_that_take_their_combinations_mean_flatten_the_curve_by_their_scatter(book: Storage) -> None:
    """Four combinations of one bow, each with a mean of its own and no speed on its shots."""
    shooting = Shooting(book)
    for place, (energy, hits) in enumerate(((32.0, 1), (40.0, 2), (50.0, 8), (62.0, 9))):
        tag = f"N{place}"
        shooting.loose("needle", [None] * 10, [1] * hits + [0] * (10 - hits), tag=tag)
        speed = math.sqrt(2 * energy / 0.0801)
        readings = [f"{speed + off:.4f} m/s" for off in (-1.0, -0.5, 0.0, 0.5, 1.0)]
        kit.speeds(
            book,
            kit.Combination(shooting.bow.build, shooting.arrows[tag].build, shooting.archer),
            *readings,
            instrument_id=shooting.chronograph,
        )
    head = only(asked(book))
    assert head.found.shots == 40
    # 2 s/v of each combination's mean, s = 0.7906 of five readings; type A of a mean is s over the root of five.
    spread = 0.79057
    most = 2 * spread / math.sqrt(5) / math.sqrt(2 * 32.0 / 0.0801)
    of_combinations, flattening = uncertainty(head)[2:]
    assert of_combinations.parts["most"] == pytest.approx(most, rel=1e-3) and of_combinations.parts["combinations"] == 4
    assert flattening.code == "shot_scatter_flattens"


def test_terms_beside_the_energy_are_refused_with_too_few_of_the_rarer_outcome(book: Storage) -> None:
    energies, through = mirrored(45.0, 1.12)
    Shooting(book).loose("needle", energies, through, each=[{"angle": f"{n}°"} for n in range(14)])
    why = because("too_few_for_terms", needed=10, terms=1, rarer=7)
    assert only(asked(book, term="angle")).terms == (because("not_worked_out", why=why),)


def test_an_angle_that_does_nothing_is_said_to_do_nothing_perhaps(book: Storage) -> None:
    angles = [{"angle": f"{(7 * n) % 13}°"} for n in range(40)]
    Shooting(book).loose("needle", MANY, MIXED, each=angles)
    angle, rest = only(asked(book, term="angle")).terms
    assert angle.parts["term"] == "10° further from square" and angle.parts["low"] < 1 < angle.parts["high"]
    assert rest == because("terms_rest_on", shots=40, left_out=0)


def test_an_angle_that_costs_energy_is_found_to_cost_it(book: Storage) -> None:
    """Every shot at 10° needs 1.5 times the energy of one that is square, so the factor is 1.5."""
    shooting = Shooting(book)
    shooting.loose("needle", MANY, MIXED, angle="0°")
    shooting.loose("needle", [1.5 * one for one in MANY], MIXED, angle="10°")
    (first, _) = only(asked(book, term="angle")).terms
    assert first.parts["times"] == pytest.approx(1.5, abs=0.005) and 1.2 <= first.parts["low"] < 1.3


def test_a_entry_that_all_shots_share_can_be_no_part_of_it(book: Storage) -> None:
    Shooting(book).loose("needle", MANY, MIXED)
    assert only(asked(book, term="entry")).terms == (because("one_entry_only"),)


def test_entries_stand_against_the_commonest(book: Storage) -> None:
    ways = [{"entry": "ridge" if n % 3 == 0 else "plate"} for n in range(40)]
    Shooting(book).loose("needle", MANY, MIXED, each=ways)
    assert only(asked(book, term="entry")).terms[0].parts["term"] == "in at ridge instead of plate"


def test_the_limit_of_the_standards_is_a_mean_that_a_hand_can_check(book: Storage) -> None:
    """44 to 51 m/s, three stopped and three through: the worked example of the rule's own docstring, 47.75 m/s."""
    speeds, through = [44.0, 47.0, 48.0, 47.5, 49.0, 51.0], [0, 0, 0, 1, 1, 1]
    Shooting(book).loose("needle", [0.0801 * v * v / 2 for v in speeds], through)
    head = only(asked(book))
    facts = dict(head.limit)
    limit, made_of = facts["Averaging limit"].parts, facts["Made of"].parts
    assert (limit["limit_m_s"], limit["mass_kg"]) == (pytest.approx(47.75), pytest.approx(0.0801, abs=1e-6))
    assert (made_of["each"], made_of["shots"], made_of["arrows"]) == (3, 6, ("needle",))


def test_arrows_of_other_masses_are_no_one_projectile_until_one_is_picked(book: Storage) -> None:
    shooting = Shooting(book)
    speeds, through = [44.0, 47.0, 48.0, 47.5, 49.0, 51.0], [0, 0, 0, 1, 1, 1]
    shooting.loose("needle", [0.0801 * v * v / 2 for v in speeds], through, tag="N1")
    shooting.loose("needle", [0.060 * v * v / 2 for v in speeds], through, tag="N2", mass_kg=0.060)
    assert only(asked(book)).limit[0][1].parts["why"] == because("more_than_one_projectile", projectiles=("arrow N1", "arrow N2"))
    picked = only(asked(book, arrow=shooting.arrows["N2"].arrow)).limit[0][1]
    assert said(picked).startswith("47.8\N{NO-BREAK SPACE}m/s, which is 68.4\N{NO-BREAK SPACE}J")


def test_arrows_within_two_percent_are_one_projectile(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", [0.0801 * v * v / 2 for v in (44.0, 48.0, 49.0)], [0, 0, 1], tag="N1")
    shooting.loose("needle", [0.0815 * v * v / 2 for v in (47.0, 47.5, 51.0)], [0, 1, 1], tag="N2", mass_kg=0.0815)
    assert dict(only(asked(book)).limit)["Made of"].parts["arrows"] == ("N1", "N2")


def test_a_spread_that_is_narrower_refuses_the_same_shots(book: Storage) -> None:
    speeds, through = [44.0, 47.0, 48.0, 47.5, 49.0, 51.0], [0, 0, 0, 1, 1, 1]
    Shooting(book).loose("needle", [0.0801 * v * v / 2 for v in speeds], through)
    apart = "they lie 7\N{NO-BREAK SPACE}m/s apart, 5\N{NO-BREAK SPACE}m/s at most"
    assert apart in said(only(asked(book, few_spread="5 m/s")).limit[0][1])


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
