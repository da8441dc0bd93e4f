"""How hard a piece is, place by place: picks and testers as one interval, on other scales by the printed table, as about a strength."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from proofyard.physics.hardness import (
    HardnessRange,
    brinell_thinnest_m,
    combine_hardness,
    convert_hardness,
    range_of_picks,
    strength_of,
    thick_enough,
    vickers_thinnest_m,
)
from proofyard.quantities import Bracket, Hardness, bracket_from_picks, plainly, read_hardness, with_unit
from proofyard.quantities.reason import CantTell, OutOfRange, Reason, because
from proofyard.records.instrument import HardnessReading
from proofyard.wording.reasons.said import said as reason_words

IN_TABLE = ("HRC", "HV", "HBW")
NEWTONS_PER_KGF = 9.80665


@dataclass(frozen=True)
class Worked:
    """One line: what it is, in words what was found or why not, and the method behind it."""

    label: str
    words: str
    method: str = ""


def hardness_worked_out(rows: Sequence[HardnessReading], *, thickness_m: float | None = None) -> tuple[Worked, ...]:
    """A few lines a place. Places of one piece differ, so nothing is put together across them."""
    kept = [row for row in rows if row.voided_rev is None and not row.left_out_reason]
    lines: list[Worked] = []
    for place in dict.fromkeys((row.place or "").strip() for row in kept):
        mine = [row for row in kept if (row.place or "").strip() == place]
        lines += _of_place(place, mine)
    return (*lines, *_too_thin(kept, thickness_m))


def _of_place(place: str, rows: Sequence[HardnessReading]) -> list[Worked]:
    where = f", {place}" if place else ""
    ranges = ranges_of_readings(rows)
    on_table = [one for one in ranges if one.scale in IN_TABLE]
    found = _together(on_table)
    lines = [Worked(f"Hardness{where}", range_words(one), "combine_hardness") for one in ranges if one.scale not in IN_TABLE]
    if isinstance(found, CantTell):
        return lines + (
            [Worked(f"Hardness{where}", reason_words(because("hardness_not_told", why=found.reason)), "combine_hardness")]
            if on_table
            else []
        )
    surface = because("hardness_of_the_surface", range=range_words(found))
    lines.append(Worked(f"Hardness{where}", reason_words(surface), "combine_hardness"))
    on_others = [one for scale in IN_TABLE if scale != found.scale and isinstance(one := convert_hardness(found, to=scale), HardnessRange)]
    if on_others:
        converted = because("hardness_converted", ranges=tuple(map(range_words, on_others)))
        lines.append(Worked(f"On other scales{where}", reason_words(converted), "convert_hardness"))
    strength = strength_of(found)
    if not isinstance(strength, CantTell):
        low, high = (None if end is None else float(round(end / 1e6, -1)) for end in (strength.low_pa, strength.high_pa))
        mpa = HardnessRange(low, high, "MPa")
        lines.append(Worked(f"Strength{where}", reason_words(because("strength_by_hardness", range=range_words(mpa))), "strength_of"))
    return lines


def _together(ranges: Sequence[HardnessRange]) -> HardnessRange | CantTell:
    """On their own scale where all share one; else on the scale that knows most ends: softer than 20 HRC only Vickers does."""
    own = {one.scale for one in ranges}
    scales = (*own, "HRC", "HV") if len(own) == 1 else ("HRC", "HV")
    found = [combine_hardness(ranges, scale=scale) for scale in scales]
    known = [one for one in found if isinstance(one, HardnessRange)]
    return max(known, key=lambda one: (one.low is not None) + (one.high is not None), default=found[0])


def on_rockwell_c(rows: Sequence[HardnessReading]) -> tuple[float | None, float | None]:
    """Low and high end in HRC of a piece that was read in one place; nothing is put together across places."""
    kept = [row for row in rows if row.voided_rev is None and not row.left_out_reason]
    ranges = [one for one in ranges_of_readings(kept) if one.scale == "HRC"]
    if not ranges or len({(row.place or "").strip() for row in kept}) != 1:
        return None, None
    found = combine_hardness(ranges)
    return (found.low, found.high) if isinstance(found, HardnessRange) else (None, None)


def on_vickers(rows: Sequence[HardnessReading]) -> HardnessRange | None:
    """What picks and testers leave of a piece, from its softest place to its hardest, in HV; an end that they leave open stays open.

    None where nothing was read that the table knows, or the readings of a place contradict each other.
    """
    kept = [row for row in rows if row.voided_rev is None and not row.left_out_reason]
    places: dict[str, list[HardnessReading]] = {}
    for row in kept:
        places.setdefault((row.place or "").strip(), []).append(row)
    found = [combine_hardness([one for one in ranges_of_readings(mine) if one.scale in IN_TABLE], scale="HV") for mine in places.values()]
    known = [one for one in found if isinstance(one, HardnessRange)]
    if not known or len(known) < len(found):
        return None
    lows, highs = [one.low for one in known if one.low is not None], [one.high for one in known if one.high is not None]
    return HardnessRange(min(lows) if len(lows) == len(known) else None, max(highs) if len(highs) == len(known) else None, "HV")


def hardness_hv(rows: Sequence[HardnessReading]) -> float | None:
    """The middle of what picks and testers leave, in HV; None where an end is open: no middle is invented."""
    found = on_vickers(rows)
    return (found.low + found.high) / 2 if found and found.low is not None and found.high is not None else None


def by_piece(rows: Iterable[HardnessReading]) -> dict[str, list[HardnessReading]]:
    """The readings of each panel build and head, by its id."""
    found: dict[str, list[HardnessReading]] = {}
    for one in rows:
        found.setdefault(one.record_id, []).append(one)
    return found


def ranges_of_readings(rows: Sequence[HardnessReading]) -> list[HardnessRange]:
    """What picks and testers say of a piece, each as an interval on its own scale."""
    return [*_by_picks(rows), *_by_testers(rows)]


def _by_picks(rows: Sequence[HardnessReading]) -> list[HardnessRange]:
    found = (
        bracket_from_picks(slides=row.slides_hrc, bites=row.bites_hrc, sticks=row.sticks_hrc)
        for row in rows
        if (row.slides_hrc, row.bites_hrc, row.sticks_hrc) != (None, None, None)
    )
    return [range_of_picks(one) for one in found if isinstance(one, Bracket)]


def _by_testers(rows: Sequence[HardnessReading]) -> list[HardnessRange]:
    """From the least to the greatest on each scale: readings of one place scatter, and that isn't a contradiction."""
    values: dict[str, list[float]] = {}
    for row in rows:
        if row.value is not None and row.scale:
            values.setdefault(row.scale, []).append(row.value)
    return [HardnessRange(min(read), max(read), scale) for scale, read in values.items()]


def range_words(found: HardnessRange) -> str:
    """ "45 to 50 HRC", "harder than 45 HRC", "softer than 40 HRC"; for a strength "1250 to 1760 MPa"."""
    low, high = (None if end is None else plainly(end, figures=3 if end < 1000 else 4) for end in (found.low, found.high))
    more, less = ("above", "below") if found.scale == "MPa" else ("harder than", "softer than")
    if low is None:
        return with_unit(f"{less} {high}", found.scale)
    if high is None:
        return with_unit(f"{more} {low}", found.scale)
    return with_unit(low if low == high else f"{low} to {high}", found.scale)


def _too_thin(rows: Sequence[HardnessReading], thickness_m: float | None) -> list[Worked]:
    """Testers whose dent meant the anvil's hardness too. Picks only mark the surface."""
    if thickness_m is None:
        return []
    said = []
    for row in rows:
        if row.value is not None and row.scale and (why := _thinness(row, thickness_m)):
            said.append(Worked(f"{plainly(row.value)} {row.scale}", reason_words(why[0]), why[1]))
    return said


def _thinness(row: HardnessReading, thickness_m: float) -> tuple[Reason, str] | None:
    assert row.value is not None
    if row.scale in ("HRC", "HRB"):
        enough = thick_enough(thickness_m, HardnessRange(row.value, row.value, row.scale))
        return None if enough is True else (because("hardness_anvil_felt", here_m=thickness_m), "thick_enough")
    least = _thinnest(row)
    if least is None or least <= thickness_m:
        return None
    method = "vickers_thinnest_m" if row.scale == "HV" else "brinell_thinnest_m"
    return because("hardness_too_thin", least_m=least, here_m=thickness_m), method


def _thinnest(row: HardnessReading) -> float | None:
    """From the load that was typed with it, as in 180 HV10 or HBW 10/3000; None where no load was."""
    read = read_hardness(str(json.loads(row.typed).get("value") or ""), scale=row.scale)
    parts = read.conditions.split("/") if isinstance(read, Hardness) and read.conditions else []
    assert row.value is not None
    try:
        if row.scale == "HV" and parts:
            return vickers_thinnest_m(row.value, float(parts[0]) * NEWTONS_PER_KGF)
        if row.scale == "HBW" and len(parts) > 1:
            return brinell_thinnest_m(row.value, float(parts[1]) * NEWTONS_PER_KGF, ball_m=float(parts[0]) / 1000)
    except OutOfRange:
        return None
    return None
