"""A claim about 50 % energies, answered by the interval that every page shows: of one head, of two heads, of two armours.

What is judged is always one quantity above one limit: a 50 % energy above x J, or a ratio of two above 1 or 1 + d.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from proofyard.answers.claims.evidence import AGAINST_NO, AGAINST_YES
from proofyard.answers.claims.named_shots import GroupSeen, NamedShots, Resolved, lacking, named_shots, own_units
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.claim_facts import ClaimFact
from proofyard.shots.loosed import LoosedShot
from proofyard.statistics.energy_claims import TwoEnds, ends_for_type, more_shots_to_settle, verdict_above
from proofyard.statistics.energy_uncertainty import WidenedPoint
from proofyard.statistics.fifty_percent_point import EnergyPoint, fifty_percent_point, fit_curve
from proofyard.statistics.heads_by_curve import ratio_of_energies
from proofyard.statistics.one_comparison import Ends, Shots, compare_two, levels_of_family
from proofyard.views.claimed import two_of
from proofyard.views.comparable import KINDS
from proofyard.views.curve import FiftyPercent, fifty_percent_of, widened_of
from proofyard.views.energy_parts import energy_parts
from proofyard.views.named_pair import keys_named
from proofyard.views.pair_comparison import Pair, PairFamily, pair_families


@dataclass(frozen=True, eq=False)
class EnergyAnswer:
    """What the shots say. `estimate`, `raw`, `judged` are of the quantity: the 50 % energy in J, or the ratio of two.

    limit         what it is claimed to be above
    groups        the head; or what the claim says something of, and then what that is compared with
    pair, found   the one comparison, or the one 50 % energy, that every page shows
    why           where nothing can be judged: why
    raw, judged   its interval by itself, 95 %, and the one that pays for looks and other questions, which is the verdict
    unsure        only the uncertainty of the energies, which the interval leaves out, keeps the answer open
    could_change  undecided shots that could change the answer
    lacking       arrows or panels that a word about the type lacks: which, and how few there are
    more          shots that would settle it, if they go as those so far; None where that can't be worked out
    """

    read: NamedShots
    limit: float
    groups: tuple[GroupSeen, ...]
    verdict: str = "not_yet"
    for_type: str = "not_yet"
    estimate: float | None = None
    raw: Ends | None = None
    judged: Ends | None = None
    pair: Pair | None = None
    found: FiftyPercent | None = None
    why: Reason | None = None
    unsure: bool = False
    could_change: int = 0
    more: int | CantTell | None = None

    @property
    def lacking(self) -> tuple[str, int] | None:
        return lacking(self.read.claim, self.groups)

    @property
    def could_be_settled(self) -> bool:
        """Whether shots alone keep the answer open."""
        return self.verdict == "not_yet" and self.why is None


def judge_energies(fact: ClaimFact, shots: Sequence[LoosedShot]) -> EnergyAnswer:
    """The answer to a claim of energies from its trial's standing shots."""
    read = named_shots(fact, shots)
    groups = tuple(read.group(names) for names in read.names)
    return _of_one(read, groups) if fact.claim.claim_form == "fifty_percent_above" else _of_two(read, groups)


# One 50 % energy above so many joules.


def _of_one(read: NamedShots, groups: tuple[GroupSeen, ...]) -> EnergyAnswer:
    (names,), limit = read.names, read.claim.fifty_percent_above_j or 1.0
    level = levels_of_family(1, named=False, looks=read.looks).other
    if len(groups[0].types) > 1:
        return EnergyAnswer(read, limit, groups, why=_several(groups))
    mine, unmeasured = read.counted(names)
    found = fifty_percent_of(mine, unmeasured=unmeasured)
    point = found.point
    if point is None or found.curve is None:
        return EnergyAnswer(read, limit, groups, found=found, why=found.why_not)
    judged = _ends_of(fifty_percent_point(found.curve, level=level, chosen=found.chosen), level)
    widened = widened_of(found, energy_parts(found.settled, read.settings.place), level=level)
    told = _verdict(judged, limit)
    wide = told if widened is None else verdict_above(widened.low_j, widened.high_j, limit=limit)
    against = [lambda worst=worst: _point_verdict(read.resolved(names, worst), found, level=level, limit=limit) for worst in _BOTH_WAYS]
    verdict, could = _holding(wide, against, read.undecided)
    return EnergyAnswer(
        read,
        limit,
        groups,
        verdict=verdict,
        for_type=_for_type(read, groups, verdict, judged=judged, estimate=point.energy_j, limit=limit),
        estimate=point.energy_j,
        raw=Ends(point.low_j, point.high_j, point.level),
        judged=judged,
        found=found,
        unsure=told != wide,
        could_change=could,
        more=_more_of_one(found, widened, level=level, limit=limit) if verdict == "not_yet" else None,
    )


# The outcomes that speak against a yes, and against a no: shots through lower a 50 % energy.
_BOTH_WAYS = (AGAINST_YES, AGAINST_NO)


def _ends_of(point: EnergyPoint | CantTell, level: float) -> Ends:
    return Ends(None, None, level) if isinstance(point, CantTell) else Ends(point.low_j, point.high_j, level)


def _point_verdict(shots: Resolved, found: FiftyPercent, *, level: float, limit: float) -> str:
    curve = fit_curve([one.energy.value if one.energy else None for one, _ in shots], [through for _, through in shots])
    if isinstance(curve, CantTell):
        return "not_yet"
    return _verdict(_ends_of(fifty_percent_point(curve, level=level, chosen=found.chosen), level), limit)


def _more_of_one(found: FiftyPercent, widened: WidenedPoint | None, *, level: float, limit: float) -> int | CantTell | None:
    curve, point = found.curve, found.point
    if curve is None or point is None:
        return None

    def ends_at(asked: float) -> TwoEnds:
        ends = _ends_of(fifty_percent_point(curve, level=asked, chosen=found.chosen), asked)
        return ends.low, ends.high

    own = math.hypot(widened.instrument_relative, widened.from_combinations) if widened else 0.0
    return more_shots_to_settle(ends_at, estimate=point.energy_j, limit=limit, level=level, shots=found.shots, own_relative=own)


# A ratio of two above 1, or above 1 + d: of the group that needs more over the one that gets through more easily, as claimed.


def _of_two(read: NamedShots, groups: tuple[GroupSeen, ...]) -> EnergyAnswer:
    less = read.claim.claim_form == "needs_less"
    limit = 1.0 if less else 1.0 + (read.claim.difference_ratio or 0.0)
    found = _family_of(read, groups)
    if isinstance(found, Reason):
        return EnergyAnswer(read, limit, groups, why=found)
    family, keys = found
    easier, harder = keys if less else keys[::-1]
    pair = family.pair(easier, harder)
    if pair is None:
        return EnergyAnswer(read, limit, groups, why=because("claim_not_both_shot"))
    turned = pair.first.row.key != easier
    judged, raw = (_oriented(ends, way=pair.found.way, turned=turned, limit=limit) for ends in (pair.corrected, pair.raw))
    names = read.names if less else read.names[::-1]

    def against(easy: Sequence[str], hard: Sequence[str]) -> Callable[[], str]:
        return lambda: _pair_verdict(
            (read.resolved(names[0], easy), read.resolved(names[1], hard)), read, pair=pair, family=family, limit=limit
        )

    # Against a yes speaks what makes the easier one look harder: its shots held, the other's through.
    verdict, could = _holding(_verdict(judged, limit), [against(AGAINST_NO, AGAINST_YES), against(AGAINST_YES, AGAINST_NO)], read.undecided)
    ratio = pair.found.ratio if pair.found.way == "curve" or limit == 1 else None
    estimate = 1 / ratio if ratio and turned else ratio
    of_energies = estimate if pair.found.way == "curve" else None
    return EnergyAnswer(
        read,
        limit,
        groups,
        verdict=verdict,
        for_type=_for_type(read, groups, verdict, judged=judged, estimate=of_energies, limit=limit),
        estimate=estimate,
        raw=raw,
        judged=judged,
        pair=pair,
        why=_why_not(pair, limit, verdict),
        could_change=could,
        more=_more_of_two(pair, turned=turned, limit=limit) if verdict == "not_yet" else None,
    )


def _family_of(read: NamedShots, groups: Sequence[GroupSeen]) -> tuple[PairFamily, tuple[str, str]] | Reason:
    """The one family in which each of the two is one group, with their keys; or why there is none."""
    two = two_of(read.claim)
    assert two is not None
    found = []
    for family in pair_families(read.loosed, read.settings, kind=KINDS[two.kind]):
        shots = [one.shot for side in family.sides for one in side.shots]
        keys = [keys_named(family.kind, names, shots) for names in (two.one, two.other)]
        if all(keys):
            found.append((family, keys))
    if not found:
        return because("claim_not_both_shot")
    family, (one, other) = found[0]
    if read.claim.claim_form == "stand" and len(found) == len(one) == len(other) == 1:
        alike = _stands_alike(family, (one[0], other[0]), read)
        if alike is not None:
            return alike
    return _several(groups) if len(found) > 1 or len(one) > 1 or len(other) > 1 else (family, (one[0], other[0]))


def _stands_alike(family: PairFamily, keys: tuple[str, str], read: NamedShots) -> Reason | None:
    """Stands are told apart by what they hold behind a panel, so two that hold the same are one armour."""
    if keys[0] == keys[1]:
        return because("claim_stands_alike", others=False)
    named = {read.claim.stand_id, read.claim.than_stand_id}
    shots = [one.shot.fact for side in family.sides if side.row.key in keys for one in side.shots]
    return because("claim_stands_alike", others=True) if any(fact.stand_id not in named for fact in shots) else None


def _several(groups: Sequence[GroupSeen]) -> Reason:
    return because("claim_several_types", types=tuple(sorted({words for group in groups for words in group.types})))


def _why_not(pair: Pair, limit: float, verdict: str) -> Reason | None:
    """Odds say which needs more, and never by how much."""
    if pair.found.why is not None or verdict != "not_yet":
        return pair.found.why
    return because("claim_needs_a_curve") if pair.found.way != "curve" and limit > 1 else None


def _oriented(ends: Ends | None, *, way: str, turned: bool, limit: float) -> Ends | None:
    """Of the harder over the easier. Odds can refute "at least d more", by being under 1, and never support it."""
    if ends is None:
        return None
    found = ends.turned if turned else ends
    if way == "curve" or limit == 1:
        return found
    return Ends(None, found.high if found.high is not None and found.high < 1 else None, found.level)


def _pair_verdict(both: tuple[Resolved, Resolved], read: NamedShots, *, pair: Pair, family: PairFamily, limit: float) -> str:
    """Of the easier and the harder group with their undecided shots turned out so."""
    if pair.corrected is None or not all(both):
        return "not_yet"
    parts = energy_parts([one for some in both for one, _ in some], read.settings.place)
    first, second = (_as_shots(some) for some in both)
    own = dict(parts.combination) if parts.known else None
    found = compare_two(first, second, own=own, slope=family.slope, chosen=pair.chosen)
    return _verdict(_oriented(found.ends(pair.corrected.level), way=found.way, turned=False, limit=limit), limit)


def _as_shots(some: Resolved) -> Shots:
    ranked = sorted((one.energy.value, through, one.shot.fact.combination_id) for one, through in some if one.energy)
    energies, through, combinations = zip(*ranked, strict=True)
    return Shots(energies, through, combinations)


def _more_of_two(pair: Pair, *, turned: bool, limit: float) -> int | CantTell | None:
    """None where odds were compared: how their interval shrinks hangs on where the next shots fall; or where a curve hardly rises."""
    curve, corrected = pair.found.curve, pair.corrected
    if curve is None or curve.ratio is None or corrected is None:
        return None

    def ends_at(asked: float) -> TwoEnds:
        found = ratio_of_energies(curve, level=asked, limit_times=pair.found.limit_times)
        ends = Ends(found.low, found.high, asked)
        return (ends.turned.low, ends.turned.high) if turned else (ends.low, ends.high)

    shots, own = len(pair.first.shots) + len(pair.second.shots), pair.found.own_relative
    ratio = 1 / curve.ratio if turned else curve.ratio
    return more_shots_to_settle(ends_at, estimate=ratio, limit=limit, level=corrected.level, shots=shots, own_relative=own)


# What both have in common.


def _verdict(ends: Ends | None, limit: float) -> str:
    return verdict_above(ends.low or None, ends.high, limit=limit) if ends else "not_yet"


def _holding(told: str, against: Sequence[Callable[[], str]], undecided: int) -> tuple[str, int]:
    """The answer that holds however the undecided shots turn out, and how many of those could change it."""
    if not undecided:
        return told, 0
    against_yes, against_no = (ask() for ask in against)
    held = told if told == {"yes": against_yes, "no": against_no}.get(told) else "not_yet"
    return held, undecided if {told, against_yes, against_no} != {held} else 0


def _for_type(
    read: NamedShots, groups: Sequence[GroupSeen], verdict: str, *, judged: Ends | None, estimate: float | None, limit: float
) -> str:
    """The same of arrows and panels of the type: of enough of them, or with their spread as stated."""
    spread = read.claim.spread_ratio
    if spread is None:
        return verdict if lacking(read.claim, groups) is None else "not_yet"
    if judged is None or estimate is None:
        return "not_yet"
    units = tuple(min(count for _, count in some) for some in own_units(read.claim, groups) if some)
    ends = ends_for_type(judged.low or None, judged.high, estimate=estimate, spread=spread, units=units, level=judged.level)
    return verdict if verdict_above(*ends, limit=limit) == verdict else "not_yet"
