"""What a what-if starts from: the panel's own 50 % energy, that of all panels of its sort, or printed rules; and its measures."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from server.findings.cells import CountedShot, counted_shot
from server.findings.half.point import half_point
from server.findings.hardness_found import range_words, ranges_of_readings
from server.findings.loosed import Loosed, LoosedShot
from server.findings.results import sort_shots
from server.findings.row_groups import settled
from server.findings.view_settings import ViewSettings, sort_of
from server.findings.what_if.ask import WhatIfAsked
from server.physics.hardness import HardnessRange, StrengthRange, strength_of
from server.physics.ranges import CantTell as NoHardness
from server.records.instrument import HardnessReading, Reading
from server.records.panel import CONSTRUCTIONS, PLATED, Panel, PanelBuild
from server.statistics.fifty_percent_point import Curve, EnergyPoint

# A tester's single reading and the table behind a strength: about a tenth either way.
STRENGTH_SHARE = 0.1
# Sheets sold as one thickness differ by about as much: common practice, no source.
SAME_SHARE = 0.03


@dataclass(frozen=True)
class Armour:
    """One panel build as it is known: what a change starts from. None where nobody measured or said it."""

    panel: Panel
    build: PanelBuild
    thickness_m: float | None
    thickness_words: str
    strength: StrengthRange | None
    hardness_words: str
    angle_rad: float
    distance_m: float | None

    @property
    def construction(self) -> str | None:
        return self.panel.construction

    @property
    def plated(self) -> bool:
        return self.construction in PLATED

    @property
    def made(self) -> str:
        return CONSTRUCTIONS.get(self.construction or "", "Construction not said").lower()


@dataclass(frozen=True, eq=False)
class Basis:
    """The shots that the answer rests on. `point` None: `why_not` says why; then printed rules stand in, if there are any.

    of          panel, sort or model
    names       of the panels whose shots are in it
    heads       forms of head among them
    either      counted shots whose rear is not seen yet: in no curve
    place       where the energies hold
    """

    of: str
    names: tuple[str, ...]
    sort_words: str
    shots: tuple[CountedShot, ...]
    either: int
    place: str
    heads: tuple[str, ...]
    curve: Curve | None
    point: EnergyPoint | None
    why_not: str

    @property
    def hits(self) -> int:
        return sum(one.through_low for one in self.shots)

    @property
    def energies_j(self) -> tuple[float, ...]:
        return tuple(one.energy.value for one in self.shots if one.energy is not None)


def basis_of(loosed: Loosed, panel: Panel, *, build: PanelBuild, asked: WhatIfAsked) -> Basis:
    """The 50 % energy to start from; without a choice this panel's own if both its ends are bounded, else its sort's."""
    mine = [shot for shot in loosed.shots if shot.fact.panel_build_id == build.id]
    sort = next((sort_of(shot.fact) for shot in loosed.shots if shot.fact.panel_id == panel.id), None)
    alike = [shot for shot in loosed.shots if sort is not None and sort_of(shot.fact) == sort]
    words = sort[1] if sort else CONSTRUCTIONS.get(panel.construction or "", "armour").lower()
    if asked.basis == "model":
        return Basis("model", (), words, (), 0, "target", (), None, None, "you asked for printed rules alone")
    own = _placed("panel", mine, asked, words=words)
    if asked.basis == "panel" or (not asked.basis and own.point is not None and None not in (own.point.low_j, own.point.high_j)):
        return own
    whole = _placed("sort", alike, asked, words=words)
    if asked.basis == "sort" or whole.point is not None:
        return whole
    return own if own.point is not None else whole


def _placed(of: str, shots: Sequence[LoosedShot], asked: WhatIfAsked, *, words: str) -> Basis:
    view = settled(ViewSettings(heads=(asked.head,) if asked.head else (), through=asked.through), shots)
    counted = [counted_shot(shot, view, edges=()) for shot in sort_shots(Loosed(tuple(shots), (), {}), view).counted]
    found = half_point(counted)
    return Basis(
        of=of,
        names=tuple(dict.fromkeys(one.shot.fact.panel_name for one in found.settled)),
        sort_words=words,
        shots=found.settled,
        either=len(found.open_shots),
        place=view.place,
        heads=tuple(dict.fromkeys(one.shot.fact.form or "not_said" for one in found.settled)),
        curve=found.curve,
        point=found.point,
        why_not=found.why_not if found.settled or found.open_shots else _none_words(shots),
    )


def own_panels_at(loosed: Loosed, armour: Armour, *, asked: WhatIfAsked, thickness_m: float) -> Basis | None:
    """What the book's own panels of that thickness say, made as this one; None where there are none, or they say nothing."""
    alike = [
        shot
        for shot in loosed.shots
        if shot.fact.construction == armour.construction
        and shot.fact.panel_build_id != armour.build.id
        and shot.fact.thickness_m is not None
        and abs(shot.fact.thickness_m - thickness_m) <= SAME_SHARE * thickness_m
    ]
    found = _placed("sort", alike, asked, words="") if alike else None
    return found if found is not None and found.point is not None else None


def _none_words(shots: Sequence[LoosedShot]) -> str:
    return "no fair hit on it has a measured energy and a read outcome" if shots else "nothing was shot at it yet"


def armour_of(
    panel: Panel, build: PanelBuild, *, loosed: Loosed, thickness: Sequence[Reading], hardness: Sequence[HardnessReading]
) -> Armour:
    """The build's measures: means of its readings, else as sold; the set-up that it was mostly shot in."""
    mine = [shot.fact for shot in loosed.shots if shot.fact.panel_build_id == build.id]
    kept = [row.value_si for row in thickness if row.record_id == build.id and row.measured == "thickness" and not row.left_out_reason]
    value, words = panel.thickness_m, "as sold, not measured"
    if kept:
        value, words = math.fsum(kept) / len(kept), f"mean of {len(kept)} readings" if len(kept) > 1 else "one reading"
    found = _hardness([row for row in hardness if row.record_id == build.id])
    return Armour(
        panel=panel,
        build=build,
        thickness_m=value,
        thickness_words=words if value else "nobody measured it",
        strength=None if found is None else _strength(found),
        hardness_words="" if found is None else range_words(found),
        angle_rad=abs(_most_often(fact.setup_angle_rad for fact in mine) or 0.0),
        distance_m=_most_often(fact.distance_m for fact in mine),
    )


def _hardness(rows: Sequence[HardnessReading]) -> HardnessRange | None:
    """From the softest to the hardest place: the arrow doesn't say which it struck. None where nobody tried it."""
    kept = [row for row in rows if row.struck_rev is None and not row.left_out_reason]
    ranges = [one for one in ranges_of_readings(kept) if one.scale in ("HV", "HRC", "HBW")]
    if not ranges or len({one.scale for one in ranges}) > 1:
        return None
    lows, highs = [one.low for one in ranges], [one.high for one in ranges]
    low = None if None in lows else min(one for one in lows if one is not None)
    high = None if None in highs else max(one for one in highs if one is not None)
    return HardnessRange(low, high, ranges[0].scale)


def _strength(found: HardnessRange) -> StrengthRange | None:
    strength = strength_of(found)
    if isinstance(strength, NoHardness):
        return None
    if strength.low_pa is not None and strength.low_pa == strength.high_pa:
        return StrengthRange(strength.low_pa * (1 - STRENGTH_SHARE), strength.low_pa * (1 + STRENGTH_SHARE))
    return strength


def _most_often(values: Iterable[float | None]) -> float | None:
    counts: dict[float, int] = {}
    for value in values:
        if value is not None:
            counts[value] = counts.get(value, 0) + 1
    return max(counts, key=lambda value: counts[value], default=None)


def panel_choices(panels: Sequence[tuple[Panel, PanelBuild]], loosed: Loosed) -> Mapping[str, str]:
    """Build id -> its name, how it is made and how many were loosed at it."""
    counts: dict[str, int] = {}
    for shot in loosed.shots:
        counts[shot.fact.panel_build_id] = counts.get(shot.fact.panel_build_id, 0) + 1
    builds: dict[str, int] = {}
    for panel, _ in panels:
        builds[panel.id] = builds.get(panel.id, 0) + 1
    return {
        build.id: f"{panel.name}{f', build {build.number}' if builds[panel.id] > 1 else ''}: {_made(panel)}, {_shots(counts.get(build.id, 0))}"
        for panel, build in panels
    }


def _made(panel: Panel) -> str:
    words = CONSTRUCTIONS.get(panel.construction or "", "construction not said").lower()
    return f"{panel.thickness_m * 1000:.3g}\N{NO-BREAK SPACE}mm {words}" if panel.thickness_m else words


def _shots(count: int) -> str:
    return "no shots" if not count else f"{count} shot{'s' if count != 1 else ''}"
