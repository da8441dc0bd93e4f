"""How hard a plate or a head is: a value on a named scale, or a bracket from hardness picks.

Nothing is converted between scales here: a converted hardness is an estimate and belongs to physics.
A pick that slides is softer than the steel, a pick that bites is harder, and one that sticks is about as hard.
A set of picks steps by 5 HRC, so what it tells is an interval, open where the set ends (common practice, no source).
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities.grammar import Fault, decimal, fault_of, tidied
from proofyard.quantities.refused import RefusalCode, Refused, fit_to_print
from proofyard.quantities.typed import Empty
from proofyard.quantities.written import plainly


@dataclass(frozen=True)
class Hardness:
    """A value with its scale; `conditions` is what stood behind it, "10" in 180 HV10 and "10/3000" in HBW 10/3000."""

    value: float
    scale: str
    conditions: str
    typed: str
    warnings: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        return f"{plainly(self.value)}\u00a0{self.scale}{' ' if '/' in self.conditions else ''}{self.conditions}"


@dataclass(frozen=True)
class _Scale:
    starts: float
    ends: float
    usual: tuple[float, float]
    below: tuple[str, str]  # what to type instead of a value below the start, and an example
    above: tuple[str, str]


_AS_HV = ("it as HV", "180 HV")
_AS_HV_HARD = ("it as HV", "780 HV")

# Where scales start and end: ISO 6506-1, 6507-1, 6508-1, from memory. Usual: common practice, no source.
SCALES: Mapping[str, _Scale] = MappingProxyType(
    {
        "HV": _Scale(5.0, 3000.0, (80.0, 900.0), _AS_HV, _AS_HV_HARD),
        "HRC": _Scale(20.0, 70.0, (20.0, 66.0), _AS_HV, _AS_HV_HARD),
        "HBW": _Scale(8.0, 650.0, (80.0, 600.0), _AS_HV, _AS_HV_HARD),
        "HB": _Scale(8.0, 650.0, (80.0, 600.0), _AS_HV, _AS_HV_HARD),
        "HRB": _Scale(10.0, 100.0, (40.0, 100.0), _AS_HV, ("it as HV", "240 HV")),
    }
)

_CONDITIONS = r"(?P<conditions>\d{1,2}(?:\.\d{1,3})?(?:/\d{1,4}(?:\.\d{1,3})?){0,2})"
_VALUE_FIRST = re.compile(rf"(?P<run>[\d.,]+) ?(?P<scale>[A-Za-z]+)(?: ?{_CONDITIONS})?", re.ASCII)
_SCALE_FIRST = re.compile(r"(?P<scale>[A-Za-z]+) ?(?P<run>[\d.,]+)", re.ASCII)
_ALONE = re.compile(r"(?P<run>[\d.,]+)", re.ASCII)
_ALSO_CALLED = MappingProxyType({"RC": "HRC", "RB": "HRB"})  # "Rc 52", as it is stamped and said in workshops
_TAKES_CONDITIONS = frozenset({"HV", "HBW", "HB"})

_EXPECTED, _EXAMPLE = "a hardness with its scale", "180 HV or 52 HRC"


def read_hardness(text: str, *, scale: str | None = None) -> Hardness | Refused | Empty:
    """Read a hardness: `180 HV`, `180 HV10`, `HRC 52`. A number alone takes `scale`, or is refused if none is shown.

    >>> read_hardness("52 HRC").words.replace("\u00a0", " ")
    '52 HRC'
    """
    plain = tidied(text)
    if plain == "":
        return Empty(text)
    if isinstance(plain, Fault):
        return _refused(text, plain.reason, detail=plain.detail)
    match = _VALUE_FIRST.fullmatch(plain) or _SCALE_FIRST.fullmatch(plain) or _ALONE.fullmatch(plain)
    if match is None:
        reason = fault_of(plain).reason
        return _refused(text, RefusalCode.NUMBER_SHAPE if reason is RefusalCode.WRONG_KIND else reason)
    parts = match.groupdict()
    value = decimal(parts["run"])
    if isinstance(value, Fault):
        return _refused(text, value.reason, readings=value.readings)
    name = (parts.get("scale") or scale or "").upper()
    name = _ALSO_CALLED.get(name, name)
    if not name:
        return _refused(text, RefusalCode.NO_SCALE)
    conditions = parts.get("conditions") or ""
    if name not in SCALES or (conditions and name not in _TAKES_CONDITIONS):
        unknown = plain.removeprefix(parts["run"]).strip()
        return _refused(text, RefusalCode.UNKNOWN_SCALE, detail=unknown, takes=tuple(SCALES))
    return _on_scale(text, float(value), name, conditions)


def _on_scale(text: str, value: float, name: str, conditions: str) -> Hardness | Refused:
    scale = SCALES[name]
    for outside, end, instead in (
        (value < scale.starts, f"{name} starts at {plainly(scale.starts)}", scale.below),
        (value > scale.ends, f"{name} ends at {plainly(scale.ends)}", scale.above),
    ):
        if outside:
            return Refused(fit_to_print(text), *instead, RefusalCode.OUT_OF_SCALE, detail=end)
    low, high = scale.usual
    warnings = (
        ()
        if low <= value <= high
        else (f"{plainly(value)}\u00a0{name} is unusual ({plainly(low)} to {plainly(high)} is usual). Look again.",)
    )
    return Hardness(value, name, conditions, text, warnings)


@dataclass(frozen=True)
class Bracket:
    """Harder than `above_hrc`, softer than `below_hrc`, about `near_hrc`. None where nothing was found on that side."""

    above_hrc: float | None
    below_hrc: float | None
    near_hrc: float | None = None

    def __post_init__(self) -> None:
        ends = [hrc for hrc in (self.above_hrc, self.near_hrc, self.below_hrc) if hrc is not None]
        if not ends or sorted(set(ends)) != ends:
            raise ValueError("a bracket needs an end at least, and its ends in order")

    @property
    def words(self) -> str:
        """ "softer than 40 HRC", "between 45 and 50 HRC", "harder than 65 HRC", "about 50 HRC"."""
        above, below = (plainly(hrc) if hrc is not None else "" for hrc in (self.above_hrc, self.below_hrc))
        sides = {
            (True, True): f"between {above} and {below}\u00a0HRC",
            (True, False): f"harder than {above}\u00a0HRC",
            (False, True): f"softer than {below}\u00a0HRC",
            (False, False): "",
        }[bool(above), bool(below)]
        near = "" if self.near_hrc is None else f"about {plainly(self.near_hrc)}\u00a0HRC"
        return ", ".join(filter(None, (near, sides)))


def bracket_from_picks(*, slides: float | None = None, bites: float | None = None, sticks: float | None = None) -> Bracket | Refused:
    """The bracket from the hardest pick that slides, the softest that bites, and one that sticks, each in HRC.

    >>> bracket_from_picks(slides=45, bites=50).words.replace("\u00a0", " ")
    'between 45 and 50 HRC'
    """
    named = {"slides": slides, "sticks": sticks, "bites": bites}
    given = {name: hrc for name, hrc in named.items() if hrc is not None}
    scale = SCALES["HRC"]
    if not given:
        return Refused("", "the hardest pick that slides or the softest that bites", "50", RefusalCode.NO_PICKS)
    for name, hrc in given.items():
        if not scale.starts <= hrc <= scale.ends:
            said = f"{hrc:g}\u00a0HRC {name}"
            return Refused(said, "the number on the pick", "50", RefusalCode.OUT_OF_SCALE, detail="A pick is 20 to 70 HRC")
    said = ", ".join(f"{plainly(hrc)}\u00a0HRC {name}" for name, hrc in given.items())
    if slides is not None and bites is not None and slides >= bites:
        return Refused(said, "", "", RefusalCode.PICKS_CROSS)
    if sticks is not None and ((slides is not None and slides >= sticks) or (bites is not None and sticks >= bites)):
        return Refused(said, "", "", RefusalCode.STICK_OUTSIDE)
    return Bracket(slides, bites, sticks)


def _refused(text: str, reason: RefusalCode, *, detail: str = "", readings: tuple[str, ...] = (), takes: tuple[str, ...] = ()) -> Refused:
    return Refused(fit_to_print(text), _EXPECTED, _EXAMPLE, reason, detail, readings, takes)
