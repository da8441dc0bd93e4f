"""What a shot had left at the target: the chain by hand, whose uncertainty is whose, what is taken and said, what can't be told."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from proofyard.physics.flight import DEFAULT_DRAG, drag_per_m
from proofyard.physics.uncertainty_budget import uncertainty_budget
from proofyard.quantities.reason import CantTell, because
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.shots.at_target import HUMIDITY, PRESSURE, TEMPERATURE, Air, air_of, help_most
from proofyard.shots.impact import Impact, Impacts
from proofyard.shots.impact_steps import steps_of
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit

SHAFT = {"diameter": "9.5 mm"}
DAY = {"temperature": "12 °C", "pressure": "1002 hPa", "humidity": "70 %"}


def impacts_of(book: Storage) -> tuple[dict[str, ShotFact], dict[str, Impact]]:
    with book.read() as session:
        facts = {fact.shot_id: fact for fact in shot_facts(session)}
        impacts = Impacts.load(session)
        return facts, {key: impacts.of_shot(fact) for key, fact in facts.items()}


def range_of(
    book: Storage, *, distance: str = "20 m", weather: dict[str, str] | None = None, shaft: dict[str, str] | None = None
) -> tuple[kit.Yard, kit.Arrow, str]:
    """A yard with a sure scale and a sure chronograph at 2 m, an arrow of 60.0 g, a set-up at a distance."""
    yard = kit.yard(book)
    chrono = kit.instrument(book, sort="chronograph", accuracy="0.275 m/s", accuracy_means="standard")
    scale = kit.instrument(book, sort="scale", accuracy="0.06 g", accuracy_means="standard")
    arrow = kit.arrow(book, masses=(), **(SHAFT if shaft is None else shaft))
    kit.mass_reading(book, arrow.build, "60.0 g", instrument=scale)
    rev = kit.row(book, "setup", yard.setup).rev
    body = {"chronograph": chrono, "chronograph_at": "2 m", **({"distance": distance} if distance else {})}
    kit.put(book, "setup", body, record_id=yard.setup, base_rev=rev)
    rev = kit.row(book, "session", yard.session).rev
    kit.put(book, "session", DAY if weather is None else weather, record_id=yard.session, base_rev=rev)
    return yard, arrow, chrono


def test_the_chain_to_the_target_is_that_of_the_formulas(book: Storage) -> None:
    """Each step again, from the definitions and not from our functions: k = rho Cd pi d^2 / (8 m), E = E0 exp(-2 k x)."""
    yard, arrow, _ = range_of(book)
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    kit.shot_speed(book, shot, "55.0")
    there = impacts_of(book)[1][shot].at_target
    assert there is not None
    rho = there.air.density.value
    # By hand as a gas: (100200 - 0.378 * 0.7 * 1403) Pa / (287.05 J/(kg K) * 285.15 K), 1403 Pa what water gives at 12 degrees.
    assert rho == pytest.approx(1.2196, abs=0.001)
    k = rho * DEFAULT_DRAG.coefficient * math.pi * 0.0095**2 / (8 * 0.060)
    assert there.drag_per_m == pytest.approx(k)
    assert there.flown_m == pytest.approx(18.0)
    assert there.speed.value == pytest.approx(55.0 * math.exp(-18 * k))
    assert there.energy_j.value == pytest.approx(0.5 * 0.060 * 55.0**2 * math.exp(-36 * k))
    assert there.momentum_kg_m_s.value == pytest.approx(0.060 * 55.0 * math.exp(-18 * k))
    assert there.speed_lost.value == pytest.approx(55.0 - there.speed.value)
    # Causes add as squares: read one by one, the chronograph's share is that of the loss itself.
    parts = [
        one.contribution * (there.speed_lost.value / there.speed.value if one.uncertainty.quantity == "speed" else 1.0)
        for one in uncertainty_budget(there.inputs, there.uncertainties, step="speed_at_target_m_s").lines
    ]
    assert len([one for one in parts if one]) > 1
    assert there.speed_lost.standard_uncertainty == pytest.approx(math.sqrt(math.fsum(one * one for one in parts)))
    assert there.time_s == pytest.approx((math.exp(18 * k) - 1) / (k * 55.0))
    assert not isinstance(there.fall, CantTell) and there.fall.drop_m == pytest.approx(
        9.80665 * 20**2 / (2 * 55**2), rel=0.03
    )  # from the bow, not from the chronograph


def test_the_budget_is_that_of_the_worked_shot(book: Storage) -> None:
    """Contributions by the derivatives in closed form, each cause with its own u."""
    yard, arrow, _ = range_of(book)
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    kit.shot_speed(book, shot, "55.0")
    there = impacts_of(book)[1][shot].at_target
    assert there is not None
    energy, k, x = there.energy_j.value, there.drag_per_m, 18.0
    kx = k * x
    wanted = {
        "mass": energy * (1 + 2 * kx) / 0.060 * 0.00006,
        "speed": 2 * energy / 55.0 * 0.275,
        "drag_coefficient": 2 * kx * energy / 1.95 * 1.3 / 2 / math.sqrt(3),
        "shaft_diameter": 4 * kx * energy / 0.0095 * 0.0002 / math.sqrt(3),
        "air_density": 2 * kx * energy / there.air.density.value * (there.air.density.standard_uncertainty or 0),
    }
    found = {line.uncertainty.quantity: line.contribution for line in there.budget.lines if line.uncertainty.quantity != "distance"}
    assert found == pytest.approx(wanted)
    tape = 2 * k * energy * 0.25 / math.sqrt(3)
    assert [line.contribution for line in there.budget.lines if line.uncertainty.quantity == "distance"] == pytest.approx([tape, tape])
    total = math.sqrt(sum(u * u for u in wanted.values()) + 2 * tape * tape)
    assert there.energy_j.standard_uncertainty == pytest.approx(total)


def test_a_mean_stands_in_with_scatter_that_is_each_shots_own(book: Storage) -> None:
    yard, arrow, chrono = range_of(book)
    kit.speeds(book, kit.Combination(yard.bow.build, arrow.build, yard.archer), "54.5", "55.0", "55.5", instrument_id=chrono)
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    there = impacts_of(book)[1][shot].at_target
    assert there is not None
    of_speed = {
        (line.uncertainty.scope, line.uncertainty.kind): line.uncertainty.standard_uncertainty
        for line in there.budget.lines
        if line.uncertainty.quantity == "speed"
    }
    assert of_speed == pytest.approx({("combination", "A"): 0.5 / math.sqrt(3), ("shot", "A"): 0.5, ("instrument", "B"): 0.275})
    assert math.hypot(*(there.share_of(scope) or 0 for scope in ("instrument", "combination", "shot"))) == pytest.approx(
        there.energy_j.standard_uncertainty
    )
    assert help_most(there.budget, own_speed=False) == because("help_speed_of_the_shot")


def test_where_the_budget_ends_at_the_chronograph_it_is_the_energys_own_uncertainty(book: Storage) -> None:
    yard, arrow, _ = range_of(book, distance="2 m")
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    kit.shot_speed(book, shot, "55.0")
    found = impacts_of(book)[1][shot]
    near, there = found.energy_at_chronograph_j, found.at_target
    assert near is not None and there is not None and there.flown_m == 0
    assert there.energy_j.value == pytest.approx(near.value)
    # The places of chronograph and target are unsure, so a little air may lie between.
    assert there.energy_j.standard_uncertainty == pytest.approx(near.standard_uncertainty, rel=0.01)
    # It falls on its way from the bow, though the air between chronograph and panel takes nothing.
    assert not isinstance(there.fall, CantTell) and there.fall.drop_m == pytest.approx(9.80665 * 2**2 / (2 * 55**2), rel=0.01)


@pytest.mark.parametrize(
    ("distance", "shaft", "code"),
    [("20 m", {}, "way_not_written_down"), ("1 m", None, "speed_read_beyond_the_panel"), ("250 m", None, None)],
)
def test_what_stands_in_the_way_is_told(book: Storage, distance: str, shaft: dict[str, str] | None, code: str | None) -> None:
    yard, arrow, _ = range_of(book, distance=distance, shaft=shaft)
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    kit.shot_speed(book, shot, "55.0")
    found = impacts_of(book)[1][shot]
    assert found.measured
    if code is None:
        assert found.at_target is not None and isinstance(found.at_target.fall, CantTell)
        return
    assert found.at_target is None and found.no_target is not None and found.no_target.code == code
    assert found.energy_at("target") is None and not found.has_energy_at("target") and found.has_energy_at("chronograph")
    assert steps_of(*_of(book, shot))[-1].what == because("step_energy", place="chronograph")


def _of(book: Storage, shot: str) -> tuple[ShotFact, Impact]:
    facts, impacts = impacts_of(book)
    return facts[shot], impacts[shot]


def test_without_a_distance_there_is_no_target(book: Storage) -> None:
    yard, arrow, _ = range_of(book)
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    kit.shot_speed(book, shot, "55.0")
    facts, _ = impacts_of(book)
    with book.read() as session:
        found = Impacts.load(session).of_shot(replace(facts[shot], distance_m=None))
    assert found.no_target == because("way_not_written_down", distance=True, shaft_of=None)


def test_a_speed_whose_place_nobody_wrote_down_is_taken_near_the_bow_and_says_so(book: Storage) -> None:
    yard, arrow, chrono = range_of(book)
    kit.speeds(book, kit.Combination(yard.bow.build, arrow.build, yard.archer), "55", "55.1", instrument_id=chrono, stood_at="")
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    fact, found = _of(book, shot)
    assert found.at_target is not None and found.from_m is None
    assert found.at_target.from_m.value == 2.0 and found.at_target.from_m.standard_uncertainty == pytest.approx(2 / math.sqrt(3))
    assert any("nobody wrote it down" in said(step.note) for step in steps_of(fact, found))


def test_an_instrument_that_says_nothing_of_itself_leaves_all_without_an_uncertainty(book: Storage) -> None:
    yard, arrow, _ = range_of(book)
    plain = kit.arrow(book, masses=("60.0 g",), **SHAFT)
    shot = kit.shot(book, yard, arrow_build=plain.build)
    kit.shot_speed(book, shot, "55.0")
    there = impacts_of(book)[1][shot].at_target
    assert there is not None and there.missing
    for figure in (there.energy_j, there.speed, there.momentum_kg_m_s, there.speed_lost):
        assert figure.standard_uncertainty is None and figure.value > 0


def test_a_speed_by_frames_is_misjudged_on_this_shot_alone_and_stands_at_half_the_way(book: Storage) -> None:
    yard, arrow, _ = range_of(book)
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    kit.shot_speed(book, shot, "55 m/s", method="frames", uncertainty="1.5 m/s", inputs='{"typed": {}, "si": {"distance_m": 20.0}}')
    there = impacts_of(book)[1][shot].at_target
    assert there is not None and there.from_m.value == 10.0 and there.flown_m == 10.0
    assert {line.uncertainty.scope for line in there.budget.lines if line.uncertainty.quantity == "speed"} == {"shot"}
    assert help_most(there.budget, own_speed=True) == because("help_chronograph_for_count")


def test_every_cause_that_can_weigh_most_has_its_advice(book: Storage) -> None:
    """Whatever budget the findings can make, the sentence that says what would help has an end."""
    yard, arrow, chrono = range_of(book)
    kit.speeds(book, kit.Combination(yard.bow.build, arrow.build, yard.archer), "54.5", "55.0", "55.5", instrument_id=chrono)
    own, mean = kit.shot(book, yard, arrow_build=arrow.build), kit.shot(book, yard, arrow_build=arrow.build)
    for value in ("54", "56"):
        kit.shot_speed(book, own, value)
    found = impacts_of(book)[1]
    for shot in (own, mean):
        there = found[shot].at_target
        assert there is not None
        for line in there.budget.lines:
            assert help_most(replace(there.budget, most=line), own_speed=shot == own)
    assert help_most(replace(there.budget, most=None), own_speed=False) is None


# --- the arrow's own drag -------------------------------------------------------------------------------------------


def two_distances(
    book: Storage, three: kit.Combination, chrono: str, *, far: tuple[str, ...] = ("52.9", "53.0", "53.1"), at: str = "22 m"
) -> None:
    kit.speeds(book, three, "54.9", "55.0", "55.1", instrument_id=chrono, stood_at="2 m", air_temperature="12 °C")
    kit.speeds(book, three, *far, instrument_id=chrono, stood_at=at, air_temperature="12 °C")


def test_speeds_at_two_distances_give_the_arrows_own_drag(book: Storage) -> None:
    """k = ln(55/53)/20 = 1.85206e-3 1/m by hand; in the same air the coefficient gives it back."""
    yard, arrow, chrono = range_of(book, weather={"temperature": "12 °C"})
    two_distances(book, kit.Combination(yard.bow.build, arrow.build, yard.archer), chrono)
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    there = impacts_of(book)[1][shot].at_target
    assert there is not None and there.drag.fitted
    assert there.drag_per_m == pytest.approx(math.log(55 / 53) / 20, rel=1e-9)
    # Means u = 0.1/sqrt(3) at both ends, 20 m known to 0.25 sqrt(2/3) m, and the air to its own share.
    air = air_of(285.15, None, humidity_ratio=None)
    assert isinstance(air, Air) and air.density.standard_uncertainty is not None
    u_k = math.hypot(0.1 / math.sqrt(3) / 55 / 20, 0.1 / math.sqrt(3) / 53 / 20, math.log(55 / 53) / 20 * 0.25 * math.sqrt(2 / 3) / 20)
    relative = math.hypot(u_k / (math.log(55 / 53) / 20), air.density.standard_uncertainty / air.density.value)
    assert there.drag.coefficient.standard_uncertainty == pytest.approx(there.drag.coefficient.value * relative)
    assert "shaft_diameter" not in {line.uncertainty.quantity for line in there.budget.lines}


def test_speeds_from_down_range_are_in_no_mean_of_those_near_the_bow(book: Storage) -> None:
    yard, arrow, chrono = range_of(book)
    three = kit.Combination(yard.bow.build, arrow.build, yard.archer)
    two_distances(book, three, chrono)
    with book.read() as session:
        found = Impacts.load(session).of_combination(kit.combination(book, three))
    assert found.speed is not None and found.speed.value == pytest.approx(55.0) and found.speed.n == 3
    assert len(found.further) == 3 and found.left_out == ()


def test_drag_goes_with_the_arrow_whoever_shoots_it(book: Storage) -> None:
    yard, arrow, chrono = range_of(book)
    two_distances(book, kit.Combination(yard.bow.build, arrow.build, yard.archer), chrono)
    other = kit.archer(book)
    shot = kit.shot(book, yard, arrow_build=arrow.build, archer_id=other)
    kit.shot_speed(book, shot, "50.0")
    there = impacts_of(book)[1][shot].at_target
    assert there is not None and there.drag.fitted


@pytest.mark.parametrize(
    ("far", "at"),
    [(("54.9", "55.0", "55.1"), "22 m"), (("52.9",), "22 m"), (("54.0", "54.1"), "6 m")],
    ids=["no loss that chance can't make", "one reading", "too near each other"],
)
def test_what_doesnt_tell_a_drag_leaves_the_default(book: Storage, far: tuple[str, ...], at: str) -> None:
    yard, arrow, chrono = range_of(book)
    two_distances(book, kit.Combination(yard.bow.build, arrow.build, yard.archer), chrono, far=far, at=at)
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    there = impacts_of(book)[1][shot].at_target
    assert there is not None and not there.drag.fitted
    assert there.drag.coefficient.value == DEFAULT_DRAG.coefficient and "1.3 to 2.6" in said(there.drag.source)


# --- air ------------------------------------------------------------------------------------------------------------


def test_weather_that_nobody_wrote_down_is_taken_with_a_wide_uncertainty_and_named() -> None:
    nothing, all_of_it = air_of(None, None, humidity_ratio=None), air_of(285.15, 100_200.0, humidity_ratio=0.7)
    assert isinstance(nothing, Air) and isinstance(all_of_it, Air)
    assert nothing.density.standard_uncertainty is not None and all_of_it.density.standard_uncertainty is not None
    assert nothing.density.standard_uncertainty > 4 * all_of_it.density.standard_uncertainty
    assert not nothing.all_written and all_of_it.all_written
    assert "nothing of the weather was written down" in said(nothing.source) and "990" in said(nothing.source)
    assert "assumed" not in said(all_of_it.source) and "12\N{NO-BREAK SPACE}°C" in said(all_of_it.source)
    half = air_of(285.15, None, humidity_ratio=None)
    assert isinstance(half, Air) and "12\N{NO-BREAK SPACE}°C as written; assumed, since not written: 990" in said(half.source)


def test_what_is_taken_holds_the_weather_that_people_shoot_in() -> None:
    for taken, ends in ((TEMPERATURE, (273.15, 303.15)), (PRESSURE, (95_500.0, 103_500.0)), (HUMIDITY, (0.2, 1.0))):
        assert taken.value - taken.either_way <= ends[0] + 1e-9 and taken.value + taken.either_way >= ends[1] - 1e-9
        assert taken.written_either_way < taken.either_way


def test_weather_beyond_the_formula_cant_be_told() -> None:
    found = air_of(220.0, None, humidity_ratio=None)
    assert found == CantTell(because("weather_outside_the_formula", of="temperature_k"))
    assert isinstance(air_of(None, 31_000.0, humidity_ratio=None), CantTell)


def test_the_air_of_the_drag_and_of_the_shot_are_those_of_their_own_days(book: Storage) -> None:
    """Fitted on a cold day, shot on a warm one: thinner air takes less."""
    yard, arrow, chrono = range_of(book, weather={"temperature": "30 °C"})
    two_distances(book, kit.Combination(yard.bow.build, arrow.build, yard.archer), chrono)
    shot = kit.shot(book, yard, arrow_build=arrow.build)
    there = impacts_of(book)[1][shot].at_target
    assert there is not None
    cold = air_of(285.15, None, humidity_ratio=None)
    assert isinstance(cold, Air)
    k_cold = drag_per_m(there.drag.coefficient.value, 0.0095, mass_kg=0.060, air_density_kg_m3=cold.density.value)
    assert k_cold == pytest.approx(math.log(55 / 53) / 20)
    assert there.drag_per_m < k_cold
