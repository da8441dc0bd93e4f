"""Groups of shots compared: first what so many could show at most, then how far apart they are, how sure, and in which
order the questions are judged. Takes counted shots and names; knows no page and no book.

    groups = [shot_group(row, shots, settings=settings, edges=edges), ...]
    found = compare_groups(groups, bands=bands, kind=KINDS["form"])
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from server.findings.bands import Band
from server.findings.cells import Cell, CountedShot, counted_shot, make_cell
from server.findings.comparison.kinds import BESIDE, KINDS, Kind
from server.findings.comparison.levels import LevelPair, level_pair
from server.findings.comparison.ranks import RankFinding, by_depth, by_ranks, rung_bounds, through_bounds
from server.findings.loosed import LoosedShot
from server.findings.row_groups import RowGroup
from server.findings.view_settings import ViewSettings
from server.statistics.comparing import Judged, judge_in_order
from server.statistics.refusals import CantTell

MOST_GROUPS = 5  # ten pairs: more questions than that, and hardly any could be shown
LEVEL = 0.95
# The sorts of question that a pair is asked, in the order in which they are told.
SORTS = ("through", "level", "depth", "ladder")


@dataclass(frozen=True)
class ShotGroup:
    """What is compared: its name, its shots, and those whose fairness isn't known, which are in no test."""

    row: RowGroup
    shots: tuple[CountedShot, ...]
    not_known: tuple[CountedShot, ...] = ()
    cells: tuple[Cell, ...] = ()

    @property
    def key(self) -> str:
        return self.row.key

    @property
    def words(self) -> str:
        return self.row.words

    @property
    def who(self) -> str:
        return self.row.who


@dataclass(frozen=True)
class Question:
    """One thing asked of one pair. `smallest_p`: what these shots could give at most, known before any was looked at.

    sort  through (over all levels), level (through, at `band`), depth, ladder
    """

    pair: str
    sort: str
    band: Band | None
    p_value: float
    smallest_p: float
    judged: Judged | None = None
    declared: bool = False

    @property
    def key(self) -> str:
        return f"{self.pair}:{self.sort}" + (f":{self.band.value}" if self.band else "")


@dataclass(frozen=True)
class PairComparison:
    """Two groups against each other. `beside`: what else differs between them, in words."""

    key: str
    first: ShotGroup
    second: ShotGroup
    levels: tuple[LevelPair, ...]
    through: RankFinding | CantTell
    depth: RankFinding | CantTell
    ladder: RankFinding | CantTell
    beside: tuple[str, ...]
    questions: tuple[Question, ...] = ()

    @property
    def alike(self) -> tuple[LevelPair, ...]:
        return tuple(level for level in self.levels if level.comparable)

    @property
    def main_question(self) -> str | None:
        """The key of what this pair is asked first: whether one gets through more often."""
        return next((one.key for one in self.questions if one.sort in ("through", "level")), None)


@dataclass(frozen=True)
class Comparison:
    """All pairs, all questions, those that may be judged in their order. `declared`: the pair asked beforehand."""

    kind: Kind
    groups: tuple[ShotGroup, ...]
    bands: tuple[Band, ...]
    pairs: tuple[PairComparison, ...]
    declared: str | None
    level: float

    @property
    def questions(self) -> tuple[Question, ...]:
        """The declared one first."""
        found = [question for pair in self.pairs for question in pair.questions]
        return tuple(sorted(found, key=lambda one: not one.declared))

    @property
    def rest(self) -> int:
        """How many questions pay for each other."""
        return sum(not one.declared for one in self.questions)


def shot_group(
    row: RowGroup,
    shots: Sequence[LoosedShot],
    *,
    settings: ViewSettings,
    edges: Sequence[float],
    not_known: Sequence[LoosedShot] = (),
) -> ShotGroup:
    """A group from loosed shots that this view counts; the caller has left out what it doesn't."""
    counted, unsure = ([counted_shot(shot, settings, edges=edges) for shot in some] for some in (shots, not_known))
    return ShotGroup(row, tuple(counted), tuple(unsure))


def compare_groups(
    groups: Sequence[ShotGroup],
    *,
    bands: Sequence[Band],
    kind: Kind = KINDS["form"],
    declared: tuple[str, str] | None = None,
    method: str = "mid-p",
    level: float = LEVEL,
) -> Comparison | CantTell:
    """Every pair of these groups within bands of energy, each question judged in its order.

    declared  keys of the two groups that a question written down beforehand was about; None where there was none
    """
    full = [replace(group, cells=_cells(group, bands, method)) for group in groups if group.shots]
    if len(full) < 2:
        return CantTell(_too_few_groups(full))
    pairs = [_pair(one, other, kind=kind, level=level) for one, other in combinations(full, 2)]
    asked = {frozenset((pair.first.key, pair.second.key)): pair for pair in pairs}
    named = asked.get(frozenset(declared)) if declared else None
    main = named.main_question if named else None
    judged = _judge([question for pair in pairs for question in pair.questions], main, level=level)
    pairs = [replace(pair, questions=tuple(judged[one.key] for one in pair.questions)) for pair in pairs]
    return Comparison(kind, tuple(full), tuple(bands), tuple(pairs), named.key if named else None, level)


def _too_few_groups(full: Sequence[ShotGroup]) -> str:
    if not full:
        return "none of these has a shot that counts here"
    return f"only one of these has shots that count here, {full[0].who}, so there is nothing to compare it with"


def _cells(group: ShotGroup, bands: Sequence[Band], method: str) -> tuple[Cell, ...]:
    return tuple(make_cell(group.row, band, counted=group.shots, not_known=group.not_known, method=method, href="") for band in bands)


def _pair(first: ShotGroup, second: ShotGroup, *, kind: Kind, level: float) -> PairComparison:
    levels = tuple(
        level_pair(one, other, kind=kind, level=level)
        for one, other in zip(first.cells, second.cells, strict=True)
        if one.shots or other.shots
    )
    found = PairComparison(
        key=f"{first.key}~{second.key}",
        first=first,
        second=second,
        levels=levels,
        through=by_ranks(levels, through_bounds),
        depth=by_depth(levels),
        ladder=by_ranks(levels, rung_bounds),
        beside=_beside(levels, kind),
    )
    return replace(found, questions=_questions(found, level=level))


def _questions(pair: PairComparison, *, level: float) -> tuple[Question, ...]:
    at_levels = []
    for one in pair.alike:
        could = one.could_show()
        assert one.gap is not None
        at_levels.append(Question(pair.key, "level", one.band, one.gap.p_value, could.smallest_p if could else 0.0))
    found = []
    # With one level alone the exact test at that level is the same question, and stronger.
    if len(at_levels) > 1 and not isinstance(pair.through, CantTell):
        found.append(Question(pair.key, "through", None, pair.through.p_value, pair.through.smallest_p))
    found += at_levels
    for sort, ranks in (("depth", pair.depth), ("ladder", pair.ladder)):
        if not isinstance(ranks, CantTell):
            found.append(Question(pair.key, sort, None, ranks.p_value, ranks.smallest_p))
    # What no result could answer is not asked, and nothing pays for it. How many were shot says so, not how they ended.
    return tuple(one for one in found if one.smallest_p <= 1 - level + 1e-12)


def _judge(questions: Sequence[Question], main: str | None, *, level: float) -> dict[str, Question]:
    verdicts = judge_in_order({one.key: one.p_value for one in questions}, main, level=level)
    judged = {one.question: one for one in verdicts.rest}
    if verdicts.declared:
        judged[verdicts.declared.question] = verdicts.declared
    return {one.key: replace(one, judged=judged[one.key], declared=one.key == main) for one in questions}


def _beside(levels: Sequence[LevelPair], kind: Kind) -> tuple[str, ...]:
    """What the two don't share although it isn't what is compared: one name only on one side."""
    said = []
    sides = [[fact for level in levels if level.comparable for fact in level.facts[side]] for side in (0, 1)]
    for key in kind.beside:
        word, of = BESIDE[key]
        one, other = ({of(fact) for fact in side} for side in sides)
        if one and other and not one & other:
            said.append(word)
    return tuple(said)
