"""Which energy should the next shot have, why, by how much it is expected to help, and when is it enough?

Two rules. Up and down needs no model: down after a shot that got through, up after one that was stopped. The other
narrows: it asks of each energy at hand how far one shot there is expected to narrow the 50 % point. Neither knows who
stands where: the line being clear is the range's to say, not a sum's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from proofyard.quantities.reason import CantTell, CantUse, Reason, as_count, because
from proofyard.statistics.fifty_percent_point import EnergyPoint

Array = NDArray[np.float64]

# What is held possible before the first shot: slopes from a curve that hardly rises to one that is nearly a step, each
# as likely by its logarithm; and a half that lies within or this far (a factor of 2) beyond the energies at hand.
FLATTEST, STEEPEST = 2.0, 40.0
BEYOND = math.log(2)
MIDDLES, SLOPES = 121, 25
# Shots on nearly one energy don't show how fast the curve rises, and a half worked out from them claims too much.
SAME = math.log(1.02)


@dataclass(frozen=True)
class NextByOutcome:
    """Which of the energies at hand follows from the last outcome. place: its number in at_hand_j, from 0."""

    place: int
    energy_j: float
    why: Reason


@dataclass(frozen=True)
class Narrowing:
    """One energy at hand. factor: what the uncertainty of the 50 % energy is expected to be multiplied by after a shot there;
    worth: the drop in variance of ln(energy) for each shot's worth of work."""

    place: int
    energy_j: float
    chance: float
    spread_after: float
    factor: float
    worth: float


@dataclass(frozen=True)
class NarrowingShot:
    """The energy at hand that is expected to narrow most, and the others, best first. spread: standard deviation of
    ln(50 % energy) as the shots leave it; fifty_percent_j: its middle."""

    best: Narrowing
    others: tuple[Narrowing, ...]
    fifty_percent_j: float
    spread: float
    shots: int

    @property
    def low_j(self) -> float:
        return self.fifty_percent_j * math.exp(-1.96 * self.spread)

    @property
    def high_j(self) -> float:
        return self.fifty_percent_j * math.exp(1.96 * self.spread)


@dataclass(frozen=True)
class Enough:
    """Whether to stop, with the reason either way."""

    stop: bool
    why: Reason


@dataclass(frozen=True)
class _Grid:
    """All curves held possible: ln of the 50 % energy and slope, with how likely the shots leave each."""

    middles: Array
    slopes: Array
    weights: Array = field(repr=False)

    def chances(self, logs: Array) -> Array:
        """At each energy (last axis) by each curve."""
        return _chances(self.middles[:, None, None], self.slopes[None, :, None], logs)

    def moments(self, by_middle: Array) -> tuple[Array, Array]:
        """Mean and variance of ln of the 50 % energy; by_middle: how likely each value is, a column for each question asked."""
        whole = by_middle.sum(axis=0)
        mean = self.middles @ by_middle / whole
        return mean, ((self.middles[:, None] - mean) ** 2 * by_middle).sum(axis=0) / whole


def next_by_outcome(energy_j: float, through: int, *, at_hand_j: Sequence[float], step: float = 1.0) -> NextByOutcome | CantTell:
    """Up and down: the nearest energy at hand below the last one after a shot that got through, above it after one that
    was stopped.

    through = 1: the largest E at hand with E <= E_last / step;  through = 0: the smallest with E >= E_last step

    Takes
        energy_j   scalar, J, above 0      what the last shot was meant to have: its combination's energy, not its own
        through    0 or 1                  whether that shot got through
        at_hand_j  array, J, above 0       what you can shoot with today, in any order
        step       scalar, 1 or more       leave out what lies nearer than this factor; at 1 only what is the same to 2 %
    Gives
        NextByOutcome: the same energy again where nothing lies a step further that way, or what lies nearest to a step;
        CantTell when nothing is at hand, or all that is lies on the wrong side: the rule never goes up after a shot that
        got through, nor down after one that was stopped
    Refuses
        CantUse  energies not above 0 or not finite, an outcome other than 0 and 1, a step below 1
    Holds while
        steps are about the size of the curve's own spread and about equal; then half the shots end near the 50 % energy
    Weak when
        the energies at hand are uneven: the run then gathers beside the widest gap, wherever the 50 % energy is
    Source
        Dixon and Mood, Journal of the American Statistical Association 1948 43:109 (from memory).
        Checked in tests/published/test_next_shots.py
    >>> next_by_outcome(40, 0, at_hand_j=[30, 35, 40, 45, 50]).energy_j
    45
    >>> next_by_outcome(40, 1, at_hand_j=[40, 45, 50]).why.code
    'same_energy_again'
    """
    _check(at_hand_j, [through])
    last = _above_nothing("energy_j", energy_j)
    if step < 1:
        raise CantUse("step", step, "1 or more")
    if not at_hand_j:
        return CantTell(because("nothing_at_hand_has_an_energy"))
    apart = max(math.log(step) - 1e-9, SAME)
    ways = [(math.log(one / last) * (-1 if through else 1), place) for place, one in enumerate(at_hand_j)]
    further = [(way, place) for way, place in ways if way >= apart]
    if further:
        place = min(further)[1]
        return NextByOutcome(place, at_hand_j[place], because("less_after_through") if through else because("more_after_held"))
    return _no_step_further(last, at_hand_j, ways=ways, through=bool(through))


def _no_step_further(
    last: float, at_hand_j: Sequence[float], *, ways: Sequence[tuple[float, int]], through: bool
) -> NextByOutcome | CantTell:
    """The end of what is at hand. ways: ln of how far each lies the way that is wanted, and its place."""
    same = [(abs(far), place) for far, place in ways if abs(far) < SAME]
    nearly = [(-far, place) for far, place in ways if far >= SAME]
    if same:
        place = min(same)[1]
        return NextByOutcome(place, at_hand_j[place], because("same_energy_again", through=through, energy_j=at_hand_j[place]))
    if nearly:
        place = min(nearly)[1]
        return NextByOutcome(place, at_hand_j[place], because("less_than_a_step", through=through, energy_j=at_hand_j[place]))
    nearest = at_hand_j[max(ways)[1]]
    return CantTell(because("all_on_the_wrong_side", through=through, last_j=last, nearest_j=nearest))


def next_to_narrow(
    energies_j: Sequence[float], through: Sequence[int], *, at_hand_j: Sequence[float], works: Sequence[float] | None = None
) -> NarrowingShot | CantTell:
    """The energy at hand at which one shot is expected to leave the smallest interval of the 50 % energy.

    least of sum over y of P(y; E) Var(ln E50 | shots, y at E), divided by its work: (Var now - Var after) / w is most

    Takes
        energies_j  array, J, above 0     of the shots so far, at the panel; may be empty
        through     0 or 1 a shot         1 got through
        at_hand_j   array, J, above 0     what you can shoot with today: combinations of bow, arrow and archer
        works       array, above 0, or None  how many shots' worth of work each costs: a change of bow more than none
    Gives
        NarrowingShot, all energies at hand in order of worth; CantTell when none is at hand
    Refuses
        CantUse  energies not above 0 or not finite, not as many as outcomes, outcomes other than 0 and 1, works not above 0
    Holds while
        the odds rise with a power of the energy; before the shots any slope from 2 to 40 a unit of ln E is possible, and
        a half up to a factor of 2 beyond the energies at hand
    Weak when
        taken for an answer: it picks shots, the 50 % energy itself comes from fifty_percent_point. With none or few shots it
        rests on what was held possible beforehand. One step is looked ahead, no more
    Source
        Least expected posterior variance, Chaloner and Verdinelli, Statistical Science 1995 10:273 (from memory).
        Checked in tests/statistics/test_statistics_next_shot.py; against fixed levels and up and down in tests/bench/next_shot_rules.py
    >>> found = next_to_narrow([30, 40, 50, 60], [0, 0, 1, 1], at_hand_j=[20, 30, 45, 70])
    >>> found.best.energy_j, round(found.fifty_percent_j)
    (45, 44)
    """
    _check(energies_j, through)
    _check(at_hand_j, [])
    if len(energies_j) != len(through):
        raise CantUse("energies_j", len(energies_j), f"one for each of the {len(through)} shots")
    asked = [1.0] * len(at_hand_j) if works is None else [_above_nothing("works", one) for one in works]
    if len(asked) != len(at_hand_j):
        raise CantUse("works", len(asked), f"one for each of the {len(at_hand_j)} energies at hand")
    if not at_hand_j:
        return CantTell(because("nothing_at_hand_has_an_energy"))
    grid = _possible(energies_j, through, at_hand_j=at_hand_j)
    by_middle = grid.weights.sum(axis=1)[:, None]
    mean, now = (float(one[0]) for one in grid.moments(by_middle))
    # Slopes are summed over first: the question is the 50 % energy, whatever the slope.
    hit = np.einsum("ms,msk->mk", grid.weights, grid.chances(np.log(np.array(at_hand_j, dtype=float))))
    miss = by_middle - hit
    share = hit.sum(axis=0)
    after = share * grid.moments(hit)[1] + (1 - share) * grid.moments(miss)[1]
    found = [
        Narrowing(
            place,
            at_hand_j[place],
            float(share[place]),
            math.sqrt(after[place]),
            math.sqrt(after[place] / now),
            (now - float(after[place])) / asked[place],
        )
        for place in range(len(at_hand_j))
    ]
    found.sort(key=lambda one: (-one.worth, one.place))
    return NarrowingShot(found[0], tuple(found[1:]), math.exp(mean), math.sqrt(now), len(through))


def enough(point: EnergyPoint | CantTell, shots: int, *, planned_shots: int | None = None, wanted_width: float | None = None) -> Enough:
    """Whether the shots planned are shot, or the 50 % point is as narrow as wanted.

    stop when n >= planned, or when E_high / E_low <= wanted

    Takes
        point          EnergyPoint or CantTell            from fifty_percent_point
        shots          whole number, 0 or more            those that count
        planned_shots  whole number, 1 or more, or None   stop after so many
        wanted_width   scalar, above 1, or None           stop when the high end is no more than so many times the low end
    Gives
        Enough with the reason, to stop or to go on
    Refuses
        CantUse  counts that are negative or not whole, a width not above 1
    Holds while
        the rule was written down before the shots
    Weak when
        it stops at a width: intervals that came out narrow by chance stop sooner, so they hold the true point a little
        less often than they say. Give a number of shots beside it
    Source
        a rule of this book, no source; its price is in tests/bench/next_shot_rules.py.
        Checked in tests/statistics/test_statistics_next_shot.py
    >>> enough(CantTell(because("none_got_through", shots=5)), 5, planned_shots=20).why.parts
    {'left': 15, 'planned': 20}
    """
    count = as_count("shots", shots)
    if wanted_width is not None and not wanted_width > 1:
        raise CantUse("wanted_width", wanted_width, "above 1")
    if planned_shots is not None and as_count("planned_shots", planned_shots) == 0:
        raise CantUse("planned_shots", planned_shots, "1 or more")
    if planned_shots is not None and count >= planned_shots:
        return Enough(True, because("all_planned_are_shot", planned=planned_shots))
    left = None if planned_shots is None else because("planned_shots_left", left=planned_shots - count, planned=planned_shots)
    if wanted_width is None:
        return Enough(False, left or because("no_rule_to_stop"))
    width = None
    if isinstance(point, EnergyPoint) and point.low_j is not None and point.high_j is not None:
        width = point.high_j / point.low_j
    if width is not None and width <= wanted_width:
        return Enough(True, because("as_narrow_as_wanted", times=width, wanted_times=wanted_width))
    return Enough(False, because("wider_than_wanted", times=width, wanted_times=wanted_width, left=left))


def _chances(middle: Array, slope: Array, logs: Array) -> Array:
    chances: Array = 1 / (1 + np.exp(np.clip(slope * (middle - logs), -500, 500)))
    return chances


def _possible(energies_j: Sequence[float], through: Sequence[int], *, at_hand_j: Sequence[float]) -> _Grid:
    """Each curve held possible, weighed by how well it explains the shots."""
    everything = [*at_hand_j, *energies_j]
    middles = _middles_of_steps(math.log(min(everything)) - BEYOND, math.log(max(everything)) + BEYOND, MIDDLES)
    grid = _Grid(middles, _slopes(), np.empty(0))
    value = np.zeros((MIDDLES, SLOPES))
    if len(through):
        signs = np.where(np.array(through, dtype=int) == 1, 1.0, -1.0)
        away = np.log(np.array(energies_j, dtype=float)) - middles[:, None, None]
        value = -np.logaddexp(0, -signs * grid.slopes[None, :, None] * away).sum(axis=2)
    weights = np.exp(value - value.max())
    return _Grid(middles, grid.slopes, weights / weights.sum())


@lru_cache(maxsize=1)
def _slopes() -> Array:
    slopes: Array = np.exp(_middles_of_steps(math.log(FLATTEST), math.log(STEEPEST), SLOPES))
    return slopes


def _middles_of_steps(low: float, high: float, steps: int) -> Array:
    middles: Array = low + (np.arange(steps) + 0.5) * (high - low) / steps
    return middles


def _check(energies_j: Sequence[float], through: Sequence[int]) -> None:
    for energy in energies_j:
        _above_nothing("energies_j", energy)
    for outcome in through:
        if outcome not in (0, 1):
            raise CantUse("through", outcome, "0 or 1")


def _above_nothing(name: str, value: float) -> float:
    if not (math.isfinite(value) and value > 0):
        raise CantUse(name, value, "above 0 and finite")
    return float(value)
