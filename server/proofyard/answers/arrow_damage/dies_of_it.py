"""Gets through and dies of it: whether the head that gets through more easily is also ended more often.

Through is asked of the one comparison (views/pair_comparison.py); ended is compared within the same levels of like energy, by the same
shots. Both must be shown, and the two questions share the error of the pair: 97.5 % each where the pair is the only one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.statistics.odds_within_levels import Odds, odds_interval, odds_within_levels
from proofyard.statistics.one_comparison import Ends
from proofyard.views.cells import CountedShot
from proofyard.views.pair_comparison import Pair, PairFamily, pair_ends, pair_ratio

Answers = Mapping[str, bool | None]  # shot id -> whether it ended its head; None: nobody looked at it, or nobody found it
_QUESTIONS = 2


@dataclass(frozen=True)
class EndedOf:
    """Of one head's shots at the levels that both were shot at: how many ended it, with those not looked at as the high count."""

    low: int
    high: int
    shots: int

    @property
    def told(self) -> Reason:
        return because("hits_of", low=self.low, high=self.high, shots=self.shots)


@dataclass(frozen=True, eq=False)
class DiesOfIt:
    """One pair of heads. `through` and `ended`: intervals at one level, above 1 where the first head does so more; None: not told.

    side  which head surely gets through more easily and surely is ended more often: "first", "second", "" for not yet
    why   why endings can't be compared
    """

    pair: Pair
    level: float
    through: Ends | None
    ended: Ends | None
    ratio: float | None
    first: EndedOf
    second: EndedOf
    why: Reason | None

    @property
    def side(self) -> str:
        if self.through is None or self.ended is None:
            return ""
        return self.through.side if self.through.side == self.ended.side else ""

    @property
    def names(self) -> str:
        return self.pair.names

    @property
    def gets_through(self) -> Reason:
        """How many times as easily, for a table."""
        ends = pair_ends(self.through, way=self.pair.found.way)
        return because("ratio_with_ends", ratio=pair_ratio(self.pair), ends=ends) if self.pair.found.ratio is not None else ends

    @property
    def is_ended(self) -> Reason:
        """How many heads of each were ended and what the odds come to, for a table."""
        if self.ended is None:
            return because("endings_not_told", why=self.why)
        return because(
            "endings_told", first=self.first.told, second=self.second.told, ratio=self.ratio, ends=pair_ends(self.ended, way="levels")
        )

    @property
    def verdict(self) -> Reason:
        """For a table."""
        who = {"first": self.pair.first.row.who, "second": self.pair.second.row.who}.get(self.side)
        return because("dies_of_it", who=who) if who else because("not_yet_that_it_dies_of_it")


def dies_of_it(family: PairFamily, answers: Answers, *, heads: Sequence[str]) -> tuple[DiesOfIt, ...]:
    """Every pair of the family whose two heads are among `heads`, each against the reference."""
    return tuple(_of_pair(pair, answers) for pair in family.pairs if {pair.first.row.key, pair.second.row.key} <= set(heads))


def _of_pair(pair: Pair, answers: Answers) -> DiesOfIt:
    level = 1 - (1 - pair.corrected.level) / _QUESTIONS if pair.corrected else 1 - 0.05 / _QUESTIONS
    alike = [(one.first, one.second) for one in pair.levels if one.found.alike == "alike"]
    first, second = (_ended([shot for one in alike for shot in one[side]], answers) for side in (0, 1))
    ended, ratio, why = endings_of(pair, alike, answers, level=level)
    return DiesOfIt(pair, level, pair.found.ends(level), ended, ratio, first, second, why)


def _ended(shots: Sequence[CountedShot], answers: Answers) -> EndedOf:
    found = [answers.get(one.shot.fact.shot_id) for one in shots]
    low = sum(one is True for one in found)
    return EndedOf(low, low + sum(one is None for one in found), len(found))


Level = tuple[Sequence[CountedShot], Sequence[CountedShot]]


def endings_of(pair: Pair, alike: Sequence[Level], answers: Answers, *, level: float) -> tuple[Ends | None, float | None, Reason | None]:
    """The interval of the odds of being ended, whatever became of the heads that nobody looked at."""
    if pair.chosen:
        return None, None, because("endings_at_chosen_energies")
    if not alike:
        return None, None, because("endings_at_no_like_energy")
    # Each end by what speaks least for it: the one head's unseen endings as whole, the other's as ended.
    least, most = (_odds(alike, answers, first_unseen=unseen) for unseen in (False, True))
    if isinstance(least, CantTell) and isinstance(most, CantTell):
        return None, None, because("endings_alike")
    low = None if isinstance(least, CantTell) else odds_interval(least, level=level)[0]
    high = None if isinstance(most, CantTell) else odds_interval(most, level=level)[1]
    sure = not isinstance(least, CantTell) and not isinstance(most, CantTell) and least.levels == most.levels
    return Ends(low, high, level), least.ratio if sure and not isinstance(least, CantTell) else None, None


def _odds(alike: Sequence[Level], answers: Answers, *, first_unseen: bool) -> Odds | CantTell:
    levels = []
    for first, second in alike:
        one, other = _ended(first, answers), _ended(second, answers)
        levels.append((one.high if first_unseen else one.low, one.shots, other.low if first_unseen else other.high, other.shots))
    return odds_within_levels(levels)


def told_of(found: DiesOfIt, *, on: str) -> Reason:
    """The sentence of a pair of which it is shown."""
    mine, theirs = (found.pair.first, found.pair.second) if found.side == "first" else (found.pair.second, found.pair.first)
    ended, other = (found.first, found.second) if found.side == "first" else (found.second, found.first)
    return because(
        "gets_through_and_dies", who=mine.row.who, other=theirs.row.who, on=on, ended=ended.told, other_ended=other.told, level=found.level
    )
