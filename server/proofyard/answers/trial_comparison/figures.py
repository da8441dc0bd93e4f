"""What was measured of the same kit in several trials: the energy that a bow gave, its weight, the backing behind the panel."""

import math
from collections.abc import Mapping, Sequence
from statistics import fmean, stdev

from proofyard.answers.trial_comparison.factors import NOT_KNOWN, SAME, SOME, DiffRow
from proofyard.quantities import unit_for_reader, with_unit, written
from proofyard.quantities.reason import because
from proofyard.records.kit_between import BackingChecked, BowWeighed, StandFact
from proofyard.shots.loosed import LoosedShot
from proofyard.views.cells import joules, mean_energy
from proofyard.wording.counts import counted
from proofyard.wording.reasons.said import said

FEWEST = 3  # of one bow in each trial, before its means are compared at all
CLEAR = 2.0  # standard uncertainties of the difference of two means: about 95 in 100


def energy_rows(shots: Sequence[Sequence[LoosedShot]], *, reader: str) -> list[DiffRow]:
    """The mean energy of each bow in an archer's hands that was shot in two trials or more, at the chronograph.

    There, since a panel further off would take from the arrow and not from the bow. The scatter of the single shots decides whether two
    means differ: the chronograph's own error is the same in both,
    as long as it is the same chronograph.
    """
    groups: dict[tuple[str, str], list[list[LoosedShot]]] = {}
    for n, mine in enumerate(shots):
        for shot in mine:
            if shot.impact.measured:
                groups.setdefault((shot.fact.bow_build_id, shot.fact.archer_id), [[] for _ in shots])[n].append(shot)
    shared = [group for group in groups.values() if sum(bool(mine) for mine in group) > 1]
    rows = [_energy_row(group, reader) for group in shared]
    return sorted(rows, key=lambda row: row.label)


def _energy_row(group: Sequence[Sequence[LoosedShot]], reader: str) -> DiffRow:
    first = next(shot.fact for mine in group for shot in mine)
    label = said(because("energy_of_bow", bow=first.bow_name, archer=first.archer))
    values = [[energy.value for shot in mine if (energy := shot.impact.energy_at_chronograph_j) is not None] for mine in group]
    words = tuple(_energy_words(mine, reader) if mine else said(because("not_shot")) for mine in group)
    enough = [some for some in values if len(some) >= FEWEST]
    status, note = NOT_KNOWN, because("too_few_energies", fewest=FEWEST)
    if len(enough) > 1:
        tools = {shot.fact.chronograph_id for mine in group for shot in mine}
        status = SOME if any(_apart(a, b) for n, a in enumerate(enough) for b in enough[n + 1 :]) else SAME
        changed = because("more_than_one_chronograph") if len(tools) > 1 else because("bands_allow_for_it")
        note = because("within_the_scatter") if status == SAME else changed
    return DiffRow(f"energy-{first.bow_build_id}-{first.archer_id}", label, words, status, note)


def _apart(a: Sequence[float], b: Sequence[float]) -> bool:
    """Whether two means lie further apart than the scatter of their shots explains."""
    uncertainty = math.hypot(stdev(a) / math.sqrt(len(a)), stdev(b) / math.sqrt(len(b)))
    return abs(fmean(a) - fmean(b)) > CLEAR * uncertainty


def _energy_words(shots: Sequence[LoosedShot], reader: str) -> str:
    found = mean_energy([energy for shot in shots if (energy := shot.impact.energy_at_chronograph_j) is not None])
    assert found is not None
    unit = unit_for_reader("energy", reader)
    value, plus, uncertainty = joules(found.mean, unit).partition(" ±")
    masses = [shot.impact.mass.value for shot in shots if shot.impact.mass is not None]
    arrows = f", {said(because('arrows_on_average', mass_kg=fmean(masses)), reader)}" if masses else ""
    return f"{with_unit(value, unit)}{plus}{uncertainty}, {counted(len(shots))}{arrows}"


def weight_rows(bows: Sequence[BowWeighed], names: Mapping[str, str], *, sessions: Sequence[Sequence[str]], reader: str) -> list[DiffRow]:
    """Each bow as it was weighed on the trials' days. They differ where the weights of one lie all beyond the other's."""
    rows = []
    for build, name in names.items():
        weights = [[one.weight_n for one in bows if one.bow_build_id == build and one.session_id in mine] for mine in sessions]
        if sum(bool(some) for some in weights) < 2:
            continue
        unit = unit_for_reader("force", reader)
        words = tuple(_span(some, unit) if some else said(because("not_weighed")) for some in weights)
        spans = [(min(some), max(some)) for some in weights if some]
        apart = any(a[1] < b[0] or b[1] < a[0] for n, a in enumerate(spans) for b in spans[n + 1 :])
        rows.append(DiffRow(f"weight-{build}", said(because("weight_of_bow", bow=name)), words, SOME if apart else SAME))
    return rows


def _span(values: Sequence[float], unit: str) -> str:
    ends = list(dict.fromkeys((written(min(values), unit, figures=4), written(max(values), unit, figures=4))))
    return " to ".join(ends)


def backing_words(stands: Mapping[str, StandFact], checks: Sequence[BackingChecked], *, reader: str) -> tuple[str, ...]:
    """Each check of a backing, oldest first, in words."""
    told = [
        because(
            "backing_was_deep",
            stand=stands[one.stand_id].stand.name,
            deep_m=one.found_m,
            mass_kg=one.drop_mass_kg,
            height_m=one.drop_height_m,
            how=one.how or "",
            at=one.at,
        )
        for one in checks
    ]
    return tuple(said(one, reader) for one in told)
