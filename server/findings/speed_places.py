"""Where along its flight an arrow had the speed that was read: a mean of near readings takes none from far down range."""

import json
import math
from collections.abc import Sequence

from server.quantities import Uncertain
from server.records.speed_facts import SpeedFact

# Readings so close together along the flight count as one place: over 3 m an arrow loses half a percent of its speed.
ONE_PLACE_M = 3.0
# Common practice, no source: a chronograph's place is paced or taped to a quarter of a metre; one that nobody wrote
# down stands within some steps of the bow.
PLACE_EITHER_WAY_M = 0.25
UNKNOWN_PLACE_M, UNKNOWN_EITHER_WAY_M = 2.0, 2.0
OVER_THE_FLIGHT = ("frames", "sound")


def place_of(fact: SpeedFact) -> float | None:
    """From the bow; None if nobody said. A mean over the flight is the speed at half the way, to 1 in 1,000."""
    if fact.method in OVER_THE_FLIGHT:
        flown = _flown_m(fact.inputs)
        return None if flown is None else flown / 2
    return fact.stood_at_m


def _flown_m(inputs: str | None) -> float | None:
    try:
        flown = json.loads(inputs or "")["si"]["distance_m"]
    except (ValueError, KeyError, TypeError):
        return None
    return float(flown) if isinstance(flown, (int, float)) and math.isfinite(flown) and flown > 0 else None


def near_and_further(facts: Sequence[SpeedFact]) -> tuple[tuple[SpeedFact, ...], tuple[SpeedFact, ...]]:
    """Those read near the bow, those whose place nobody said among them; and those read further down range."""
    placed = [(fact, place_of(fact)) for fact in facts]
    end = min((place for _, place in placed if place is not None), default=math.inf) + ONE_PLACE_M
    near = tuple(fact for fact, place in placed if place is None or place <= end)
    return near, tuple(fact for fact, place in placed if place is not None and place > end)


def mean_place(facts: Sequence[SpeedFact]) -> Uncertain | None:
    """The middle of their places; None where nobody said any."""
    known = [place for place in map(place_of, facts) if place is not None]
    if not known:
        return None
    half_width = (max(known) - min(known)) / 2 + PLACE_EITHER_WAY_M
    return Uncertain(math.fsum(known) / len(known), half_width / math.sqrt(3), math.inf, len(known))


def unknown_place() -> Uncertain:
    return Uncertain(UNKNOWN_PLACE_M, UNKNOWN_EITHER_WAY_M / math.sqrt(3), math.inf)
