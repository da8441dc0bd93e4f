"""What a second person read of a hit, beside what the first had read."""

from dataclasses import dataclass

from server.quantities import unit_for_reader, written
from server.records.caveat_facts import ReadAgain
from server.records.shot import ALL_WAYS_IN
from server.records.shot_facts import ShotFact


@dataclass(frozen=True)
class AgainTold:
    """What a second person read: by whom, its rung, what else they said, and where that differs from the first reading."""

    reading_id: str
    read_by: str
    low: int
    high: int
    words: str
    differs: str


def again_told(one: ReadAgain, fact: ShotFact, *, reader: str) -> AgainTold:
    """A second reading beside the first."""
    length = unit_for_reader("length", reader)
    depth = "" if one.depth_m is None else written(one.depth_m, length) + (" or more" if one.depth_bound == "at_least" else "")
    way = ALL_WAYS_IN.get(one.way_in or "", "")
    said = [f"{depth} past the rear face" if depth else "", f"way in: {way.lower()}" if way else ""]
    differs = []
    if fact.outcome_low is not None and (fact.outcome_low, fact.outcome_high) != (one.outcome_low, one.outcome_high):
        differs.append("rung")
    if one.way_in and fact.way_in and one.way_in != fact.way_in:
        differs.append("way in")
    if one.depth_m is not None and fact.depth_m is not None:
        differs += [f"depth, by {written(abs(one.depth_m - fact.depth_m), length, figures=2)}"] if abs(one.depth_m - fact.depth_m) >= 0.0005 else []
    return AgainTold(one.reading_id, one.read_by, one.outcome_low, one.outcome_high, ", ".join(w for w in said if w), ", ".join(differs))
