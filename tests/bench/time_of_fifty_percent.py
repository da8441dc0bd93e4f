"""The 50 % point with its profile interval at 200 shots, in times of one ordinary fit by a general library. Wanted: 10 at most.

    python -m tests.bench.time_of_fifty_percent

The ordinary fit is a plain logistic one, two coefficients and no interval: by statsmodels where that is installed, and by
scipy's general minimiser, told the slopes, wherever this runs. Medians of the same run on the same shots, in processor
time: on a busy machine what takes longer is also interrupted more often, and that is not its fault.
"""

from __future__ import annotations

import importlib.util
import math
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from proofyard.statistics.fifty_percent_point import Curve, curve_band, fifty_percent_point, fit_curve

SHOTS, TIMES = 200, 41
MOST = 10.0


@dataclass(frozen=True)
class Timed:
    """Median seconds: ours, ours with the band of the photo, and the ordinary fit by the library named."""

    library: str
    point_s: float
    band_s: float
    fit_s: float

    @property
    def ratio(self) -> float:
        return self.point_s / self.fit_s


def shots() -> tuple[list[float], list[int]]:
    lots = np.random.default_rng(200)
    energies = np.exp(lots.uniform(math.log(30), math.log(65), SHOTS))
    return energies.tolist(), [int(one) for one in lots.random(SHOTS) < 1 / (1 + (energies / 45) ** -8.0)]


def by_scipy(energies: list[float], through: list[int]) -> Callable[[], object]:
    from scipy.optimize import minimize

    rows, outcomes = np.column_stack([np.ones(SHOTS), np.log(energies) - math.log(45)]), np.array(through, dtype=float)

    def fall(b: np.ndarray) -> tuple[float, np.ndarray]:
        odds = rows @ b
        return float(np.logaddexp(0, odds).sum() - outcomes @ odds), rows.T @ (1 / (1 + np.exp(-odds)) - outcomes)

    return lambda: minimize(fall, np.zeros(2), jac=True, method="BFGS")


def by_statsmodels(energies: list[float], through: list[int]) -> Callable[[], object]:
    import statsmodels.api as sm  # type: ignore[import-not-found, import-untyped, unused-ignore]

    rows = sm.add_constant(np.log(energies))
    return lambda: sm.Logit(through, rows).fit(disp=False)


def measure(times: int = TIMES) -> list[Timed]:
    energies, through = shots()

    def point() -> None:
        curve = fit_curve(energies, through)
        assert isinstance(curve, Curve)
        fifty_percent_point(curve)

    curve = fit_curve(energies, through)
    assert isinstance(curve, Curve)
    places = np.linspace(min(energies), max(energies), 41).tolist()
    libraries = {"scipy": by_scipy} | ({"statsmodels": by_statsmodels} if importlib.util.find_spec("statsmodels") else {})
    found = []
    for name, make in libraries.items():
        fit = make(energies, through)
        ours, theirs, band = in_turn([point, fit, lambda: curve_band(curve, places)], times)
        found.append(Timed(name, ours, ours + band, theirs))
    return found


def in_turn(works: list[Callable[[], object]], times: int) -> list[float]:
    """Median seconds of each, one after the other over and over: whatever slows this machine slows all."""
    taken: list[list[float]] = [[] for _ in works]
    for round_ in range(times + 2):
        for place, work in enumerate(works):
            began = time.thread_time()
            work()
            if round_ >= 2:  # the first rounds load what is loaded late
                taken[place].append(time.thread_time() - began)
    return [statistics.median(some) for some in taken]


def main() -> None:
    for one in measure():
        print(
            f"{SHOTS} shots: point with its range {1e3 * one.point_s:.2f} ms, one ordinary fit by {one.library} {1e3 * one.fit_s:.2f} ms: "
            f"{one.ratio:.1f} times (wanted: {MOST:g} at most). With the band to draw: {1e3 * one.band_s:.1f} ms."
        )


if __name__ == "__main__":
    main()
