"""The rules that answer a change of armour, side by side: what each makes of it, or why it doesn't speak."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from server.findings.what_if.ask import STEELS, Changes
from server.findings.what_if.basis import Armour
from server.physics.ranges import CantTell, OutOfRange
from server.physics.resistance import QUALITIES, linen_energy_j, plate_energy_j, printed_energy
from server.physics.resistance_of_missiles import brl_energy_j, sri_energy_j
from server.physics.resistance_scaling import (
    ANGLE_RULES,
    LAYER_RULES,
    THICKNESS_RULES,
    WIRE_RULES,
    Factor,
    angle_factor,
    layers_factor,
    strength_factor,
    thickness_factor,
    wire_factor,
)
from server.quantities import figure, plainly, with_unit

# A head at its broadest, for the two formulas that want a diameter: common practice, no source.
HEAD_ACROSS_M = 0.010
AN_ARROWS_SPEED_M_S = 50.0
FEWEST_RULES = 2


@dataclass(frozen=True)
class RuleLine:
    """One rule. `low` to `high`: a factor, or joules where printed rules stand in for shots; None where it doesn't speak.

    counted  whether the answer's range holds it; `note`: why not, or what to mind; `method`: its place among the methods
    """

    words: str
    low: float | None
    high: float | None
    counted: bool
    outside: bool
    note: str
    method: str


@dataclass(frozen=True)
class ChangeFound:
    """One change: from what to what, and its rules. `low` to `high` over those that count; None: none speaks."""

    name: str
    words: str
    lines: tuple[RuleLine, ...]

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


def changes_found(what: Changes, armour: Armour, *, steel_now: str, reader: str) -> tuple[ChangeFound, ...]:
    """Each change that was typed, in the order of the form; distance is no change of the armour."""
    found = []
    if what.thickness_m is not None:
        found.append(_thickness(what.thickness_m, armour, reader))
    if what.steel is not None or what.steel_sort:
        found.append(_steel(what, armour, steel_now))
    if what.layers is not None:
        found.append(_layers(what.layers, armour))
    if what.cloths is not None:
        found.append(_cloths(what.cloths, armour))
    if what.wire_m is not None:
        found.append(_wire(what.wire_m, armour, reader))
    if what.angle_rad is not None:
        found.append(_angle(what.angle_rad, armour))
    return tuple(found)


def printed_found(what: Changes, armour: Armour, *, steel_now: str, reader: str) -> ChangeFound:
    """The energy by printed rules, in joules, where no shots place it: of the plate or cloth as it is asked about."""
    lines: tuple[RuleLine, ...] = ()
    name = armour.panel.name
    if armour.construction == "mail":
        found = printed_energy("mail_over_padding" if armour.panel.cloth_layers else "mail")
        lines = (RuleLine(f"Printed: {found.words}", found.low_j, found.high_j, True, False, "whatever rings those were", "printed_energy"),)
    elif armour.construction == "textile" and (cloths := what.cloths or armour.panel.cloth_layers):
        words = "Printed: a lance point through 16 layers of linen, in proportion"
        lines = (_factor(words, lambda: _both(linen_energy_j(cloths)), "linen_energy_j", note="a lance point, not an arrow’s"),)
        name = f"{name}, {cloths} layers"
    elif armour.plated and (thickness := what.thickness_m or armour.thickness_m):
        lines = _printed_plate(armour, thickness, what.steel_sort or steel_now)
        name = f"{name}, {figure(thickness, 'thickness', reader)}"
    return ChangeFound("printed", f"{name}, in joules", lines)


def _printed_plate(armour: Armour, thickness: float, steel_now: str) -> tuple[RuleLine, ...]:
    def arrows() -> Factor:
        qualities = [QUALITIES[steel_now].factor] if steel_now else [one.factor for one in QUALITIES.values()]
        joules = [plate_energy_j(thickness, one) for one in (min(qualities), max(qualities))]
        return Factor(joules[0], joules[1], not 0.001 <= thickness <= 0.003)

    def blunt() -> Factor:
        return _both(brl_energy_j(thickness, HEAD_ACROSS_M))

    def framed() -> Factor:
        strength, window = armour.strength, min(armour.panel.width_m or 0.3, armour.panel.height_m or 0.3)
        ends = [strength.low_pa, strength.high_pa] if strength else [400e6, 400e6]
        joules = [
            sri_energy_j(thickness, HEAD_ACROSS_M, strength_pa=one, window_m=window, speed_m_s=AN_ARROWS_SPEED_M_S) for one in ends if one is not None
        ]
        return Factor(min(joules), max(joules), True)

    note = STEELS[steel_now].lower() if steel_now else "any iron or steel, since nobody said which: say it to narrow this"
    missile = f"made for heavy blunt missiles, a head taken as {HEAD_ACROSS_M * 1000:.0f} mm across: shown, not counted"
    return (
        _factor("Arrows at plates, 1 to 3 mm", arrows, "plate_energy_j", note=note),
        _factor("Missiles, BRL", blunt, "brl_energy_j", note=missile, counted=False),
        _factor("Missiles at a framed plate, SRI", framed, "sri_energy_j", note=missile, counted=False),
    )


def _thickness(new: float, armour: Armour, reader: str) -> ChangeFound:
    old = armour.thickness_m
    words = f"Thickness {figure(old, 'thickness', reader) if old else 'not known'} to {figure(new, 'thickness', reader)}"
    if old is None:
        return _silent("thickness", words, "nobody measured how thick it is now", "thickness_factor")
    lines = []
    for key, rule in THICKNESS_RULES.items():
        note = "" if rule.for_points else "made for other things: shown, not counted"
        lines.append(_factor(rule.words, partial(thickness_factor, new, old, rule=key), "thickness_factor", note=note, counted=rule.for_points))
    return ChangeFound("thickness", words, tuple(lines))


def _steel(what: Changes, armour: Armour, steel_now: str) -> ChangeFound:
    lines = []
    asked = what.steel.words if what.steel else STEELS[what.steel_sort].lower()
    words = f"Steel, {armour.hardness_words or 'hardness not known'} to {asked}"
    if what.steel is not None:
        new, old = what.steel.strength, armour.strength
        name = "In proportion to the strength behind the hardness"
        if old is None:
            lines.append(_mute(name, "nobody tried the hardness of this plate, so there is nothing to compare with", "strength_factor"))
        else:
            lines.append(_factor(name, lambda: strength_factor(new, old), "strength_factor", note="one reading is taken a tenth either way; a hard plate cracks, and then takes less"))
    if what.steel_sort:
        name = "Printed factors of sorts of steel"
        if not steel_now:
            lines.append(_mute(name, "say which sort its steel is now", "plate_energy_j"))
        else:
            ratio = QUALITIES[what.steel_sort].factor / QUALITIES[steel_now].factor
            lines.append(RuleLine(name, ratio, ratio, True, False, f"from {STEELS[steel_now].lower()}", "plate_energy_j"))
    return ChangeFound("steel", words, tuple(lines))


def _layers(new: int, armour: Armour) -> ChangeFound:
    rules = LAYER_RULES if armour.plated else {"apart": LAYER_RULES["apart"]}
    lines = [_factor(words, partial(layers_factor, new, 1, rule=rule), "layers_factor") for rule, words in rules.items()]
    return ChangeFound("layers", f"{new} of it, one behind the other" if new > 1 else "1 of it, as it is", tuple(lines))


def _cloths(new: int, armour: Armour) -> ChangeFound:
    old = armour.panel.cloth_layers
    words = f"Layers of cloth {old if old else 'not known'} to {new}"
    if not old:
        return _silent("cloths", words, "nobody wrote down how many layers it has", "layers_factor")
    line = _factor(LAYER_RULES["apart"], lambda: layers_factor(new, old, rule="apart"), "layers_factor", note="common practice, no source")
    return ChangeFound("cloths", words, (line,))


def _wire(new: float, armour: Armour, reader: str) -> ChangeFound:
    old = armour.panel.ring_wire_m
    words = f"Wire {figure(old, 'small_length', reader) if old else 'not known'} to {figure(new, 'small_length', reader)}"
    if not old:
        return _silent("wire", words, "nobody wrote down its wire", "wire_factor")
    lines = [
        _factor(rule.words, partial(wire_factor, new, old, rule=key), "wire_factor", note="a textbook’s strength of wire, no test")
        for key, rule in WIRE_RULES.items()
    ]
    return ChangeFound("wire", words, tuple(lines))


def _angle(new: float, armour: Armour) -> ChangeFound:
    old = armour.angle_rad

    def ratio(rule: str) -> Factor:
        there, here = angle_factor(new, rule=rule), angle_factor(old, rule=rule)
        return Factor(there.low / here.low, there.high / here.high, there.outside or here.outside)

    from_to = f"{plainly(math.degrees(old), figures=3)} to {with_unit(plainly(math.degrees(new), figures=3), '°')}"
    lines = [_factor(words, partial(ratio, rule), "angle_factor") for rule, words in ANGLE_RULES.items()]
    return ChangeFound("angle", f"Angle {from_to}", tuple(lines))


def _factor(words: str, ask: Callable[[], Factor | CantTell], method: str, *, note: str = "", counted: bool = True) -> RuleLine:
    """One rule asked; where it refuses, its own range in words."""
    try:
        found = ask()
    except OutOfRange as refused:
        return _mute(words, f"outside its range: {_range_words(refused)}", method)
    if isinstance(found, CantTell):
        return _mute(words, found.reason, method)
    if found.outside and counted:
        note = "; ".join(part for part in ("beyond what it was tried on", note) if part)
    return RuleLine(words, found.low, found.high, counted, found.outside, note, method)


def _both(value: float) -> Factor:
    return Factor(value, value, False)


def _mute(words: str, why: str, method: str) -> RuleLine:
    return RuleLine(words, None, None, False, False, why, method)


def _silent(name: str, words: str, why: str, method: str) -> ChangeFound:
    return ChangeFound(name, words, (_mute("No rule can speak", why, method),))


def _range_words(refused: OutOfRange) -> str:
    """The range of a refusal as a person reads it: "0.0005 to 0.006" metres are 0.5 to 6 mm."""
    ends = refused.expected.split(" to ")
    scales = {"_m": (1000, "mm"), "_pa": (1e-6, "MPa"), "_rad": (180 / math.pi, "°")}
    scale = next((scale for end, scale in scales.items() if refused.name.endswith(end)), None)
    try:
        low, high = (float(end) for end in ends)
    except ValueError:
        return refused.expected
    factor, unit = scale or (1.0, "")
    return f"it covers {with_unit(f'{plainly(low * factor, figures=3)} to {plainly(high * factor, figures=3)}', unit)}"


def product(found: Sequence[ChangeFound]) -> tuple[float, float] | None:
    """From least to greatest factor of all changes together; None where one of them has no rule that speaks."""
    low = high = 1.0
    for one in found:
        if one.low is None or one.high is None:
            return None
        low, high = low * one.low, high * one.high
    return low, high
