"""The shot of static/guide/worked-shot.md, worked again: through the book with the page's own readings, every figure of it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from proofyard.pages.home.guide import read_page
from proofyard.physics.bow import efficiency
from proofyard.physics.fall import LowFlight
from proofyard.records.bow import BowBuild, DrawPoint
from proofyard.records.listing import belonging, one
from proofyard.records.shot_facts import shot_facts
from proofyard.records.speed_facts import instruments
from proofyard.shots.bow_curve import Curve, curve_of, stored_to
from proofyard.shots.impact import Impact, Impacts
from proofyard.storage import Storage

from tests import kit_for_tests as kit

AsPrinted = Callable[[float, str], None]
PAGE = read_page(Path(__file__).resolve().parents[2] / "static" / "guide" / "worked-shot.md")
TABLES = {block.rows[0]: block.rows[1:] for block in PAGE.blocks if block.sort == "table"}
# Label -> the figure as the page prints it, its unit cut off.
PRINTED = {row[0]: row[1].split(" ")[0] for rows in TABLES.values() for row in rows if len(row) == 2}
DRAWS = next(rows for head, rows in TABLES.items() if head[0] == "From, m")


@pytest.fixture
def worked(book: Storage) -> tuple[Storage, kit.Bow, Impact]:
    """The page's readings, typed as a person would."""
    yard = kit.yard(book)
    rest = f"{float(DRAWS[0][0]) * 1000:.0f} mm"
    bow = kit.bow(book, "Bow 115", marked_weight="115 lbf")
    kit.put(book, "bow_build", {"brace_height": rest}, record_id=bow.build, base_rev=1)
    for draw, force in ((row[1], row[3]) for row in DRAWS):
        kit.put(book, "draw_point", {"bow_build": bow.build, "draw": f"{float(draw) * 1000:.0f} mm", "force": f"{force} N"})
    scale = kit.scale(book, accuracy="0.1 g", accuracy_means="limit", resolution="0.1 g")
    chrono = kit.chronograph(book, accuracy_ratio="0.5 %", accuracy_means="limit", resolution="0.1 m/s")
    arrow = kit.arrow(book, "5", masses=(), diameter="9.5 mm")
    for mass in ("72.4 g", "72.5 g", "72.4 g"):
        kit.mass_reading(book, arrow.build, mass, instrument=scale)
    rev = kit.row(book, "session", yard.session).rev
    kit.put(book, "session", {"temperature": "11 °C", "pressure": "1002 hPa", "humidity": "75 %"}, record_id=yard.session, base_rev=rev)
    setup = kit.setup(book, yard.session, yard.panel.build, chronograph=chrono, chronograph_at="2 m", distance="14 m")
    shot = kit.shot(book, yard, shooting_end_id=kit.shooting_end(book, setup), arrow_build=arrow.build, bow_build=bow.build)
    kit.shot_speed(book, shot, "52.6 m/s")
    with book.read() as session:
        fact = shot_facts(session, shot_id=shot)[0]
        return book, bow, Impacts.load(session).of_shot(fact)


def test_the_bow_stores_what_the_page_says(worked: tuple[Storage, kit.Bow, Impact], as_printed: AsPrinted) -> None:
    book, bow, found = worked
    with book.read() as session:
        points, build, tools = (
            belonging(session, DrawPoint, "bow_build_id", bow.build),
            one(session, BowBuild, bow.build),
            instruments(session),
        )
    assert build is not None
    curve = curve_of(points, build.brace_height_m)
    assert isinstance(curve, Curve) and curve.rest_from_brace
    stored = stored_to(curve, points, tools=tools)
    as_printed(stored.energy.value, PRINTED["Stored energy"])
    assert sum(float(row[4]) for row in DRAWS) == pytest.approx(float(PRINTED["Stored energy"]))
    for row in DRAWS:
        start, end, low, high, energy = map(float, row)
        as_printed((end - start) * (low + high) / 2, row[4])
        assert energy > 0
    assert found.energy_at_chronograph_j is not None
    share = efficiency(found.energy_at_chronograph_j.value, stored.energy.value)
    as_printed(share.value, PRINTED["Share of what the bow stored"])


def test_mass_speed_and_energy_are_those_of_the_page(worked: tuple[Storage, kit.Bow, Impact], as_printed: AsPrinted) -> None:
    found = worked[2]
    mass, speed, energy = found.mass, found.speed, found.energy_at_chronograph_j
    assert mass is not None and speed is not None and energy is not None
    as_printed(1000 * mass.value, PRINTED["Mean mass"])
    as_printed(1000 * (mass.standard_uncertainty or 0), PRINTED["Standard uncertainty of the mass"])
    by_kind = {
        uncertainty.kind: 1000 * uncertainty.standard_uncertainty for uncertainty in found.uncertainties if uncertainty.quantity == "mass"
    }
    as_printed(by_kind["A"], PRINTED["Scatter of that mean"])
    as_printed(by_kind["B"], PRINTED["The scale's limit and its step"])
    as_printed(speed.value, PRINTED["Speed at the chronograph"])
    as_printed(speed.standard_uncertainty or 0, PRINTED["Standard uncertainty of the speed"])
    as_printed(energy.value, PRINTED["Energy at the chronograph"])
    as_printed(energy.standard_uncertainty or 0, PRINTED["Standard uncertainty at the chronograph"])


def test_the_flight_is_that_of_the_page(worked: tuple[Storage, kit.Bow, Impact], as_printed: AsPrinted) -> None:
    there = worked[2].at_target
    assert there is not None and isinstance(there.fall, LowFlight)
    as_printed(there.air.density.value, PRINTED["Density of the air"])
    as_printed(there.air.density.standard_uncertainty or 0, PRINTED["Standard uncertainty of the density"])
    as_printed(there.drag_per_m, PRINTED["Loss a metre, k"])
    as_printed(there.speed.value, PRINTED["Speed at the target"])
    as_printed(there.energy_j.value, PRINTED["Energy at the target"])
    as_printed(there.time_s, PRINTED["Time from chronograph to panel"])
    as_printed(there.inputs.speed_m_s * math.exp(there.drag_per_m * there.from_m.value), PRINTED["Speed at the bow"])
    as_printed(there.fall.drop_m, PRINTED["Drop from bow to panel"])
    as_printed(math.degrees(there.fall.fall_angle_rad), PRINTED["Angle at which it came down"])


CAUSES = (
    ("Scatter of the weighings", "mass", "A"),
    ("Scale", "mass", "B"),
    ("Chronograph", "speed", "B"),
    ("Drag taken, not measured", "drag_coefficient", "B"),
    ("Calliper on the shaft", "shaft_diameter", "B"),
    ("Weather", "air_density", "B"),
    ("Distance of the panel", "distance", "B"),
    ("Place of the chronograph", "distance", "B"),
)


def test_each_cause_of_uncertainty_and_their_whole_are_those_of_the_page(
    worked: tuple[Storage, kit.Bow, Impact], as_printed: AsPrinted
) -> None:
    there = worked[2].at_target
    assert there is not None
    lines = [(line.uncertainty.quantity, line.uncertainty.kind, line.contribution) for line in there.budget.lines]
    for words, quantity, kind in CAUSES:
        mine = [u for what, how, u in lines if (what, how) == (quantity, kind)]
        for u in mine:
            as_printed(u, PRINTED[words])
        assert mine
    assert len(lines) == len(CAUSES) == sum(len(rows) for head, rows in TABLES.items() if head[0] == "Cause")
    as_printed(there.energy_j.standard_uncertainty or 0, PRINTED["Standard uncertainty at the target"])


def test_no_figure_of_a_table_is_left_unchecked() -> None:
    source = Path(__file__).read_text(encoding="utf-8")
    unchecked = [label for label in PRINTED if f'"{label}"' not in source]
    assert unchecked == []
    said = " ".join(words for block in PAGE.blocks for words, _ in block.pieces)
    assert re.search(r"arrived with 97\.4 J, standard uncertainty 0\.8 J", said)
    assert PRINTED["Energy at the target"] == "97.43" and round(float(PRINTED["Standard uncertainty at the target"]), 2) == 0.79
