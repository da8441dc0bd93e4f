"""What a person typed, read as a quantity: the number, the unit, the value in SI, or why not.

`read` never raises on a text: it gives `Read`, `Refused` or `Empty`. Whether a field may be empty is the page's
question, so an empty text is an answer of its own and no fault.
"""

import re
from dataclasses import dataclass
from typing import Literal

from proofyard.quantities import units
from proofyard.quantities.grammar import Fault, number_and_unit, tidied
from proofyard.quantities.kinds import KINDS, Kind
from proofyard.quantities.refused import LONGEST, RefusalCode, Refused, fit_to_print
from proofyard.quantities.spellings import measured_by
from proofyard.quantities.written import plainly, with_unit

# A limit that was passed by the last bit of a float was not passed: -60 °C comes out as 213.14999999999998 K.
_SLACK = 1e-12
# "20+", "20+ mm", "20 mm+": the plus after the number, or after its unit
_PLUS = re.compile(r"([^+]*\d[^+]*)\+([^+\d]*)")


@dataclass(frozen=True)
class Read:
    """A quantity: `number` in `unit` as the person meant it, `value_si` as it is stored, `typed` as it stood."""

    value_si: float
    unit: str
    number: float
    typed: str
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Empty:
    """Nothing was typed."""

    typed: str = ""


Typed = Read | Refused | Empty


@dataclass(frozen=True)
class WeightAtDraw:
    """`110@31`: a bow's weight, and the draw it was marked at if that was said."""

    weight: Read
    draw: Read | None


@dataclass(frozen=True)
class AtLeast:
    """`≥ 20 mm`: a value, or the least that it can be."""

    bound: Literal["=", "≥"]
    read: Read


def read(text: str, kind: Kind | str, *, unit: str | None = None) -> Typed:
    """Read one field. A number alone takes `unit`, the unit shown in the field (the kind's own if not given).

    >>> read("1,5 mm", "thickness").value_si
    0.0015
    """
    wanted = KINDS[kind] if isinstance(kind, str) else kind
    shown = unit or wanted.unit
    if units.si_unit_of(shown) != wanted.si_unit:
        raise ValueError(f"a field of {wanted.name} can't be shown in {shown}")
    plain = tidied(text)
    if plain == "":
        return Empty(text)
    parsed = plain if isinstance(plain, Fault) else number_and_unit(plain)
    if isinstance(parsed, Fault):
        if parsed.reason is RefusalCode.GAUGE and wanted.si_unit != "m":
            return _refused(text, wanted, RefusalCode.WRONG_KIND, detail="a plate gauge")
        return _refused(text, wanted, parsed.reason, detail=parsed.detail, readings=parsed.readings)
    found = wanted.entry_units.find(parsed.unit_text) if parsed.unit_text else shown
    if found is None:
        return _unit_refused(text, wanted, parsed.unit_text)
    return _in_range(text, wanted, parsed.number, found, alone=not parsed.unit_text)


def read_weight_at_draw(text: str, *, unit: str | None = None, draw_unit: str | None = None) -> WeightAtDraw | Refused | Empty:
    """Read a bow's marking: `110@31`, `110 lb @ 31 in`, or a weight alone.

    >>> both = read_weight_at_draw("110@31")
    >>> (both.weight.number, both.weight.unit, both.draw.number, both.draw.unit)
    (110.0, 'lbf', 31.0, 'in')
    """
    plain = tidied(text)
    if isinstance(plain, Fault):
        return _refused(text, KINDS["draw_weight"], plain.reason, detail=plain.detail)
    weight_text, at, draw_text = plain.partition("@")
    if "@" in draw_text:
        return _refused(text, KINDS["draw_weight"], RefusalCode.MORE_THAN_ONE_AT)
    weight = read(weight_text, "draw_weight", unit=unit)
    draw = read(draw_text, "draw_length", unit=draw_unit)
    if isinstance(weight, Empty) and not at:
        return Empty(text)
    for part, kind in ((weight, "draw_weight"), (draw, "draw_length")):
        if isinstance(part, Refused):
            return part
        if isinstance(part, Empty) and at:
            return _refused(text, KINDS[kind], RefusalCode.FIFTY_PERCENT_MISSING, detail=KINDS[kind].words)
    assert isinstance(weight, Read)
    return WeightAtDraw(weight, draw if isinstance(draw, Read) else None)


def read_at_least(text: str, kind: Kind | str, *, unit: str | None = None) -> AtLeast | Refused | Empty:
    """Read a value that may be a least one: `20 mm`, `≥ 20 mm`, `>= 20`, `> 20`, `20+`, `20 mm+`.

    >>> read_at_least("≥ 20 mm", "depth").bound
    '≥'
    """
    # found by its first characters alone, so that a long text is still refused for its length
    mark = re.match(r"[\s\u00a0]*(?:≥|>=?)", text)
    plus = None if mark or len(text) > LONGEST else _PLUS.fullmatch(text)
    value = read(text[mark.end() :] if mark else "".join(plus.groups()) if plus else text, kind, unit=unit)
    if isinstance(value, Empty) and mark:
        wanted = KINDS[kind] if isinstance(kind, str) else kind
        return _refused(text, wanted, RefusalCode.NO_NUMBER)
    if isinstance(value, Read):
        whole = Read(value.value_si, value.unit, value.number, text, value.warnings)
        return AtLeast("≥" if mark or plus else "=", whole)
    return value


def _in_range(text: str, kind: Kind, number: float, unit: str, *, alone: bool) -> Typed:
    if kind.whole and number != int(number):
        return _refused(text, kind, RefusalCode.NOT_WHOLE)
    value_si = (units.difference_to_si if kind.difference else units.to_si)(number, unit)
    low, high = kind.possible
    limits = f"{kind.words} ({_from_to(kind, kind.possible, unit)})"
    # 31.5 meant as inches in a field of millimetres: whoever typed it must hear what it was taken for.
    readings = (with_unit(plainly(number), unit),) if alone and len(kind.entry_units.units) > 1 else ()
    if value_si > high + _SLACK * abs(high):
        return _refused(text, kind, RefusalCode.TOO_HIGH, detail=limits, readings=readings)
    if value_si < low - _SLACK * abs(low) or (value_si == low == 0.0 and not kind.zero):
        return _refused(text, kind, RefusalCode.TOO_LOW, detail=limits, readings=readings)
    # adding 0.0 makes -0 into 0
    return Read(value_si, unit, number + 0.0, text, _warnings(kind, value_si, number, unit))


def _warnings(kind: Kind, value_si: float, number: float, unit: str) -> tuple[str, ...]:
    low, high = kind.plausible
    if low - _SLACK * abs(low) <= value_si <= high + _SLACK * abs(high):
        return ()
    usual = _from_to(kind, kind.plausible, unit)
    return (f"{with_unit(plainly(number), unit)} is unusual for {kind.words} ({usual} is usual). Look again.",)


def _from_to(kind: Kind, limits: tuple[float, float], unit: str) -> str:
    """ "20 g to 150 g", in the unit that was typed, so that the two can be compared at a glance."""
    in_unit = units.difference_from_si if kind.difference else units.from_si
    low, high = (with_unit(plainly(in_unit(limit, unit), figures=3), unit) for limit in limits)
    if limits[0] == 0.0 and not kind.zero:
        return f"above 0, up to {high}"
    return f"{low} to {high}"


def _unit_refused(text: str, kind: Kind, unit_text: str) -> Refused:
    if unit_text == "°" and kind.si_unit == "K":
        return _refused(text, kind, RefusalCode.AMBIGUOUS_DEGREE, readings=("°C", "°F"))
    measure = measured_by(unit_text)
    if measure is None:
        return _refused(text, kind, RefusalCode.UNKNOWN_UNIT, detail=unit_text, takes=kind.entry_units.units)
    if measure == kind.asks:
        return _refused(text, kind, RefusalCode.UNIT_NOT_HERE, detail=unit_text, takes=kind.entry_units.units)
    return _refused(text, kind, RefusalCode.WRONG_KIND, detail=measure)


def _refused(
    text: str, kind: Kind, reason: RefusalCode, *, detail: str = "", readings: tuple[str, ...] = (), takes: tuple[str, ...] = ()
) -> Refused:
    return Refused(fit_to_print(text), kind.asks, kind.example, reason, detail, readings, takes)
