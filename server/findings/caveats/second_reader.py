"""Where two people read the same hits: how far they agree. Counts always; agreement beyond chance from ten on."""

from dataclasses import dataclass
from statistics import median

from server.findings.caveats.caveat import Caveat, rests_on, some
from server.findings.caveats.view import View
from server.findings.loosed import LoosedShot
from server.findings.through import may_be_through
from server.quantities import written
from server.records.caveat_facts import ReadAgain
from server.statistics.agreement import Kappa, weighted_kappa

FEWEST_FOR_KAPPA = 10
RUNGS = 6


@dataclass(frozen=True)
class ReadTwice:
    """A hit with what the second person read of it."""

    shot: LoosedShot
    again: ReadAgain

    @property
    def rungs(self) -> tuple[tuple[int, int], tuple[int, int]]:
        fact = self.shot.fact
        low = fact.outcome_low or 0
        return (low, low if fact.outcome_high is None else fact.outcome_high), (self.again.outcome_low, self.again.outcome_high)

    @property
    def same(self) -> bool:
        return self.rungs[0] == self.rungs[1]

    @property
    def within_one(self) -> bool:
        (low, high), (other_low, other_high) = self.rungs
        return max(low, other_low) - min(high, other_high) <= 1


def read_twice(view: View) -> list[ReadTwice]:
    """The first second reading of each hit that has a rung; a hit read a third time counts once."""
    firsts: dict[str, ReadAgain] = {}
    for one in view.facts.again:
        firsts.setdefault(one.shot_id, one)
    return [ReadTwice(s, firsts[s.fact.shot_id]) for s in view.shots if s.fact.outcome_low is not None and s.fact.shot_id in firsts]


def second_reader(view: View) -> list[Caveat]:
    """How far the two agree on the rung, on through, on the way in and on the depth."""
    pairs = read_twice(view)
    if not pairs:
        return []
    total = len(pairs)
    words = f"{some(total, 'hit')} {'was' if total == 1 else 'were'} read by a second person: same rung {_of(sum(p.same for p in pairs), total)}, within one rung {_of(sum(p.within_one for p in pairs), total)}."
    split = [pair for pair in pairs if _through(pair, view) is False]
    if split:
        words += f" Whether it got through, they differ on {', '.join(pair.shot.fact.label for pair in split)}."
    words += _ways(pairs) + _depths(pairs) + _beyond_chance(pairs)
    return [Caveat("second_reader", words, "how sure a reading is", rests_on(pair.shot for pair in pairs))]


def _of(count: int, total: int) -> str:
    return f"{count} of {total}"


def _through(pair: ReadTwice, view: View) -> bool | None:
    """Whether both say the same of through; None where a rung isn't what through means here, or one leaves it open."""
    if view.through.how != "rung":
        return None
    first = may_be_through(pair.shot.fact, view.through)
    second = pair.again.outcome_low >= view.through.rung, pair.again.outcome_high >= view.through.rung
    return None if len(set(first)) > 1 or len(set(second)) > 1 else first == second


def _ways(pairs: list[ReadTwice]) -> str:
    both = [pair for pair in pairs if pair.again.way_in and pair.shot.fact.way_in]
    return f" Same way in {_of(sum(p.again.way_in == p.shot.fact.way_in for p in both), len(both))}." if both else ""


def _depths(pairs: list[ReadTwice]) -> str:
    apart = [abs(p.again.depth_m - p.shot.fact.depth_m) for p in pairs if p.again.depth_m is not None and p.shot.fact.depth_m is not None]
    if not apart:
        return ""
    middle, most = (written(value, "mm", figures=2) for value in (median(apart), max(apart)))
    return f" Depths differ by {most}." if len(apart) == 1 else f" {len(apart)} depths differ by {middle} in the middle, {most} at most."


def _beyond_chance(pairs: list[ReadTwice]) -> str:
    """Of those with one rung from each: a rung left open can't stand in the table."""
    sure = [pair.rungs for pair in pairs if all(low == high for low, high in pair.rungs)]
    if len(sure) < FEWEST_FOR_KAPPA:
        return f" Too few for agreement beyond chance: {FEWEST_FOR_KAPPA} are wanted." if len(sure) > 2 else ""
    table = [[0] * RUNGS for _ in range(RUNGS)]
    for (first, _), (second, _) in sure:
        table[first][second] += 1
    found = weighted_kappa(table)
    if not isinstance(found, Kappa):
        return f" Agreement beyond chance can’t be told: {found.reason}."
    said = f" Agreement beyond chance, near misses counted in part: {found.kappa:.2f}"
    return said + ("." if found.low is None else f" ({found.low:.2f} to {found.high:.2f}, 95\N{NO-BREAK SPACE}%; 0 is chance, 1 is throughout).")
