"""One steel, two rules: the published factors of its kind, and the strength behind its hardness. Each box of the form feeds both.

A hardened plate took 1.5 times as much as mild steel by arrows, and would take 2.7 to 4.5 times as much by strength alone:
which box somebody fills must not pick between the two.
"""

from collections.abc import Mapping
from types import MappingProxyType

from proofyard.physics.hardness import HardnessRange, StrengthRange, strength_of
from proofyard.physics.resistance import QUALITIES

# Sort -> what such steel usually is by hardness. Common practice, no source. Of old iron hardness says little: its slag does.
USUAL_HARDNESS: Mapping[str, HardnessRange] = MappingProxyType(
    {
        "mild_steel": HardnessRange(120.0, 145.0, "HV"),
        "medium_carbon": HardnessRange(180.0, 240.0, "HV"),
        "hardened": HardnessRange(40.0, 50.0, "HRC"),
    }
)
# Strength, Pa, up to which a modern steel is one sort or another: half way between the usual ones. Common practice, no source.
_UP_TO: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"mild_steel": (0.0, 520e6), "medium_carbon": (520e6, 950e6), "hardened": (950e6, 1e12)}
)


def usual_strength(sort: str) -> StrengthRange | None:
    """What usually goes with a sort; None for old iron and where nobody said which."""
    known = USUAL_HARDNESS.get(sort)
    found = None if known is None else strength_of(known)
    return found if isinstance(found, StrengthRange) else None


def qualities_by_strength(strength: StrengthRange | None) -> tuple[str, ...]:
    """Which modern sorts a strength may be; none where it is open at an end or not known."""
    if strength is None or strength.low_pa is None or strength.high_pa is None:
        return ()
    low, high = strength.low_pa, strength.high_pa
    return tuple(sort for sort, (least, most) in _UP_TO.items() if low < most and high > least)


def factors_of(sorts: tuple[str, ...]) -> tuple[float, float]:
    """From the least to the greatest printed factor of these."""
    found = [QUALITIES[sort] for sort in sorts]
    return min(found), max(found)
