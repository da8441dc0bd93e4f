"""What counts as through: a setting of the view, never baked into a record.

A shot may be through, not through, or either: while the rear has not been seen, or nobody said how deep it went.
"""

from dataclasses import dataclass

from server.quantities import plainly, with_unit
from server.records.shot_facts import ShotFact
from server.records.trial import RUNG_WORDS, Trial

FIRST_BEHIND = 4  # the lowest rung at which something stands behind the rear face


@dataclass(frozen=True)
class Through:
    """One meaning of through.

    how      rung, depth, or body_line
    rung     with how rung: the lowest rung that counts, 1 to 5
    depth_m  with how depth: how far past the rear face the tip must have come, 0 for at all
    """

    how: str = "rung"
    rung: int = FIRST_BEHIND
    depth_m: float | None = None

    @property
    def value(self) -> str:
        """As it stands in an address: "4", "depth", "body_line"."""
        return str(self.rung) if self.how == "rung" else self.how

    @property
    def past(self) -> str:
        """How a count of such shots goes on: "4 of 6 behind"."""
        if self.how == "depth":
            return f"{_depth(self.depth_m or 0.0)} or more behind"
        return "past the body line" if self.how == "body_line" else _PAST[self.rung]

    @property
    def heading(self) -> str:
        """A column's heading."""
        return self.past[0].upper() + self.past[1:]

    @property
    def meaning(self) -> str:
        """After "through means"."""
        if self.how == "rung":
            return RUNG_WORDS[self.rung].lower() + (", or more" if self.rung < 5 else "")
        if self.how == "depth":
            return f"the tip {_depth(self.depth_m or 0.0)} or more past the rear face"
        return "past the body line"

    def did(self, on: str) -> str:
        """What such a shot did, with what it was done to: "stood behind the plate"."""
        if self.how == "depth":
            return f"came {_depth(self.depth_m or 0.0)} or more behind {on}"
        if self.how == "body_line":
            return f"went through {on} and past the body line"
        return _DID[self.rung].format(on)


def through_of(trial: Trial) -> Through:
    """What through means in this trial; point behind where it says nothing. No mark can't be a way through."""
    return Through(rung=max(1, int(trial.through))) if trial.through else Through(rung=FIRST_BEHIND)


_PAST = {1: "marked or more", 2: "dented or more", 3: "opened or more", 4: "behind", 5: "head behind"}
_DID = {
    1: "marked {} or more",
    2: "dented {} or more",
    3: "opened {} or more",
    4: "stood behind {}",
    5: "stood behind {} with the whole head",
}


def _depth(depth_m: float) -> str:
    return with_unit(plainly(depth_m * 1000), "mm")


def may_be_through(fact: ShotFact, through: Through) -> tuple[bool, bool]:
    """Whether a read shot surely is through, and whether it may be: (True, True), (False, True) or (False, False)."""
    low, high = fact.outcome_low, fact.outcome_high
    if low is None or high is None:
        return False, False
    if through.how == "rung":
        return low >= through.rung, high >= through.rung
    return _past_body_line(fact, high) if through.how == "body_line" else _deep_enough(fact, through.depth_m or 0.0)


def _deep_enough(fact: ShotFact, depth_m: float) -> tuple[bool, bool]:
    assert fact.outcome_low is not None and fact.outcome_high is not None
    if fact.outcome_high < FIRST_BEHIND:
        return False, False
    # A millimetre typed is a millimetre meant: the last bit of a float must not decide.
    if fact.depth_m is not None and fact.depth_m > 0:
        deep = fact.depth_m >= depth_m - 1e-9
        return deep, deep or fact.depth_bound == "at_least"
    behind = fact.outcome_low >= FIRST_BEHIND
    return behind and depth_m == 0, True


def _past_body_line(fact: ShotFact, high: int) -> tuple[bool, bool]:
    if fact.reached is not None:
        past = fact.reached == "body_line"
        return past, past
    return False, high >= FIRST_BEHIND
