"""All caveats of a view, those that weigh most first.

Here: two things that went together, one thing behind a whole count, and readings that are open or disagree. What changed
while the shooting went on is in `over_time.py`.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from types import MappingProxyType

from proofyard.caveats.caveat import FEW, KINDS, Caveat, Group, View, by, rests_on
from proofyard.caveats.over_time import chosen_energies, draw_drift, speed_drift, used_up
from proofyard.physics.hardness import HardnessRange, convert_hardness
from proofyard.quantities.reason import Reason, because
from proofyard.records.caveat_facts import HeadHardness, ReadAgain
from proofyard.shots.loosed import LoosedShot
from proofyard.statistics.agreement import Kappa, weighted_kappa
from proofyard.statistics.clustered_shares import ClusteredInterval, clustered_interval
from proofyard.views.settings import Through, through_bounds_of
from proofyard.wording.reasons.said import said

# Two things that went together all the time: what one does cannot be separated from what the other does.

FEWEST_OF_A_ROW = 3  # of a row: with fewer, that it stood at one panel only is chance

# Fact that tells one from another -> (kind of the caveat, what the view may vary by intent)
_WITH = {"panel_id": ("one_panel_only", "panel"), "day": ("one_day_only", "day")}


def head_goes_with(view: View) -> list[Caveat]:
    """Rows that were shot at one panel only, or on one day only, while the others were not."""
    return [caveat for fact in _WITH for caveat in _goes_with(view, fact)]


def _goes_with(view: View, fact: str) -> list[Caveat]:
    kind, varied = _WITH[fact]
    rows = {key: row for key, row in view.rows.items() if len(row[1]) >= FEWEST_OF_A_ROW}
    if varied in view.varied or len(rows) < 2 or len(by(view.shots, fact)) < 2:
        return []
    bound = [(words, shots) for words, shots in rows.values() if len(by(shots, fact)) == 1]
    # All at one and the same: that parts none from the others.
    if not bound or (len(bound) == len(rows) and len({getattr(shots[0].fact, fact) for _, shots in bound}) == 1):
        return []
    said = [
        because("on_one_day", row=words, shots=len(shots), day=shots[0].fact.day)
        if varied == "day"
        else because("at_one_panel", row=words, shots=len(shots), panel=shots[0].fact.panel_name)
        for words, shots in bound
    ]
    reason = because("goes_with", rows=tuple(said), day=varied == "day")
    affects = because("affects_rows", rows=tuple(words for words, _ in bound))
    return [Caveat(kind, (reason,), affects, rests_on(shot for _, shots in bound for shot in shots))]


# A set of harder heads that was only there on one day: hardness and the day cannot be separated.


@dataclass(frozen=True)
class Bounds:
    """Where a head's hardness lies, in HRC; None where that end is open."""

    low: float | None
    high: float | None


def bounds_of(readings: Iterable[HeadHardness]) -> Mapping[str, Bounds]:
    """By head: harder than all picks that slid or stuck, softer than all that bit; a tester's value on the HRC scale."""
    lows: dict[str, list[float]] = {}
    highs: dict[str, list[float]] = {}
    for one in readings:
        value = _on_hrc(one)
        lows.setdefault(one.head_id, []).extend(v for v in (one.slides_hrc, one.sticks_hrc, value) if v is not None)
        highs.setdefault(one.head_id, []).extend(v for v in (one.bites_hrc, one.sticks_hrc, value) if v is not None)
    return {head: Bounds(min(lows[head], default=None), max(highs[head], default=None)) for head in lows}


def _on_hrc(one: HeadHardness) -> float | None:
    if one.value is None or one.scale is None:
        return None
    if one.scale == "HRC":
        return one.value
    found = convert_hardness(HardnessRange(one.value, one.value, one.scale), to="HRC") if one.scale in ("HV", "HBW") else None
    return found.low if isinstance(found, HardnessRange) else None


def hardness_and_day(view: View) -> list[Caveat]:
    """One caveat for all forms whose harder heads, or whose softer ones, stood on days of their own."""
    known = bounds_of(view.facts.hardness)
    if "day" in view.varied or not known:
        return []
    harder: list[LoosedShot] = []
    forms = []
    for form, shots in by(view.shots, "form").items():
        sets = _two_sets(shots, known)
        if sets and _parted(*sets):
            harder += sets[0]
            forms.append((form, *sets))
    if not forms:
        return []
    days = {shot.fact.day for shot in harder}
    others = {shot.fact.day for _, _, soft in forms for shot in soft}
    names = sorted({shot.fact.head_name or "" for shot in harder})
    reason = because(
        "harder_heads_on_their_own_days",
        heads=tuple(names),
        days=tuple(sorted(days)),
        other_days=tuple(sorted(others)),
        both=tuple(sorted(days & others)),
    )
    return [Caveat("hardness_and_day", (reason,), because("affects_heads_of_one_form"), rests_on(harder))]


def _two_sets(shots: Sequence[LoosedShot], known: Mapping[str, Bounds]) -> tuple[list[LoosedShot], list[LoosedShot]] | None:
    """The harder and the softer, where a line parts them: the lowest that has heads surely on both sides."""
    told = [(shot, known[shot.fact.head_id or ""]) for shot in shots if shot.fact.head_id in known]
    for line in sorted({bounds.low for _, bounds in told if bounds.low is not None}):
        hard = [shot for shot, bounds in told if bounds.low is not None and bounds.low >= line]
        soft = [shot for shot, bounds in told if bounds.high is not None and bounds.high < line]
        if hard and soft:
            return hard, soft
    return None


def _parted(hard: Sequence[LoosedShot], soft: Sequence[LoosedShot]) -> bool:
    """Whether one of the two was there on a day of the other's only."""
    days = {shot.fact.day for shot in hard}, {shot.fact.day for shot in soft}
    return days[0] != days[1] and (len(days[0]) == 1 or len(days[1]) == 1)


# Who loosed goes with what is compared: one archer had one head, another the other; or one had all the low energies.

APART = 0.5  # of the shots: as when one head has three quarters of its shots from one archer and another a quarter


def unbalanced_archers(view: View) -> list[Caveat]:
    """Between heads at one energy, where archers are parted most; else between energies."""
    names = {shot.fact.archer_id: shot.fact.archer for shot in view.shots}
    if len(names) < 2:
        return []
    within = [pair for groups in view.levels.values() for pair in _pairs([g for g in groups if len(g.shots) >= FEW])]
    levels = [
        Group(level, level, tuple(shot for group in groups for shot in group.shots)) for level, groups in view.levels.items() if level
    ]
    across = _pairs([group for group in levels if len(group.shots) >= FEW])
    within = [] if "archer" in view.varied else within
    # Counted once: each group stands in as many pairs as there are groups.
    groups = {id(one): one for pairs in (within, across) for one, _ in pairs}
    counts = {key: Counter([shot.fact.archer_id for shot in one.shots]) for key, one in groups.items()}
    found = []
    for pairs, between in ((within, "groups"), (across, "energies")):
        worst = max(
            ((_share(one, counts, archer) - _share(other, counts, archer), one, other, archer) for one, other in pairs for archer in names),
            key=lambda four: four[0],
            default=None,
        )
        if worst and worst[0] >= APART:
            _, one, other, archer = worst
            reason = because(
                "archer_unbalanced",
                archer=names[archer],
                by=between,
                one=one.words,
                one_shots=counts[id(one)][archer],
                one_of=len(one.shots),
                other=other.words,
                other_shots=counts[id(other)][archer],
                other_of=len(other.shots),
            )
            affects = because("affects_energies") if between == "energies" else because("affects_one_energy")
            mine = [shot for shot in (*one.shots, *other.shots) if shot.fact.archer_id == archer]
            found.append(Caveat("archers", (reason,), affects, rests_on(mine)))
    return found


def _pairs(groups: Sequence[Group]) -> list[tuple[Group, Group]]:
    return [(one, other) for one in groups for other in groups if one is not other]


def _share(group: Group, counts: Mapping[int, Counter[str]], archer: str) -> float:
    return counts[id(group)][archer] / len(group.shots)


# One arrow, bow or panel behind more than half of a count: such shots resemble each other.

# What may carry a count: the fact that tells one from another, its name in words, and what it is called.
CARRIERS = (("arrow_id", "arrow_tag", "arrow"), ("bow_id", "bow_name", "bow"), ("panel_id", "panel_name", "panel"))


def one_carries(view: View) -> list[Caveat]:
    """One caveat for all counts that one arrow, bow or panel carries over half of; beside each its interval if they correlate."""
    counts: Counter[str] = Counter()
    notes, touched = [], []
    full = [group for group in view.groups if len(group.shots) >= FEW]
    panels = len({shot.fact.panel_id for shot in view.shots})
    for group in full:
        found = _carriers(group.shots, but=() if panels > 1 else ("panel",))
        if found:
            counts.update(what for what, _, _ in found)
            touched.append(group)
            if view.alike is not None:
                notes.append((group.key, _note(group, found, through=view.through, alike=view.alike)))
    if not touched:
        return []
    reason = because(
        "one_dominates", arrows=counts["arrow"], bows=counts["bow"], panels=counts["panel"], counts=len(full), fewest=FEW, alike=view.alike
    )
    one = because("affects_group", group=touched[0].words) if len(touched) == 1 else because("affects_counts", counts=len(touched))
    shots = [shot for group in touched for shot in group.shots]
    return [Caveat("one_carries", (reason,), one, rests_on(shots), tuple(notes))]


def _carriers(shots: Sequence[LoosedShot], *, but: Sequence[str]) -> list[tuple[str, str, int]]:
    """(what it is, its name, how many of the shots) of each that carries over half."""
    found = []
    for fact, name, what in CARRIERS:
        (most, count), *_ = Counter(getattr(shot.fact, fact) for shot in shots).most_common(1)
        if 2 * count > len(shots) and what not in but:
            named = next(getattr(shot.fact, name) for shot in shots if getattr(shot.fact, fact) == most)
            found.append((what, named, count))
    return found


def _note(group: Group, found: Sequence[tuple[str, str, int]], *, through: Through, alike: float) -> Reason:
    """ "5 of 6 with arrow 5; if correlated by 0.2: 95 % interval 21 to 97 %"."""
    carried = tuple(because("carried_by", what=what, name=name, shots=count, of=len(group.shots)) for what, name, count in found)
    carriers = {what for what, _, _ in found}
    ends = (_widest(group.shots, fact, through=through, alike=alike) for fact, _, what in CARRIERS if what in carriers)
    low, high = max(ends, key=lambda two: two[1] - two[0])
    return because("if_correlated", carried=carried, alike=alike, low=low, high=high)


def _widest(shots: Sequence[LoosedShot], fact: str, *, through: Through, alike: float) -> tuple[float, float]:
    sizes = tuple(Counter(getattr(shot.fact, fact) for shot in shots).values())
    hits = [through_bounds_of(shot.fact, through) for shot in shots]
    ends = [clustered_interval(sum(one[side] for one in hits), sizes, intraclass_correlation=alike) for side in (0, 1)]
    assert isinstance(ends[0], ClusteredInterval) and isinstance(ends[1], ClusteredInterval)
    return ends[0].low, ends[1].high


def one_panel(view: View) -> list[Caveat]:
    """Everything on one panel speaks of that panel."""
    panels = {shot.fact.panel_id: shot.fact.panel_name for shot in view.shots}
    if len(panels) != 1 or len(view.shots) < FEW or "panel" in view.varied:
        return []
    name = next(iter(panels.values()))
    reason = because("all_on_one_panel", shots=len(view.shots), panel=name)
    return [Caveat("one_panel", (reason,), because("affects_every_share"))]


# Counted, and undecided: a check from behind is still to do, two outcome levels are possible, or the hit may be another's.


def provisional(view: View) -> list[Caveat]:
    """One caveat for all of them; how many could still change sides is said."""
    to_check = [shot for shot in view.shots if shot.fact.rear_check]
    between = [shot for shot in view.shots if not shot.fact.rear_check and shot.fact.outcome_low != shot.fact.outcome_high]
    anothers = [shot for shot in view.shots if shot.fact.may_be_shot_id]
    rests = [*to_check, *between, *anothers]
    trials = {shot.fact.trial_id for shot in view.shots}
    unread = [shot for shot in view.around if shot.fact.unread and shot.fact.trial_id in trials]
    if not rests and not unread:
        return []
    of = len(view.shots)
    said = [because("still_to_check_from_behind", hits=len(to_check), of=of)] if to_check else []
    said += [because("undecided_between_levels", hits=len(between), of=of)] if between else []
    said += [because("may_belong_to_another", hits=len(anothers), of=of)] if anothers else []
    either = sum(len(set(through_bounds_of(shot.fact, view.through))) > 1 for shot in view.shots)
    said += [because("could_still_change", hits=either)] if either else []
    said += [because("not_read_yet", shots=len(unread))] if unread else []
    return [Caveat("provisional", tuple(said), because("affects_undecided_counts"), rests_on([*rests, *unread]))]


# Where two people read the same hits: how far they agree. Counts always; agreement beyond chance from ten on.

FEWEST_FOR_KAPPA = 10
OUTCOMES = 6


@dataclass(frozen=True)
class ReadTwice:
    """A hit with what the second person read of it."""

    shot: LoosedShot
    again: ReadAgain

    @property
    def outcome_levels(self) -> tuple[tuple[int, int], tuple[int, int]]:
        fact = self.shot.fact
        low = fact.outcome_low or 0
        return (low, low if fact.outcome_high is None else fact.outcome_high), (self.again.outcome_low, self.again.outcome_high)

    @property
    def same(self) -> bool:
        return self.outcome_levels[0] == self.outcome_levels[1]

    @property
    def within_one(self) -> bool:
        (low, high), (other_low, other_high) = self.outcome_levels
        return max(low, other_low) - min(high, other_high) <= 1


def read_twice(view: View) -> list[ReadTwice]:
    """The first second reading of each hit that has an outcome level; a hit read a third time counts once."""
    firsts: dict[str, ReadAgain] = {}
    for one in view.facts.again:
        firsts.setdefault(one.shot_id, one)
    return [ReadTwice(s, firsts[s.fact.shot_id]) for s in view.shots if s.fact.outcome_low is not None and s.fact.shot_id in firsts]


def second_reader(view: View) -> list[Caveat]:
    """How far the two agree on the outcome level, on through, on where it went in and on the depth."""
    pairs = read_twice(view)
    if not pairs:
        return []
    split = [pair for pair in pairs if _through(pair, view) is False]
    reasons = [
        because("read_by_a_second", hits=len(pairs), same=sum(p.same for p in pairs), within_one=sum(p.within_one for p in pairs)),
        because("disagree_on_through", labels=tuple(pair.shot.fact.label for pair in split)) if split else None,
        _entries(pairs),
        _depths(pairs),
        _beyond_chance(pairs),
    ]
    said = tuple(one for one in reasons if one)
    return [Caveat("second_reader", said, because("affects_readings"), rests_on(pair.shot for pair in pairs))]


def _through(pair: ReadTwice, view: View) -> bool | None:
    """Whether both say the same of through; None where an outcome level isn't what through means here, or one leaves it open."""
    if view.through.how != "outcome_level":
        return None
    first = through_bounds_of(pair.shot.fact, view.through)
    second = pair.again.outcome_low >= view.through.outcome_level, pair.again.outcome_high >= view.through.outcome_level
    return None if len(set(first)) > 1 or len(set(second)) > 1 else first == second


def _entries(pairs: list[ReadTwice]) -> Reason | None:
    both = [pair for pair in pairs if pair.again.entry and pair.shot.fact.entry]
    return because("same_place_of_entry", same=sum(p.again.entry == p.shot.fact.entry for p in both), hits=len(both)) if both else None


def _depths(pairs: list[ReadTwice]) -> Reason | None:
    apart = [abs(p.again.depth_m - p.shot.fact.depth_m) for p in pairs if p.again.depth_m is not None and p.shot.fact.depth_m is not None]
    return because("depths_differ", depths=len(apart), median_m=median(apart), most_m=max(apart)) if apart else None


def _beyond_chance(pairs: list[ReadTwice]) -> Reason | None:
    """Of those with one outcome level from each: an outcome level left open can't stand in the table."""
    sure = [pair.outcome_levels for pair in pairs if all(low == high for low, high in pair.outcome_levels)]
    if len(sure) < FEWEST_FOR_KAPPA:
        return because("too_few_for_kappa", fewest=FEWEST_FOR_KAPPA) if len(sure) > 2 else None
    table = [[0] * OUTCOMES for _ in range(OUTCOMES)]
    for (first, _), (second, _) in sure:
        table[first][second] += 1
    found = weighted_kappa(table)
    if not isinstance(found, Kappa):
        return because("no_kappa", why=found.reason)
    return because("kappa", kappa=found.kappa, low=found.low, high=found.high)


# All caveats of a view, those that weigh most first.

ASKED: tuple[Callable[[View], list[Caveat]], ...] = (
    chosen_energies,
    speed_drift,
    draw_drift,
    used_up,
    hardness_and_day,
    head_goes_with,
    provisional,
    unbalanced_archers,
    one_carries,
    one_panel,
    second_reader,
)


def caveats_of(view: View) -> tuple[Caveat, ...]:
    """Everything to check in a view, in the order of KINDS; of one kind, what rests on most shots first."""
    found = [caveat for ask in ASKED for caveat in ask(view)]
    return tuple(sorted(found, key=lambda one: (KINDS.index(one.kind), -len(one.shots))))


def notes_by_group(caveats: tuple[Caveat, ...]) -> Mapping[str, tuple[str, ...]]:
    """Key of a group -> the few words to show with its number."""
    found: dict[str, tuple[str, ...]] = {}
    for caveat in caveats:
        for key, note in caveat.notes:
            found[key] = (*found.get(key, ()), said(note))
    return MappingProxyType(found)
