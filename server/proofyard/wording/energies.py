"""Energies, and ranges of them, with no more figures than the range carries; each range says at what level it holds."""

from proofyard.quantities import from_si, last_place, unit_for_reader, with_unit, written
from proofyard.wording.levels import ONE_SIDED, TWO_SIDED


def energy_words(energy_j: float, reader: str, *, low_j: float | None, high_j: float | None) -> str:
    """In the reader's unit, with the figures that its interval carries."""
    unit = unit_for_reader("energy", reader)
    if low_j is None and high_j is None:
        return written(energy_j, unit, figures=2)
    return _rounded(energy_j, unit, decimals_carried(low_j or energy_j, high_j or energy_j, unit))


def range_words(low_j: float | None, high_j: float | None, *, reader: str = "metric") -> str:
    """From where to where; an end of None is not bounded, and the other then says its own level:
    "not less than 63 J (one-sided, 97.5 %), how far …"."""
    ends = [end for end in (low_j, high_j) if end is not None]
    if not ends:
        return "not bounded on either side"
    unit = unit_for_reader("energy", reader)
    decimals = decimals_carried(low_j, high_j, unit)
    if low_j is None:
        return f"not more than {_rounded(ends[0], unit, decimals)} ({ONE_SIDED}), how far below can’t be told"
    if high_j is None:
        return f"not less than {_rounded(low_j, unit, decimals)} ({ONE_SIDED}), how far above can’t be told"
    low = _rounded(low_j, unit, decimals).removesuffix(unit).rstrip()
    return f"{low} to {_rounded(high_j, unit, decimals)}"


def ranged_words(low_j: float | None, high_j: float | None, *, reader: str = "metric") -> str:
    """The same with the level of an interval that is closed on both sides: "95 % interval 63 to 90 J"."""
    both = "" if low_j is None or high_j is None else f"{TWO_SIDED} interval "
    return f"{both}{range_words(low_j, high_j, reader=reader)}"


def energies_between(low_j: float, high_j: float, reader: str) -> str:
    """From the least to the most of some measured energies: "62 to 66 J"; one figure where both are the same to three."""
    unit = unit_for_reader("energy", reader)
    low, high = (f"{from_si(end, unit):.3g}" for end in (low_j, high_j))
    return with_unit(low if low == high else f"{low} to {high}", unit)


def times_words(low: float | None, high: float | None) -> str:
    """A range of how many times the energy: "1.04 to 1.98", "1.04 or more (one-sided, 97.5 %)"."""
    if low is None and high is None:
        return "not bounded"
    if low is None:
        return f"{high:.2f} or less ({ONE_SIDED})"
    return f"{low:.2f} or more ({ONE_SIDED})" if high is None else f"{low:.2f} to {high:.2f}"


def decimals_carried(low_j: float | None, high_j: float | None, unit: str) -> int:
    """How many decimals an interval carries: its quarter is about one standard uncertainty.

    An interval open on one side carries whole joules.
    """
    if low_j is None or high_j is None or not high_j > low_j:
        return 0
    return min(3, max(0, -last_place(from_si(high_j - low_j, unit) / 4)))


def _rounded(energy_j: float, unit: str, decimals: int) -> str:
    return with_unit(f"{from_si(energy_j, unit):.{decimals}f}", unit)
