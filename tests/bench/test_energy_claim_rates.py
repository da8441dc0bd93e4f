"""The bench of claims of energies runs, sees a rule that errs, and judges as the product does."""

from __future__ import annotations

import numpy as np
import pytest
from proofyard.quantities.reason import CantTell
from proofyard.statistics.energy_claims import verdict_above
from proofyard.statistics.fifty_percent_point import EnergyPoint, fifty_percent_point, fit_curve

from tests.bench import energy_claim_rates as bench

pytestmark = pytest.mark.slow


def test_one_fit_at_the_limit_says_what_the_interval_says() -> None:
    lots = np.random.default_rng(3)
    told = set()
    for _ in range(40):
        shots = bench.shot_at(np.array([bench.SIX[n % 6] for n in range(int(lots.integers(6, 30)))]), 80.0, 8, lots)
        curve, limit = fit_curve(shots.energies_j, shots.through), float(lots.uniform(40, 130))
        if isinstance(curve, CantTell):
            continue
        point = fifty_percent_point(curve)
        said = verdict_above(point.low_j, point.high_j, limit=limit) if isinstance(point, EnergyPoint) else "not_yet"
        assert bench.verdict_at(curve, limit, level=0.95) == said
        told.add(said)
    assert told == {"yes", "no", "not_yet"}


def test_a_level_that_pays_for_no_look_would_err_more_often(monkeypatch: pytest.MonkeyPatch) -> None:
    """Eight in ten at each of 36 looks: were it not seen here, the bench saw nothing."""
    monkeypatch.setattr(bench, "level_of", lambda looks, *, done: 0.8)
    lots = np.random.default_rng(5)
    energies = np.array([bench.FIXED_LEVELS[n % 3] for n in range(30)])
    said = [bench.fifty_percent_above(energies, 8, "not set", lots) for _ in range(12)]
    assert sum(one != "not_yet" for one in said) >= 3


def test_every_row_runs() -> None:
    assert len(list(bench.rows(1, "a tenth"))) == 12
    assert len(list(bench.settles_rows(3, np.random.default_rng(1)))) == 12


@pytest.mark.long
def test_each_wrong_answer_is_said_in_at_most_5_percent() -> None:
    assert [row.name for row in bench.rows(400) if not row.kept] == []
