"""What was measured of the same kit in several trials: the energy that a bow gave, its weight, the backing behind the panel."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from server.findings.cells import joules, mean_energy
from server.findings.loosed import LoosedShot
from server.findings.trials_compared.factors import NOT_KNOWN, SAME, SOME
from server.findings.when import short_day_words
from server.quantities import unit_for_reader, with_unit, written
from server.records.kit_between import BackingChecked, BowWeighed, StandFact

FEWEST = 3  # of one bow in each trial, before its means are compared at all
CLEAR = 2.0  # standard uncertainties of the difference of two means: about 95 in 100


@dataclass(frozen=True)
class FigureRow:
    """One measured thing across the trials: words for each, whether they differ, and what to mind."""

    key: str
    label: str
    words: tuple[str, ...]
    status: str
    note: str = ""


def energy_rows(shots: Sequence[Sequence[LoosedShot]]) -> list[FigureRow]:
    """The mean energy of each bow in an archer's hands that was shot in two trials or more, at the chronograph.

    There, since a panel further off would take from the arrow and not from the bow. The scatter of the single shots decides whether two means differ: the chronograph's own error is the same in both,
    as long as it is the same chronograph.
    """
    groups: dict[tuple[str, str], list[list[LoosedShot]]] = {}
    for n, mine in enumerate(shots):
        for shot in mine:
            if shot.impact.measured:
                groups.setdefault((shot.fact.bow_build_id, shot.fact.archer_id), [[] for _ in shots])[n].append(shot)
    shared = [group for group in groups.values() if sum(bool(mine) for mine in group) > 1]
    rows = [_energy_row(group) for group in shared]
    return sorted(rows, key=lambda row: row.label)


def _energy_row(group: Sequence[Sequence[LoosedShot]]) -> FigureRow:
    first = next(shot.fact for mine in group for shot in mine)
    label = f"Energy of {first.bow_name}, {first.archer}, at the chronograph"
    values = [[energy.value for shot in mine if (energy := shot.impact.energy_at_chronograph_j) is not None] for mine in group]
    words = tuple(_energy_words(mine) if mine else "not shot" for mine in group)
    enough = [some for some in values if len(some) >= FEWEST]
    status, note = NOT_KNOWN, f"fewer than {FEWEST} shots with a measured energy: too few to say whether it changed"
    if len(enough) > 1:
        tools = {shot.fact.chronograph_id for mine in group for shot in mine}
        status = SOME if any(_apart(a, b) for n, a in enumerate(enough) for b in enough[n + 1 :]) else SAME
        note = "no further apart than the scatter of the single shots explains" if status == SAME else ""
        if status == SOME:
            note = "Read by more than one chronograph, so part of it may be theirs." if len(tools) > 1 else "Within a band of energy this is kept apart."
    return FigureRow(f"energy-{first.bow_build_id}-{first.archer_id}", label, words, status, note)


def _apart(a: Sequence[float], b: Sequence[float]) -> bool:
    """Whether two means lie further apart than the scatter of their shots explains."""
    doubt = math.hypot(stdev(a) / math.sqrt(len(a)), stdev(b) / math.sqrt(len(b)))
    return abs(fmean(a) - fmean(b)) > CLEAR * doubt


def _energy_words(shots: Sequence[LoosedShot]) -> str:
    found = mean_energy([energy for shot in shots if (energy := shot.impact.energy_at_chronograph_j) is not None])
    assert found is not None
    value, plus, doubt = joules(found.mean).partition(" ±")
    masses = [shot.impact.mass.value for shot in shots if shot.impact.mass is not None]
    arrows = f", arrows of {written(fmean(masses), 'g', figures=3)} on average" if masses else ""
    return f"{with_unit(value, 'J')}{plus}{doubt}, {len(shots)} shot{'' if len(shots) == 1 else 's'}{arrows}"


def weight_rows(bows: Sequence[BowWeighed], names: Mapping[str, str], *, sessions: Sequence[Sequence[str]], reader: str) -> list[FigureRow]:
    """Each bow as it was weighed on the trials' days. They differ where the weights of one lie all beyond the other's."""
    rows = []
    for build, name in names.items():
        weights = [[one.weight_n for one in bows if one.bow_build_id == build and one.session_id in mine] for mine in sessions]
        if sum(bool(some) for some in weights) < 2:
            continue
        unit = unit_for_reader("force", reader)
        words = tuple(_span(some, unit) if some else "not weighed" for some in weights)
        spans = [(min(some), max(some)) for some in weights if some]
        apart = any(a[1] < b[0] or b[1] < a[0] for n, a in enumerate(spans) for b in spans[n + 1 :])
        rows.append(FigureRow(f"weight-{build}", f"Weight of {name} at the draw", words, SOME if apart else SAME))
    return rows


def _span(values: Sequence[float], unit: str) -> str:
    ends = list(dict.fromkeys((written(min(values), unit, figures=4), written(max(values), unit, figures=4))))
    return " to ".join(ends)


def backing_words(stands: Mapping[str, StandFact], checks: Sequence[BackingChecked]) -> tuple[str, ...]:
    """Each check of a backing, oldest first, in words."""
    said = []
    for one in checks:
        when = f", {short_day_words(one.at)}" if one.at else ""
        fell = f", {written(one.drop_mass_kg, 'kg')} let fall {written(one.drop_height_m, 'm')}" if one.drop_mass_kg and one.drop_height_m else ""
        how = fell + (f", {one.how}" if one.how else "")
        said.append(f"{stands[one.stand_id].stand.name}: {written(one.found_m, 'mm')} deep{how}{when}")
    return tuple(said)
