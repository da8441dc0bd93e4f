"""The worked example of static/guide/blunt.md, worked again: through the book with the page's own readings, and by hand; every figure of
it."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from proofyard.answers.blunt.criterion import CriterionFound
from proofyard.answers.blunt.page import read_blunt
from proofyard.answers.blunt.shared import SharedImpact
from proofyard.pages.home.guide import read_page
from proofyard.physics.backing_drop import drop_energy_j
from proofyard.physics.panel_impact import impact_between, mass_at_spot_kg, stuck_impact
from proofyard.physics.trauma import blunt_criterion, body_wall_m
from proofyard.storage import Storage
from proofyard.wording.blunt_cautions import CAUTIONS

from tests import kit_for_tests as kit

AsPrinted = Callable[[float, str], None]
PAGE = read_page(Path(__file__).resolve().parents[2] / "static" / "guide" / "blunt.md")
# Label -> the figure as the page prints it, its unit cut off.
PRINTED = {
    row[0]: row[1].split(" ")[0].replace("−", "-") for block in PAGE.blocks if block.sort == "table" for row in block.rows if len(row) == 2
}
WORDS = " ".join("".join(words for words, _ in block.pieces) for block in PAGE.blocks)


@pytest.fixture
def shot_of_page(book: Storage) -> tuple[Storage, str]:
    """The page's readings, typed as a person would."""
    yard = kit.yard(book)
    scale = kit.scale(book, accuracy="0.1 g", accuracy_means="limit", resolution="0.1 g")
    chrono = kit.chronograph(book, accuracy_ratio="0.5 %", accuracy_means="limit", resolution="0.1 m/s")
    arrow = kit.arrow(book, "5", masses=(), diameter="9.5 mm")
    for _ in range(3):
        kit.mass_reading(book, arrow.build, "70.0 g", instrument=scale)
    panel = kit.panel(book, "P3", width="360 mm", height="420 mm", mass="2.05 kg")
    stand = kit.stand(book, "Frame", hung_mass="1.20 kg")
    setup = kit.setup(book, yard.session, panel.build, stand_id=stand, chronograph=chrono, chronograph_at="12 m", distance="12 m")
    shot = kit.shot(book, yard, shooting_end_id=kit.shooting_end(book, setup), arrow_build=arrow.build)
    kit.shot_speed(book, shot, "52.0 m/s")
    kit.reading(book, shot, outcome_low="3", outcome_high="3", x="90 mm", y="70 mm", arrow_did="stuck_armour", back_face="9 mm")
    return book, shot


@pytest.fixture
def worked(shot_of_page: tuple[Storage, str]) -> tuple[SharedImpact, CriterionFound, float, float]:
    """The impact, the criterion, momentum and energy at the target."""
    book, shot = shot_of_page
    found = read_blunt(book, {"shot": [shot], "width": ["60 mm"], "body_mass": ["75 kg"]}, reader="metric")
    row = found.rows[0]
    assert isinstance(row.shared, SharedImpact) and isinstance(row.criterion, CriterionFound) and row.impact.at_target is not None
    return row.shared, row.criterion, row.impact.at_target.momentum_kg_m_s.value, row.impact.at_target.energy_j.value


def test_what_it_brought_is_what_the_page_says(worked: tuple[SharedImpact, CriterionFound, float, float], as_printed: AsPrinted) -> None:
    shared, _, momentum, energy = worked
    as_printed(momentum, PRINTED["Momentum of the arrow"])
    as_printed(energy, PRINTED["Energy of the arrow"])
    assert pytest.approx(momentum) == 0.070 * 52.0 and pytest.approx(energy) == 0.070 * 52.0**2 / 2
    as_printed((shared.momentum_u or 0) * momentum, PRINTED["Standard uncertainty of the momentum"])


def test_masses_speeds_and_energies_are_those_of_the_page(
    worked: tuple[SharedImpact, CriterionFound, float, float], as_printed: AsPrinted
) -> None:
    shared = worked[0]
    assert shared.ending == "stood" and not shared.open_above
    as_printed(shared.least_kg, PRINTED["Mass that resists at that spot"])
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
    as_printed(at_spot, PRINTED["Mass that resists at that spot"])
    as_printed(3.64**2 / (2 * (0.070 + at_spot)), PRINTED["Energy that went on, the panel alone"])
    as_printed(stuck_impact(0.070, 52.0, panel_kg=3.25).energy_j, PRINTED["Energy that went on, all of it"])
    as_printed(94.64 - 3.64**2 / (2 * (0.070 + at_spot)), PRINTED["Spent on dent, heat and shaft, at least"])
    as_printed(
        impact_between(0.070, 52.0, panel_kg=(at_spot, 3.25), ending="bounced").energy_j[1],
        PRINTED["The most, if it had bounced back and lost nothing"],
    )


def test_had_it_bounced_the_length_leaves_what_the_page_says(shot_of_page: tuple[Storage, str], as_printed: AsPrinted) -> None:
    book, shot = shot_of_page
    kit.put(book, "shot_reading", {"arrow_did": "bounced", "bounced": "1.1 m"}, record_id=shot, base_rev=1)
    wide, near = (read_blunt(book, {"shot": [shot], "height": [height]}, reader="metric").rows[0].told for height in ("", "1.2 m"))
    assert wide is not None and wide.bounce is not None and near is not None and near.bounce is not None
    as_printed(wide.bounce.fastest_m_s or 0, PRINTED["Speed at which it came back, at most"])
    as_printed(near.bounce.fastest_m_s or 0, PRINTED["The same from a spot 1.2 m high"])
    as_printed(wide.momentum_kg_m_s[1].value, PRINTED["Momentum of the panel, at most"])
    as_printed(wide.energy_j[1].value, PRINTED["Energy that went on, at most"])
    by_hand = 1.21 * math.sqrt(9.80665 / (2 * (0.5 - 1.21 * math.tan(math.radians(15)))))
    as_printed(by_hand, PRINTED["Speed at which it came back, at most"])
    as_printed(0.070 * (52 + by_hand), PRINTED["Momentum of the panel, at most"])
    as_printed(
        (0.070 * (52 + by_hand)) ** 2 / (2 * float(PRINTED["Mass that resists at that spot"])), PRINTED["Energy that went on, at most"]
    )


def test_the_criterion_is_that_of_the_page(worked: tuple[SharedImpact, CriterionFound, float, float], as_printed: AsPrinted) -> None:
    found = worked[1]
    assert found.low is not None and found.high is not None and len(found.outside) == 2
    as_printed(100 * found.wall_m, PRINTED["Wall of the chest, T"])
    as_printed(found.low, PRINTED["Blunt criterion, the least"])
    as_printed(found.high, PRINTED["Blunt criterion, the most"])
    u = float(PRINTED["Standard uncertainty of the greater"])
    by_hand = math.log((float(PRINTED["Energy that went on, the panel alone"]) + u) / (75 ** (1 / 3) * 0.711 * 75 ** (1 / 3) * 6))
    as_printed(by_hand, PRINTED["Blunt criterion, the most"])
    as_printed(
        blunt_criterion(94.64, 75.0, wall_m=body_wall_m(75.0, "man"), diameter_m=0.06),
        PRINTED["The same with the arrow’s whole energy, which never reached the wearer’s side"],
    )


def test_the_drop_and_the_cautions_are_those_of_the_program(as_printed: AsPrinted) -> None:
    as_printed(drop_energy_j(1.04, 2.0), PRINTED["Energy of the ball"])
    for words in CAUTIONS:
        assert words in WORDS
