"""What the archers' own bows bring to a what-if, at any distance, and how strong a bow it would take."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.physics.bow_needed import times_the_bow
from proofyard.physics.flight import energy_at_target_j
from proofyard.physics.virtual_mass import VirtualMass
from proofyard.quantities.reason import CantTell, OutOfRange, Reason, because
from proofyard.records.speed_facts import CombinationFact
from proofyard.shots.bow_records import BowRecords
from proofyard.shots.bow_speeds import bow_speeds
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import LoosedShot
from proofyard.wording.reasons.said import said


@dataclass(frozen=True)
class BowBrings:
    """What one archer's arrows from one bow build bring, over the shots with an energy, at the place asked about.

    weight_n         what it draws at this archer's draw, as far as that is known; weight_source: by what
    low_j, high_j    least and greatest of the shots; mean_j their mean
    leaving_j        their mean where the speed was read; arrow_kg their mean mass
    kept             the share of that energy that reaches the armour
    """

    words: str
    bow_words: str
    bow_build_id: str
    archer_id: str
    weight_n: float | None
    weight_source: Reason | None
    shots: int
    low_j: float
    mean_j: float
    high_j: float
    leaving_j: float
    arrow_kg: float
    kept: float


@dataclass(frozen=True)
class BowNeeded:
    """How many times as strong this bow would have to be, from the less to the more careful reckoning. `why_not`: none would do.

    limbs_known  whether this bow's virtual mass is in it; else its efficiency is taken to stay
    """

    bow: BowBrings
    low_times: float | None
    high_times: float | None
    limbs_known: bool
    why_not: str

    @property
    def enough(self) -> bool:
        """This bow gives as much already."""
        return self.high_times is not None and self.high_times <= 1


def bows_bring(
    shots: Sequence[LoosedShot], records: BowRecords, *, head: str, place: str, distance_m: float | None
) -> tuple[BowBrings, ...]:
    """Every bow with measured shots, weakest first. `distance_m` None: where each was shot from."""
    groups: dict[tuple[str, str], list[tuple[LoosedShot, float]]] = {}
    for shot in shots:
        fact = shot.fact
        if fact.purpose != "counted" or fact.short_draw or (head and fact.form != head):
            continue
        energy = _energy(shot, place, distance_m)
        if energy is not None:
            groups.setdefault((fact.bow_build_id, fact.archer_id), []).append((shot, energy))
    return tuple(sorted((_of_group(group, records) for group in groups.values()), key=lambda one: one.mean_j))


def _energy(shot: LoosedShot, place: str, distance_m: float | None) -> float | None:
    if distance_m is None:
        found = shot.impact.energy_at(place)
        return found.value if found else None
    there, leaving = shot.impact.at_target, shot.impact.energy_at_chronograph_j
    if there is None or leaving is None:
        return None
    try:
        return energy_at_target_j(leaving.value, max(distance_m - there.from_m.value, 0.0), drag_per_m=there.drag_per_m)
    except OutOfRange:
        return None


def _of_group(group: Sequence[tuple[LoosedShot, float]], records: BowRecords) -> BowBrings:
    first = group[0][0].fact
    drawn = records.drawn(first.bow_build_id, first.archer_id)
    energies = [energy for _, energy in group]
    leaving = _mean([found.value for shot, _ in group if (found := shot.impact.energy_at_chronograph_j) is not None])
    mean = _mean(energies)
    build = f", build {first.bow_build_number}" if first.bow_build_number > 1 else ""
    return BowBrings(
        words=f"{first.bow_name}{build}, {first.archer}",
        bow_words=f"{first.bow_name}{build}",
        bow_build_id=first.bow_build_id,
        archer_id=first.archer_id,
        weight_n=drawn.weight_n,
        weight_source=drawn.weight_source,
        shots=len(group),
        low_j=min(energies),
        mean_j=mean,
        high_j=max(energies),
        leaving_j=leaving,
        arrow_kg=_mean([shot.impact.mass.value for shot, _ in group if shot.impact.mass is not None]),
        kept=mean / leaving,
    )


def bows_needed(
    bows: Sequence[BowBrings], low_j: float, *, high_j: float, impacts: Impacts, known: Sequence[CombinationFact]
) -> tuple[BowNeeded, ...]:
    """For an energy from `low_j` to `high_j` at the armour, by each bow, with the arrows that it shot."""
    return tuple(_needed(bow, low_j / bow.kept, high_j / bow.kept, impacts=impacts, known=known) for bow in bows)


def _needed(bow: BowBrings, low_j: float, high_j: float, *, impacts: Impacts, known: Sequence[CombinationFact]) -> BowNeeded:
    mine = [fact for fact in known if fact.bow_build_id == bow.bow_build_id and fact.archer_id == bow.archer_id]
    fit = bow_speeds(impacts, mine, stored=CantTell(because("no_force_read")), weight_n=None).fit
    virtual = fit.virtual_mass_kg.value if isinstance(fit, VirtualMass) else 0.0
    limbs = isinstance(fit, VirtualMass)
    # Quick limbs are the least that could do, limbs as slow as now the most.
    least = times_the_bow(low_j, bow.leaving_j, arrow_kg=bow.arrow_kg)
    most = times_the_bow(high_j, bow.leaving_j, arrow_kg=bow.arrow_kg, virtual_kg=max(virtual, 0.0))
    if isinstance(least, CantTell):
        return BowNeeded(bow, None, None, limbs, said(least.reason))
    if isinstance(most, CantTell):
        return BowNeeded(bow, least, None, limbs, said(most.reason))
    # Under 1 heavier limbs count the other way round: a weaker bow loses less in them.
    return BowNeeded(bow, min(least, most), max(least, most), limbs, "")


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)
