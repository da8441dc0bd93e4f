"""One head's shots at one sort of panel: the curve, its band and the energy at which half get through, or why not."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.curve_shape import CurveShape
from server.findings.cells import CountedShot
from server.quantities import unit_for_reader, written
from server.statistics.fifty_percent_point import Curve, EnergyPoint, curve_band, fifty_percent_point, fit_curve
from server.statistics.refusals import CantTell

DRAWN_AT = 41  # energies at which the curve is worked out to be drawn


@dataclass(frozen=True, eq=False)
class HalfPoint:
    """What the shots whose answer is settled say. `point` and `curve` are of one model; `why_not`: where there is no point.

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
    why_not: str
    if_none: EnergyPoint | None = None
    if_all: EnergyPoint | None = None

    @property
    def shots(self) -> int:
        return len(self.settled)

    @property
    def energies_j(self) -> tuple[float, ...]:
        return tuple(one.energy.value for one in self.settled if one.energy is not None)

    @property
    def through(self) -> tuple[int, ...]:
        return tuple(int(one.through_low) for one in self.settled)


def half_point(shots: Sequence[CountedShot], *, unmeasured: int = 0) -> HalfPoint:
    """`shots`: of one head and one sort of panel, each with an energy; `unmeasured`: how many more have none."""
    placed = [one for one in shots if one.energy is not None and one.energy.value > 0]
    settled = tuple(one for one in placed if one.through_low == one.through_high)
    unsettled = tuple(one for one in placed if one.through_low != one.through_high)
    curve, point, why = _told(settled, unmeasured)
    if_none = if_all = None
    if unsettled:
        if_none, if_all = (_with(settled, unsettled, through=through) for through in (0, 1))
    if not settled and unsettled:
        why = f"{_many(len(unsettled))} may have got through or not: look behind, and say which"
    hits = sum(one.through_low for one in settled)
    return HalfPoint(settled, hits, unsettled, unmeasured, curve, point, why, if_none, if_all)


def _told(settled: Sequence[CountedShot], unmeasured: int) -> tuple[Curve | None, EnergyPoint | None, str]:
    energies = [one.energy.value if one.energy else None for one in settled] + [None] * unmeasured
    curve = fit_curve(energies, [int(one.through_low) for one in settled] + [0] * unmeasured)
    if isinstance(curve, CantTell):
        return None, None, as_printed(curve.reason)
    point = fifty_percent_point(curve)
    return (curve, None, as_printed(point.reason)) if isinstance(point, CantTell) else (curve, point, "")


def _with(settled: Sequence[CountedShot], unsettled: Sequence[CountedShot], *, through: int) -> EnergyPoint | None:
    energies = [one.energy.value for one in (*settled, *unsettled) if one.energy]
    curve = fit_curve(energies, [int(one.through_low) for one in settled] + [through] * len(unsettled))
    point = None if isinstance(curve, CantTell) else fifty_percent_point(curve)
    return point if isinstance(point, EnergyPoint) else None


def shape_of(found: HalfPoint, *, within: tuple[float, float] | None = None) -> CurveShape | None:
    """The curve to draw, over the energies that were shot and, with `within`, as far as that reaches. None without a point."""
    if found.curve is None or found.point is None:
        return None
    least, most = min(found.curve.energies_j), max(found.curve.energies_j)
    ends = (least, most) if within is None else (min(least, max(within[0], 0.02 * within[1])), max(most, within[1]))
    energies = sorted({*_evenly(*ends), least, most})
    band = curve_band(found.curve, energies)
    return CurveShape(
        band.energies_j, band.chances, band.lows, band.highs, shot_j=(least, most), middle_j=found.point.energy_j,
        ends_j=(found.point.low_j, found.point.high_j),
    )  # fmt: skip


def _evenly(low: float, high: float) -> list[float]:
    return [low + (high - low) * n / (DRAWN_AT - 1) for n in range(DRAWN_AT)]


def point_words(found: HalfPoint, *, reader: str = "metric", level_words: str = "95\N{NO-BREAK SPACE}%") -> str:
    """ "78.2 J, 70.1 to 91.3 J (95 %), 24 shots"; "not placed: …". The end of a sentence, without its stop."""
    if found.point is None:
        return f"not placed: {found.why_not}"
    return f"{energy_words(found.point.energy_j, reader)}, {ends_words(found.point, reader=reader)} ({level_words}, {_many(found.shots)})"


def ends_words(point: EnergyPoint, *, reader: str = "metric") -> str:
    """ "70.1 to 91.3 J", or the one side that the shots bound, with the reason why not the other."""
    return range_words(point.low_j, point.high_j, reader=reader)


def range_words(low_j: float | None, high_j: float | None, *, reader: str = "metric") -> str:
    """From where to where; an end of None is not bounded."""
    if low_j is None and high_j is None:
        return "not bounded on either side"
    if low_j is None:
        return f"not more than {energy_words(high_j or 0.0, reader)}, and how far below can’t be told"
    if high_j is None:
        return f"not less than {energy_words(low_j, reader)}, and how far above can’t be told"
    unit = unit_for_reader("energy", reader)
    return f"{written(low_j, unit, figures=3).removesuffix(unit).rstrip()} to {energy_words(high_j, reader)}"


def energy_words(energy_j: float, reader: str) -> str:
    """Three figures in the reader's unit: the shots carry no more."""
    return written(energy_j, unit_for_reader("energy", reader), figures=3)


def as_printed(reason: str) -> str:
    """A reason of statistics as pages print words."""
    return reason.replace("'", "\N{RIGHT SINGLE QUOTATION MARK}").replace(" %", "\N{NO-BREAK SPACE}%")


def outside_words(point: EnergyPoint, *, reader: str = "metric") -> str:
    """Said where the point lies outside the energies shot; empty where it doesn't."""
    if not point.outside:
        return ""
    shot = range_words(min(point.curve.energies_j), max(point.curve.energies_j), reader=reader)
    return f"That lies outside the energies shot, {shot}: it is the curve’s guess, and no shot has checked it."


def _many(count: int) -> str:
    return "1 shot" if count == 1 else f"{count} shots"
