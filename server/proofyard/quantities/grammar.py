"""Our own grammar for what a person types into a number field: text -> a number and the text of its unit.

Nothing here evaluates anything, and the length is checked before the first pattern is tried, so a text costs the same
few microseconds whatever it holds. Ambiguous text is a fault that names both readings: `1,234` is a thousand to one
archer and one and a bit to the other.
"""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from proofyard.quantities.refused import LONGEST, RefusalCode


@dataclass(frozen=True)
class Fault:
    """What is wrong with the text, before anyone knows which field it stands in."""

    reason: RefusalCode
    detail: str = ""
    readings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Written:
    """A number as typed and the text after it, tidied ("m / s." is "m/s"). Empty if the number stands alone."""

    number: float
    unit_text: str


_GLYPHS: Mapping[str, Fraction] = MappingProxyType(
    {
        "½": Fraction(1, 2),
        "⅓": Fraction(1, 3),
        "⅔": Fraction(2, 3),
        "¼": Fraction(1, 4),
        "¾": Fraction(3, 4),
        "⅛": Fraction(1, 8),
        "⅜": Fraction(3, 8),
        "⅝": Fraction(5, 8),
        "⅞": Fraction(7, 8),
    }
)

# Let in on purpose, each with the ASCII it stands for: phone keyboards and word processors put these in unasked.
_SAME_AS = str.maketrans(
    {
        "\u00a0": " ",  # no-break space
        "\u202f": " ",  # narrow no-break space
        "\u2009": " ",  # thin space
        "\u2007": " ",  # figure space
        "\u2212": "-",  # minus
        "\u2032": "'",  # prime
        "\u2018": "'",  # single quotes, opening and closing
        "\u2019": "'",
        "\u2033": '"',  # double prime
        "\u201c": '"',  # double quotes, opening and closing
        "\u201d": '"',
        "\u2044": "/",  # fraction slash
        "\u22c5": "·",  # dot operator
        "\u03bc": "µ",  # Greek mu for the micro sign
        "\u00ba": "°",  # the ordinal sign sits where the degree sign is missing
        "\u2103": "°C",
        "\u2109": "°F",
        "\u2265": ">=",
        "\u2264": "<=",
    }
)

# Let in so that the message can say what is wrong with the whole ("a range", "about"), or as part of a unit.
_ALSO_KNOWN = frozenset("°µ·±≈×÷–—²³") | frozenset(_GLYPHS)

_NAMED = MappingProxyType({"\t": "a tab", "\n": "a line break", "\r": "a line break", "\0": "a NUL"})

_GLYPH = "[" + "".join(_GLYPHS) + "]"
_NUMBER = re.compile(
    # "31-1/2" is 31 1/2: a hyphen before a proper fraction joins, as on a tape's notes
    rf"(?:(?P<sign>[-+]) ?)?(?:(?:(?P<whole>\d+)[ –-]?)?(?P<glyph>{_GLYPH})"
    r"|(?:(?P<whole_before>\d+)[ –-])?(?P<over>\d+) ?/ ?(?P<under>\d+)"
    r"|(?P<run>[\d.,]*\d[\d.,]*))"
    r"(?P<unit>.*)",
    re.ASCII,
)
_FEET = re.compile(rf"(?P<feet>(?:- ?)?\d+) ?(?:'|ft\.?|foot|feet) ?(?:[–-] ?)?(?P<inches>(?:\d|{_GLYPH}).*)", re.ASCII | re.IGNORECASE)
# "5.11'" is five foot eleven to whoever writes heights so, and 5.11 feet to a rule in tenths: they differ by 18 cm.
_FEET_OR_INCHES = re.compile(r"-? ?(?P<feet>\d+)[.,](?P<inches>[1-9]|0[1-9]|1[01]) ?'", re.ASCII)
_INCH_MARKS = frozenset({"", '"', "in", "inch", "inches"})
_NOT_IN_A_UNIT = re.compile(rf"[\d,*^=+<>()\[\]{{}}_;:!?&|~@$±≈×÷–—\\]|{_GLYPH}", re.ASCII)
_GAUGE = re.compile(r"#? ?[\d./ ]*\d ?(?:ga|gage|gauge|swg|bwg|awg)\b|(?:ga|gage|gauge|swg|bwg|awg)[. ]*\d", re.ASCII | re.IGNORECASE)

# What a text that isn't a number and a unit looks like: the first that matches from its start names the fault.
_LOOKS_LIKE: tuple[tuple[re.Pattern[str], Fault], ...] = tuple(
    (re.compile(pattern, re.ASCII | re.IGNORECASE), Fault(*reason) if isinstance(reason, tuple) else Fault(reason))
    for pattern, reason in (
        (r".*(?:±|\+ ?/ ?-|\+-)", RefusalCode.UNCERTAINTY),
        (r".*<", RefusalCode.UPPER_BOUND),
        (r".*>", RefusalCode.BOUND),
        (r"[^+]*\d[^\d+]*\+ ?[a-z\"']*$", RefusalCode.BOUND),
        (r"(?:[~≈]|ca?[. ]|about|approx|around)", RefusalCode.APPROXIMATE),
        (rf"(?:(?!\d|{_GLYPH}).)*$", RefusalCode.NO_NUMBER),
        (r"[-+]?0[xob][\da-f]", RefusalCode.NUMBER_SHAPE),
        (r"[-+]?[\d.,]+e[-+]?\d", RefusalCode.EXPONENT),
        (r".*[*^()=×÷+]", RefusalCode.SUM),
        (rf".*(?:\d|{_GLYPH})[^\d]*(?:[-–—]|\bto\b) ?(?:\d|{_GLYPH})", RefusalCode.RANGE),
        (rf".*(?:\d|{_GLYPH})[^\d]*[ a-z°%\"'#@/][^\d]*(?:\d|{_GLYPH})", RefusalCode.TWO_NUMBERS),
        (r"(?:h?r[cb]|hv|hbw?) ?\d", (RefusalCode.WRONG_KIND, "a hardness")),
    )
)


def tidied(text: str) -> str | Fault:
    """The text in plain ASCII and one space between words; empty if nothing was typed.

    A text too long, or with a character that no number or unit has, is a fault.
    """
    if len(text) > LONGEST:
        return Fault(RefusalCode.TOO_LONG)
    # A line break at either end came along when it was pasted. Within the text it may part two numbers.
    plain = text.strip(" \t\r\n").translate(_SAME_AS)
    for character in plain:
        if not (" " <= character <= "~" or character in _ALSO_KNOWN):
            return Fault(RefusalCode.CHARACTER, detail=_called(character))
    return " ".join(plain.split())


def number_and_unit(plain: str) -> Written | Fault:
    """Read a tidied, non-empty text."""
    if plain[0] in "–—" and plain[1:].lstrip()[:1].isdigit():
        plain = "-" + plain[1:]  # a phone's long dash in front of a number can only be a minus
    if _GAUGE.match(plain):
        return Fault(RefusalCode.GAUGE)
    unclear = _FEET_OR_INCHES.fullmatch(plain)
    if unclear:
        return _feet_with_a_point(plain, unclear)
    feet = _FEET.fullmatch(plain)
    if feet:
        return _feet_and_inches(plain, feet)
    match = _NUMBER.fullmatch(plain)
    if match is None or _NOT_IN_A_UNIT.search(_without_stop(match["unit"])):
        return fault_of(plain)
    size = _size(match)
    if isinstance(size, Fault):
        return size
    return Written(float(-size if match["sign"] == "-" else size), tidy_unit(match["unit"]))


def tidy_unit(text: str) -> str:
    """ "m / s" and "m/s", "gr." and "gr" are the same unit."""
    return re.sub(r" ?([/·]) ?", r"\1", _without_stop(text).strip())


def decimal(run: str) -> Fraction | Fault:
    """A run of digits, points and commas: a whole number or a decimal, if it can be only one."""
    if run.isdigit() or re.fullmatch(r"\d*\.\d+", run):
        return Fraction(run)
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", run):
        return Fault(RefusalCode.AMBIGUOUS, readings=(run.replace(",", "."), run.replace(",", "")))
    if re.fullmatch(r"\d*,\d+", run):
        return Fraction(run.replace(",", "."))
    mixed = re.fullmatch(r"(\d+)[.,](\d+)[.,](\d+)", run)
    if mixed and "." in run and "," in run:
        first, middle, last = mixed.groups()
        return Fault(RefusalCode.AMBIGUOUS, readings=(f"{first}{middle}.{last}", f"{first}.{middle}{last}"))
    if re.fullmatch(r"\d{1,3}(?:,\d{3})+|\d{1,3}(?:\.\d{3}){2,}", run):
        return Fault(RefusalCode.GROUPED, readings=(run.replace(",", "").replace(".", ""),))
    return Fault(RefusalCode.NUMBER_SHAPE)


def _size(match: re.Match[str]) -> Fraction | Fault:
    if match["glyph"]:
        return int(match["whole"] or 0) + _GLYPHS[match["glyph"]]
    if match["run"]:
        return decimal(match["run"])
    over, under = int(match["over"]), int(match["under"])
    if under == 0 or (match["whole_before"] and over >= under):
        return Fault(RefusalCode.FRACTION)
    return int(match["whole_before"] or 0) + Fraction(over, under)


def _feet_and_inches(plain: str, feet: re.Match[str]) -> Written | Fault:
    """`5' 10½"` is 70.5 in. Twelve inches and more after the feet are a slip: 5 ft 14 in."""
    inches = number_and_unit(feet["inches"])
    if isinstance(inches, Fault):
        return inches
    if inches.unit_text.lower() not in _INCH_MARKS:
        return Fault(RefusalCode.TWO_NUMBERS)
    if inches.number >= 12:
        return Fault(RefusalCode.NUMBER_SHAPE)
    whole = int(feet["feet"].lstrip("- ")) * 12 + inches.number
    return Written(-whole if plain.startswith("-") else whole, "in")


def _feet_with_a_point(plain: str, unclear: re.Match[str]) -> Fault:
    """Both readings in a form that can be typed back: feet and inches, or inches alone."""
    sign = "-" if plain.startswith("-") else ""
    inches = Fraction(f"{unclear['feet']}.{unclear['inches']}") * 12
    readings = (f"{sign}{unclear['feet']}' {int(unclear['inches'])}\"", f"{sign}{float(inches):g} in")
    return Fault(RefusalCode.FEET_OR_INCHES, readings=readings)


def _without_stop(unit: str) -> str:
    return unit[:-1] if unit.endswith(".") and unit[-2:-1].isalpha() else unit


def fault_of(plain: str) -> Fault:
    """What is wrong with a text that is no number with a unit."""
    for pattern, fault in _LOOKS_LIKE:
        if pattern.match(plain):
            return fault
    return Fault(RefusalCode.NUMBER_SHAPE)


def _called(character: str) -> str:
    """What to call a character that isn't let in, so that one that can't be seen can be found."""
    named = _NAMED.get(character)
    if named:
        return named
    if character.isprintable() and unicodedata.category(character)[0] in "LNPS":
        return f"“{character}”"
    return f"a hidden character (U+{ord(character):04X})"
