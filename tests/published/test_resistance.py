"""Energies that armour was found to take, as they were printed, and rules held against them.

The book (A. Williams, The Knight and the Blast Furnace, 2003) was not at hand. Its figures are "quoted": seen in a web
note of December 2006 that lists them (willscommonplacebook.blogspot.com/2006_12_01_archive.html). Its power of 1.6, its
factors of material and of slant are "from memory"; each is held against a quoted figure that doesn't use it, where there
is one. "worked out" is a desk calculator's. No table of arrows against metal, shot by shot, was found open in print.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pint
import pytest

from server.physics.hardness import HardnessRange, StrengthRange, strength_of
from server.physics.ranges import CantTell
from server.physics.resistance import (
    PRINTED_ENERGIES,
    QUALITIES,
    linen_energy_j,
    plate_energy_j,
    printed_energy,
    residual_speed_m_s,
)
from server.physics.resistance_of_missiles import brl_energy_j, sri_energy_j
from server.physics.resistance_scaling import (
    Factor,
    angle_factor,
    layers_factor,
    strength_factor,
    thickness_factor,
    wire_factor,
)

AsPrinted = Callable[[float, str], None]


# Thickness in mm, factor of the steel, joules. The first is quoted as such ("1 mm mild steel plate (perpendicular impact)
# 55 J"); the others worked out by the power of 1.6.
BY_THE_RULE = ((1.0, 1.0, "55"), (1.5, 1.0, "105.222521"), (2.0, 1.0, "166.728822"), (3.0, 1.0, "318.975037"))


@pytest.mark.parametrize(("mm", "quality", "joules"), BY_THE_RULE)
def test_joules_of_mild_steel_by_its_thickness(mm: float, quality: float, joules: str, as_printed: AsPrinted) -> None:
    as_printed(plate_energy_j(mm / 1000, quality), joules)


# Quoted, each with "about": best hardened plate of 1.25 mm "about 120 Joules", poor iron of the same "about 40", the
# thinnest helmet front, 2.47 mm, "if made of iron" "about 110". About is taken as a tenth.
QUOTED = (("hardened", 1.25, 120.0), ("slaggy_iron", 1.25, 40.0), ("slaggy_iron", 2.47, 110.0))


@pytest.mark.parametrize(("quality", "mm", "about_j"), QUOTED)
def test_the_rule_meets_three_figures_that_it_was_not_made_from(quality: str, mm: float, about_j: float) -> None:
    assert plate_energy_j(mm / 1000, QUALITIES[quality].factor) == pytest.approx(about_j, rel=0.1)


def test_the_power_of_thickness_that_the_quoted_iron_plates_ask_for_lies_near_one_and_a_half() -> None:
    """From 40 J at 1.25 mm and 110 J at 2.47 mm: ln(110/40)/ln(2.47/1.25) = 1.485. Ours is 1.6, the missiles' 1.5: the
    figures are "about", and sources disagree by as much as that. We follow 1.6 and show the others beside it."""
    asked = math.log(110 / 40) / math.log(2.47 / 1.25)
    assert asked == pytest.approx(1.485, abs=5e-4)
    low, high = sorted(math.log(b / a) / math.log(2.47 / 1.25) for a, b in ((44, 99), (36, 121)))
    assert low < 1.5 < 1.6 < high


@pytest.mark.parametrize(
    ("armour", "low", "high"),
    [("mail", 80, 120), ("mail_over_padding", 100, 120), ("linen_16", 50, 50), ("buff_leather", 30, 30), ("boiled_leather", 20, 30)],
)  # fmt: skip
def test_printed_energies_of_mail_cloth_and_leather(armour: str, low: float, high: float) -> None:
    """Quoted: "Modern Mail (mild steel) alone 80 J"; "Modern Mail & Jack 100 J", with 35 mm behind 120 J; "15th c. Mail
    120 J", which a second paper quotes for mail and padding (M. Bane, English Longbow Testing, 2006, p. 2: "120 Joules to
    pierce the mail and padding underneath"); "Padding (16 layers linen) 50 J" and leather by lance; buff leather 30 J."""
    found = printed_energy(armour)
    assert (found.low_j, found.high_j) == (low, high)
    assert found.arrow == ("lance" not in found.words)
    assert set(PRINTED_ENERGIES) == {"mail", "mail_over_padding", "linen_16", "buff_leather", "boiled_leather"}


def test_sixteen_layers_of_linen_are_the_printed_fifty_joules(as_printed: AsPrinted) -> None:
    """Quoted: 16 layers, "60g for 16 x 21 cm", 50 J. That is 0.112 kg/m2 a layer, worked out."""
    as_printed(linen_energy_j(16), "50")
    as_printed(0.060 / (0.16 * 0.21) / 16, "0.112")


# Pope, A Study of Bows and Arrows, 1923 (public domain): a 75 lb bow at 10 yards, large steel bodkin. It went through
# 1/16 in of cold-drawn soft steel by half an inch and broke its point. Energies aren't printed; a 75 lb bow of its time
# gave some 60 to 75 J, worked out from the book's speeds and masses. The rule must not say that this can't be.
def test_popes_bodkin_came_through_a_plate_that_the_rule_puts_near_what_his_bow_gave() -> None:
    plate_m = 0.0254 / 16
    assert plate_m == pytest.approx(0.0015875)
    mild, hole = plate_energy_j(plate_m), 55.0 * thickness_factor(plate_m, 0.001, rule="hole").low
    assert mild == pytest.approx(115.2, abs=0.1)
    assert hole == pytest.approx(87.3, abs=0.1)
    # His point was through by 12.7 mm where the rule counts 45 mm: it was got through with less. So the rule is high there.
    assert 75.0 < hole < mild


# Power rules, worked out.
THICKNESS = (("arrows", 2.0, 1.0, "3.0314"), ("hole", 2.0, 1.0, "2.0000"), ("missiles", 2.0, 1.0, "2.8284"), ("guns", 2.0, 1.0, "2.6390"))


@pytest.mark.parametrize(("rule", "new", "old", "factor"), THICKNESS)
def test_factors_of_thickness(rule: str, new: float, old: float, factor: str, as_printed: AsPrinted) -> None:
    found = thickness_factor(new / 1000, old / 1000, rule=rule)
    as_printed(found.low, factor)
    assert found.low == found.high and found.outside == (rule in ("missiles", "guns"))


def test_the_missiles_power_is_that_of_their_own_formula() -> None:
    """BC-TOP-9A: T goes with energy to the 2/3, so energy with T to the 3/2."""
    by_formula = brl_energy_j(0.0020, 0.01) / brl_energy_j(0.0011, 0.01)
    assert thickness_factor(0.0020, 0.0011, rule="missiles").low == pytest.approx(by_formula, rel=1e-12)


def test_brl_and_its_form_in_inches_agree(as_printed: AsPrinted) -> None:
    """8 lb at 150 ft/s, 1 in: the form in inches, slugs and feet gives 0.2954 in, that in joules and metres 0.2957 in
    (both worked out, from memory). 2797.2897 ft lbf; the unit library turns them to joules."""
    units = pint.UnitRegistry()
    energy = units.Quantity(2797.2897, "foot * pound_force").to("joule").magnitude
    as_printed(8 / 32.174 * 150**2 / 2, "2797.2897")  # a slug is 32.174 lb, rounded as engineers print it
    inches = 2797.2897 ** (2 / 3) / 672
    as_printed(inches, "0.29543")
    by_joules = (energy / 1.4396e9) ** (2 / 3) / 0.0254 / 0.0254
    as_printed(by_joules, "0.29566")
    assert brl_energy_j(by_joules * 0.0254, 0.0254) == pytest.approx(energy, rel=1e-6)
    assert by_joules == pytest.approx(inches, rel=1e-3)


def test_brl_at_the_scale_of_an_arrow(as_printed: AsPrinted) -> None:
    """60 g at 55 m/s, 10 mm across: 1.583932 mm, worked out; outside its data, and the page says so."""
    as_printed(brl_energy_j(0.001583932, 0.010), "90.750")


def test_sri_by_its_own_inches(as_printed: AsPrinted) -> None:
    """D 1 in, T 0.25 in, S 60,000 psi, W 12 in: 2741.93548 ft lbf, worked out; the unit library turns it to joules."""
    units = pint.UnitRegistry()
    foot_pounds = 60000 / 46500 * (16000 * 0.0625 + 1500 * 3 * 0.25)
    as_printed(foot_pounds, "2741.93548")
    found = sri_energy_j(0.25 * 0.0254, 0.0254, strength_pa=units.Quantity(60000, "psi").to("Pa").magnitude, window_m=12 * 0.0254, speed_m_s=50.0)
    assert found == pytest.approx(units.Quantity(foot_pounds, "foot * pound_force").to("joule").magnitude, rel=1e-9)


SLANTS = (
    ("arrows", 30, "1.2"), ("arrows", 45, "1.4"), ("way", 20, "1.064178"), ("way", 30, "1.154701"), ("way", 45, "1.414214"),
    ("thicker", 30, "1.258783"), ("square_part", 30, "1.333333"), ("square_part", 45, "2.000000"),
)  # fmt: skip


@pytest.mark.parametrize(("rule", "degrees", "factor"), SLANTS)
def test_factors_of_slant(rule: str, degrees: float, factor: str, as_printed: AsPrinted) -> None:
    """1.2 and 1.4 from memory of the book; the others worked out. They disagree by a tenth at 30 degrees and by four at
    45; none is followed alone."""
    as_printed(angle_factor(math.radians(degrees), rule=rule).low, factor)


def test_factors_of_layers_and_wire(as_printed: AsPrinted) -> None:
    """Worked out: two plates apart take twice, as one 2^1.6; wire pulled goes by its square, bent by its cube."""
    as_printed(layers_factor(2, 1, rule="apart").low, "2.000000")
    as_printed(layers_factor(2, 1, rule="as_one").low, "3.031433")
    as_printed(wire_factor(0.0016, 0.0014, rule="pull").low, "1.306122")
    as_printed(wire_factor(0.0016, 0.0014, rule="bend").low, "1.492711")


def test_the_factor_of_strength_rests_on_the_printed_table(as_printed: AsPrinted) -> None:
    """DIN 50150: 120 HV is 385 MPa, 180 HV 575 MPa; ASTM E140 with SAE J417: 40 to 50 HRC is 1250 to 1760 MPa."""
    mild, better = strength_of(HardnessRange(120, 120, "HV")), strength_of(HardnessRange(180, 180, "HV"))
    hard = strength_of(HardnessRange(40, 50, "HRC"))
    assert isinstance(mild, StrengthRange) and isinstance(better, StrengthRange) and isinstance(hard, StrengthRange)
    found = strength_factor(better, mild)
    assert isinstance(found, Factor) and not found.outside
    as_printed(found.low, "1.49")
    wide = strength_factor(hard, mild)
    assert isinstance(wide, Factor) and wide.outside
    as_printed(wide.low, "3.25")
    as_printed(wide.high, "4.57")
    # The book's best hardened plate took one and a half times as much as mild steel, not three to four times.
    assert QUALITIES["hardened"].factor < wide.low


RESIDUALS = (
    # No plug: 303.5 m/s at a limit of 184.5. With a plug of 29.6 g to 197 g. An arrow of 60 g, 55 m/s at 40. Worked out.
    (303.5, 184.5, 1.0, 0.0, "240.981327"), (303.5, 184.5, 0.197, 0.0296, "209.502742"), (55.0, 40.0, 0.060, 0.0, "37.749172"),
)  # fmt: skip


@pytest.mark.parametrize(("speed", "limit", "mass", "plug", "left"), RESIDUALS)
def test_speed_left_behind_a_plate(speed: float, limit: float, mass: float, plug: float, left: str, as_printed: AsPrinted) -> None:
    found = residual_speed_m_s(speed, limit, arrow_kg=mass, plug_kg=plug)
    assert not isinstance(found, CantTell)
    if plug:
        # 0.8693733 is printed for a plug of 12 mm by 20 mm of steel, whose mass is rounded to 29.6 g.
        assert mass / (mass + plug) == pytest.approx(0.8693733, rel=1e-4)
        assert found == pytest.approx(float(left), rel=1e-4)
    else:
        as_printed(found, left)


def test_sixty_grams_at_55_keep_42_75_joules_behind_a_limit_of_40(as_printed: AsPrinted) -> None:
    left = residual_speed_m_s(55.0, 40.0)
    assert not isinstance(left, CantTell)
    as_printed(0.060 * left**2 / 2, "42.75")
