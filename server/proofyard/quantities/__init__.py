"""What a number means: units, what a person typed, kinds and their ranges, value ± uncertainty, how it is written.

Everything is in SI inside. Text that a person typed goes through `read` and its sisters, which give a value or the
parts of a refusal; `sentence` makes the message. Nothing here loads pint until a unit is converted.
"""

from proofyard.quantities.hardness import SCALES, Bracket, Hardness, bracket_from_picks, read_hardness
from proofyard.quantities.kinds import KINDS, Kind
from proofyard.quantities.reason import Uncertain
from proofyard.quantities.refused import RefusalCode, Refused, sentence
from proofyard.quantities.typed import AtLeast, Empty, Read, Typed, WeightAtDraw, read, read_at_least, read_weight_at_draw
from proofyard.quantities.units import (
    UnknownUnit,
    difference_from_si,
    difference_to_si,
    from_si,
    known_units,
    si_unit_of,
    to_si,
    warm_units,
)
from proofyard.quantities.written import (
    READERS,
    UNITS_FOR_READER,
    figure,
    hand_length,
    in_readers,
    last_place,
    plainly,
    unit_for_reader,
    with_unit,
    written,
    written_with_uncertainty,
)

__all__ = [
    "KINDS",
    "READERS",
    "SCALES",
    "UNITS_FOR_READER",
    "AtLeast",
    "Bracket",
    "Empty",
    "Hardness",
    "Kind",
    "Read",
    "RefusalCode",
    "Refused",
    "Typed",
    "Uncertain",
    "UnknownUnit",
    "WeightAtDraw",
    "bracket_from_picks",
    "difference_from_si",
    "difference_to_si",
    "figure",
    "from_si",
    "hand_length",
    "in_readers",
    "known_units",
    "last_place",
    "plainly",
    "read",
    "read_at_least",
    "read_hardness",
    "read_weight_at_draw",
    "sentence",
    "si_unit_of",
    "to_si",
    "unit_for_reader",
    "warm_units",
    "with_unit",
    "written",
    "written_with_uncertainty",
]
