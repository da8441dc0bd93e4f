"""What is worth shooting next, as far as the counts say: the cells that lag behind, and heads that only one bow or archer shot."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.answers.day.others import Rule, SoFar
from proofyard.quantities.reason import Reason, because
from proofyard.records.trial import Trial
from proofyard.shots.loosed import LoosedShot
from proofyard.views.at_hand import AtHand
from proofyard.views.cells import Cell
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import through_of

MOST_LINES = 4
FEW = 5  # fewer shots than this in a cell carry no share


@dataclass(frozen=True)
class NextLine:
    """One thing to shoot, and why."""

    what: Reason
    why: Reason


def next_lines(
    trial: Trial, results: SoFar, rule: Rule, *, shots: Sequence[LoosedShot], hand: AtHand, reader: str
) -> tuple[Reason, tuple[NextLine, ...]]:
    """A lead and a few lines: by the trial's own rule where it has one; else the thinnest cells, chosen by how many, never by outcome."""
    if trial.state == "closed":
        return because("day_closed"), ()
    if trial.next_shot_rule not in (None, "none"):
        return _by_rule(trial, shots, rule, hand=hand, reader=reader)
    thin = [spot for spot in _spots(results) if spot.shots < FEW]
    if not any(group.shots for group in results.groups):
        return because("day_nothing_counts"), ()
    if not thin:
        return because("day_enough_everywhere", few=FEW, enough=trial.enough or ""), ()
    lines = tuple(NextLine(spot.what, because("day_lagging", shots=spot.shots, undecided=spot.not_known)) for spot in thin[:MOST_LINES])
    return because("day_fewest", enough=trial.enough or "", more=len(thin) - len(lines), few=FEW), lines


def _by_rule(trial: Trial, shots: Sequence[LoosedShot], rule: Rule, *, hand: AtHand, reader: str) -> tuple[Reason, tuple[NextLine, ...]]:
    """What the rule says at the panel type that was shot last."""
    if not shots:
        return because("day_rule_waits", rule=trial.next_shot_rule or "none"), ()
    last = panel_type_of(shots[-1].fact)
    found = rule(trial, [shot for shot in shots if panel_type_of(shot.fact) == last], hand=hand, through=through_of(trial))
    lead = because("day_by_rule", panel_type=last[1], rule=found.rule_words, why=found.why, waiting=found.waiting)
    offers = [one for one in (found.best, *found.others) if one is not None][:MOST_LINES]
    return lead, tuple(
        NextLine(because("day_offer", hand=one.hand.words), because("day_gain", words=(one.energy, one.gain))) for one in offers
    )


@dataclass(frozen=True)
class _Spot:
    """A head in a band at a panel type, and how many shots count there."""

    what: Reason
    shots: int
    not_known: int


def _spots(results: SoFar) -> list[_Spot]:
    """The fewest first; ties in the order of the table. An open band at either end was never asked for: shots strayed there."""
    cells = [cell for group in results.groups for cell in group.cells]
    sorts = dict(sorted({panel_type_of(one.shot.fact) for cell in cells for one in (*cell.shots, *cell.not_known)}))
    closed = [cell for cell in cells if math.isfinite(cell.band.low_j) and math.isfinite(cell.band.high_j)] or cells
    found = [_spot(cell, sort, words if len(sorts) > 1 else "") for cell in closed for sort, words in sorts.items()]
    return sorted(found, key=lambda spot: spot.shots)


def _spot(cell: Cell, sort: str, words: str) -> _Spot:
    shots, open_shots = (sum(panel_type_of(one.shot.fact)[0] == sort for one in some) for some in (cell.shots, cell.not_known))
    return _Spot(because("day_cell", who=cell.who, band=cell.band.with_unit, panel_type=words), shots, open_shots)
