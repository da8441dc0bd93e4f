"""The one comparison of two groups of shots (head forms, panels, panel types, days), and the family of pairs that it pays with.

Every page that says how two groups stand asks here: /compare, /fifty-percent, the finding of /results, trials, trials side by side, claims.
The answer depends on the shots that count and on nothing that a page shows beside them: not on its bands, nor on which heads it picks.

    for family in pair_families(loosed, settings):       # one a panel type, settings as `count_shots` settled them
        for pair in family.pairs: pair.verdict, pair.found.ratio, pair.raw, pair.corrected
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from proofyard.how_far import part_by_part
from proofyard.quantities.reason import Reason, because
from proofyard.records.arrow import FORMS
from proofyard.shots.loosed import Loosed
from proofyard.statistics.one_comparison import Ends, EnergyLevel, FamilyLevels, PairFound, Shots, levels_of_family
from proofyard.views import kept_fits
from proofyard.views.cells import CountedShot, RowGroup, counted_shots
from proofyard.views.chosen_energies import chosen_among
from proofyard.views.claimed import looks_of
from proofyard.views.comparable import ASPECTS, KINDS, OF_PANELS, Kind
from proofyard.views.counted import sort_shots
from proofyard.views.energy_parts import energy_parts
from proofyard.views.named_pair import Declared, declared_of, trial_of
from proofyard.views.panel_type import NOT_RECORDED, panel_type_in, panel_type_of
from proofyard.views.settings import ViewSettings, form_of, form_words

LEVEL = 0.95


@dataclass(frozen=True, eq=False)
class Side:
    """One group: its counted shots with an energy whose outcome is decided, and how many more are undecided, and in no comparison."""

    row: RowGroup
    shots: tuple[CountedShot, ...]
    undecided: int

    @property
    def hits(self) -> int:
        return sum(one.through_low for one in self.shots)

    @cached_property
    def ranked(self) -> tuple[CountedShot, ...]:
        """By energy: in which order shots come must not move the last digit of an answer."""
        return tuple(sorted(self.shots, key=_rank))

    @cached_property
    def as_shots(self) -> Shots:
        """As statistics take them, in the order of `ranked`."""
        energies = tuple(one.energy.value for one in self.ranked if one.energy is not None)
        through = tuple(int(one.through_low) for one in self.ranked)
        return Shots(energies, through, tuple(one.shot.fact.combination_id for one in self.ranked))


def _rank(one: CountedShot) -> tuple[float, bool, str]:
    return one.energy.value if one.energy else 0.0, one.through_low, one.shot.fact.combination_id


@dataclass(frozen=True, eq=False)
class PairLevel:
    """Shots of both groups at about one energy. `found.alike`: whether their mean energies are alike there."""

    found: EnergyLevel
    first: tuple[CountedShot, ...]
    second: tuple[CountedShot, ...]

    @property
    def energies_j(self) -> tuple[float, float]:
        """The least and the most."""
        every = [one.energy.value for one in (*self.first, *self.second) if one.energy is not None]
        return min(every), max(every)


@dataclass(frozen=True, eq=False)
class Pair:
    """Two groups compared. Above 1 the first gets through more easily.

    raw, corrected  the interval of this pair by itself, 95 %, and as one of its family's; the corrected one is the verdict
    verdict         first, second (shown to get through more easily), not_shown, too_few, apart
    named           the trial named this pair before the first shot
    beyond          not against the reference: nobody's question, so it pays for all pairs there are
    questions       how many questions share the correction
    looks           set, before, not set: the number of shots set beforehand (statistics/one_comparison.py)
    chosen          the energies were chosen by the outcomes so far
    """

    first: Side
    second: Side
    found: PairFound
    raw: Ends | None
    corrected: Ends | None
    named: bool
    beyond: bool
    questions: int
    looks: str
    chosen: bool

    @property
    def key(self) -> str:
        return f"{self.first.row.key}~{self.second.row.key}"

    @property
    def names(self) -> str:
        """ "Leaf against long needle bodkin": a head's name in a sentence has no capital, a panel's keeps what it has."""
        second = self.second.row
        return f"{self.first.row.words} against {second.who.removeprefix('the ') if second.glyph else second.words}"

    @property
    def verdict(self) -> str:
        return self.found.verdict(self.corrected)

    @property
    def shown(self) -> bool:
        return self.verdict in ("first", "second")

    @property
    def alone(self) -> bool:
        """Whether it would be shown as the only question asked."""
        return self.found.verdict(self.raw) in ("first", "second")

    @cached_property
    def levels(self) -> tuple[PairLevel, ...]:
        return tuple(
            PairLevel(one, tuple(self.first.ranked[n] for n in one.first), tuple(self.second.ranked[n] for n in one.second))
            for one in self.found.levels
        )


@dataclass(frozen=True, eq=False)
class PairFamily:
    """The groups of one panel type (or of one head form, where panels or days are compared) and their pairs against a reference.

    key, on     what all of them share: "plate-1.6", "1.6 mm one-piece plate"
    reference   key of the group that the others are measured against; "" without a pair
    """

    kind: Kind
    key: str
    on: str
    sides: tuple[Side, ...]
    reference: str
    declared: Declared
    looks: str
    slope: float | None
    chosen: bool
    own: tuple[tuple[str, float], ...] | None

    @cached_property
    def levels(self) -> FamilyLevels | None:
        """What each pair pays; None without a pair."""
        others = len(self.sides) - 1 - (1 if self.declared.pair else 0)
        if len(self.sides) < 2:
            return None
        named = self.declared.pair is not None
        told = levels_of_family(others, named=named, looks=self.looks, level=LEVEL)
        if self.declared.pair is None:
            return told
        first, second = self._in_order(*self.declared.pair)
        pair = self._found(first, second)
        shown = pair.verdict(_ends(pair, told.named, first.as_shots, second.as_shots)) in ("first", "second")
        return levels_of_family(others, named=named, named_shown=shown, looks=self.looks, level=LEVEL)

    @cached_property
    def pairs(self) -> tuple[Pair, ...]:
        """The family: every other group against the reference, the pair named beforehand first."""
        found = [self.pair(self.reference, side.row.key) for side in self.sides if side.row.key != self.reference]
        return tuple(sorted((pair for pair in found if pair), key=lambda pair: not pair.named))

    @cached_property
    def beyond(self) -> tuple[Pair, ...]:
        """Every other pair, on asking."""
        keys = [side.row.key for side in self.sides if side.row.key != self.reference]
        found = [self.pair(one, other) for n, one in enumerate(keys) for other in keys[n + 1 :]]
        return tuple(pair for pair in found if pair)

    def pair(self, one: str, other: str) -> Pair | None:
        """These two, the reference first where it is one of them, else as they stand; None where one has no shot or both are one."""
        held = {side.row.key for side in self.sides}
        if one == other or one not in held or other not in held:
            return None
        first, second = self._in_order(one, other)
        return self._pair(first, second)

    def _in_order(self, one: str, other: str) -> tuple[Side, Side]:
        order = [self.reference, *(side.row.key for side in self.sides)]
        sides = {side.row.key: side for side in self.sides}
        return (sides[one], sides[other]) if order.index(one) < order.index(other) else (sides[other], sides[one])

    def _pair(self, first: Side, second: Side) -> Pair:
        found, levels = self._found(first, second), self.levels
        assert levels is not None
        beyond = self.reference not in (first.row.key, second.row.key)
        named = self.declared.pair is not None and {first.row.key, second.row.key} == set(self.declared.pair)
        every = math.comb(len(self.sides), 2)
        level = 1 - levels.alpha / every if beyond else levels.named if named else levels.other
        questions = every if beyond else len(self.sides) - 1
        raw, corrected = (_ends(found, one, first.as_shots, second.as_shots) for one in (LEVEL, level))
        return Pair(first, second, found, raw, corrected, named, beyond, questions, self.looks, self._chosen(first, second))

    def _found(self, first: Side, second: Side) -> PairFound:
        return _compared(first.as_shots, second.as_shots, own=self.own, slope=self.slope, chosen=self._chosen(first, second))

    def _chosen(self, first: Side, second: Side) -> bool:
        # Of the two alone: an answer must not hang on what else was shot.
        return self.chosen and chosen_among([*first.shots, *second.shots])


_compared = lru_cache(maxsize=512)(kept_fits.compared)
_ends = lru_cache(maxsize=2048)(kept_fits.ends)  # a pair is what it is, so it is told by identity


def pair_families(
    loosed: Loosed, settings: ViewSettings, *, kind: Kind = KINDS["form"], counted: Sequence[CountedShot] | None = None
) -> tuple[PairFamily, ...]:
    """All that can be compared among these shots, one family for each panel type (or head form), the most shot first.

    `settings`: a page's, with the place of the energy settled. Which heads it picks, its bands and its axis make no difference here.
    counted: what a page counted by just these settings, if it did, so that it need not be counted twice.
    """
    wide = replace(settings, heads=() if kind.key == "form" else settings.heads, axis="energy", rows="form", row_edges=None)
    if counted is None or settings != wide:
        counted = counted_shots(sort_shots(loosed, wide).counted, wide, edges=())
    counted = [one for one in counted if one.energy and one.energy.value > 0]
    families = [
        _family(kind, key, words, some, loosed=loosed, place=wide.place)
        for (key, words), some in part_by_part(list(_contexts(counted, kind).items()), "pairs")
    ]
    return tuple(sorted(families, key=lambda one: -sum(len(side.shots) for side in one.sides)))


def _contexts(counted: Sequence[CountedShot], kind: Kind) -> dict[tuple[str, str], list[CountedShot]]:
    """Shots that differ in nothing but what is compared, as far as head form and panel type say."""
    fixed = {name for name in ASPECTS if name not in kind.about}
    if kind.free and _one_type_each(counted, kind):
        fixed = {"form"}
    found: dict[tuple[str, str], list[CountedShot]] = {}
    for one in counted:
        fact = one.shot.fact
        told = [(form_of(fact), form_words(form_of(fact)))] if "form" in fixed else []
        told += [panel_type_in(fact, fixed)] if fixed & set(OF_PANELS) else []
        told = [(key, words) for key, words in told if key]
        found.setdefault(("+".join(key for key, _ in told), ", ".join(words for _, words in told)), []).append(one)
    return found


def _one_type_each(counted: Sequence[CountedShot], kind: Kind) -> bool:
    """Whether no group (a trial, a day) was shot at two panel types: then the groups may differ in their panel type."""
    types: dict[str, set[str]] = {}
    for one in counted:
        types.setdefault(kind.group(one.shot.fact).key, set()).add(panel_type_of(one.shot.fact)[0])
    return all(len(some) == 1 for some in types.values())


def _family(kind: Kind, key: str, words: str, shots: Sequence[CountedShot], *, loosed: Loosed, place: str) -> PairFamily:
    sides = _sides(kind, shots)
    rows = [side.row for side in sides]
    every = [one.shot for one in shots]
    declared = declared_of(rows, kind=kind, shots=every, trials=loosed.trials, claims=loosed.claims, loosed=loosed.shots)
    trial = trial_of(every, loosed.trials)
    decided = [one for side in sides for one in side.ranked]
    parts = energy_parts(decided, place)
    own = tuple(sorted(parts.combination.items())) if parts.known else None
    names = [kind.group(one.shot.fact).key for one in decided]
    energies = tuple(one.energy.value for one in decided if one.energy is not None)
    return PairFamily(
        kind=kind,
        key=key,
        on=words,
        sides=sides,
        reference=_reference(sides, declared),
        declared=declared,
        looks=looks_of(trial, loosed.claims.get(trial.id) if trial else None, loosed.shots),
        slope=_slope(energies, tuple(int(one.through_low) for one in decided), tuple(names)),
        chosen=chosen_among([one for one in shots if one.through_low == one.through_high]),
        own=own,
    )


_slope = lru_cache(maxsize=128)(kept_fits.slope)


def _sides(kind: Kind, shots: Sequence[CountedShot]) -> tuple[Side, ...]:
    """The groups that have a decided shot, in the order of forms or names. What isn't recorded is no group."""
    rows: dict[str, RowGroup] = {}
    found: dict[str, list[CountedShot]] = {}
    for one in shots:
        row = kind.group(one.shot.fact)
        if row.key != NOT_RECORDED:
            rows.setdefault(row.key, row)
            found.setdefault(row.key, []).append(one)
    sides = []
    for row in sorted(rows.values(), key=group_order):
        decided = tuple(one for one in found[row.key] if one.through_low == one.through_high)
        if decided:
            sides.append(Side(row, decided, len(found[row.key]) - len(decided)))
    return tuple(sides)


def group_order(row: RowGroup) -> tuple[int, str]:
    """Head forms in their order, everything else by name."""
    order = list(FORMS)
    return (order.index(row.key) if row.key in order else len(order), row.words.casefold())


def _reference(sides: Sequence[Side], declared: Declared) -> str:
    """Of the pair that the trial named, or of all: the group shot most. How many were shot says so, never how they ended."""
    among = [side for side in sides if declared.pair is None or side.row.key in declared.pair]
    return max(among, key=lambda side: len(side.shots)).row.key if among else ""


def reference_told(family: PairFamily) -> Reason:
    """Against which group the others stand, why that one, and what the questions pay."""
    side = next((side for side in family.sides if side.row.key == family.reference), None)
    assert side is not None and family.levels is not None
    return because(
        "pair_reference",
        who=side.row.who,
        shots=len(side.shots),
        named=family.declared.pair is not None,
        pairs=len(family.sides) - 1,
        looks=family.looks,
    )


def pair_told(pair: Pair, *, first: str = "") -> Reason:
    """The one sentence on two groups, for every page. `first`: the key of the group that is to be named first, where a claim names one."""
    turned = first == pair.second.row.key
    found, sides = pair.found, (pair.second, pair.first) if turned else (pair.first, pair.second)
    raw, corrected = (ends.turned if ends and turned else ends for ends in (pair.raw, pair.corrected))
    other = {"first": "second", "second": "first"}
    return because(
        "pair_told",
        way=found.way,
        first=sides[0].row.who,
        second=sides[1].row.who,
        ratio=1 / found.ratio if found.ratio and turned else found.ratio,
        raw_low=raw.low if raw else None,
        raw_high=raw.high if raw else None,
        low=corrected.low if corrected else None,
        high=corrected.high if corrected else None,
        level=corrected.level if corrected else LEVEL,
        questions=pair.questions,
        named=pair.named,
        looks=pair.looks,
        verdict=other.get(pair.verdict, pair.verdict) if turned else pair.verdict,
        smallest_p=found.smallest_p,
        why=found.why,
    )


def pair_ratio(pair: Pair) -> Reason:
    """How many times, for a table: of the energy, or of the odds."""
    return because("pair_ratio", way=pair.found.way, ratio=pair.found.ratio)


def pair_ends(ends: Ends | None, *, way: str) -> Reason:
    """An interval of a pair with its level, for a table."""
    if ends is None:
        return because("pair_no_ends")
    return because("pair_ends", low=ends.low, high=ends.high, level=ends.level, way=way)


def pair_verdict(pair: Pair) -> Reason:
    """What the corrected interval comes to, for a table."""
    return because(
        "pair_verdict",
        verdict=pair.verdict,
        first=pair.first.row.who,
        second=pair.second.row.who,
        alone=pair.alone,
        smallest_p=pair.found.smallest_p,
        why=pair.found.why,
    )


def pair_in_short(pair: Pair) -> Reason:
    """The verdict alone, for a line that opens to the rest."""
    return because("pair_in_short", verdict=pair.verdict, first=pair.first.row.who, second=pair.second.row.who)


def pair_notes(pair: Pair) -> tuple[Reason, ...]:
    """What to know of this comparison: slopes, undecided shots, energies chosen by the outcomes, arrows."""
    found = pair.found
    undecided = pair.first.undecided + pair.second.undecided
    arrows = _arrows(pair.first), _arrows(pair.second)
    return (
        *((found.curve.leaning,) if found.curve else ()),
        *((because("pair_of_chosen_energies"),) if pair.chosen else ()),
        *((because("pair_undecided", shots=undecided),) if undecided else ()),
        because("pair_of_these_arrows", first=arrows[0], second=arrows[1]),
    )


def _arrows(side: Side) -> int:
    return len(Counter(one.shot.fact.arrow_id for one in side.shots))
