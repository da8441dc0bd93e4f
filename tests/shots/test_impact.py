"""What a shot was: its own reading wins, a mean stands in with wider uncertainty, and nothing is guessed."""

import math
from typing import Any

import pytest
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import because
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.impact import Impacts, energy_of, momentum_of
from proofyard.shots.impact_steps import steps_of
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit


def impact_of(book: Storage, shot: str, *, pool: bool = False) -> Any:
    with book.read() as session:
        facts = shot_facts(session, shot_id=shot)
        return Impacts.load(session, facts, pool=pool).of_shot(facts[0])


def steps_for(book: Storage, shot: str, *, pool: bool = False) -> Any:
    with book.read() as session:
        facts = shot_facts(session, shot_id=shot)
        return steps_of(facts[0], Impacts.load(session, facts, pool=pool).of_shot(facts[0]))


def sure_chronograph(book: Storage, yard: kit.Yard, **more: Any) -> str:
    chrono = kit.instrument(book, sort="chronograph", accuracy="0.35 m/s", accuracy_means="standard", **more)
    rev = kit.row(book, "setup", yard.setup).rev
    kit.put(book, "setup", {"chronograph": chrono, "chronograph_at": "2 m"}, record_id=yard.setup, base_rev=rev)
    return chrono


def weighed(book: Storage, mass: str) -> kit.Arrow:
    scale = kit.instrument(book, sort="scale", accuracy="0.1 g", accuracy_means="standard")
    arrow = kit.arrow(book, masses=())
    kit.mass_reading(book, arrow.build, mass, instrument=scale)
    return arrow


def test_energy_and_momentum_of_a_shot_agree_with_the_worked_case(book: Storage) -> None:
    # Worked from GUM 5.1.2, own arithmetic: m 60.2 ± 0.1 g, v 52.40 ± 0.35 m/s
    # -> E 82.647376 J, u 1.112571 J; p 3.154480 kg·m/s, u 0.0217118
    yard = kit.yard(book)
    sure_chronograph(book, yard)
    shot = kit.shot(book, yard, arrow_build=weighed(book, "60.2 g").build)
    kit.shot_speed(book, shot, "52,40")
    found = impact_of(book, shot)
    assert found.basis == "own" and found.why_not is None
    assert found.energy_at_chronograph_j.value == pytest.approx(82.647376, abs=5e-7)
    assert found.energy_at_chronograph_j.standard_uncertainty == pytest.approx(1.112571, abs=5e-7)
    assert found.momentum_kg_m_s.value == pytest.approx(3.154480, abs=5e-7)
    assert found.momentum_kg_m_s.standard_uncertainty == pytest.approx(0.0217118, abs=5e-8)
    assert [step.last for step in steps_for(book, shot)][-1] is True


def test_a_shots_own_reading_wins_over_its_combinations_mean(book: Storage) -> None:
    yard = kit.yard(book)
    chrono = sure_chronograph(book, yard)
    kit.speeds(book, yard.combination, "50", "51", "52", instrument_id=chrono)
    shot = kit.shot(book, yard)
    assert impact_of(book, shot).basis == "combination"
    kit.shot_speed(book, shot, "54")
    assert impact_of(book, shot).speed.value == pytest.approx(54)


def test_the_mean_that_stands_in_for_a_shot_carries_the_scatter_of_single_shots(book: Storage) -> None:
    yard = kit.yard(book)
    chrono = sure_chronograph(book, yard)
    kit.speeds(book, yard.combination, "50", "51", "52", instrument_id=chrono)
    speed = impact_of(book, kit.shot(book, yard)).speed
    # s = 1, n = 3, chronograph 0.35: sqrt(1/3 + 1 + 0.35^2)
    assert speed.standard_uncertainty == pytest.approx(math.sqrt(1 / 3 + 1 + 0.35**2))
    assert speed.n == 3


def test_a_combinations_mean_has_type_a_and_type_b(book: Storage) -> None:
    # JCGM 100:2008 4.2.3 and 5.1.2; speeds of the own worked row: 171 169 172 170 170 168 ft/s, mean 170, u 0.577350
    yard = kit.yard(book)
    chrono = sure_chronograph(book, yard)
    kit.speeds(book, yard.combination, *(f"{v} fps" for v in (171, 169, 172, 170, 170, 168)), instrument_id=chrono)
    with book.read() as session:
        found = Impacts.load(session).of_combination(kit.combination(book, yard.combination))
    assert found.readings.mean == pytest.approx(170 * 0.3048)
    assert found.readings.standard_uncertainty_type_a == pytest.approx(0.577350 * 0.3048, rel=1e-6)
    assert found.speed.standard_uncertainty == pytest.approx(math.hypot(0.577350 * 0.3048, 0.35), rel=1e-6)


def test_nothing_measured_is_not_measured_with_the_reason(book: Storage) -> None:
    yard = kit.yard(book)
    never = kit.arrow(book, masses=())
    shot = kit.shot(book, yard, arrow_build=never.build)
    found = impact_of(book, shot)
    assert found.basis == "not_measured" and not found.measured and found.why_not.code == "neither_weighed_nor_speed_read"
    kit.shot_speed(book, shot, "52")
    found = impact_of(book, shot)
    assert not found.measured and found.speed.value == pytest.approx(52) and found.why_not.code == "never_weighed"


def test_a_short_draw_does_not_take_the_combinations_mean_and_does_not_feed_it(book: Storage) -> None:
    yard = kit.yard(book)
    chrono = sure_chronograph(book, yard)
    kit.speeds(book, yard.combination, "50", "51", "52", instrument_id=chrono)
    short = kit.shot(book, yard, short_draw="yes")
    assert impact_of(book, short).why_not == because("short_draw_without_a_speed")
    kit.shot_speed(book, short, "44")
    assert impact_of(book, short).speed.value == pytest.approx(44)
    assert impact_of(book, kit.shot(book, yard)).speed.value == pytest.approx(51)


def test_a_reading_left_out_is_kept_but_not_used(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    kit.shot_speed(book, shot, "148", left_out_reason="misread")
    assert impact_of(book, shot).basis == "not_measured"
    with book.read() as session:
        combination = Impacts.load(session).of_combination(kit.combination(book, yard.combination))
    assert len(combination.left_out) == 1 and combination.used == ()


def test_a_chronograph_of_unknown_accuracy_gives_an_energy_without_an_uncertainty_and_says_so(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    kit.shot_speed(book, shot, "52")
    found = impact_of(book, shot)
    assert found.energy_at_chronograph_j is not None and found.energy_at_chronograph_j.standard_uncertainty is None
    assert any("can’t be told" in said(step.note) for step in steps_for(book, shot))


def test_pooling_takes_only_like_combinations_says_so_and_widens(book: Storage) -> None:
    yard = kit.yard(book)
    chrono = sure_chronograph(book, yard)
    same, heavy = weighed(book, "60.0 g"), weighed(book, "70.0 g")
    mine = weighed(book, "60.6 g")
    shot = kit.shot(book, yard, arrow_build=mine.build)
    for arrow, speeds in ((same, ("50", "51", "52")), (heavy, ("40", "41", "42"))):
        kit.speeds(book, kit.Combination(yard.bow.build, arrow.build, yard.archer), *speeds, instrument_id=chrono)
    kit.speeds(book, kit.Combination(yard.bow.build, mine.build, yard.archer), "53", "53.4", instrument_id=chrono)
    alone, pooled = impact_of(book, shot), impact_of(book, shot, pool=True)
    assert (alone.basis, pooled.basis) == ("combination", "pooled")
    assert pooled.speed.value == pytest.approx((50 + 51 + 52 + 53 + 53.4) / 5)
    assert pooled.speed.standard_uncertainty > alone.speed.standard_uncertainty
    assert any("pooled with 1 like combination" in said(step.note) for step in steps_for(book, shot, pool=True))


def test_energy_without_one_of_its_two_is_none() -> None:
    assert energy_of(None, Uncertain(50, 1)) is None and momentum_of(Uncertain(0.06, 0.001), None) is None


def test_loading_takes_the_same_statements_for_one_shot_and_for_many(book: Storage) -> None:
    from sqlalchemy import event

    yard = kit.yard(book)
    kit.shot(book, yard)

    def statements() -> int:
        seen = []
        with book.read() as session:
            event.listen(session.get_bind(), "before_cursor_execute", lambda *a: seen.append(a[2]))
            impacts = Impacts.load(session)
            for fact in shot_facts(session):
                impacts.of_shot(fact)
        return len(seen)

    first = statements()
    for _ in range(5):
        kit.shot(book, yard)
    assert statements() <= 2 * first <= 14  # the listener of the first count is still there, so each counts twice
