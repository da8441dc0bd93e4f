"""A stored value of a kind as its reader sees it: the unit is the reader's, and a step on a scale stays a step."""

from .kinds import KINDS
from .units import difference_from_si
from .written import plainly, unit_for_reader, with_unit, written


def figure(value_si: float, kind: str, reader: str) -> str:
    """
    >>> figure(0.5, "temperature_accuracy", "metric")
    '0.5\xa0°C'
    """
    known = KINDS[kind]
    unit = unit_for_reader(known.shown_as, reader)
    if known.difference:
        return with_unit(plainly(difference_from_si(value_si, unit)), unit)
    return written(value_si, unit)
