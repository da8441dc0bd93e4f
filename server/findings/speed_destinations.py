"""Where a speed without a chronograph may be saved: a series of a pairing, or one shot."""

from dataclasses import dataclass

from server.quantities import unit_for_reader, written
from server.records.listing import all_of, belonging, one
from server.records.shot import Shot
from server.records.speed import SpeedReading, SpeedSeries
from server.records.speed_facts import pairings
from server.storage import Session

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
    known = pairings(session)
    series = sorted((s for s in all_of(session, SpeedSeries) if s.pairing_id in known), key=lambda s: s.id, reverse=True)[:MOST_SERIES]
    order: dict[str, int] = {}
    for reading in belonging(session, SpeedReading, "series_id", [s.id for s in series]):
        order[reading.series_id or ""] = max(order.get(reading.series_id or "", 0), reading.place or 0)
    found = []
    for s in series:
        fact = known[s.pairing_id]
        words = f"{fact.bow_name}, arrow {fact.arrow_tag}, {fact.archer}" + (f", {s.day}" if s.day else "")
        found.append(Destination(f"series:{s.id}", words, f"/pairings/{s.pairing_id}?at={s.id}", s.stood_at_m, order.get(s.id, 0) + 1))
    shot = one(session, Shot, shot_id) if shot_id else None
    if shot is not None and shot.struck_rev is None:
        has = bool(belonging(session, SpeedReading, "shot_id", shot.id))
        found.insert(0, Destination(f"shot:{shot.id}", f"Shot {shot.label}", f"/shots/{shot.id}", has_speed=has))
    return found


def destination_notes(where: Destination | None, distance_m: float, *, reader: str) -> tuple[str, ...]:
    """What a mean over the way flown is, and whether the place that it goes to says otherwise."""
    unit = unit_for_reader("distance", reader)
    said = [f"It is the mean over the way flown: about the speed half way, {written(distance_m / 2, unit, figures=3)} from the bow."]
    if where is not None and where.stood_at_m is not None and abs(where.stood_at_m - distance_m / 2) > FAR_APART_M:
        said.append(f"This series says that its speeds were read {written(where.stood_at_m, unit, figures=3)} from the bow. Begin another series for speeds like this one.")
    if where is not None and where.has_speed:
        said.append("This shot has a speed already: the two are averaged. Leave one out, with the reason, if it is no good.")
    return tuple(said)
