"""A set of harder heads that was only there on one day: hardness and the day can't be told apart."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from server.findings.caveats.caveat import Caveat, days_listed, listed, rests_on
from server.findings.caveats.view import View, by
from server.findings.loosed import LoosedShot
from server.physics.hardness import HardnessRange, convert_hardness
from server.records.caveat_facts import HeadHardness


@dataclass(frozen=True)
class Bounds:
    """Where a head's hardness lies, in HRC; None where that end is open."""

    low: float | None
    high: float | None


def bounds_of(readings: Iterable[HeadHardness]) -> Mapping[str, Bounds]:
    """By head: harder than all picks that slid or stuck, softer than all that bit; a tester's value on the HRC scale."""
    lows: dict[str, list[float]] = {}
    highs: dict[str, list[float]] = {}
    for one in readings:
        value = _on_hrc(one)
        lows.setdefault(one.head_id, []).extend(v for v in (one.slides_hrc, one.sticks_hrc, value) if v is not None)
        highs.setdefault(one.head_id, []).extend(v for v in (one.bites_hrc, one.sticks_hrc, value) if v is not None)
    return {head: Bounds(min(lows[head], default=None), max(highs[head], default=None)) for head in lows}


def _on_hrc(one: HeadHardness) -> float | None:
    if one.value is None or one.scale is None:
        return None
    if one.scale == "HRC":
        return one.value
    found = convert_hardness(HardnessRange(one.value, one.value, one.scale), to="HRC") if one.scale in ("HV", "HBW") else None
    return found.low if isinstance(found, HardnessRange) else None


def hardness_and_day(view: View) -> list[Caveat]:
    """One caveat for all forms whose harder heads, or whose softer ones, stood on days of their own."""
    known = bounds_of(view.facts.hardness)
    if "day" in view.varied or not known:
        return []
    harder: list[LoosedShot] = []
    forms = []
    for form, shots in by(view.shots, "form").items():
        sets = _two_sets(shots, known)
        if sets and _parted(*sets):
            harder += sets[0]
            forms.append((form, *sets))
    if not forms:
        return []
    days = {shot.fact.day for shot in harder}
    others = {shot.fact.day for _, _, soft in forms for shot in soft}
    within = f"compare them within {days_listed(days & others)}." if days & others else "no day had both."
    names = sorted({shot.fact.head_name or "a head with no name" for shot in harder})
    words = (
        f"The harder heads ({listed(names)}) were shot on {days_listed(days)}{' only' if len(days) == 1 else ''}, the softer ones of their form on "
        f"{days_listed(others)}. Across days hardness can’t be told from all else that changed: {within}"
    )
    return [Caveat("hardness_and_day", words, "heads of one form that differ in hardness", rests_on(harder))]


def _two_sets(shots: Sequence[LoosedShot], known: Mapping[str, Bounds]) -> tuple[list[LoosedShot], list[LoosedShot]] | None:
    """The harder and the softer, where a line parts them: the lowest that has heads surely on both sides."""
    told = [(shot, known[shot.fact.head_id or ""]) for shot in shots if shot.fact.head_id in known]
    for line in sorted({bounds.low for _, bounds in told if bounds.low is not None}):
        hard = [shot for shot, bounds in told if bounds.low is not None and bounds.low >= line]
        soft = [shot for shot, bounds in told if bounds.high is not None and bounds.high < line]
        if hard and soft:
            return hard, soft
    return None


def _parted(hard: Sequence[LoosedShot], soft: Sequence[LoosedShot]) -> bool:
    """Whether one of the two was there on a day of the other's only."""
    days = {shot.fact.day for shot in hard}, {shot.fact.day for shot in soft}
    return days[0] != days[1] and (len(days[0]) == 1 or len(days[1]) == 1)
