"""How far from an earlier hit, and from the edge, a hit must lie to be fair: defaults, and what standards use.

Distances by construction are common practice, no source: a dent stiffens and bends sheet about its own width away,
an open ring loosens its neighbours, a cut in quilted cloth runs to the next line. A trial can set its own.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from server.records.trial import Trial


@dataclass(frozen=True)
class FairRules:
    """In metres. `spoils`: the rungs of an earlier hit that spoil the spot about it."""

    near_opened_m: float
    near_dented_m: float
    near_edge_m: float
    finger_m: float
    spoils: frozenset[int]

    def reach_of(self, rung: int) -> float:
        """How far an earlier hit of this rung spoils the panel; 0 where it doesn't."""
        if rung not in self.spoils:
            return 0.0
        return self.near_opened_m if rung >= 3 else self.near_dented_m


_SPOILS = frozenset({2, 3, 4, 5})
_PLATE = FairRules(0.050, 0.025, 0.030, 0.005, _SPOILS)
_SMALL_PLATES = FairRules(0.050, 0.030, 0.030, 0.005, _SPOILS)
_MAIL = FairRules(0.040, 0.020, 0.040, 0.005, _SPOILS)
_TEXTILE = FairRules(0.040, 0.020, 0.030, 0.005, _SPOILS)
DEFAULTS: Mapping[str, FairRules] = MappingProxyType(
    {
        "plate": _PLATE,
        "lamellar": _SMALL_PLATES,
        "scale": _SMALL_PLATES,
        "brigandine": _SMALL_PLATES,
        "coat_of_plates": _SMALL_PLATES,
        "mail": _MAIL,
        "textile": _TEXTILE,
        "other": _PLATE,
    }
)


@dataclass(frozen=True)
class Borrowed:
    """What a standard for something else uses, to be shown beside ours and never as ours."""

    words: str
    between_m: float
    edge_m: float
    source: str


BORROWED = (
    Borrowed(
        "NIJ 0101.03 and .04, bullets on body armour: 5 cm from an earlier hit, 7.6 cm from the edge",
        0.050,
        0.076,
        "as quoted in a book extract, not seen in the standard itself",
    ),
    Borrowed(
        "NIJ 0101.06, bullets on body armour: 51 mm from an earlier hit, 51 or 76 mm from the edge",
        0.051,
        0.051,
        "from memory",
    ),
)


def rules_of(trial: Trial | None, construction: str | None) -> FairRules:
    """A trial's own distances; where it says nothing, the default of the construction."""
    default = DEFAULTS.get(construction or "other", _PLATE)
    if trial is None:
        return default
    spoils = frozenset(map(int, json.loads(trial.spoils))) if trial.spoils else default.spoils

    def own(value: float | None, otherwise: float) -> float:
        return otherwise if value is None else value

    return FairRules(
        near_opened_m=own(trial.near_opened_m, default.near_opened_m),
        near_dented_m=own(trial.near_dented_m, default.near_dented_m),
        near_edge_m=own(trial.near_edge_m, default.near_edge_m),
        finger_m=own(trial.finger_m, default.finger_m),
        spoils=spoils,
    )
