"""The guide to another bow worked again: each of its figures follows from the functions, and it leaves none out."""

from __future__ import annotations

import math

from proofyard.pages.home.guide import read_page
from proofyard.physics.another_bow import AnotherBow, OwnBow, speed_by_draw_m_s, speed_of_another_bow
from proofyard.physics.bow import grains_per_pound
from proofyard.physics.energy import kinetic_energy_j
from proofyard.physics.flight import DEFAULT_DRAG, drag_per_m
from proofyard.physics.uncertainty_budget import Budget, ShotInputs, UncertaintySource, uncertainty_budget
from proofyard.physics.virtual_mass import ArrowSpeed
from proofyard.quantities import to_si
from proofyard.settings import data_folder
from proofyard.statistics.fifty_percent_point import Curve, curve_band, fit_curve
from proofyard.statistics.repeated_readings import coverage_factor
from proofyard.statistics.share_at_energy import ShareAtEnergy, share_at_energy, share_by_order

PAGE = data_folder("static") / "guide" / "another-bow.md"
TEXT = PAGE.read_text(encoding="utf-8")
WEIGHT, STRONGER, STROKE = to_si(100, "lbf"), to_si(160, "lbf"), 0.600
SHOT, ASKED_KG = ArrowSpeed(0.0600, 52.0), 0.080
ENERGIES, THROUGH = [100 * 1.2**step for step in (-2, -2, -1, -1, 0, 0, 1, 1, 2, 2)], [0] * 5 + [1] * 5


def tables() -> list[list[tuple[str, ...]]]:
    return [[tuple(row) for row in block.rows] for block in read_page(PAGE).blocks if block.sort == "table"]


def found() -> AnotherBow:
    answer = speed_of_another_bow([OwnBow("A", WEIGHT, STROKE, (SHOT,))], STRONGER, stroke_m=STROKE, arrow_kg=ASKED_KG)
    assert isinstance(answer, AnotherBow)
    return answer


def flight() -> Budget:
    speed = found().speed
    assert speed.standard_uncertainty is not None and speed.dof is not None
    inputs = ShotInputs(ASKED_KG, speed.value, 28.0, DEFAULT_DRAG.coefficient, 0.0125, 1.19)
    sources = [
        UncertaintySource("speed", "predicted", speed.standard_uncertainty, "combination", dof=speed.dof),
        UncertaintySource("drag_coefficient", "default", DEFAULT_DRAG.standard_uncertainty, "combination"),
    ]
    return uncertainty_budget(inputs, sources)


def reach() -> float:
    budget = flight()
    return coverage_factor(budget.dof) * budget.standard_uncertainty / budget.value


def curve() -> Curve:
    made = fit_curve(ENERGIES, THROUGH)
    assert isinstance(made, Curve)
    return made


def test_the_bow_that_was_shot_follows() -> None:
    energy = kinetic_energy_j(SHOT.mass_kg, SHOT.speed_m_s)
    assert f"or {WEIGHT:.1f} N" in TEXT and f"or {energy:.2f} J" in TEXT and f"160 lb is {STRONGER:.1f} N" in TEXT
    assert f"or {energy / 0.6:.1f} J, in motion" in TEXT and f"is {energy / 0.6 / WEIGHT / STROKE:.4f}: the quality" in TEXT


def test_each_speed_between_the_limits_follows() -> None:
    for percent, virtual, quality, no_heavier, in_proportion in tables()[0][1:]:
        k = SHOT.mass_kg * (100 / float(percent) - 1)
        q = (SHOT.mass_kg + k) * SHOT.speed_m_s**2 / 2 / WEIGHT / STROKE
        assert (virtual, quality) == (f"{1000 * k:.1f}", f"{q:.4f}")
        for printed, power in ((no_heavier, 0), (in_proportion, 1)):
            heavier = k * (STRONGER / WEIGHT) ** power
            speed = speed_by_draw_m_s(STRONGER, STROKE, quality=q, arrow_kg=ASKED_KG, virtual_kg=heavier)
            assert printed == f"{speed:.2f}"


def test_the_speed_and_what_lies_outside_follow() -> None:
    one = found()
    assert [row[1] for row in tables()[1][1:]] == [
        *(f"{end:.1f} m/s" for end in (one.speed.value, one.low_m_s, one.high_m_s)),
        f"{kinetic_energy_j(ASKED_KG, one.speed.value):.1f} J",
    ]
    assert one.beyond == ("weight", "arrow")
    asked, shot = grains_per_pound(ASKED_KG, STRONGER), grains_per_pound(SHOT.mass_kg, WEIGHT)
    assert f"{asked:.1f} grains per pound where {shot:.1f} was shot" in TEXT


def test_the_flight_follows() -> None:
    k = drag_per_m(DEFAULT_DRAG.coefficient, 0.0125, mass_kg=ASKED_KG, air_density_kg_m3=1.19)
    assert f"= {k:.6f} of its speed" in TEXT and f"or {math.exp(-2 * k * 28):.4f}." in TEXT
    budget = flight()
    low, high = budget.value * math.exp(-reach()), budget.value * math.exp(reach())
    of_speed, of_drag = (line.contribution for line in budget.lines)
    assert [row[1] for row in tables()[2][1:]] == [
        *(f"{one:.1f} J" for one in (budget.value, of_speed, of_drag)),
        *(f"{end:.0f} J" for end in (low, high)),
    ]
    assert f"to {budget.standard_uncertainty:.1f} J" in TEXT and f"exp({coverage_factor(budget.dof):.3f} times" in TEXT


def test_the_share_follows() -> None:
    energy = flight().value
    low, high = energy * math.exp(-reach()), energy * math.exp(reach())
    band = curve_band(curve(), [energy, low, high])
    whole = share_at_energy(curve(), energy, low_j=low, high_j=high)
    assert [row[1] for row in tables()[3][1:]] == [
        f"{100 * band.chances[0]:.0f} %",
        f"{100 * band.lows[0]:.0f} to {100 * band.highs[0]:.1f} %",
        f"{100 * band.chances[1]:.0f} %",
        f"{100 * band.chances[2]:.0f} %",
        f"{100 * whole.low:.0f} to {100 * whole.high:.2f} %",
    ]
    assert ", ".join(f"{one:.3g}" for one in sorted(set(ENERGIES))[:3]) in TEXT
    bound = share_by_order([60.0] * 4, [1] * 4, low_j=70.0, high_j=80.0)
    assert isinstance(bound, ShareAtEnergy) and f"at least {100 * bound.low:.0f} % do" in TEXT


def test_no_figure_of_a_table_is_left_unchecked() -> None:
    assert [len(table) for table in tables()] == [4, 5, 6, 6], "a new row needs a test of its own"
