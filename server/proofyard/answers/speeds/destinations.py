"""Where a speed without a chronograph may be saved: a series of a combination, or one shot."""

from collections.abc import Iterator
from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because
from proofyard.records.listing import all_of, belonging, one
from proofyard.records.shot import Shot
from proofyard.records.speed import SpeedReading, SpeedSeries
from proofyard.records.speed_facts import combinations
from proofyard.storage import Session
from proofyard.wording.combinations import combination_name

MOST_SERIES = 60
FAR_APART_M = 1.0


@dataclass(frozen=True)
class Destination:
    """`key` as the form sends it. `stood_at_m` and `next_place` of a series; `has_speed` of a shot."""

    key: str
    words: str
    href: str
    stood_at_m: float | None = None
    next_place: int = 1
    has_speed: bool = False

    @property
    def body(self) -> dict[str, str]:
        """The fields of a reading that goes there."""
        noun, _, record_id = self.key.partition(":")
        return {noun: record_id, "place": str(self.next_place)} if noun == "series" else {noun: record_id}


def destinations(session: Session, *, shot_id: str = "") -> list[Destination]:
    """Series, newest first; a shot before them, if one is asked for. Three or five statements."""
    known = combinations(session)
    series = sorted((s for s in all_of(session, SpeedSeries) if s.combination_id in known), key=lambda s: s.id, reverse=True)[:MOST_SERIES]
    order: dict[str, int] = {}
    for reading in belonging(session, SpeedReading, "series_id", [s.id for s in series]):
        order[reading.series_id or ""] = max(order.get(reading.series_id or "", 0), reading.place or 0)
    found = []
    for s in series:
        fact = known[s.combination_id]
        words = combination_name(fact) + (f", {s.day}" if s.day else "")
        found.append(
            Destination(f"series:{s.id}", words, f"/combinations/{s.combination_id}?at={s.id}", s.stood_at_m, order.get(s.id, 0) + 1)
        )
    shot = one(session, Shot, shot_id) if shot_id else None
    if shot is not None and shot.voided_rev is None:
        has = bool(belonging(session, SpeedReading, "shot_id", shot.id))
        found.insert(0, Destination(f"shot:{shot.id}", f"Shot {shot.label}", f"/shots/{shot.id}", has_speed=has))
    return found


def destination_notes(where: Destination | None, distance_m: float) -> Iterator[Reason]:
    """What a mean over the way flown is, and whether the place that it goes to says otherwise."""
    yield because("speeds_half_way", half_way_m=distance_m / 2)
    if where is not None and where.stood_at_m is not None and abs(where.stood_at_m - distance_m / 2) > FAR_APART_M:
        yield because("speeds_other_place", stood_at_m=where.stood_at_m)
    if where is not None and where.has_speed:
        yield because("speeds_averaged")
