"""A random order that stays balanced: every head and archer as often as every other, whenever you have to stop."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantUse, as_count

TRIES = 400


@dataclass(frozen=True)
class Turn:
    """One shot of the order. block, from 1; cell and spot: their numbers in what was asked, from 0; spot None: none asked."""

    block: int
    cell: int
    spot: int | None


@dataclass(frozen=True)
class BalancedOrder:
    """The turns in order, the seed that makes them again, and how far from each other the cells' mean spots lie."""

    turns: tuple[Turn, ...]
    seed: int
    apart: float
    tries: int


def balanced_order(cells: int, blocks: int, *, seed: int, spots: Sequence[tuple[float, float]] = (), tries: int = TRIES) -> BalancedOrder:
    """Permuted blocks: in each block every cell once, in random order; then the spots dealt so that no cell has the best.

    of so many random orders and deals the one with least sum over cells of (mean spot of the cell - mean spot of all)^2

    Takes
        cells   whole number, 1 or more    what is compared: each head with each archer
        blocks  whole number, 1 or more    how often each cell is shot
        seed    whole number, 0 or more    the same seed gives the same order, for ever
        spots   places (x, y), one a shot at least, or none  where on the panel may be aimed at
        tries   whole number, 1 or more    how many orders and deals are drawn; 1 is without that constraint
    Gives
        BalancedOrder
    Refuses
        CantUse  no cell, no block, no try, fewer spots than shots
    Holds while
        the order is kept: a shot that is left out leaves its block short
    Weak when
        somebody can tell what comes next and shoots the worse for it. Spots are balanced by their mean place alone
    Source
        Permuted blocks: Altman and Bland, British Medical Journal 1999 319:703 (from memory); the best of many deals:
        Raab and Butcher, Statistics in Medicine 2001 20:351 (from memory).
        Checked in tests/statistics/test_statistics_balanced_order.py
    >>> found = balanced_order(2, 3, seed=7)
    >>> [turn.block for turn in found.turns], sorted(turn.cell for turn in found.turns)
    ([1, 1, 2, 2, 3, 3], [0, 0, 0, 1, 1, 1])
    """
    asked = {"cells": cells, "blocks": blocks, "tries": tries}
    for name, value in asked.items():
        if as_count(name, value) == 0:
            raise CantUse(name, value, "1 or more")
    if spots and len(spots) < cells * blocks:
        raise CantUse("spots", len(spots), f"{cells * blocks} or more, one for each shot")
    # Only random() is drawn: its numbers for one seed are promised to stay as they are, those of shuffle() are not.
    lots = random.Random(as_count("seed", seed))
    best: tuple[float, list[Turn]] | None = None
    for _ in range(tries if spots else 1):
        order = [(block, cell) for block in range(1, blocks + 1) for cell in _shuffled(range(cells), lots)]
        dealt: list[int | None] = [*_shuffled(range(len(spots)), lots)[: len(order)]] if spots else [None] * len(order)
        turns = [Turn(block, cell, spot) for (block, cell), spot in zip(order, dealt, strict=True)]
        apart = _apart(turns, cells, spots=spots)
        if best is None or apart < best[0]:
            best = (apart, turns)
    assert best is not None
    return BalancedOrder(tuple(best[1]), seed, math.sqrt(best[0]), tries)


def _shuffled(what: range, lots: random.Random) -> list[int]:
    """Each order as likely as any other."""
    order = list(what)
    for last in range(len(order) - 1, 0, -1):
        at = int(lots.random() * (last + 1))
        order[last], order[at] = order[at], order[last]
    return order


def _apart(turns: Sequence[Turn], cells: int, *, spots: Sequence[tuple[float, float]]) -> float:
    """Mean square of how far each cell's mean spot lies from the mean of all that were dealt."""
    if not spots:
        return 0.0
    dealt = [(turn.cell, spots[turn.spot]) for turn in turns if turn.spot is not None]
    whole = [math.fsum(spot[axis] for _, spot in dealt) / len(dealt) for axis in (0, 1)]
    parts = []
    for cell in range(cells):
        mine = [spot for of, spot in dealt if of == cell]
        parts += [(math.fsum(spot[axis] for spot in mine) / len(mine) - whole[axis]) ** 2 for axis in (0, 1)]
    return math.fsum(parts) / cells
