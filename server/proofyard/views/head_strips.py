"""Every counted shot of each head as one strip across the rear face: what was held before it, what got through behind it."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.charts.outcome_words import counts_text, share_text
from proofyard.records.arrow import FORMS
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import OUTCOME_WORDS
from proofyard.shots.loosed import LoosedShot
from proofyard.views.panel_type import NOT_RECORDED
from proofyard.views.settings import Through, form_of, form_words, through_bounds_of


@dataclass(frozen=True)
class Piece:
    """So many shots of one outcome level, or of two between which nobody could tell."""

    low: int
    high: int
    shots: int


@dataclass(frozen=True)
class HeadStrip:
    """Every counted shot of one head: what was held, from the lowest level up, and what was through; `share` in words."""

    form: str
    words: str
    held: tuple[Piece, ...]
    through: tuple[Piece, ...]
    share: str
    spoken: str

    @property
    def longest(self) -> int:
        """The shots of its longer side."""
        return max(sum(piece.shots for piece in self.held), sum(piece.shots for piece in self.through))


def shares_by_head(shots: Sequence[LoosedShot], through: Through) -> list[tuple[str, str]]:
    found = []
    for form, some in _by_form(shots):
        bounds = [through_bounds_of(shot.fact, through) for shot in some]
        found.append((form, share_text(sum(sure for sure, _ in bounds), sum(maybe for _, maybe in bounds), len(some))))
    return found


def _by_form(shots: Sequence[LoosedShot]) -> list[tuple[str, list[LoosedShot]]]:
    groups: dict[str, list[LoosedShot]] = {}
    for shot in shots:
        groups.setdefault(form_of(shot.fact), []).append(shot)
    return sorted(groups.items(), key=lambda pair: [*FORMS, NOT_RECORDED].index(pair[0]))


def head_strips(shots: Sequence[LoosedShot], through: Through) -> tuple[HeadStrip, ...]:
    """One a head, in the order of the forms. What may or may not be through stands with what was held, with dashes."""
    shares = dict(shares_by_head(shots, through))
    found = []
    for form, some in _by_form(shots):
        held: Counter[tuple[int, int]] = Counter()
        past: Counter[tuple[int, int]] = Counter()
        for shot in some:
            (past if through_bounds_of(shot.fact, through)[0] else held)[_levels(shot.fact)] += 1
        words = form_words(form)
        spoken = f"{words}: {shares[form]} {through.past}. {counts_text([_levels(shot.fact) for shot in some], OUTCOME_WORDS)}"
        found.append(HeadStrip(form, words, _pieces(held), _pieces(past), shares[form], spoken))
    return tuple(found)


def _levels(fact: ShotFact) -> tuple[int, int]:
    assert fact.outcome_low is not None and fact.outcome_high is not None  # a counted shot was read
    return fact.outcome_low, fact.outcome_high


def _pieces(counts: Mapping[tuple[int, int], int]) -> tuple[Piece, ...]:
    """From the lowest level up; the open ones last, next to the rear face."""
    order = sorted(counts, key=lambda levels: (levels[0] != levels[1], levels))
    return tuple(Piece(low, high, counts[low, high]) for low, high in order)
