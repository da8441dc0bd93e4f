"""Fits to shots, by a name made of all that goes in: worked out once, by whichever process, and read back the same to the last digit.

A change to one shot gives other numbers to the fits that it is in, so other names; all others are found again. Kept is what a fit
found, as numbers; the shots that it rests on are at hand wherever it is asked for. Where there is no keeper (a copy that is published,
the command line) each is worked out.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import astuple
from functools import cache
from importlib.metadata import version

import numpy as np

from proofyard.kept_fits import kept_or_done
from proofyard.quantities.reason import CantTell, Reason
from proofyard.shots.cache import FORM
from proofyard.shots.cache_text import as_text, of_text
from proofyard.statistics.comparing_by_ranks import OutcomeComparison, compare_outcomes
from proofyard.statistics.energy_uncertainty import WidenedPoint, point_with_energy_uncertainty
from proofyard.statistics.fifty_percent_point import Curve, CurveBand, EnergyPoint, curve_band, fifty_percent_point, fit_curve, tail_point
from proofyard.statistics.heads_by_curve import TwoHeads, slope_for_all
from proofyard.statistics.one_comparison import Ends, PairFound, Shots, alike_margin, compare_two, energy_levels

# Counted up whenever a fit, one of its constants or what is kept of it changes: tests/live/test_fits_are_kept.py tells when it has to be.
FITTED = 3

Energies = tuple[float | None, ...]
Fitted = tuple[Curve | None, EnergyPoint | None, Reason | None]


def fit_name(what: str, *rests_on: Sequence[float | None] | Sequence[str] | str) -> str:
    """A hash of all that goes into a fit: what it is, numbers to their last bit, and words."""
    found = hashlib.sha256(_of_this_program().encode())
    for part in (what, *rests_on):
        is_words = isinstance(part, str) or any(isinstance(one, str) for one in part[:1])
        content = "\n".join([part] if isinstance(part, str) else map(str, part)).encode() if is_words else np.array(part, float).tobytes()
        found.update(b"%d %d:" % (is_words, len(content)) + content)
    return found.hexdigest()


@cache
def _of_this_program() -> str:
    """Last digits hang on these; `FORM`: formulas of the shots, and the sort of machine."""
    return " ".join(map(str, (FITTED, FORM, "numpy", version("numpy"), "scipy", version("scipy"))))


def fitted(energies: Energies, through: tuple[int, ...], *, chosen: bool) -> Fitted:
    """The curve of these shots and its 50 % point, or why there is none."""

    def work() -> Fitted:
        curve = fit_curve(energies, through)
        if isinstance(curve, CantTell):
            return None, None, curve.reason
        point = fifty_percent_point(curve, chosen=chosen)
        return (curve, None, point.reason) if isinstance(point, CantTell) else (curve, point, None)

    def said(done: Fitted) -> str:
        curve, point, why = done
        return as_text((curve.numbers if curve else None, point.numbers if point else None, why))

    def read(kept: str) -> Fitted:
        numbers, of_point, why = of_text(kept)
        curve = Curve.of_numbers(energies, through, numbers) if numbers else None
        return curve, EnergyPoint.of_numbers(curve, of_point) if curve and of_point else None, why

    return kept_or_done(lambda: fit_name("curve", energies, through, str(chosen)), work, said=said, read=read)


def widened(
    energies: Energies,
    through: tuple[int, ...],
    combinations: tuple[str, ...],
    *,
    of_all: float,
    of_combinations: tuple[tuple[str, float], ...],
    of_shots: float,
    level: float,
    chosen: bool,
) -> WidenedPoint | None:
    """The 50 % point, its interval widened by what is not known of the energies: two hundred fits, drawn alike every time."""

    def work() -> WidenedPoint | None:
        found = point_with_energy_uncertainty(
            energies,
            through,
            combinations=combinations,
            instrument_relative=of_all,
            combination_relative=dict(of_combinations),
            shot_relative=of_shots,
            level=level,
            chosen=chosen,
        )
        return found if isinstance(found, WidenedPoint) else None

    def said(done: WidenedPoint | None) -> str:
        return as_text((done.point.curve.numbers, done.point.numbers, done.numbers) if done else None)

    def read(kept: str) -> WidenedPoint | None:
        told = of_text(kept)
        if told is None:
            return None
        of_curve, of_point, numbers = told
        return WidenedPoint(EnergyPoint.of_numbers(Curve.of_numbers(energies, through, of_curve), of_point), *numbers)

    def name() -> str:
        names, own = zip(*of_combinations, strict=True) if of_combinations else ((), ())
        return fit_name("widened", energies, through, combinations, names, own, (of_all, of_shots, level), str(chosen))

    return kept_or_done(name, work, said=said, read=read)


def band(curve: Curve, energies_j: tuple[float, ...], *, chosen: bool) -> CurveBand:
    """The curve with its band, at these energies."""

    def read(kept: str) -> CurveBand:
        return CurveBand(energies_j, *of_text(kept))

    return kept_or_done(
        lambda: fit_name("band", curve.energies_j, curve.through, energies_j, str(chosen)),
        lambda: curve_band(curve, energies_j, chosen=chosen),
        said=lambda done: as_text((done.chances, done.lows, done.highs, done.level)),
        read=read,
    )


def tail(curve: Curve, share: float, *, chosen: bool) -> EnergyPoint | CantTell:
    """The energy of another share."""

    def read(kept: str) -> EnergyPoint | CantTell:
        numbers, why = of_text(kept)
        return CantTell(why) if why else EnergyPoint.of_numbers(curve, numbers)

    return kept_or_done(
        lambda: fit_name("tail", curve.energies_j, curve.through, (share,), str(chosen)),
        lambda: tail_point(curve, share, chosen=chosen),
        said=lambda done: as_text((None, done.reason) if isinstance(done, CantTell) else (done.numbers, None)),
        read=read,
    )


def slope(energies_j: tuple[float, ...], through: tuple[int, ...], groups: tuple[str, ...]) -> float | None:
    """One slope for all groups of a panel type."""

    found: float | None = kept_or_done(
        lambda: fit_name("slope", energies_j, through, groups),
        lambda: slope_for_all(energies_j, through, groups=groups),
        said=as_text,
        read=of_text,
    )
    return found


Own = tuple[tuple[str, float], ...] | None


def compared(first: Shots, second: Shots, *, own: Own, slope: float | None, chosen: bool) -> PairFound:
    """Two groups compared. Only what the curve found is kept: levels of like energy are counted in no time."""
    known = None if own is None else dict(own)

    def work() -> PairFound:
        return compare_two(first, second, own=known, slope=slope, chosen=chosen)

    def said(done: PairFound) -> str:
        if done.way != "curve":
            return as_text(None)
        return as_text((done.curve.numbers if done.curve else None, done.why, done.smallest_p, done.limit_times, done.own_relative))

    def read(kept: str) -> PairFound:
        told = of_text(kept)
        if told is None:
            return work()
        numbers, why, smallest, times, wide = told
        energies, outcomes = (*first.energies_j, *second.energies_j), (*first.through, *second.through)
        is_second = (False,) * len(first.through) + (True,) * len(second.through)
        curve = TwoHeads.of_numbers(energies, outcomes, is_second, numbers) if numbers else None
        levels = energy_levels(first, second, margin=alike_margin(slope), own=known)
        return PairFound("curve", curve, None, why, "", levels, smallest, times, wide)

    def name() -> str:
        return fit_name("pair", *_of_pair(first, second), *_of_own(own), (slope,), str(chosen))

    return kept_or_done(name, work, said=said, read=read)


def ends(found: PairFound, level: float, first: Shots, second: Shots) -> Ends | None:
    """The interval of a pair that was `compared`, at a level."""
    if found.curve is None:
        return found.ends(level)

    def said(done: Ends | None) -> str:
        assert done is not None  # a curve has ends, bounded or not
        return as_text((done.low, done.high))

    def read(kept: str) -> Ends | None:
        low, high = of_text(kept)
        return Ends(low, high, level)

    return kept_or_done(
        lambda: fit_name("ends", *_of_pair(first, second), (level, found.limit_times, found.own_relative)),
        lambda: found.ends(level),
        said=said,
        read=read,
    )


def ranked(bounds: Sequence[tuple[int, int]], is_first: Sequence[bool], *, energy_levels: Sequence[str]) -> OutcomeComparison | CantTell:
    """Two groups by the order of their outcomes, within levels."""

    def said(done: OutcomeComparison | CantTell) -> str:
        return as_text((done.reason, None) if isinstance(done, CantTell) else (None, astuple(done)))

    def read(kept: str) -> OutcomeComparison | CantTell:
        why, numbers = of_text(kept)
        return CantTell(why) if why else OutcomeComparison(*numbers)

    return kept_or_done(
        lambda: fit_name("ranks", [one for both in bounds for one in both], is_first, energy_levels),
        lambda: compare_outcomes(bounds, is_first, energy_levels=energy_levels),
        said=said,
        read=read,
    )


def _of_pair(first: Shots, second: Shots) -> tuple[Sequence[float] | Sequence[str], ...]:
    return tuple(part for one in (first, second) for part in (one.energies_j, one.through, one.combinations))


def _of_own(own: Own) -> tuple[Sequence[float] | Sequence[str] | str, ...]:
    return ("not known",) if own is None else ([name for name, _ in own], [width for _, width in own])
