"""Why a typed text was refused: its parts, and the sentence made from them."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

LONGEST = 40


class RefusalCode(StrEnum):
    TOO_LONG = "too_long"
    CHARACTER = "character"
    NO_NUMBER = "no_number"
    NUMBER_SHAPE = "number_shape"
    FRACTION = "fraction"
    EXPONENT = "exponent"
    SUM = "sum"
    RANGE = "range"
    TWO_NUMBERS = "two_numbers"
    UNCERTAINTY = "uncertainty"
    BOUND = "bound"
    UPPER_BOUND = "upper_bound"
    APPROXIMATE = "approximate"
    AMBIGUOUS = "ambiguous"
    GROUPED = "grouped"
    FEET_OR_INCHES = "feet_or_inches"
    AMBIGUOUS_DEGREE = "ambiguous_degree"
    GAUGE = "gauge"
    WRONG_KIND = "wrong_kind"
    UNIT_NOT_HERE = "unit_not_here"
    UNKNOWN_UNIT = "unknown_unit"
    NOT_WHOLE = "not_whole"
    TOO_LOW = "too_low"
    TOO_HIGH = "too_high"
    MORE_THAN_ONE_AT = "more_than_one_at"
    FIFTY_PERCENT_MISSING = "fifty_percent_missing"
    NO_SCALE = "no_scale"
    UNKNOWN_SCALE = "unknown_scale"
    OUT_OF_SCALE = "out_of_scale"
    NO_PICKS = "no_picks"
    PICKS_CROSS = "picks_cross"
    STICK_OUTSIDE = "stick_outside"


@dataclass(frozen=True)
class Refused:
    """A text that isn't taken, in parts. `sentence` puts them together.

    `found` is the text cut to length and safe to print; the field keeps what was typed. `detail` is the part that
    offends, by reason: the character, the unit, the kind found, the limit passed. `readings` are the two numbers an
    ambiguous text could be, or the unit that a number typed alone was read in; `takes` the units that the field knows.
    """

    found: str
    expected: str
    example: str
    reason_code: RefusalCode
    detail: str = ""
    readings: tuple[str, ...] = ()
    takes: tuple[str, ...] = ()


_WHY: Mapping[RefusalCode, str] = MappingProxyType(
    {
        RefusalCode.TOO_LONG: f"“{{found}}” is too long: {LONGEST} characters at most.",
        RefusalCode.CHARACTER: "“{found}” has {detail} in it, which is no part of a number or a unit.",
        RefusalCode.NO_NUMBER: "“{found}” has no number in it.",
        RefusalCode.NUMBER_SHAPE: "“{found}” is not a number that can be read.",
        RefusalCode.FRACTION: "“{found}” is not a fraction that can be read: 1/16 or 1 1/2 can.",
        RefusalCode.EXPONENT: "“{found}” has an exponent. Write the number out.",
        RefusalCode.SUM: "“{found}” is a sum. Work it out first: one number goes here.",
        RefusalCode.RANGE: "“{found}” is a range. One number goes here.",
        RefusalCode.TWO_NUMBERS: "“{found}” holds more than one number.",
        RefusalCode.UNCERTAINTY: "“{found}” has its uncertainty with it. The value goes here alone.",
        RefusalCode.BOUND: "“{found}” is a limit. One number goes here.",
        RefusalCode.UPPER_BOUND: "“{found}” says “at most”. A number goes here, or “at least” as ≥.",
        RefusalCode.APPROXIMATE: "“{found}” says “about”. The number goes here alone.",
        RefusalCode.AMBIGUOUS: "“{found}” could be {readings}. Type {expected} with no thousands mark, like {example}.",
        RefusalCode.FEET_OR_INCHES: "“{found}” could be {readings}. Type which.",
        RefusalCode.GROUPED: "“{found}” has thousands marks. Type {readings}.",
        RefusalCode.AMBIGUOUS_DEGREE: "“{found}” could be {readings}. Type which, for example {example}.",
        RefusalCode.GAUGE: "“{found}” is a gauge, and gauges differ. Type millimetres, for example 1.2 mm.",
        RefusalCode.WRONG_KIND: "“{found}” is {detail}.",
        RefusalCode.UNIT_NOT_HERE: "“{found}”: this field takes {takes}, not {detail}.",
        RefusalCode.UNKNOWN_UNIT: "“{found}”: “{detail}” is not a unit known here.{field_takes}",
        RefusalCode.NOT_WHOLE: "“{found}” is not a whole number.",
        RefusalCode.TOO_LOW: "“{found}” {as_read} too low for {detail}.",
        RefusalCode.TOO_HIGH: "“{found}” {as_read} too high for {detail}.",
        RefusalCode.MORE_THAN_ONE_AT: "“{found}” has more than one @.",
        RefusalCode.FIFTY_PERCENT_MISSING: "“{found}” has an @, but {detail} is missing.",
        RefusalCode.NO_SCALE: "“{found}” says no scale, and the same number means different things on each.",
        RefusalCode.UNKNOWN_SCALE: "“{found}”: “{detail}” is not a hardness scale known here. It takes {takes}.",
        RefusalCode.OUT_OF_SCALE: "{detail}.",
        RefusalCode.NO_PICKS: "No pick was named.",
        RefusalCode.PICKS_CROSS: "{found}: the pick that slides has to be softer than the pick that bites. Try both again.",
        RefusalCode.STICK_OUTSIDE: "{found}: the pick that sticks has to lie between the other two. Try them again.",
    }
)

# These say themselves what to type.
_COMPLETE = frozenset(
    {
        RefusalCode.AMBIGUOUS,
        RefusalCode.AMBIGUOUS_DEGREE,
        RefusalCode.FEET_OR_INCHES,
        RefusalCode.GAUGE,
        RefusalCode.GROUPED,
        RefusalCode.PICKS_CROSS,
        RefusalCode.STICK_OUTSIDE,
    }
)


def sentence(refused: Refused) -> str:
    """The message beside the field: what was found, what is expected, an example."""
    why = _WHY[refused.reason_code].format(
        found=refused.found,
        expected=refused.expected,
        example=refused.example,
        detail=refused.detail,
        readings=_either(refused.readings),
        as_read=f"was read as {refused.readings[0]}, and that is" if refused.readings else "is",
        takes=_either(refused.takes),
        field_takes=f" This field takes {_either(refused.takes)}." if refused.takes else "",
    )
    if refused.reason_code in _COMPLETE:
        return why
    return f"{why} Type {refused.expected}, for example {refused.example}."


def _either(names: tuple[str, ...]) -> str:
    return " or ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


# no-break, narrow no-break, thin and figure space: let in, and not to be seen
_SPACES = frozenset("\u00a0\u202f\u2009\u2007")


def fit_to_print(text: str) -> str:
    """What was typed, cut to length, one line, with anything that can't be seen made visible as �.

    A right-to-left mark in a message would turn the rest of the sentence round.
    """
    cut = text[:LONGEST] + ("…" if len(text) > LONGEST else "")
    return "".join(c if c.isprintable() else " " if c in _SPACES else "\ufffd" for c in cut).strip()
