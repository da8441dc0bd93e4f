"""The blow of static/guide/blow-behind.md, worked again: through the book with the page's own readings, and by hand; every figure of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from server.findings.blow.cautions import CAUTIONS
from server.findings.blow.criterion import CriterionFound
from server.findings.blow.page import read_blow
from server.findings.blow.shared import SharedBlow
from server.pages.guide import read_page
from server.physics.backing_drop import drop_energy_j
from server.physics.panel_blow import blow_between, mass_at_spot_kg, stuck_blow
from server.physics.trauma import blunt_criterion, body_wall_m
from server.storage import Storage
from tests import kit_for_tests as kit

AsPrinted = Callable[[float, str], None]
PAGE = read_page(Path(__file__).resolve().parents[2] / "static" / "guide" / "blow-behind.md")
# Label -> the figure as the page prints it, its unit cut off.
PRINTED = {row[0]: row[1].split(" ")[0].replace("−", "-") for block in PAGE.blocks if block.sort == "table" for row in block.rows if len(row) == 2}
WORDS = " ".join("".join(words for words, _ in block.pieces) for block in PAGE.blocks)


@pytest.fixture
def worked(book: Storage) -> tuple[SharedBlow, CriterionFound, float, float]:
    """The page's readings, typed as a person would; the blow, the criterion, momentum and energy at the target."""
    yard = kit.yard(book)
    scale = kit.scale(book, accuracy="0.1 g", accuracy_means="limit", resolution="0.1 g")
    chrono = kit.chronograph(book, accuracy_ratio="0.5 %", accuracy_means="limit", resolution="0.1 m/s")
    arrow = kit.arrow(book, "5", masses=(), diameter="9.5 mm")
    for _ in range(3):
        kit.mass_reading(book, arrow.build, "70.0 g", instrument=scale)
    panel = kit.panel(book, "P3", width="360 mm", height="420 mm", mass="2.05 kg")
    stand = kit.stand(book, "Frame", hung_mass="1.20 kg")
    setup = kit.setup(book, yard.session, panel.build, stand_id=stand, chronograph=chrono, chronograph_at="12 m", distance="12 m")
    shot = kit.shot(book, yard, walk_id=kit.walk(book, setup), arrow_build=arrow.build)
    kit.shot_speed(book, shot, "52.0 m/s")
    kit.reading(book, shot, outcome_low="3", outcome_high="3", x="90 mm", y="70 mm", arrow_did="stood_armour", back_face="9 mm")
    found = read_blow(book, {"shot": [shot], "width": ["60 mm"], "body_mass": ["75 kg"]}, reader="metric")
    row = found.rows[0]
    assert isinstance(row.shared, SharedBlow) and isinstance(row.criterion, CriterionFound) and row.impact.at_target is not None
    return row.shared, row.criterion, row.impact.at_target.momentum_kg_m_s.value, row.impact.at_target.energy_j.value


def test_what_it_brought_is_what_the_page_says(worked: tuple[SharedBlow, CriterionFound, float, float], as_printed: AsPrinted) -> None:
    shared, _, momentum, energy = worked
    as_printed(momentum, PRINTED["Momentum that it brought"])
    as_printed(energy, PRINTED["Energy that it brought"])
    assert pytest.approx(momentum) == 0.070 * 52.0 and pytest.approx(energy) == 0.070 * 52.0**2 / 2
    as_printed((shared.momentum_u or 0) * momentum, PRINTED["Standard uncertainty of the momentum"])


def test_masses_speeds_and_energies_are_those_of_the_page(worked: tuple[SharedBlow, CriterionFound, float, float], as_printed: AsPrinted) -> None:
    shared = worked[0]
    assert shared.ending == "stood" and not shared.open_above
    as_printed(shared.least_kg, PRINTED["Mass set against the blow at that spot"])
    as_printed(shared.most_kg, PRINTED["Panel and what hangs with it"])
    as_printed(shared.range.speed_m_s[1], PRINTED["Speed afterwards, the panel alone"])
    as_printed(shared.range.speed_m_s[0], PRINTED["Speed afterwards, all of it"])
    low, high = shared.energy_j
    as_printed(high.value, PRINTED["Energy that went on, the panel alone"])
    as_printed(low.value, PRINTED["Energy that went on, all of it"])
    as_printed(high.standard_uncertainty or 0, PRINTED["Standard uncertainty of the greater"])
    as_printed(low.standard_uncertainty or 0, PRINTED["Standard uncertainty of the lesser"])


def test_the_same_by_hand(as_printed: AsPrinted) -> None:
    at_spot = 2.05 / (1 + 12 * (90 / 360) ** 2 + 12 * (70 / 420) ** 2)
    assert at_spot == pytest.approx(mass_at_spot_kg(2.05, x_m=0.09, y_m=0.07, width_m=0.36, height_m=0.42))
    as_printed(at_spot, PRINTED["Mass set against the blow at that spot"])
    as_printed(3.64**2 / (2 * (0.070 + at_spot)), PRINTED["Energy that went on, the panel alone"])
    as_printed(stuck_blow(0.070, 52.0, panel_kg=3.25).energy_j, PRINTED["Energy that went on, all of it"])
    as_printed(94.64 - 3.64**2 / (2 * (0.070 + at_spot)), PRINTED["Spent on dent, heat and shaft, at least"])
    as_printed(blow_between(0.070, 52.0, panel_kg=(at_spot, 3.25), ending="bounced").energy_j[1], PRINTED["The most, if it had bounced back and lost nothing"])


def test_the_criterion_is_that_of_the_page(worked: tuple[SharedBlow, CriterionFound, float, float], as_printed: AsPrinted) -> None:
    found = worked[1]
    assert found.low is not None and found.high is not None and len(found.outside) == 4
    as_printed(100 * found.wall_m, PRINTED["Wall of the chest, T"])
    as_printed(found.low, PRINTED["Blunt criterion, the least"])
    as_printed(found.high, PRINTED["Blunt criterion, the most"])
    u = float(PRINTED["Standard uncertainty of the greater"])
    by_hand = math.log((float(PRINTED["Energy that went on, the panel alone"]) + u) / (75 ** (1 / 3) * 0.711 * 75 ** (1 / 3) * 6))
    as_printed(by_hand, PRINTED["Blunt criterion, the most"])
    as_printed(blunt_criterion(94.64, 75.0, wall_m=body_wall_m(75.0, "man"), diameter_m=0.06), PRINTED["The same of the whole arrow’s energy, which no wearer’s side got"])


def test_the_drop_and_the_cautions_are_those_of_the_program(as_printed: AsPrinted) -> None:
    as_printed(drop_energy_j(1.04, 2.0), PRINTED["Energy of the ball"])
    for words in CAUTIONS:
        assert words in WORDS
