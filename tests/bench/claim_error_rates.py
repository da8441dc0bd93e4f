"""How often a claim "at most 1 in k gets through" is answered wrongly, if one looks after each shot.

    python tests/bench/claim_error_rates.py [runs]

Three tables, in percent. The share is exactly 1 in k, where either answer is as likely to be wrong as anywhere.

  looking       after each of 200 shots, counted out exactly; beside it what bounds of one look would do
  at an energy  all shots measured just where they begin to count for a yes (or a no), the true energies all off by one shared
                error of standard uncertainty u; the share rises with energy by a logistic curve; counted out exactly over
                shots, summed over the error by Gauss and Hermite's rule
  for the type  arrows with chances of their own (beta, correlation rho within an arrow), 60 shots in rotation or one arrow
                after another; simulated, seed fixed
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from proofyard.statistics.claims import ALIKE_BY_DEFAULT, SHARED_MARGIN, bound_of_one_look, e_values
from proofyard.statistics.clustered_shares import design_effect

Array = NDArray[np.float64]
Table = NDArray[np.bool_]
Decides = Callable[[int, int], bool]
SHOTS, SHOTS_OF_TYPE, NEEDED = 200, 60, 20.0
ONE_IN, SLOPES, SHARED = (5, 10, 20), (4.0, 8.0, 16.0), (0.01, 0.02, 0.03, 0.05)
ARROWS, ALIKE = (1, 2, 3, 6, 10, 30), (0.0, 0.1, 0.2, 0.4)
SEED = 20261130


def ever_decided(shares: Array, yes: Sequence[Table], no: Sequence[Table]) -> tuple[Array, Array]:
    """How often each share leads to a yes and to a no, whichever is said first: what is decided stays decided."""
    going, ever = np.ones((len(shares), 1)), np.zeros((2, len(shares)))
    hit, miss = shares[:, None], 1 - shares[:, None]
    for tables in zip(yes, no, strict=True):
        after = np.zeros((len(shares), going.shape[1] + 1))
        after[:, 1:] += going * hit
        after[:, :-1] += going * miss
        for side, table in enumerate(tables):
            ever[side] += after[:, table].sum(axis=1)
        after[:, tables[0] | tables[1]] = 0
        going = after
    return ever[0], ever[1]


@cache
def decisions(one_in: int, which: str, shots: int = SHOTS) -> list[Table]:
    """After each number of shots, which counts decide: "yes", "no", or by bounds of one look "look yes", "look no"."""
    limit = 1 / one_in
    rules: dict[str, Decides] = {
        "yes": lambda x, n: e_values(x, n, one_in=one_in).yes >= NEEDED,
        "no": lambda x, n: e_values(x, n, one_in=one_in).no >= NEEDED,
        "look yes": lambda x, n: bound_of_one_look(x, n) <= limit,
        "look no": lambda x, n: 1 - bound_of_one_look(n - x, n) > limit + 1e-12,
    }
    decides = rules[which]
    return [np.array([decides(x, n) for x in range(n + 1)]) for n in range(1, shots + 1)]


def looking(one_in: int, rule: str = "", shots: int = SHOTS) -> tuple[float, float]:
    """Wrong yes and wrong no at a share of exactly 1/k; `rule` "look ": by bounds of one look."""
    yes, no = (decisions(one_in, f"{rule}{which}")[:shots] for which in ("yes", "no"))
    found = ever_decided(np.array([1 / one_in]), yes, no)
    return float(found[0][0]), float(found[1][0])


def at_an_energy(one_in: int, *, slope: float, shared: float, margin: float = SHARED_MARGIN, shots: int = SHOTS) -> tuple[float, float]:
    """Wrong yes, wrong no where the share is 1/k at the claim's energy and all shots stand just where they begin to count for it."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(60)
    yes, no = (decisions(one_in, which)[:shots] for which in ("yes", "no"))
    never = [np.zeros_like(table) for table in yes]
    rates = []
    for side, tables in enumerate(((yes, never), (never, no))):
        off = shared * nodes + margin * shared * (1 if side == 0 else -1)
        shares = 1 / (1 + (one_in - 1) * np.exp(-slope * off))
        rates.append(float(ever_decided(shares, *tables)[side] @ weights / weights.sum()))
    return rates[0], rates[1]


def for_type(one_in: int, *, arrows: int, alike: float, in_turn: bool, runs: int, shots: int = SHOTS_OF_TYPE) -> tuple[float, float]:
    """Wrong yes and wrong no about the type, looked at after each shot."""
    lots = np.random.default_rng([SEED, one_in, arrows, round(100 * alike), in_turn])
    order = np.arange(shots) % arrows if in_turn else np.arange(shots) * arrows // shots
    share = 1 / one_in
    spread = (1 - alike) / alike if alike else math.inf
    chances = lots.beta(share * spread, (1 - share) * spread, (runs, arrows)) if alike else np.full((runs, arrows), share)
    through = np.cumsum(lots.random((runs, shots)) < chances[:, order], axis=1)
    wrong = np.zeros((2, runs), dtype=bool)
    for n in range(1, shots + 1):
        effect = design_effect([int(m) for m in np.bincount(order[:n]) if m], intraclass_correlation=ALIKE_BY_DEFAULT)
        found = [e_values(x / effect, n / effect, one_in=one_in) for x in range(n + 1)]
        for side, table in enumerate(([one.yes >= NEEDED for one in found], [one.no >= NEEDED for one in found])):
            wrong[side] |= np.array(table)[through[:, n - 1]]
    return float(wrong[0].mean()), float(wrong[1].mean())


def report(runs: int) -> Iterator[str]:
    yield f"looking after each of {SHOTS} shots: k, e-values wrong yes, wrong no; bounds of one look wrong yes, wrong no"
    for k in ONE_IN:
        yield f"  {k:3}" + "".join(f"{100 * one:7.1f}" for rule in ("", "look ") for one in looking(k, rule))
    margins = (SHARED_MARGIN, 1.0, 0.0)
    yield f"at an energy: k, slope, u %; wrong yes, wrong no with a margin of {', '.join(f'{one:g} u' for one in margins)}"
    for k in ONE_IN[:2]:
        for slope in SLOPES:
            for u in SHARED:
                cells = [one for margin in margins for one in at_an_energy(k, slope=slope, shared=u, margin=margin)]
                yield f"  {k:3} {slope:4g} {100 * u:3g}" + "".join(f"{100 * cell:7.1f}" for cell in cells)
    yield f"for the type, {SHOTS_OF_TYPE} shots, {runs} runs: k, arrows, rho, in turn, wrong yes, wrong no"
    for k in ONE_IN[:2]:
        for arrows in ARROWS:
            for alike in ALIKE:
                for in_turn in (True, False):
                    yes, no = for_type(k, arrows=arrows, alike=alike, in_turn=in_turn, runs=runs)
                    yield f"  {k:3} {arrows:3} {alike:4g} {'yes' if in_turn else 'no ':3}{100 * yes:7.1f}{100 * no:7.1f}"


if __name__ == "__main__":
    for line in report(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000):
        print(line, flush=True)
