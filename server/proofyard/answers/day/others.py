"""What a day's report takes from other answers. The page that puts it together hands them over: no answer imports another."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from proofyard.caveats.caveat import Caveat
from proofyard.quantities.reason import Reason
from proofyard.records.claim_facts import ClaimFact
from proofyard.shots.loosed import LoosedShot
from proofyard.views.at_hand import InHand
from proofyard.views.cells import Cell
from proofyard.views.counted import Finding


class Row(Protocol):
    """One row of heads in the results: its cells, and how many shots they hold."""

    @property
    def cells(self) -> tuple[Cell, ...]: ...
    @property
    def shots(self) -> int: ...


class SoFar(Protocol):
    """The results of a trial up to that day."""

    @property
    def finding(self) -> Finding: ...
    @property
    def about(self) -> tuple[Reason, ...]: ...
    @property
    def to_check(self) -> tuple[Caveat, ...]: ...
    @property
    def groups(self) -> Sequence[Row]: ...
    @property
    def counted(self) -> int: ...
    @property
    def loosed(self) -> int: ...


class Offered(Protocol):
    """A combination that could be next."""

    @property
    def hand(self) -> InHand: ...
    @property
    def energy(self) -> Reason: ...
    @property
    def gain(self) -> Reason | None: ...


class Said(Protocol):
    """What a trial's rule for the next shot says."""

    @property
    def rule_words(self) -> str: ...
    @property
    def why(self) -> Reason | None: ...
    @property
    def waiting(self) -> Reason | None: ...
    @property
    def best(self) -> Offered | None: ...
    @property
    def others(self) -> Sequence[Offered]: ...


class Claimed(Protocol):
    """A trial's claim with its answer."""

    @property
    def title(self) -> Reason: ...
    @property
    def claim(self) -> Reason: ...
    @property
    def stated(self) -> Reason: ...
    @property
    def bounds(self) -> Reason | None: ...


Rule = Callable[..., Said]


@dataclass(frozen=True)
class Others:
    """results: of some shots, as the results page counts them; next_shot: by the trial's own rule; claim: judged by some shots."""

    results: Callable[..., SoFar]
    next_shot: Rule
    claim: Callable[[ClaimFact, Sequence[LoosedShot]], Claimed]
