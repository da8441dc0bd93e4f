"""The order is random, balanced whenever you stop, and the same again for the same seed."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities.reason import CantUse
from proofyard.statistics.balanced_order import balanced_order

SPOTS = [(x / 10, y / 10) for x in range(5) for y in range(4)]


@given(cells=st.integers(1, 6), blocks=st.integers(1, 6), seed=st.integers(0, 10**9))
def test_whenever_you_stop_no_cell_is_more_than_one_shot_ahead(cells: int, blocks: int, seed: int) -> None:
    turns = balanced_order(cells, blocks, seed=seed).turns
    assert len(turns) == cells * blocks
    for stop in range(1, len(turns) + 1):
        shot = Counter(turn.cell for turn in turns[:stop])
        assert max(shot.values()) - min(shot[cell] for cell in range(cells)) <= 1
    for block in range(1, blocks + 1):
        assert sorted(turn.cell for turn in turns if turn.block == block) == list(range(cells))


@given(seed=st.integers(0, 10**9))
def test_the_same_seed_gives_the_same_order_and_no_spot_twice(seed: int) -> None:
    first = balanced_order(3, 4, seed=seed, spots=SPOTS, tries=20)
    assert first == balanced_order(3, 4, seed=seed, spots=SPOTS, tries=20)
    spots = [turn.spot for turn in first.turns]
    assert len(set(spots)) == len(spots) == 12


def test_an_order_stays_as_it_was_for_ever() -> None:
    """A printed plan must come out again from its seed: this one is written down here."""
    found = balanced_order(3, 3, seed=20261024, spots=SPOTS)
    assert [(turn.cell, turn.spot) for turn in found.turns] == WRITTEN_DOWN


def test_all_orders_of_three_come_equally_often() -> None:
    seen = Counter(tuple(turn.cell for turn in balanced_order(3, 1, seed=seed).turns) for seed in range(3000))
    assert len(seen) == 6
    # Chi-square with 5 degrees of freedom: 20.5 is passed once in a thousand.
    assert sum((count - 500) ** 2 / 500 for count in seen.values()) < 20.5


def test_many_deals_bring_the_cells_nearer_together_than_one() -> None:
    one = [balanced_order(4, 4, seed=seed, spots=SPOTS, tries=1).apart for seed in range(40)]
    many = [balanced_order(4, 4, seed=seed, spots=SPOTS).apart for seed in range(40)]
    assert sum(many) < 0.5 * sum(one)


@pytest.mark.parametrize(
    ("cells", "blocks", "more"), [(0, 1, {}), (1, 0, {}), (1, 1, {"tries": 0}), (2, 2, {"spots": SPOTS[:3]}), (1, 1, {"seed": -1})]
)
def test_what_makes_no_order_is_refused(cells: int, blocks: int, more: dict[str, object]) -> None:
    with pytest.raises(CantUse):
        balanced_order(cells, blocks, **{"seed": 1, **more})


WRITTEN_DOWN: list[tuple[int, int | None]] = [(0, 5), (2, 10), (1, 11), (1, 12), (0, 17), (2, 4), (1, 0), (0, 1), (2, 9)]
