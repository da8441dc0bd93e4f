"""What is worth shooting next, as far as the counts say: the cells that lag behind, and heads that only one bow or archer shot."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.cells import Cell
from server.findings.loosed import LoosedShot
from server.findings.planning.at_hand import AtHand
from server.findings.planning.next_shot import next_shot
from server.findings.results import Results
from server.findings.through import through_of
from server.findings.view_settings import sort_of
from server.records.trial import NEXT_SHOT_RULES, Trial

MOST_LINES = 4
FEW = 5  # fewer shots than this in a cell carry no share


@dataclass(frozen=True)
class NextLine:
    """One thing to shoot, and why."""

    words: str
    why: str


def next_lines(trial: Trial, results: Results, *, shots: Sequence[LoosedShot], hand: AtHand, reader: str) -> tuple[str, tuple[NextLine, ...]]:
    """A lead and a few lines: by the trial's own rule where it has one; else the thinnest cells, chosen by how many, never by outcome."""
    if trial.state == "closed":
        return "The trial is closed, so no more shots are taken in it. Start one that follows.", ()
    if trial.next_shot_rule not in (None, "none"):
        return _by_rule(trial, shots, hand=hand, reader=reader)
    thin = [spot for spot in _spots(results) if spot.shots < FEW]
    if not any(group.shots for group in results.groups):
        return "Nothing counts yet: any fair hit with a measured energy says more than there is.", ()
    lines = [NextLine(spot.words, spot.why) for spot in thin[:MOST_LINES]]
    enough = f" You wanted: {trial.enough.rstrip('.')}." if trial.enough else ""
    if not lines:
        return f"Every head has {FEW} shots or more in every band.{enough}", ()
    more = f" {len(thin) - len(lines)} more have fewer than {FEW}." if len(thin) > len(lines) else ""
    return f"Where fewest were shot, whatever came of them.{enough}{more}", tuple(lines)


def _by_rule(trial: Trial, shots: Sequence[LoosedShot], *, hand: AtHand, reader: str) -> tuple[str, tuple[NextLine, ...]]:
    """What the rule says at the sort of panel that was shot last."""
    if not shots:
        return f"{NEXT_SHOT_RULES[trial.next_shot_rule or 'none']}. Nothing was shot yet.", ()
    last = sort_of(shots[-1].fact)
    found = next_shot(trial, [shot for shot in shots if sort_of(shot.fact) == last], hand=hand, through=through_of(trial), reader=reader)
    said = " ".join(words for words in (f"By the trial’s rule, at {last[1]}: {found.rule_words}.", found.why, found.waiting) if words)
    offers = [one for one in (found.best, *found.others) if one is not None][:MOST_LINES]
    return said, tuple(NextLine(_cap(one.hand.words), ", ".join(words for words in (one.energy, one.gain) if words)) for one in offers)


@dataclass(frozen=True)
class _Spot:
    """A head in a band at a sort of panel, and how many shots count there."""

    words: str
    shots: int
    not_known: int

    @property
    def why(self) -> str:
        said = "none counted yet" if self.shots == 0 else f"{self.shots} counted so far"
        return said + (f", {self.not_known} more whose fairness isn’t known" if self.not_known else "")


def _spots(results: Results) -> list[_Spot]:
    """The fewest first; ties in the order of the table. An open band at either end was never asked for: shots strayed there."""
    cells = [cell for group in results.groups for cell in group.cells]
    sorts = dict(sorted({sort_of(one.shot.fact) for cell in cells for one in (*cell.shots, *cell.not_known)}))
    closed = [cell for cell in cells if math.isfinite(cell.band.low_j) and math.isfinite(cell.band.high_j)] or cells
    found = [_spot(cell, sort, words if len(sorts) > 1 else "") for cell in closed for sort, words in sorts.items()]
    return sorted(found, key=lambda spot: spot.shots)


def _spot(cell: Cell, sort: str, words: str) -> _Spot:
    shots, open_shots = (sum(sort_of(one.shot.fact)[0] == sort for one in some) for some in (cell.shots, cell.not_known))
    return _Spot(f"{_cap(cell.who)} at {cell.band.with_unit}" + (f", {words}" if words else ""), shots, open_shots)


def _cap(text: str) -> str:
    return text[:1].upper() + text[1:]
