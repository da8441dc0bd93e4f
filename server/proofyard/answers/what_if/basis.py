"""What a what-if starts from: the panel's own 50 % energy, that of all panels of its type, or published rules; and its measures."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from proofyard.answers.what_if.ask import WhatIfAsked
from proofyard.physics.hardness import HardnessRange, StrengthRange, strength_of
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.instrument import HardnessReading, Instrument, Reading
from proofyard.records.panel import CONSTRUCTIONS, PLATED, Panel, PanelBuild
from proofyard.records.shot_facts import LayerBehind
from proofyard.shots.hardness_found import range_words, ranges_of_readings
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.shots.panel_weight import areal_of, thickness_of
from proofyard.shots.readings import measured
from proofyard.statistics.fifty_percent_point import Curve, EnergyPoint
from proofyard.views.cells import CountedShot, counted_shot, settled
from proofyard.views.counted import sort_shots
from proofyard.views.curve import fifty_percent_of
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import ViewSettings
from proofyard.wording.counts import counted

# A tester's single reading and the table behind a strength: about a tenth either way.
STRENGTH_SHARE = 0.1
# Sheets sold as one thickness differ by about as much: common practice, no source.
SAME_SHARE = 0.03


Layers = tuple[tuple[LayerBehind, ...], tuple[LayerBehind, ...]]


@dataclass(frozen=True)
class Armour:
    """One panel build as it is known: what a change starts from. None where nobody measured or said it.

    areal  what a square metre of it weighs, kg/m², as every page says
    """

    panel: Panel
    build: PanelBuild
    thickness_m: float | None
    thickness_from: Reason
    thickness_u_m: float | None
    areal: Uncertain | None
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
        return CONSTRUCTIONS.get(self.construction or "", "Construction not recorded").lower()


@dataclass(frozen=True, eq=False)
class Basis:
    """The shots that the answer rests on. `point` None: `why_not` says why; then printed rules stand in, if there are any.

    of          panel, panel_type or model
    names       of the panels whose shots are in it
    heads       forms of head among them
    either      counted shots whose rear is not seen yet: in no curve
    place       where the energies hold
    behind      layers of garment and of backing behind all of them; None where nothing was shot
    """

    of: str
    names: tuple[str, ...]
    type_words: str
    shots: tuple[CountedShot, ...]
    either: int
    place: str
    heads: tuple[str, ...]
    curve: Curve | None
    point: EnergyPoint | None
    why_not: Reason | None
    behind: Layers | None = None

    @property
    def hits(self) -> int:
        return sum(one.through_low for one in self.shots)

    @property
    def energies_j(self) -> tuple[float, ...]:
        return tuple(one.energy.value for one in self.shots if one.energy is not None)


def basis_of(loosed: Loosed, panel: Panel, *, build: PanelBuild, asked: WhatIfAsked) -> Basis:
    """The 50 % energy to start from; without a choice this panel's own if both its ends are bounded, else its type's."""
    types = panel_types_at(loosed, panel, build=build)
    sort = asked.panel_type if asked.panel_type in types else next(iter(types), None)
    alike = [shot for shot in loosed.shots if sort is not None and panel_type_of(shot.fact)[0] == sort]
    mine = [shot for shot in alike if shot.fact.panel_build_id == build.id]
    words = types[sort] if sort else CONSTRUCTIONS.get(panel.construction or "", "armour").lower()
    if asked.basis == "model":
        return Basis("model", (), words, (), 0, "target", (), None, None, because("what_if_rules_asked_for"))
    own = _placed("panel", mine, asked, words=words)
    if asked.basis == "panel" or (not asked.basis and own.point is not None and None not in (own.point.low_j, own.point.high_j)):
        return own
    whole = _placed("panel_type", alike, asked, words=words)
    if asked.basis == "panel_type" or whole.point is not None:
        return whole
    return own if own.point is not None else whole


def panel_types_at(loosed: Loosed, panel: Panel, *, build: PanelBuild) -> Mapping[str, str]:
    """The panel types that it was shot as, key -> words: one, unless what lay behind it differed. The build's own first, the most shot."""
    at = [shot.fact for shot in loosed.shots if shot.fact.panel_id == panel.id]
    counts = Counter(panel_type_of(fact) for fact in at)
    own = Counter(panel_type_of(fact) for fact in at if fact.panel_build_id == build.id)
    return dict(sorted(counts, key=lambda one: (-own[one], -counts[one])))


def _placed(of: str, shots: Sequence[LoosedShot], asked: WhatIfAsked, *, words: str) -> Basis:
    view = settled(ViewSettings(heads=(asked.head,) if asked.head else (), through=asked.through), shots)
    counted = [counted_shot(shot, view, edges=()) for shot in sort_shots(Loosed(tuple(shots), (), {}), view).counted]
    found = fifty_percent_of(counted)
    return Basis(
        of=of,
        names=tuple(dict.fromkeys(one.shot.fact.panel_name for one in found.settled)),
        type_words=words,
        shots=found.settled,
        either=len(found.open_shots),
        place=view.place,
        heads=tuple(dict.fromkeys(one.shot.fact.form or "not_recorded" for one in found.settled)),
        curve=found.curve,
        point=found.point,
        why_not=because("what_if_note", why=found.why_not)
        if found.settled or found.open_shots
        else because("what_if_no_energy")
        if shots
        else because("what_if_not_shot_at"),
        behind=(shots[0].fact.behind.garment, shots[0].fact.behind.backing) if shots else None,
    )


def own_panels_at(loosed: Loosed, armour: Armour, *, asked: WhatIfAsked, behind: Layers | None, thickness_m: float) -> Basis | None:
    """What the book's own panels of that thickness say, made as this one, with the same `behind` them (None: whatever it was).

    None where there are none, or they say nothing.
    """
    alike = [
        shot
        for shot in loosed.shots
        if shot.fact.construction == armour.construction
        and shot.fact.panel_build_id != armour.build.id
        and shot.fact.thickness_m is not None
        and abs(shot.fact.thickness_m - thickness_m) <= SAME_SHARE * thickness_m
        and behind in (None, (shot.fact.behind.garment, shot.fact.behind.backing))
    ]
    found = _placed("panel_type", alike, asked, words="") if alike else None
    return found if found is not None and found.point is not None else None


def armour_of(
    panel: Panel,
    build: PanelBuild,
    *,
    loosed: Loosed,
    thickness: Sequence[Reading],
    hardness: Sequence[HardnessReading],
    tools: Mapping[str, Instrument],
) -> Armour:
    """The build's measures: means of its readings, else nominal; the set-up that it was mostly shot in."""
    mine = [shot.fact for shot in loosed.shots if shot.fact.panel_build_id == build.id]
    read = [row for row in thickness if row.record_id == build.id and row.measured == "thickness"]
    kept = [row.value_si for row in read if not row.left_out_reason]
    mean = measured(read, tools).mean
    sheet, _ = thickness_of(panel, mean)
    value, source = panel.thickness_m, because("what_if_nominal")
    if kept:
        value, source = math.fsum(kept) / len(kept), because("what_if_mean_of", readings=len(kept))
    found = _hardness([row for row in hardness if row.record_id == build.id])
    return Armour(
        panel=panel,
        build=build,
        thickness_m=value,
        thickness_from=source if value else because("what_if_unmeasured"),
        thickness_u_m=sheet.standard_uncertainty if sheet else None,
        areal=areal_of(panel, mean).value,
        strength=None if found is None else _strength(found),
        hardness_words="" if found is None else range_words(found),
        angle_rad=abs(_most_often(fact.setup_angle_rad for fact in mine) or 0.0),
        distance_m=_most_often(fact.distance_m for fact in mine),
    )


def _hardness(rows: Sequence[HardnessReading]) -> HardnessRange | None:
    """From the softest to the hardest place: the arrow doesn't say which it hit. None where nobody tried it."""
    kept = [row for row in rows if row.voided_rev is None and not row.left_out_reason]
    ranges = [one for one in ranges_of_readings(kept) if one.scale in ("HV", "HRC", "HBW")]
    if not ranges or len({one.scale for one in ranges}) > 1:
        return None
    lows, highs = [one.low for one in ranges], [one.high for one in ranges]
    low = None if None in lows else min(one for one in lows if one is not None)
    high = None if None in highs else max(one for one in highs if one is not None)
    return HardnessRange(low, high, ranges[0].scale)


def _strength(found: HardnessRange) -> StrengthRange | None:
    strength = strength_of(found)
    if isinstance(strength, CantTell):
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
        build.id: (
            f"{panel.name}{f', build {build.number}' if builds[panel.id] > 1 else ''}: {_made(panel)}, {_shots(counts.get(build.id, 0))}"
        )
        for panel, build in panels
    }


def _made(panel: Panel) -> str:
    words = CONSTRUCTIONS.get(panel.construction or "", "construction not recorded").lower()
    return f"{panel.thickness_m * 1000:.3g}\N{NO-BREAK SPACE}mm {words}" if panel.thickness_m else words


def _shots(count: int) -> str:
    return "no shots" if not count else counted(count)
