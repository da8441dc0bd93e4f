"""Heads and shafts of one form at one panel type: how many shots hurt them, and how many shots one lasts."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell
from proofyard.records.shot_facts import ShotFact
from proofyard.statistics.head_life import HeadLife, shots_a_head_lasts
from proofyard.statistics.shares import bounded_share, share_interval
from proofyard.views.cells import Tally

Ended = Callable[[ShotFact], bool | None]


@dataclass(frozen=True)
class Lives:
    """Heads (or shafts) as arrow builds: work on a head begins a new one.

    shots       on the panel, of each up to and with the one that surely ended it
    ended_low   surely ended; ended_high: with those that nobody looked at afterwards, or nobody found
    """

    shots: int
    ended_low: int
    ended_high: int
    builds: int

    @property
    def life(self) -> HeadLife | CantTell:
        return shots_a_head_lasts(self.ended_low, self.shots, ended_high=self.ended_high)


def answers_of(facts: Sequence[ShotFact], ended: Ended) -> list[bool | None]:
    """Whether each shot ended it. `facts` in the order loosed. What flew again without work on it was not ended by a shot that
    nobody looked at afterwards: work begins a new build."""
    last = {fact.arrow_build_id: place for place, fact in enumerate(facts)}
    found = [ended(fact) for fact in facts]
    return [
        False if answer is None and last[fact.arrow_build_id] > place else answer
        for place, (fact, answer) in enumerate(zip(facts, found, strict=True))
    ]


def lives_of(facts: Sequence[ShotFact], ended: Ended) -> Lives:
    """`facts`: shots on the panel in the order loosed. What a build did after it was surely ended is no life of its."""
    by_build: dict[str, list[bool | None]] = {}
    for fact, answer in zip(facts, answers_of(facts, ended), strict=True):
        by_build.setdefault(fact.arrow_build_id, []).append(answer)
    shots = low = high = 0
    for answers in by_build.values():
        sure = True in answers
        shots += answers.index(True) + 1 if sure else len(answers)
        low += sure
        high += sure or None in answers
    return Lives(shots, low, high, len(by_build))


def share_ended(facts: Sequence[ShotFact], ended: Ended, *, method: str) -> Tally:
    """How many of these shots ended it, those that nobody looked at as bounds."""
    return share_of(answers_of(facts, ended), method=method)


def share_of(found: Sequence[bool | None], *, method: str) -> Tally:
    """The same of answers that were found already, a shot each."""
    low, shots = sum(one is True for one in found), len(found)
    high = low + sum(one is None for one in found)
    if not shots:
        return Tally(0, 0, 0, None, None, method)
    made = share_interval(low, shots, method=method) if low == high else bounded_share(low, high, shots=shots, method=method)
    if isinstance(made, CantTell):
        return Tally(low, high, shots, None, None, method)
    return Tally(low, high, shots, made.low, made.high, method)
