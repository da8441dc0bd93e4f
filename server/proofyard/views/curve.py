"""One head's shots at one panel type: the curve, its band and the energy at which half get through, or why not."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from proofyard.charts.curves import CurveShape
from proofyard.quantities.reason import Reason, because
from proofyard.statistics.energy_uncertainty import WidenedPoint
from proofyard.statistics.fifty_percent_point import Curve, EnergyPoint
from proofyard.views import kept_fits
from proofyard.views.cells import CountedShot
from proofyard.views.chosen_energies import chosen_among
from proofyard.views.energy_parts import EnergyParts

DRAWN_AT = 41  # energies at which the curve is worked out to be drawn


@dataclass(frozen=True, eq=False)
class FiftyPercent:
    """What the shots whose answer is settled say. `point` and `curve` are of one model; `why_not`: where there is no point.

    chosen       their energies were chosen by the outcomes so far, so that the interval is wider and 20 shots are wanted
    open_shots   may have got through or not: in neither; `if_all`, `if_none` are the points with them counted through,
                 and not, None where that gives none
    unmeasured   have no energy where the view wants it
    """

    settled: tuple[CountedShot, ...]
    hits: int
    open_shots: tuple[CountedShot, ...]
    unmeasured: int
    curve: Curve | None
    point: EnergyPoint | None
    why_not: Reason | None
    if_none: EnergyPoint | None = None
    if_all: EnergyPoint | None = None
    chosen: bool = False

    @property
    def shots(self) -> int:
        return len(self.settled)

    @property
    def energies_j(self) -> tuple[float, ...]:
        return tuple(one.energy.value for one in self.settled if one.energy is not None)

    @property
    def through(self) -> tuple[int, ...]:
        return tuple(int(one.through_low) for one in self.settled)


def fifty_percent_of(shots: Sequence[CountedShot], *, unmeasured: int = 0) -> FiftyPercent:
    """`shots`: of one head and one panel type, each with an energy; `unmeasured`: how many more have none."""
    placed = [one for one in shots if one.energy is not None and one.energy.value > 0]
    settled = tuple(one for one in placed if one.through_low == one.through_high)
    unsettled = tuple(one for one in placed if one.through_low != one.through_high)
    chosen = chosen_among(placed)
    curve, point, why = _told(settled, unmeasured, chosen=chosen)
    if_none = if_all = None
    if unsettled:
        if_none, if_all = (_with(settled, unsettled, through=through, chosen=chosen) for through in (0, 1))
    if not settled and unsettled:
        why = because("undecided_check_behind", shots=len(unsettled))
    hits = sum(one.through_low for one in settled)
    return FiftyPercent(settled, hits, unsettled, unmeasured, curve, point, why, if_none, if_all, chosen)


def _told(settled: Sequence[CountedShot], unmeasured: int, *, chosen: bool) -> tuple[Curve | None, EnergyPoint | None, Reason | None]:
    energies = [one.energy.value if one.energy else None for one in settled] + [None] * unmeasured
    return _fitted(tuple(energies), (*(int(one.through_low) for one in settled), *(0,) * unmeasured), chosen=chosen)


_fitted = lru_cache(maxsize=128)(kept_fits.fitted)  # several answers and files ask the same of the same shots


def _with(settled: Sequence[CountedShot], unsettled: Sequence[CountedShot], *, through: int, chosen: bool) -> EnergyPoint | None:
    energies = [one.energy.value for one in (*settled, *unsettled) if one.energy]
    return _fitted(tuple(energies), (*(int(one.through_low) for one in settled), *(through,) * len(unsettled)), chosen=chosen)[1]


def widened_of(found: FiftyPercent, parts: EnergyParts, *, level: float = 0.95) -> WidenedPoint | None:
    """The point with its interval widened by what is not known of the energies; None without a point, or where nothing is known of it."""
    if found.point is None or not parts.known:
        return None
    return _widened(
        tuple([one.energy.value if one.energy else None for one in found.settled]),
        tuple(found.through),
        tuple([one.shot.fact.combination_id for one in found.settled]),
        of_all=parts.instrument,
        of_combinations=tuple(sorted(parts.combination.items())),
        of_shots=parts.shot,
        level=level,
        chosen=found.chosen,
    )


_widened = lru_cache(maxsize=64)(kept_fits.widened)


def shape_of(found: FiftyPercent, *, within: tuple[float, float] | None = None) -> CurveShape | None:
    """The curve to draw, over the energies that were shot and, with `within`, as far as that reaches. None without a point."""
    if found.curve is None or found.point is None:
        return None
    least, most = min(found.curve.energies_j), max(found.curve.energies_j)
    ends = (least, most) if within is None else (min(least, max(within[0], 0.02 * within[1])), max(most, within[1]))
    energies = sorted({*_evenly(*ends), least, most})
    band = _band(found.curve, tuple(energies), chosen=found.chosen)
    return CurveShape(
        band.energies_j,
        band.chances,
        band.lows,
        band.highs,
        shot_j=(least, most),
        middle_j=found.point.energy_j,
        ends_j=(found.point.low_j, found.point.high_j),
    )


_band = lru_cache(maxsize=64)(kept_fits.band)  # a curve is what it is, so it is told by identity


def _evenly(low: float, high: float) -> list[float]:
    return [low + (high - low) * n / (DRAWN_AT - 1) for n in range(DRAWN_AT)]


def estimate_of(point: EnergyPoint) -> Reason:
    """The point with its interval, as the end of a sentence: "75 J, 95 % interval 63 to 90 J"."""
    return because("estimate", energy_j=point.energy_j, low_j=point.low_j, high_j=point.high_j)


def energy_of(point: EnergyPoint) -> Reason:
    """The point alone, with the figures that its interval carries."""
    return because("energy_carried", energy_j=point.energy_j, low_j=point.low_j, high_j=point.high_j)


def told_of(found: FiftyPercent) -> Reason:
    """The estimate and of how many shots; or that there is none yet, and why."""
    if found.point is None:
        return because("no_estimate", why=found.why_not)
    return because("estimate_of_shots", estimate=estimate_of(found.point), shots=found.shots)


def outside_of(point: EnergyPoint) -> Reason | None:
    """Said where the point lies outside the energies shot."""
    if not point.outside:
        return None
    return because("outside_the_energies_shot", low_j=min(point.curve.energies_j), high_j=max(point.curve.energies_j))
