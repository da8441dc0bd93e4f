"""How often a claim about 50 % energies is answered wrongly, if one looks as it goes on; and how often "so many more shots" settles it.

    python tests/bench/energy_claim_rates.py [runs a row] [only rows whose name holds this]

The truth stands just at the limit that is claimed, where either answer is as likely to be wrong as anywhere. Truths are logistic: the
chance to get through at E is 1/(1 + (E50/E)^slope), slope 4, 8 or 16 a unit of ln(energy). Seeds are fixed.

  half above  one head, 40 shots over three or six energies in turn, looked at after each shot from the fifth; with no number set, and
              with 40 set beforehand
  a tenth     two armours, the one needing just a tenth more, looked at after each of ten rounds of three shots each
  shown       what the plan says of how often an answer can be had: a 50 % energy a fifth above what is claimed; three tenths more where a
              tenth is claimed, and no more at all
  settles     one head, 20 shots, the truth where the curve has put it: after the number that more_shots_to_settle gives, is it settled?
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator
from functools import cache
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from proofyard.quantities.reason import CantTell
from proofyard.statistics.energy_claims import more_shots_to_settle, verdict_above
from proofyard.statistics.fifty_percent_point import LIMIT_TIMES, Curve, EnergyPoint, fifty_percent_point, fit_curve
from proofyard.statistics.one_comparison import Shots, compare_two, levels_of_family
from proofyard.statistics.penalised_logistic import chi_square

from tests.bench.pair_error_rates import FIXED_LEVELS, MIDDLE, SLOPES, Draw, Row, only_what_decides, shot_at

SIX = (52.0, 60.0, 70.0, 80.0, 93.0, 108.0)
SHOTS, FIRST_LOOK = 40, 5
LOOKS = ("not set", "set")


def level_of(looks: str, *, done: bool) -> float:
    """Of one question's interval at a look."""
    return levels_of_family(1, named=False, looks="before" if looks == "set" and not done else looks).other


def verdict_at(curve: Curve, limit: float, *, level: float) -> str:
    """As verdict_above of fifty_percent_point's ends, by the fall at the limit alone: one fit in place of ten."""
    fall, answer = fall_at(curve, limit)
    return "not_yet" if fall <= LIMIT_TIMES * chi_square(level) else answer


def fall_at(curve: Curve, limit: float) -> tuple[float, str]:
    """Twice what the log-likelihood loses where the 50 % energy is the limit, and on which side of it the estimate lies."""
    line = np.array([[-curve.place(limit)], [1.0]])
    peak = curve.fit.likelihood.highest(line, offset=np.zeros(2), start=np.array([curve.fit.coefficients[1]]))
    value = peak.value if float(peak.place[0]) >= 0 else float(curve.fit.likelihood.at(np.zeros(2))[0])
    above = curve.fit.coefficients[1] != 0 and curve.energy(-curve.fit.coefficients[0] / curve.fit.coefficients[1]) > limit
    return 2 * (curve.fit.log_likelihood - value), "yes" if above else "no"


@cache
def _fall_of_counts(shots: tuple[tuple[float, int], ...], limit: float) -> tuple[float, str]:
    """The same of shots in order of energy and outcome: fitted once however often they are drawn. Nothing falls without a curve."""
    curve = fit_curve([energy for energy, _ in shots], [through for _, through in shots])
    return (0.0, "not_yet") if isinstance(curve, CantTell) else fall_at(curve, limit)


def fifty_percent_above(energies: np.ndarray, slope: int, looks: str, lots: Draw, *, limit: float = MIDDLE) -> str:
    """What is said at the first look that says anything; the truth stands at the limit."""
    shots = shot_at(energies, limit, slope, lots)
    for n in range(FIRST_LOOK, energies.size + 1):
        fall, answer = _fall_of_counts(tuple(sorted(zip(shots.energies_j[:n], shots.through[:n], strict=True))), limit)
        if fall > LIMIT_TIMES * chi_square(level_of(looks, done=n == energies.size)):
            return answer
    return "not_yet"


def fifty_percent_above_rows(runs: int, lots: Draw) -> Iterator[Row]:
    for base, limit, looks, slope in product((FIXED_LEVELS, SIX), (MIDDLE, 65.0), LOOKS, SLOPES):
        energies = np.array([base[n % len(base)] for n in range(SHOTS)])
        said = [fifty_percent_above(energies, slope, looks, lots, limit=limit) for _ in range(runs)]
        for answer in ("yes", "no"):
            name = f"half above {limit:g} J, {len(base)} energies, number {looks}, slope {slope}, wrong {answer}"
            yield Row(name, 100 * said.count(answer) / runs, "<= 5.0", runs)


def tenth(slope: int, looks: str, lots: Draw, *, many: int = 10) -> str:
    first, second = (shot_at(np.tile(FIXED_LEVELS, many), MIDDLE * times, slope, lots) for times in (1.0, 1.1))
    for done in range(2, many + 1):
        so_far = [tuple(sorted(zip(one.energies_j[: 3 * done], one.through[: 3 * done], strict=True))) for one in (first, second)]
        said = _tenth_of_counts(*so_far, level=level_of(looks, done=done == many))
        if said != "not_yet":
            return said
    return "not_yet"


@cache
def _tenth_of_counts(first: tuple[tuple[float, int], ...], second: tuple[tuple[float, int], ...], *, level: float) -> str:
    one, other = (Shots(tuple(energy for energy, _ in shots), tuple(through for _, through in shots)) for shots in (first, second))
    ends = compare_two(one, other, own={}).ends(level)
    return verdict_above(ends.low, ends.high, limit=1.1) if ends else "not_yet"


def tenth_rows(runs: int, lots: Draw) -> Iterator[Row]:
    for looks, slope in product(LOOKS, SLOPES):
        said = [tenth(slope, looks, lots) for _ in range(runs)]
        for answer in ("yes", "no"):
            yield Row(f"a tenth, number {looks}, slope {slope}, wrong {answer}", 100 * said.count(answer) / runs, "<= 5.0", runs)


def shown_rows(runs: int, lots: Draw) -> Iterator[Row]:
    """At the number set beforehand, slope 8: what the page of the plan quotes."""
    for shots, least in ((20, 35), (40, 73)):
        found = 0
        for _ in range(runs):
            one = shot_at(np.array([SIX[n % 6] for n in range(shots)]), MIDDLE, 8, lots)
            curve = fit_curve(one.energies_j, one.through)
            found += isinstance(curve, Curve) and verdict_at(curve, MIDDLE / 1.2, level=0.95) == "yes"
        yield Row(f"shown: a 50 % energy a fifth above, {shots} shots", 100 * found / runs, f">= {least}", runs)
    for shots, times, answer, limit in ((12, 1.3, "yes", ">= 10"), (40, 1.3, "yes", ">= 38"), (40, 1.0, "no", "<= 25")):
        found = 0
        for _ in range(runs):
            first, second = (shot_at(np.tile(FIXED_LEVELS, 14)[:shots], MIDDLE * many, 8, lots) for many in (1.0, times))
            ends = compare_two(first, second, own={}).ends(0.95)
            found += ends is not None and verdict_above(ends.low, ends.high, limit=1.1) == answer
        yield Row(f"shown: a tenth claimed, truly {times} times, {shots} each, {answer}", 100 * found / runs, limit, runs)


def settles(slope: float, limit: float, lots: Draw, *, shots: int = 20) -> bool | None:
    """Whether so many more shots settled it; None where no number was given, or one beyond 200."""
    energies = np.array([FIXED_LEVELS[n % 3] for n in range(shots)])
    so_far = shot_at(energies, MIDDLE, int(slope), lots)
    curve = fit_curve(so_far.energies_j, so_far.through)
    point = curve if isinstance(curve, CantTell) else fifty_percent_point(curve)
    if not isinstance(curve, Curve) or not isinstance(point, EnergyPoint) or verdict_at(curve, limit, level=0.95) != "not_yet":
        return None
    more = more_shots_to_settle(_ends(curve), estimate=point.energy_j, limit=limit, level=0.95, shots=shots)
    if isinstance(more, CantTell) or more > 200:
        return None
    new = np.array([FIXED_LEVELS[n % 3] for n in range(more)])
    through = lots.random(new.size) < 1 / (1 + (new / point.energy_j) ** -curve.slope)
    then = fit_curve([*so_far.energies_j, *new.tolist()], [*so_far.through, *(int(one) for one in through)])
    return isinstance(then, Curve) and verdict_at(then, limit, level=0.95) != "not_yet"


def _ends(curve: Curve) -> Callable[[float], tuple[float | None, float | None]]:
    def at(level: float) -> tuple[float | None, float | None]:
        found = fifty_percent_point(curve, level=level)
        return (None, None) if isinstance(found, CantTell) else (found.low_j, found.high_j)

    return at


def settles_rows(runs: int, lots: Draw) -> Iterator[Row]:
    for slope, limit in product(SLOPES, (68.0, 92.0)):
        found = [one for one in (settles(slope, limit, lots) for _ in range(runs)) if one is not None]
        share = 100 * sum(found) / len(found) if found else math.nan
        yield Row(f"settles by about half, at least, slope {slope}, limit {limit:g} J", share, ">= 35", len(found))
        yield Row(f"settles by about half, at most, slope {slope}, limit {limit:g} J", share, "<= 75", len(found))


def rows(runs: int, only: str = "") -> Iterator[Row]:
    """All rows, over so many runs."""
    parts: tuple[tuple[str, Callable[[], Iterator[Row]]], ...] = (
        ("half above", lambda: fifty_percent_above_rows(runs, np.random.default_rng(11))),
        ("a tenth", lambda: tenth_rows(runs, np.random.default_rng(12))),
        ("shown", lambda: shown_rows(runs, np.random.default_rng(14))),
        ("settles", lambda: settles_rows(runs, np.random.default_rng(13))),
    )
    with only_what_decides():
        for name, part in parts:
            if only in name:
                yield from part()


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for row in rows(runs, sys.argv[2] if len(sys.argv) > 2 else ""):
        print(row.words, flush=True)


if __name__ == "__main__":
    main()
