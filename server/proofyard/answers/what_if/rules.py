"""The rules that answer a change of armour, side by side: what each makes of it, or why it doesn't speak."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from proofyard.answers.what_if.ask import Changes
from proofyard.answers.what_if.basis import Armour
from proofyard.answers.what_if.steels import USUAL_HARDNESS, factors_of, qualities_by_strength, usual_strength
from proofyard.physics.resistance import QUALITIES, linen_energy_j, plate_energy_j, printed_energy
from proofyard.physics.resistance_of_missiles import brl_energy_j, sri_energy_j
from proofyard.physics.resistance_scaling import (
    LAYER_RULES,
    THICKNESS_RULES,
    Factor,
    angle_factor,
    layers_factor,
    strength_factor,
    thickness_factor,
    wire_factor,
)
from proofyard.quantities.reason import CantTell, OutOfRange, Reason, because
from proofyard.wording import formula_names
from proofyard.wording.formula_names import STEELS

# A head at its broadest, for the two formulas that want a diameter: common practice, no source.
HEAD_ACROSS_M = 0.010
AN_ARROWS_SPEED_M_S = 50.0
FEWEST_RULES = 2


@dataclass(frozen=True)
class RuleLine:
    """One rule. `low` to `high`: a factor, or joules where printed rules stand in for shots; None where it doesn't speak.

    words    the rule's name
    counted  whether the answer's range holds it; `note`: why not, or what to check; `method`: its place among the methods
    """

    words: str
    low: float | None
    high: float | None
    counted: bool
    outside: bool
    note: Reason | None
    method: str

    @property
    def factor(self) -> Reason:
        """Its figure as a table shows it."""
        if self.low is None or self.high is None:
            return because("what_if_no_value")
        return because("what_if_times", low=self.low, high=self.high)

    @property
    def energy(self) -> Reason:
        if self.low is None or self.high is None:
            return because("what_if_no_value")
        return because("what_if_bare_joules", low_j=self.low, high_j=self.high)


@dataclass(frozen=True)
class ChangeFound:
    """One change: from what to what, and its rules. `low` to `high` over those that count; None: none speaks."""

    name: str
    what: Reason
    lines: tuple[RuleLine, ...]

    @property
    def in_joules(self) -> bool:
        return self.name == "printed"

    @property
    def caption(self) -> Reason:
        """What its rules come to together."""
        if self.low is None or self.high is None:
            return because("what_if_no_rule", change=self.what)
        if self.in_joules:
            return because("what_if_by_published", change=self.what, low_j=self.low, high_j=self.high)
        return because("what_if_by_rules", change=self.what, low=self.low, high=self.high)

    @property
    def low(self) -> float | None:
        return min((one.low for one in self.lines if one.counted and one.low is not None), default=None)

    @property
    def high(self) -> float | None:
        return max((one.high for one in self.lines if one.counted and one.high is not None), default=None)

    @property
    def outside(self) -> bool:
        return any(one.counted and one.outside for one in self.lines)

    @property
    def alone(self) -> bool:
        """Whether the answer rests on one rule, which can't disagree with itself."""
        return sum(one.counted and one.low is not None for one in self.lines) < FEWEST_RULES


def changes_found(what: Changes, armour: Armour, *, steel_now: str) -> tuple[ChangeFound, ...]:
    """Each change that was typed, in the order of the form; distance is no change of the armour."""
    found = []
    if what.thickness_m is not None:
        found.append(_thickness(what.thickness_m, armour))
    if what.steel is not None or what.steel_quality:
        found.append(_steel(what, armour, steel_now))
    if what.layers is not None:
        found.append(_layers(what.layers, armour))
    if what.cloths is not None:
        found.append(_cloths(what.cloths, armour))
    if what.wire_m is not None:
        found.append(_wire(what.wire_m, armour))
    if what.angle_rad is not None:
        found.append(_angle(what.angle_rad, armour))
    return tuple(found)


def printed_found(what: Changes, armour: Armour, *, steel_now: str) -> ChangeFound:
    """The energy by printed rules, in joules, where no shots place it: of the plate or cloth as it is asked about."""
    lines: tuple[RuleLine, ...] = ()
    thickness, cloths = None, None
    if armour.construction == "mail":
        key = "mail_over_padding" if armour.panel.cloth_layers else "mail"
        found, name = printed_energy(key), f"Published: {formula_names.PRINTED_ENERGIES[key]}"
        note = because("what_if_any_rings")
        lines = (RuleLine(name, found.low_j, found.high_j, True, False, note, "printed_energy"),)
    elif armour.construction == "textile" and (cloths := what.cloths or armour.panel.cloth_layers):
        lines = (_factor(formula_names.LINEN_RULE, partial(_linen, cloths), "linen_energy_j", because("what_if_lance")),)
    elif armour.plated and (thickness := what.thickness_m or armour.thickness_m):
        lines = _printed_plate(armour, thickness, what.steel_quality or steel_now)
    return ChangeFound("printed", because("what_if_printed", panel=armour.panel.name, thickness_m=thickness, cloths=cloths), lines)


def _linen(cloths: int) -> Factor:
    return _both(linen_energy_j(cloths))


def _printed_plate(armour: Armour, thickness: float, steel_now: str) -> tuple[RuleLine, ...]:
    def arrows() -> Factor:
        qualities = [QUALITIES[steel_now]] if steel_now else list(QUALITIES.values())
        joules = [plate_energy_j(thickness, one) for one in (min(qualities), max(qualities))]
        return Factor(joules[0], joules[1], not 0.001 <= thickness <= 0.003)

    def blunt() -> Factor:
        return _both(brl_energy_j(thickness, HEAD_ACROSS_M))

    def framed() -> Factor:
        strength, window = armour.strength, min(armour.panel.width_m or 0.3, armour.panel.height_m or 0.3)
        ends = [strength.low_pa, strength.high_pa] if strength else [400e6, 400e6]
        joules = [
            sri_energy_j(thickness, HEAD_ACROSS_M, strength_pa=one, window_m=window, speed_m_s=AN_ARROWS_SPEED_M_S)
            for one in ends
            if one is not None
        ]
        return Factor(min(joules), max(joules), True)

    def stronger() -> Factor | CantTell:
        mild, there = usual_strength("mild_steel"), usual_strength(steel_now)
        assert mild is not None and there is not None
        times = strength_factor(there, mild)
        if isinstance(times, CantTell):
            return times
        joules = plate_energy_j(thickness, 1.0)
        return Factor(joules * times.low, joules * times.high, times.outside)

    note = because("what_if_note", why=STEELS[steel_now].lower()) if steel_now else because("what_if_any_steel")
    by_strength: tuple[RuleLine, ...] = ()
    if steel_now != "mild_steel" and usual_strength(steel_now) is not None:
        taken = _notes(_usual(steel_now), because("what_if_cracks"))
        by_strength = (_factor(formula_names.PLATE_RULES["stronger"], stronger, "strength_factor", taken),)
    missile = because("what_if_missiles", across_m=HEAD_ACROSS_M)
    return (
        _factor(formula_names.THICKNESS_RULES["arrows"], arrows, "plate_energy_j", note),
        *by_strength,
        _factor(formula_names.PLATE_RULES["missiles"], blunt, "brl_energy_j", missile, counted=False),
        _factor(formula_names.PLATE_RULES["framed"], framed, "sri_energy_j", missile, counted=False),
    )


def _usual(steel: str) -> Reason:
    known = USUAL_HARDNESS[steel]
    return because("what_if_usual", steel=STEELS[steel].lower(), low=known.low, high=known.high, scale=known.scale)


def _thickness(new: float, armour: Armour) -> ChangeFound:
    old = armour.thickness_m
    what = because("what_if_thickness", before_m=old, after_m=new)
    if old is None:
        return _silent("thickness", what, because("what_if_present_thickness"), "thickness_factor")
    lines = [
        _factor(
            formula_names.THICKNESS_RULES[key],
            partial(thickness_factor, new, old, rule=key),
            "thickness_factor",
            None if rule.for_points else because("what_if_other_things"),
            counted=rule.for_points,
        )
        for key, rule in THICKNESS_RULES.items()
    ]
    return ChangeFound("thickness", what, tuple(lines))


def _steel(what: Changes, armour: Armour, steel_now: str) -> ChangeFound:
    """By strength and by sort, whichever box was filled: two rules that disagree are shown, never picked between."""
    asked = (what.steel.words if what.steel else "", STEELS[what.steel_quality].lower() if what.steel_quality else "")
    now = armour.hardness_words or (STEELS[steel_now].lower() if steel_now else "")
    changed = because("what_if_steel", before=now, after=tuple(part for part in asked if part))
    return ChangeFound("steel", changed, (_by_strength(what, armour, steel_now), _by_quality(what, armour, steel_now)))


def _by_strength(what: Changes, armour: Armour, steel_now: str) -> RuleLine:
    name, notes = formula_names.STEEL_RULES["strength"], []
    new, old = what.steel.strength if what.steel else usual_strength(what.steel_quality), armour.strength
    if new is None:
        return _mute(name, because("what_if_slag"), "strength_factor")
    if what.steel is None:
        notes.append(_usual(what.steel_quality))
    if old is None:
        old = usual_strength(steel_now)
        if old is None:
            return _mute(name, because("what_if_present_hardness"), "strength_factor")
        known = USUAL_HARDNESS[steel_now]
        steel = STEELS[steel_now].lower()
        notes.append(because("what_if_usual_here", steel=steel, low=known.low, high=known.high, scale=known.scale))
    note = _notes(*notes, because("what_if_one_reading"), because("what_if_cracks"))
    return _factor(name, lambda: strength_factor(new, old), "strength_factor", note)


def _by_quality(what: Changes, armour: Armour, steel_now: str) -> RuleLine:
    name = formula_names.STEEL_RULES["quality"]
    old = (steel_now,) if steel_now else qualities_by_strength(armour.strength)
    new = (what.steel_quality,) if what.steel_quality else qualities_by_strength(what.steel.strength if what.steel else None)
    if not old:
        return _mute(name, because("what_if_enter_steel"), "plate_energy_j")
    if not new:
        return _mute(name, because("what_if_no_such_steel"), "plate_energy_j")
    (old_low, old_high), (new_low, new_high) = factors_of(old), factors_of(new)
    before, after = (tuple(STEELS[one].lower() for one in some) for some in (old, new))
    note = because("what_if_kinds", before=before, after=after, by_hardness=not steel_now)
    return RuleLine(name, new_low / old_high, new_high / old_low, True, False, note, "plate_energy_j")


def _layers(new: int, armour: Armour) -> ChangeFound:
    rules = LAYER_RULES if armour.plated else ("apart",)
    lines = [_factor(formula_names.LAYER_RULES[rule], partial(layers_factor, new, 1, rule=rule), "layers_factor") for rule in rules]
    return ChangeFound("layers", because("what_if_layers", layers=new), tuple(lines))


def _cloths(new: int, armour: Armour) -> ChangeFound:
    old = armour.panel.cloth_layers
    what = because("what_if_cloths", before=old, after=new)
    if not old:
        return _silent("cloths", what, because("what_if_present_cloths"), "layers_factor")
    rule = partial(layers_factor, new, old, rule="apart")
    name = formula_names.LAYER_RULES["apart"]
    return ChangeFound("cloths", what, (_factor(name, rule, "layers_factor", because("common_practice")),))


def _wire(new: float, armour: Armour) -> ChangeFound:
    old = armour.panel.ring_wire_m
    what = because("what_if_wire", before_m=old, after_m=new)
    if not old:
        return _silent("wire", what, because("what_if_present_wire"), "wire_factor")
    lines = [
        _factor(words, partial(wire_factor, new, old, rule=key), "wire_factor", because("what_if_textbook"))
        for key, words in formula_names.WIRE_RULES.items()
    ]
    return ChangeFound("wire", what, tuple(lines))


def _angle(new: float, armour: Armour) -> ChangeFound:
    old = armour.angle_rad

    def ratio(rule: str) -> Factor:
        there, here = angle_factor(new, rule=rule), angle_factor(old, rule=rule)
        return Factor(there.low / here.low, there.high / here.high, there.outside or here.outside)

    lines = [_factor(words, partial(ratio, rule), "angle_factor") for rule, words in formula_names.ANGLE_RULES.items()]
    return ChangeFound("angle", because("what_if_angle", before_rad=old, after_rad=new), tuple(lines))


def _factor(words: str, ask: Callable[[], Factor | CantTell], method: str, note: Reason | None = None, *, counted: bool = True) -> RuleLine:
    """One rule asked; where it refuses, its own range."""
    try:
        found = ask()
    except OutOfRange as refused:
        return _mute(words, _range_of(refused), method)
    if isinstance(found, CantTell):
        return _mute(words, because("what_if_note", why=found.reason), method)
    if found.outside and counted:
        note = _notes(because("what_if_beyond"), note)
    return RuleLine(words, found.low, found.high, counted, found.outside, note, method)


def _notes(*notes: Reason | None) -> Reason:
    return because("what_if_notes", notes=tuple(one for one in notes if one is not None))


def _both(value: float) -> Factor:
    return Factor(value, value, False)


def _mute(words: str, why: Reason, method: str) -> RuleLine:
    return RuleLine(words, None, None, False, False, why, method)


def _silent(name: str, what: Reason, why: Reason, method: str) -> ChangeFound:
    return ChangeFound(name, what, (_mute("No rule applies", why, method),))


def _range_of(refused: OutOfRange) -> Reason:
    """The range of a refusal as a person reads it: 0.0005 to 0.006 metres are 0.5 to 6 mm."""
    scales = {"_m": (1000.0, "mm"), "_pa": (1e-6, "MPa"), "_rad": (180 / math.pi, "°")}
    factor, unit = next((scale for end, scale in scales.items() if refused.name.endswith(end)), (1.0, ""))
    low, high = (refused.expected.parts.get(end) for end in ("low", "high"))
    if not isinstance(low, float | int) or not isinstance(high, float | int):
        return because("what_if_refused", expected=refused.expected)
    return because("what_if_outside", low=low * factor, high=high * factor, unit=unit)


def product(found: Sequence[ChangeFound]) -> tuple[float, float] | None:
    """From least to greatest factor of all changes together; None where one of them has no rule that speaks."""
    low = high = 1.0
    for one in found:
        if one.low is None or one.high is None:
            return None
        low, high = low * one.low, high * one.high
    return low, high
