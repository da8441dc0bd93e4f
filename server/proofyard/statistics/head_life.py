"""How many shots a head lasts: shots on the panel for each head that they ended."""

from __future__ import annotations

import math
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, as_count, as_level, because


@dataclass(frozen=True)
class HeadLife:
    """Shots on the panel for each head ended. `lasts` is None where it can't be told how many were ended, or none was.

    high is None where no head was surely ended: low then stands by itself, one-sided, at level.
    """

    lasts: float | None
    low: float
    high: float | None
    level: float
    shots: int
    ended_low: int
    ended_high: int


def shots_a_head_lasts(ended: int, shots: int, *, ended_high: int | None = None, level: float = 0.95) -> HeadLife | CantTell:
    """How many shots on the panel a head lasts, from how many ended how many heads.

    T/d;  ends 1/CP_high(d; T), 1/CP_low(d; T);  d = 0: at least 1/(1 - (1 - level)^(1/T)), one-sided

    Takes
        ended       whole number, 0 up to shots   heads ended: curled, broken or off, as the view has it
        shots       whole number, 0 or more       shots on the panel, each head's up to and with the one that ended it
        ended_high  whole number, ended to shots, or None   heads ended if those not looked at, or lost, all were; None: as ended
        level       scalar, 0.5 up to 1           of the interval, or of its one side
    Gives
        HeadLife, shots a head; CantTell when there are no shots
    Refuses
        CantUse  counts that are negative, not whole, or more than shots; ended_high below ended; level outside its range
    Holds while
        every shot is as hard on a head as the one before: heads still in use count with the shots that they have had
    Weak when
        heads are unlike and last about 4 shots: then 87 to 93 of 100 intervals hold, and all that miss say that a head lasts
        longer than it does (simulated, standard deviation 0.7 in the logarithm of the risk); from 10 shots on 95 or more
    Source
        Clopper and Pearson, Biometrika 1934 26:404, for the share of shots that end a head, and one over it.
        Checked in tests/published/test_weight_life_and_measures.py
    >>> found = shots_a_head_lasts(5, 34)
    >>> round(found.lasts, 1), round(found.low, 2), round(found.high, 2)
    (6.8, 3.22, 20.19)
    >>> round(shots_a_head_lasts(0, 36).low, 1)
    12.5
    """
    low_count, count = as_count("ended", ended), as_count("shots", shots)
    high_count = low_count if ended_high is None else as_count("ended_high", ended_high)
    level = as_level(level)
    if not low_count <= high_count <= count:
        raise CantUse("ended", (ended, ended_high), f"from 0 to {count} shots, the low count first")
    if count == 0:
        return CantTell(because("no_shots"))
    lasts = count / low_count if low_count == high_count and low_count else None
    if low_count == 0:
        return HeadLife(lasts, 1 / _most(high_count, count, tail=1 - level), None, level, count, 0, high_count)
    tail = (1 - level) / 2
    least = 1 - _most(count - low_count, count, tail=tail)
    return HeadLife(lasts, 1 / _most(high_count, count, tail=tail), 1 / least, level, count, low_count, high_count)


def _most(hits: int, shots: int, *, tail: float) -> float:
    """The greatest share under which so few or fewer are not rarer than tail."""
    if hits == shots:
        return 1.0
    if hits == 0:
        # The root is known; 1 - tail^(1/n) itself loses figures where n is large.
        return -math.expm1(math.log(tail) / shots)
    from scipy.special import betaincinv

    return 1 - float(betaincinv(shots - hits, hits + 1, tail))
