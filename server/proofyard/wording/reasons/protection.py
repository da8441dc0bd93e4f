"""What is said of protection for weight: joules at the 50 % energy for each kilogram that a square metre weighs."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import Uncertain, from_si, unit_for_reader, with_unit, written, written_with_uncertainty
from proofyard.wording.counts import capital
from proofyard.wording.energies import decimals_carried
from proofyard.wording.levels import ONE_SIDED, TWO_SIDED

FIFTY = "50\N{NO-BREAK SPACE}%"


def _for_each(reader: str) -> str:
    """The unit: "J per kg/m²"."""
    return f"{unit_for_reader('energy', reader)} per {_areal(reader)}"


def _areal(reader: str) -> str:
    return unit_for_reader("areal_density", reader)


def _times(reader: str) -> float:
    """A figure of J per kg/m² is so many of the reader's."""
    return from_si(1.0, unit_for_reader("energy", reader)) / from_si(1.0, _areal(reader))


def _number(value: float, times: float, *, low: float | None, high: float | None) -> str:
    """`times`: what makes it, and its ends, the reader's."""
    return f"{times * value:.{_decimals(low, high, times)}f}".replace("-", "\N{MINUS SIGN}")


def _decimals(low: float | None, high: float | None, times: float) -> int:
    """As many as the interval carries; one where a side is open: a figure of 5 J per kg/m² in whole joules says too little."""
    return 1 if low is None or high is None else decimals_carried(times * low, times * high, "1")


def _interval(low: float | None, high: float | None, times: float) -> str:
    if low is None and high is None:
        return "not bounded on either side"
    if low is None or high is None:
        end, way, open_way = (low, "less", "above") if low is not None else (high, "more", "below")
        assert end is not None
        return f"not {way} than {_number(end, times, low=low, high=high)} ({ONE_SIDED}), how far {open_way} can’t be told"
    return f"{TWO_SIDED} interval {_number(low, times, low=low, high=high)} to {_number(high, times, low=low, high=high)}"


def _figure(*, j_per_kg_m2: float, low: float | None, high: float | None, reader: str) -> str:
    """ "5.5 J per kg/m², 95 % interval 4.6 to 6.7"."""
    times = _times(reader)
    return f"{with_unit(_number(j_per_kg_m2, times, low=low, high=high), _for_each(reader))}, {_interval(low, high, times)}"


def _found(*, who: str, on: str, j_per_kg_m2: float, low: float | None, high: float | None, reader: str) -> str:
    return (
        f"Against {who}, {on} gives {_figure(j_per_kg_m2=j_per_kg_m2, low=low, high=high, reader=reader)}: "
        f"its {FIFTY} energy over what a square metre weighs."
    )


def _extra_found(*, who: str, heavier: str, lighter: str, j_per_kg_m2: float, low: float, high: float, reader: str) -> str:
    figure = _figure(j_per_kg_m2=j_per_kg_m2, low=low, high=high, reader=reader)
    return f"Against {who}, what {heavier} weighs more than {lighter} adds to the {FIFTY} energy: {figure}."


def _extra_told(
    *, difference_j: float, low_j: float, high_j: float, j_per_kg_m2: float, low: float, high: float, shown: bool, side: str, reader: str
) -> str:
    """`side`: which holds more by the one comparison of the two, heavier or lighter; empty: neither. `shown`: a figure can be had."""
    unit = unit_for_reader("energy", reader)
    times = from_si(1.0, unit)
    difference = with_unit(_number(difference_j, times, low=low_j, high=high_j), unit)
    between = f"{_number(low_j, times, low=low_j, high=high_j)} to {_number(high_j, times, low=low_j, high=high_j)}"
    if side and not shown:
        return (
            f"shown that {'more' if side == 'heavier' else 'less'} weight holds more, and not how many joules that is: the {FIFTY} energy "
            f"differs by {difference}, {TWO_SIDED} interval {between}"
        )
    if not shown:
        return f"not shown that more weight holds more: the {FIFTY} energy differs by {difference}, {TWO_SIDED} interval {between}"
    more = "" if difference_j > 0 else ", less for more weight"
    figure = _figure(j_per_kg_m2=j_per_kg_m2, low=low, high=high, reader=reader)
    return f"{difference} at the {FIFTY} energy ({between}){more}, that is {figure}"


def _heavier_by(*, heavier: str, lighter: str, extra_kg_m2: float, u_kg_m2: float, reader: str) -> str:
    extra = written_with_uncertainty(Uncertain(extra_kg_m2, u_kg_m2 or None), _areal(reader), figures=3)
    return f"{capital(heavier)} is heavier than {lighter} by {extra}"


def _weight(*, weight: Uncertain, reader: str) -> str:
    return written_with_uncertainty(weight, _areal(reader), figures=3)


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # the page's finding
        "for_weight_found": _found,
        "extra_weight_found": _extra_found,
        "none_for_weight": lambda *, why: f"No figure for weight yet: {why}.",
        "no_shots_for_weight": "No shots yet.",
        "none_counted_for_weight": "No counted shot matches what you picked.",
        # a panel type with one head
        "figure_for_weight": _figure,
        "no_figure_for_weight": lambda *, why: f"none: {why}" if why else "none",
        # a heavier panel type against the lightest
        "heavier_by": _heavier_by,
        "extra_told": _extra_told,
        "extra_not_told": "not told: {why}",
        # weights
        "weight_told": lambda *, weight, how, reader: f"{_weight(weight=weight, reader=reader)}, {how}",
        "weight_of_type": _weight,
        "weight_not_known": "not known: {why}",
        "garment_not_weighed": (
            "through means past the body line, so what lay behind counts too, and what a square metre of it weighs is not recorded"
        ),
        "layer_weighed": lambda *, weight_kg_m2, reader: written(weight_kg_m2, _areal(reader), figures=3),
        "layer_not_weighed": "not weighed",
    }
)
