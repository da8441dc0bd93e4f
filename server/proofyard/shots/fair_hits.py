"""May a hit be counted as one on a fresh panel: fair, not fair, or not known, with the reason.

It rests only on what was so before the arrow struck, never on how the hit turned out. Earlier hits count per panel
build, across trials. An archer may overrule; that is stored, the mark itself is worked out each time.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from proofyard.quantities.reason import Part, Reason, because
from proofyard.records.arrow import ArrowCheck
from proofyard.records.columns import picked
from proofyard.records.panel import SMALL_PLATED
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import Trial

# How far from an earlier hit, and from the edge, a hit must lie to be fair: defaults, and what standards use.
#
# Distances by construction are common practice, no source: a dent stiffens and bends sheet about its own width away,
# an open ring loosens its neighbours, a cut in quilted cloth runs to the next line. A trial can set its own.


@dataclass(frozen=True)
class FairRules:
    """In metres. `spoils`: the outcome levels of an earlier hit that spoil the spot about it."""

    near_opened_m: float
    near_dented_m: float
    near_edge_m: float
    position_accuracy_m: float
    spoils: frozenset[int]

    def reach_of(self, outcome_level: int) -> float:
        """How far an earlier hit of this outcome level spoils the panel; 0 where it doesn't."""
        if outcome_level not in self.spoils:
            return 0.0
        return self.near_opened_m if outcome_level >= 3 else self.near_dented_m


_SPOILS = frozenset({2, 3, 4, 5})
_PLATE = FairRules(0.050, 0.025, 0.030, 0.005, _SPOILS)
_SMALL_PLATES = FairRules(0.050, 0.030, 0.030, 0.005, _SPOILS)
_MAIL = FairRules(0.040, 0.020, 0.040, 0.005, _SPOILS)
_TEXTILE = FairRules(0.040, 0.020, 0.030, 0.005, _SPOILS)
DEFAULTS: Mapping[str, FairRules] = MappingProxyType(
    {
        "plate": _PLATE,
        "lamellar": _SMALL_PLATES,
        "scale": _SMALL_PLATES,
        "brigandine": _SMALL_PLATES,
        "coat_of_plates": _SMALL_PLATES,
        "mail": _MAIL,
        "textile": _TEXTILE,
        "other": _PLATE,
    }
)


@dataclass(frozen=True)
class Borrowed:
    """What a standard for something else uses, to be shown beside ours and never as ours."""

    what: Reason
    between_m: float
    edge_m: float
    source: Reason


BORROWED = (
    Borrowed(because("rule_of_nij_0101_03"), 0.050, 0.076, because("rule_quoted_in_a_book")),
    Borrowed(because("rule_of_nij_0101_06"), 0.051, 0.051, because("rule_quoted_in_notes")),
)


def rules_of(trial: Trial | None, construction: str | None) -> FairRules:
    """A trial's own distances; where it says nothing, the default of the construction."""
    default = DEFAULTS.get(construction or "other", _PLATE)
    if trial is None:
        return default
    spoils = frozenset(map(int, picked(trial.spoils))) if trial.spoils else default.spoils

    def own(value: float | None, otherwise: float) -> float:
        return otherwise if value is None else value

    return FairRules(
        near_opened_m=own(trial.near_opened_m, default.near_opened_m),
        near_dented_m=own(trial.near_dented_m, default.near_dented_m),
        near_edge_m=own(trial.near_edge_m, default.near_edge_m),
        position_accuracy_m=own(trial.position_accuracy_m, default.position_accuracy_m),
        spoils=spoils,
    )


# Which of two shots came first, as far as anybody wrote it down. Order is asked, never guessed.


class ShotOrder:
    """Answers `earlier(a, b)` for the shots it was given: True, False, or None where nobody knows."""

    def __init__(self, facts: Iterable[ShotFact]) -> None:
        self._spans: dict[str, tuple[int, int]] = {}
        for fact in facts:
            if fact.loosed_at is not None:
                first, last = self._spans.get(fact.shooting_end_id, (fact.loosed_at, fact.loosed_at))
                self._spans[fact.shooting_end_id] = (min(first, fact.loosed_at), max(last, fact.loosed_at))

    def earlier(self, a: ShotFact, b: ShotFact) -> bool | None:
        """Whether a was loosed before b."""
        if a.shooting_end_id != b.shooting_end_id:
            across = self._across(a, b)
            if across is not None:
                return across
        elif a.position is not None and b.position is not None and a.position != b.position:
            return a.position < b.position
        return self._same_phone(a, b)

    def _across(self, a: ShotFact, b: ShotFact) -> bool | None:
        if a.day != b.day:
            return a.day < b.day
        if a.session_id == b.session_id and a.shooting_end_number is not None and b.shooting_end_number is not None:
            # Typed in from paper: the number was called at the range and written down there. The same number on two
            # sheets is one end.
            return None if a.shooting_end_number == b.shooting_end_number else a.shooting_end_number < b.shooting_end_number
        spans = self._spans.get(a.shooting_end_id), self._spans.get(b.shooting_end_id)
        if spans[0] and spans[1]:
            # Two phones may each have begun an end for what was one: then their times run into each other.
            if spans[0][1] < spans[1][0]:
                return True
            return False if spans[1][1] < spans[0][0] else None
        if (
            a.shooting_end_begun_at is not None
            and b.shooting_end_begun_at is not None
            and a.shooting_end_begun_at != b.shooting_end_begun_at
        ):
            return a.shooting_end_begun_at < b.shooting_end_begun_at
        return None

    @staticmethod
    def _same_phone(a: ShotFact, b: ShotFact) -> bool | None:
        # One phone's own clock orders its own shots; two phones' clocks do not order each other's.
        if a.recorded_by is None or a.recorded_by != b.recorded_by or a.loosed_at is None or b.loosed_at is None:
            return None
        return None if a.loosed_at == b.loosed_at else a.loosed_at < b.loosed_at


# How far inside a panel's edge a place lies.


def from_edge_m(place: tuple[float, float], outline: str | None, *, width_m: float | None, height_m: float | None) -> float | None:
    """Metres from the panel's edge, below 0 outside; None while its size is not in the book. `place` is from its middle.

    Exact for a round panel; for an oval one never more than the true distance, so nothing is called fair by it.
    A breastplate's outline is taken as its rectangle.
    """
    if not width_m or not height_m:
        return None
    (x_m, y_m), across, up = place, width_m / 2, height_m / 2
    if outline == "disc":
        return (1 - math.hypot(x_m / across, y_m / up)) * min(across, up)
    return min(across - abs(x_m), up - abs(y_m))


# Which other shots at a panel build can have something to say of a hit, found without asking of every two shots.
#
# A thousand shots at one panel are half a million pairs. Nearly all of them say nothing: the two lie far apart. So
# distances are taken all at once, and only shots that lie within their own reach are asked about one by one.

if TYPE_CHECKING:
    import numpy.typing as npt

OUTCOME_LEVEL_UNSAID = 2  # a hit whose outcome level nobody wrote down counts as a dent
SLACK_M = 1e-9  # distances taken all at once may differ in their last digit; the exact one decides later
_NEVER = ("let_down", "speed_only")


class HitNeighbours:
    """The shots at one panel build, in the order given; `place` below is a shot's place in that order."""

    def __init__(self, shots: Sequence[ShotFact]) -> None:
        import numpy as np  # late: a page without hits needs none

        self._by_id = {shot.shot_id: shot for shot in shots}
        self.silent = [
            (place, shot) for place, shot in enumerate(shots) if shot.purpose not in _NEVER and (shot.hit is None or shot.x_m is None)
        ]
        self._placed = [(place, shot) for place, shot in enumerate(shots) if shot.hit and None not in (shot.x_m, shot.y_m)]
        self._x = np.array([shot.x_m for _, shot in self._placed], dtype=float)
        self._y = np.array([shot.y_m for _, shot in self._placed], dtype=float)
        self._low = np.array([_outcome_level(shot.outcome_low) for _, shot in self._placed], dtype=int)
        self._high = np.array([_outcome_level(shot.outcome_high) for _, shot in self._placed], dtype=int)
        self._plates: dict[str, list[int]] = {}
        for index, (_, shot) in enumerate(self._placed):
            self._plates.setdefault(plate_called(shot) or "", []).append(index)

    def near(self, fact: ShotFact, rules: FairRules) -> Iterator[tuple[int, ShotFact]]:
        """The placed hits within whose reach `fact` may lie, and those on its small plate, with their places in order."""
        if fact.x_m is None or fact.y_m is None:
            return
        import numpy as np

        reach_of = np.array([rules.reach_of(outcome_level) for outcome_level in range(6)])
        reach = np.maximum(reach_of[self._low], reach_of[self._high])
        within = (reach > 0) & (self._away(fact) < reach + rules.position_accuracy_m + SLACK_M)
        if plate := plate_called(fact):
            within[self._plates.get(plate, [])] = True
        for index in np.flatnonzero(within):
            if self._placed[index][1] is not fact:
                yield self._placed[index]

    def outwards(self, fact: ShotFact) -> Iterator[tuple[float, ShotFact]]:
        """The placed hits, nearest first, each with its distance to within the last digit; none if `fact` has no place."""
        if fact.x_m is None or fact.y_m is None:
            return
        away = self._away(fact)
        for index in away.argsort(kind="stable"):
            if self._placed[index][1] is not fact:
                yield float(away[index]), self._placed[index][1]

    def called(self, shot_id: str) -> ShotFact | None:
        """The shot at this build that has this id, if one has."""
        return self._by_id.get(shot_id)

    def _away(self, fact: ShotFact) -> "npt.NDArray[Any]":
        import numpy as np

        return np.hypot(self._x - fact.x_m, self._y - fact.y_m)


def plate_called(shot: ShotFact) -> str | None:
    """Small plates are told apart by what the reader called them, such as "row 3, plate 5"; distance says the rest."""
    if shot.construction not in SMALL_PLATED or not shot.plate:
        return None
    return " ".join(shot.plate.casefold().split())


def _outcome_level(outcome: int | None) -> int:
    return OUTCOME_LEVEL_UNSAID if outcome is None else outcome


FAIR, NOT_FAIR, NOT_KNOWN = "fair", "not_fair", "not_known"


@dataclass(frozen=True)
class FairMark:
    """The answer and its reason. Where an archer overruled, `worked_out` keeps the mark that the rules gave.

    sort      a key of `wording.fairness.SORTS`: what the reason is of, without its shot and its millimetres
    of_trial  the trial of the other shot that the reason names, None where it names none
    """

    answer: str
    reason: Reason
    sort: str = "fair"
    worked_out: "FairMark | None" = None
    of_trial: str | None = None

    @property
    def overruled(self) -> bool:
        return self.worked_out is not None

    def for_viewer_of(self, trial_id: str | None) -> "FairMark":
        """The same mark for a viewer of one trial (None: of all), whose reason names no shot of another trial."""
        if self.worked_out is not None:
            return replace(self, worked_out=self.worked_out.for_viewer_of(trial_id))
        if trial_id is None or self.of_trial in (None, trial_id):
            return self
        return replace(self, reason=_unnamed(self.reason), of_trial=None)


def _unnamed(reason: Reason) -> Reason:
    """The same reason without the label of its shot."""

    def told(name: str, part: Part) -> Part:
        return None if name == "shot" else _unnamed(part) if isinstance(part, Reason) else part

    return Reason(reason.code, tuple((name, told(name, part)) for name, part in reason.items))


def _naming(answer: str, reason: Reason, sort: str, *, shot: ShotFact) -> FairMark:
    """A mark whose reason names one other shot, as its part `shot`."""
    return FairMark(answer, reason, sort, of_trial=shot.trial_id)


def mark_hits(
    facts: Sequence[ShotFact],
    *,
    builds: Iterable[str] | None = None,
    trials: Mapping[str, Trial] | None = None,
    checks: Iterable[ArrowCheck] = (),
) -> dict[str, FairMark]:
    """The marks of all hits at these panel builds.

    facts   what `facts_for_fairness` gives for them, or every shot of the book; those crossed out are passed over
    builds  None where the facts are every shot of the book: then all hits have a mark
    """
    facts = [fact for fact in facts if not fact.voided]
    order, trials = ShotOrder(facts), trials or {}
    wanted = None if builds is None else set(builds)
    by_build: dict[str, list[ShotFact]] = {}
    hurt: dict[str, list[ShotFact]] = {}
    for fact in facts:
        by_build.setdefault(fact.panel_build_id, []).append(fact)
        if _fates(fact):
            hurt.setdefault(fact.arrow_build_id, []).append(fact)
    checked: dict[str, list[ArrowCheck]] = {}
    for check in checks:
        checked.setdefault(check.arrow_build_id, []).append(check)
    at_build = {build: HitNeighbours(shots) for build, shots in by_build.items() if wanted is None or build in wanted}
    marks = {}
    for fact in facts:
        if fact.panel_build_id in at_build and fact.hit == "on_panel" and fact.purpose == "counted":
            rules = rules_of(trials.get(fact.trial_id), fact.construction)
            arrow = fact.arrow_build_id
            unsound = _unsound(fact, hurt.get(arrow, ()), checked.get(arrow, ()), order=order)
            mark = _mark(fact, at_build[fact.panel_build_id], rules=rules, order=order, unsound=unsound)
            marks[fact.shot_id] = _overruled(fact, mark)
    return marks


def _overruled(fact: ShotFact, mark: FairMark) -> FairMark:
    if fact.fair_overrule is None:
        return mark
    return FairMark(fact.fair_overrule, because("fair_overruled", why=fact.fair_reason), "overruled", worked_out=mark)


def _mark(fact: ShotFact, others: HitNeighbours, *, rules: FairRules, order: ShotOrder, unsound: FairMark | None) -> FairMark:
    """One reason against is enough; one thing unknown is enough to say so; else the nearest earlier hit is named."""
    if unsound:
        return unsound
    if "panel_edge" in (fact.entry, fact.touched_first):
        return FairMark(NOT_FAIR, because("fair_panel_edge"), "edge")
    if "old_hit" in (fact.entry, fact.touched_first):
        return FairMark(NOT_FAIR, because("fair_in_an_old_hit"), "old_hit")
    edge = _edge(fact, rules)
    if edge and edge.answer == NOT_FAIR:
        return edge
    against = _hits_against(fact, others, rules=rules, order=order)
    if against and (against.answer == NOT_FAIR or not edge):
        return against
    if edge:
        return edge
    if fact.may_be_shot_id:
        other = others.called(fact.may_be_shot_id)
        if other is None:
            return FairMark(NOT_KNOWN, because("fair_may_be_another_hit"), "either")
        return _naming(NOT_KNOWN, because("fair_may_be_the_hit_of", shot=other.label), "either", shot=other)
    return _nearest(fact, others, order)


def _hits_against(fact: ShotFact, others: HitNeighbours, *, rules: FairRules, order: ShotOrder) -> FairMark | None:
    """The first of the other shots to say "not fair"; if none does, the first that leaves it not known."""
    unknown: tuple[int, FairMark] | None = None
    for place, other in others.near(fact, rules):
        found = _against(fact, other, rules=rules, order=order)
        if found and found.answer == NOT_FAIR:
            return found
        if found and unknown is None:
            unknown = place, found
    for place, other in others.silent:  # not read or not placed: they can leave it open, never say no
        if other is fact:
            continue
        if unknown is not None and place > unknown[0]:
            break
        found = _against(fact, other, rules=rules, order=order)
        if found:
            return found
    return unknown[1] if unknown else None


def _edge(fact: ShotFact, rules: FairRules) -> FairMark | None:
    if fact.x_m is None or fact.y_m is None:
        return FairMark(NOT_KNOWN, because("fair_place_not_known"), "place")
    inside = from_edge_m((fact.x_m, fact.y_m), fact.panel_outline, width_m=fact.panel_width_m, height_m=fact.panel_height_m)
    if inside is None:
        return None  # the panel's size was not written down, so the edge says nothing
    if inside < rules.near_edge_m - rules.position_accuracy_m:
        return FairMark(NOT_FAIR, because("fair_from_the_edge", away_m=max(inside, 0.0)), "edge")
    if inside < rules.near_edge_m + rules.position_accuracy_m:
        return FairMark(NOT_KNOWN, because("fair_near_the_limit_from_the_edge", away_m=inside), "edge_limit")
    return None


def _against(fact: ShotFact, other: ShotFact, *, rules: FairRules, order: ShotOrder) -> FairMark | None:
    """What one other shot at this build says against `fact`, if anything."""
    if other.voided or other.purpose in ("let_down", "speed_only") or other.hit in ("missed", "spoiled"):
        return None
    earlier = order.earlier(other, fact)
    if earlier is False:
        return None
    if other.hit is None:
        return _naming(NOT_KNOWN, because("fair_earlier_not_read", shot=other.label, earlier=bool(earlier)), "unread", shot=other)
    near = _too_near(fact, other, rules)
    if near is None:
        return None
    if earlier is None:
        return _naming(NOT_KNOWN, because("fair_order_not_known", shot=other.label, near=near.reason), "order", shot=other)
    return near


def _too_near(fact: ShotFact, other: ShotFact, rules: FairRules) -> FairMark | None:
    low = rules.reach_of(OUTCOME_LEVEL_UNSAID if other.outcome_low is None else other.outcome_low)
    high = rules.reach_of(OUTCOME_LEVEL_UNSAID if other.outcome_high is None else other.outcome_high)
    if other.hit == "partial" and other.x_m is None:
        return None  # it clipped the edge somewhere; what lies that near the edge is not fair anyhow
    if max(low, high) == 0:
        return None
    if None in (other.x_m, other.y_m, fact.x_m, fact.y_m):
        reason = because("fair_earlier_place_not_known", shot=other.label)
        return _naming(NOT_KNOWN, reason, "place", shot=other) if other.x_m is None else None
    assert fact.x_m is not None and fact.y_m is not None and other.x_m is not None and other.y_m is not None
    away = math.hypot(fact.x_m - other.x_m, fact.y_m - other.y_m)
    if plate_called(fact) and plate_called(fact) == plate_called(other):
        return _naming(NOT_FAIR, because("fair_same_plate", shot=other.label), "same_plate", shot=other)
    if away < min(low, high) - rules.position_accuracy_m:
        ring = fact.construction == "mail" and (other.outcome_low or 0) >= 3
        return _naming(NOT_FAIR, because("fair_too_near", shot=other.label, away_m=away, opened_ring=ring), "near", shot=other)
    if away < max(low, high) + rules.position_accuracy_m:
        if low == high:
            return _naming(NOT_KNOWN, because("fair_near_the_limit", shot=other.label, away_m=away), "limit", shot=other)
        return _naming(NOT_KNOWN, because("fair_earlier_outcome_open", shot=other.label, away_m=away), "limit", shot=other)
    return None


def _fates(flight: ShotFact) -> tuple[str, ...]:
    """What became of the arrow: keys of HEAD_FATES and SHAFT_FATES; empty while nothing did."""
    return tuple(fate for fate in (*flight.head_fate, *flight.shaft_fate) if fate != "sound")


def _unsound(fact: ShotFact, hurt: Sequence[ShotFact], checks: Sequence[ArrowCheck], *, order: ShotOrder) -> FairMark | None:
    """What was already wrong with the arrow when it was loosed, as somebody wrote it down."""
    before = [c for c in checks if c.at is not None and fact.loosed_at is not None and c.at <= fact.loosed_at]
    last = max(before, key=lambda c: c.at or 0, default=None)
    if last is not None and last.sound == "not_sound":
        return FairMark(NOT_FAIR, because("fair_arrow_found_unsound"), "arrow")
    for flight in hurt:
        if flight is fact or not order.earlier(flight, fact):
            continue
        if last is not None and flight.loosed_at is not None and flight.loosed_at < (last.at or 0):
            continue  # somebody looked at it since and said sound
        return _naming(NOT_FAIR, because("fair_arrow_hurt", shot=flight.label, fates=_fates(flight)), "arrow", shot=flight)
    return None


def _nearest(fact: ShotFact, others: HitNeighbours, order: ShotOrder) -> FairMark:
    if fact.x_m is None or fact.y_m is None:
        return FairMark(FAIR, because("fair_nothing_against_it"))
    nearest: tuple[float, str, ShotFact] | None = None
    for about, other in others.outwards(fact):
        if nearest and about > nearest[0] + SLACK_M:
            break  # of two that lie equally near, the first by its label
        if other.hit == "on_panel" and other.x_m is not None and other.y_m is not None and order.earlier(other, fact):
            one = math.hypot(fact.x_m - other.x_m, fact.y_m - other.y_m), other.label, other
            nearest = min(nearest, one, key=lambda found: found[:2]) if nearest else one
    if nearest is None:
        return FairMark(FAIR, because("fair_first_hit"))
    return _naming(FAIR, because("fair_nearest", shot=nearest[2].label, away_m=nearest[0]), "fair", shot=nearest[2])
