"""The bench of the one comparison runs, counts what it says it counts, and its quick ways give what the comparison itself gives."""

from __future__ import annotations

import math

import numpy as np
import pytest
from proofyard.statistics.one_comparison import Shots, compare_two

from tests.bench import pair_error_rates as bench

pytestmark = pytest.mark.slow


def drawn(seed: int, shots: int = 12) -> tuple[Shots, Shots]:
    lots = np.random.default_rng(seed)
    first, second = (bench.shot_at(bench.fixed_levels(shots), middle, 8, lots) for middle in (80, 105))
    return first, second


def test_sizes_and_margins_are_counted_and_kept() -> None:
    level, corrected = bench.enumerated_sizes(bench.LEVELS["3 v 3"], (0.95, bench.THREE))
    assert 0 <= corrected <= level <= 0.05
    assert all(row.kept and row.runs == 0 for row in bench.margins())


def test_a_size_that_is_broken_is_seen() -> None:
    """At 60 % the same design raises false alarms in more than 5 %: were outcomes counted wrongly, this would hardly be so."""
    assert 0.05 < bench.enumerated_sizes(bench.CURVES["3 levels x 2"], (0.6,))[0] < 0.5


def test_all_outcomes_together_are_certain() -> None:
    hits = np.array([[x, y, z] for x in range(5) for y in range(5) for z in range(5)])
    table = bench.EveryPair(hits, *(np.zeros((125, 125)) for _ in range(4)))
    assert table.chances(8, 80).sum() == pytest.approx(1) and table.pairs(8, 1.4).sum() == pytest.approx(1)
    # By hand: at 80 J the share is a half, so all four through at 80 and none elsewhere weighs 1/16 of the other levels' chances.
    low, high = (1 / (1 + (one / 80) ** -8) for one in (60, 105))
    none_but = hits.tolist().index([0, 4, 0])
    assert table.chances(8, 80)[none_but] == pytest.approx((1 - low) ** 4 / 16 * (1 - high) ** 4)


@pytest.mark.parametrize("seed", range(6))
def test_asking_only_for_what_decides_changes_no_verdict(seed: int) -> None:
    first, second = drawn(seed)
    plain = compare_two(first, second, own={})
    with bench.only_what_decides():
        quick = compare_two(first, second, own={})
    assert (quick.ratio, quick.p_value, quick.smallest_p) == (plain.ratio, plain.p_value, plain.smallest_p)
    for level in (0.8, 0.95, bench.THREE):
        ends = plain.ends(level)
        wanted = ends.side if ends and plain.verdict(ends) in bench.SIDES else ""
        assert bench.side_of(quick, level) == wanted and plain.p_value is not None
        assert (plain.p_value < 1 - level) == bool(wanted)


@pytest.mark.parametrize("seed", range(8))
def test_what_chosen_energies_could_give_at_most_makes_no_side(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bench leaves it out there, and is thirty times as fast."""
    lots = np.random.default_rng(seed)
    first, second = bench.up_and_down(20, 4, lots), bench.up_and_down(20, 16, lots)
    sides = []
    for smallest in (None, 0.0, 1.0):
        if smallest is not None:
            monkeypatch.setattr(bench.one_comparison, "smallest_p_by_curve", lambda *_, given=smallest, **__: given)
        found = compare_two(first, second, own={}, chosen=True)
        sides.append([bench.side_of(found, level) for level in (0.5, 0.6, 0.8, 0.95)])
    assert sides[0] == sides[1] == sides[2]


@pytest.mark.parametrize("seed", range(4))
def test_energies_off_by_a_factor_move_the_interval_by_it_and_own_uncertainties_widen_it_as_the_bench_has_it(seed: int) -> None:
    first, second = drawn(seed)
    found = compare_two(first, second, own={})
    ends = found.ends(0.95)
    named = (
        Shots(first.energies_j, first.through, ("a",) * 12),
        Shots(tuple(1.07 * e for e in second.energies_j), second.through, ("b",) * 12),
    )
    told = compare_two(*named, own={"a": 0.03, "b": 0.03}).ends(0.95)
    assert ends is not None and told is not None and found.curve is not None
    for plain, wide in ((ends.low, told.low), (ends.high, told.high)):
        if plain is not None:
            assert wide is not None
            moved = bench.widened(np.array(found.curve.log_ratio), np.array(math.log(plain)), 0.03) + math.log(1.07)
            assert math.log(wide) == pytest.approx(float(moved), abs=1e-5)


def test_every_simulated_row_is_drawn_and_says_how_sure_it_is() -> None:
    simulated = [row for part in ("rounds", "up-and-down", "drawn") for row in bench.rows(2, part)]
    assert len(simulated) == 6 + 9 + 7 + 3 and all(0 <= row.found <= 100 and row.runs == 2 for row in simulated)
    assert bench.Row("", 5.0, "<= 5.0", 10_000).error == pytest.approx(0.218, abs=5e-4)  # root of 0.05 x 0.95 / 10,000
    assert bench.Row("", 5.1, "<= 5.0", 10_000).kept is False and bench.Row("", 5.1, ">= 5.0", 0).words.endswith("counted")


@pytest.mark.long
def test_sizes_and_the_rows_of_12_shots_are_kept() -> None:
    with bench.only_what_decides():
        found = [*bench.sizes(), *bench.families_counted(), *bench.claims_counted(), *bench.own_uncertainties()]
        found += bench.families_nearly_counted()
    assert len(found) == 30 + 9 + 3 + 12 + 2 and all(row.runs == 0 for row in found)
    assert all(row.kept for row in found), [row for row in found if not row.kept]
