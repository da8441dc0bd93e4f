""" "At most 1 in k gets through", or "never": each head judged by itself, of these arrows on these panels and of the type."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from proofyard.answers.claims.evidence import AGAINST_NO, AGAINST_YES, Evidence, counts
from proofyard.quantities.reason import CantTell
from proofyard.records.listing import by_number
from proofyard.statistics.claim_shots import more_for_type, more_shots
from proofyard.statistics.claims import (
    ALIKE_BY_DEFAULT,
    AnyTimeBounds,
    Counts,
    EValues,
    any_time_bounds,
    bound_of_one_look,
    e_values,
    joint_verdict,
    larger_design_effect,
    verdict_for_type,
    verdict_of,
)


@dataclass(frozen=True)
class Asked:
    """How a claim is judged. `one_in` None: never; `set_shots`: only if it was written down before the first shot."""

    one_in: int | None
    alpha: float
    heads: int
    set_shots: int | None = None
    alike: float = ALIKE_BY_DEFAULT


@dataclass(frozen=True)
class HeadAnswer:
    """One head: what its shots say, with everything undecided taken against either answer.

    for_no, for_yes  the counts that each answer rests on; judged: what a yes is judged by, with a number set beforehand
    verdict          of these arrows on these panels; `for_type` of arrows and panels like them (None: not asked of "never")
    could_change     undecided shots that could change either of the two
    """

    head: str
    evidence: tuple[Evidence, ...]
    asked: Asked
    for_no: Counts
    for_yes: Counts
    judged: Counts
    verdict: str
    for_type: str | None
    could_change: int

    @cached_property
    def bounds(self) -> AnyTimeBounds:
        """The shares still possible of this head by itself: the low end from what refutes, the high end from what supports."""
        low = any_time_bounds(self.for_no.through, self.for_no.shots, alpha=self.asked.alpha).low
        return AnyTimeBounds(low, self._high, self.asked.alpha, self.for_no.through, self.for_no.shots)

    @property
    def judged_at_once(self) -> bool:
        """Whether the number set beforehand is reached, so that the high end is of one look and no running bound."""
        return self.asked.set_shots is not None and self.judged.shots >= self.asked.set_shots

    @property
    def _high(self) -> float:
        if self.judged_at_once:
            return bound_of_one_look(self.judged.through, self.judged.shots, alpha=self.asked.alpha)
        return any_time_bounds(self.for_yes.through, self.for_yes.shots, alpha=self.asked.alpha).high

    @cached_property
    def e_values(self) -> EValues:
        """Of the counts for each side; of "never" there are none."""
        one_in = self.asked.one_in or 2
        no = e_values(self.for_no.through, self.for_no.shots, one_in=one_in).log_no
        yes = e_values(self.for_yes.through, self.for_yes.shots, one_in=one_in).log_yes
        return EValues(self.for_no.through, self.for_no.shots, one_in, no, yes)

    @property
    def shots(self) -> int:
        return len(self.evidence)

    @property
    def through_low(self) -> int:
        return sum(one.may_be == {"through"} for one in self.evidence)

    @property
    def through_high(self) -> int:
        return sum("through" in one.may_be for one in self.evidence)

    @property
    def arrows(self) -> tuple[str, ...]:
        return tuple(sorted({one.shot.fact.arrow_tag for one in self.evidence}, key=by_number))

    @property
    def panels(self) -> tuple[str, ...]:
        return tuple(sorted({one.shot.fact.panel_name for one in self.evidence}, key=by_number))

    @cached_property
    def more(self) -> int | CantTell | None:
        """More shots with none through that would support it of these arrows; None where no answer waits for shots."""
        if self.verdict != "not_yet" or self.asked.one_in is None:
            return None
        if self.asked.set_shots is not None:
            return max(0, self.asked.set_shots - self.for_yes.shots)
        return more_shots(self.for_yes.through, self.for_yes.shots, one_in=self.asked.one_in, alpha=self.asked.alpha)

    @cached_property
    def more_for_type(self) -> int | CantTell | None:
        """The same of the type, with these arrows on these panels."""
        if self.for_type != "not_yet" or self.asked.one_in is None or not self.for_yes.shots:
            return None
        return more_for_type(self.for_yes, one_in=self.asked.one_in, alpha=self.asked.alpha, intraclass_correlation=self.asked.alike)

    @property
    def few(self) -> str:
        """Whether arrows or panels are what a word about the type lacks first."""
        return larger_design_effect(self.for_yes, intraclass_correlation=self.asked.alike)[1]


@dataclass(frozen=True)
class HoldsAnswer:
    """All heads together: refuted by any, supported only if each is."""

    heads: tuple[HeadAnswer, ...]
    asked: Asked

    @property
    def verdict(self) -> str:
        return joint_verdict([one.verdict for one in self.heads])

    @property
    def for_type(self) -> str:
        return joint_verdict([one.for_type or "not_yet" for one in self.heads])

    @property
    def refuting(self) -> tuple[HeadAnswer, ...]:
        return tuple(one for one in self.heads if one.verdict == "no")

    @property
    def could_change(self) -> int:
        return sum(one.could_change for one in self.heads)


def judge_heads(by_head: Sequence[tuple[str, Sequence[Evidence]]], asked: Asked) -> HoldsAnswer:
    """The answer of each head, and so of all."""
    return HoldsAnswer(tuple(_judge(head, tuple(evidence), asked) for head, evidence in by_head), asked)


def _judge(head: str, evidence: tuple[Evidence, ...], asked: Asked) -> HeadAnswer:
    refuting = [one for one in evidence if one.for_no]
    supporting = [one for one in evidence if one.for_yes]
    worst = counts(refuting, AGAINST_NO), counts(supporting, AGAINST_YES)
    best = counts(refuting, AGAINST_YES), counts(supporting, AGAINST_NO)
    judged = _first(supporting, asked, AGAINST_YES)
    found = _verdicts(*worst, judged, asked)
    kinder = _verdicts(*best, _first(supporting, asked, AGAINST_NO), asked)
    undecided = sum(not one.decided for one in evidence)
    return HeadAnswer(head, evidence, asked, *worst, judged, *found, undecided if found != kinder else 0)


def _first(supporting: Sequence[Evidence], asked: Asked, worst_first: Sequence[str]) -> Counts:
    """The counts that a yes is judged by: with a number set beforehand, of the first so many that count."""
    if asked.set_shots is None:
        return counts(supporting, worst_first)
    kept = [one for one in supporting if next(sort for sort in worst_first if sort in one.may_be) != "out"]
    return counts(kept[: asked.set_shots], worst_first)


def _verdicts(for_no: Counts, for_yes: Counts, judged: Counts, asked: Asked) -> tuple[str, str | None]:
    if asked.one_in is None:
        return ("no" if for_no.through else "not_yet"), None
    these = verdict_of(for_no, judged, one_in=asked.one_in, alpha=asked.alpha, heads=asked.heads, set_shots=asked.set_shots)
    for_type = verdict_for_type(
        for_no, for_yes, one_in=asked.one_in, alpha=asked.alpha, heads=asked.heads, intraclass_correlation=asked.alike
    )
    # A number set beforehand is kept for the type too: nothing is said of it that is not said of these.
    return these, for_type if for_type == these else "not_yet"
