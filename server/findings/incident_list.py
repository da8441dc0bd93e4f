"""Incidents in words: what happened, how far, what was done."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.when import clock_words, day_words
from server.quantities import unit_for_reader, written
from server.records.incident_facts import IncidentFact, incidents
from server.records.trial import INCIDENTS
from server.storage import Session


@dataclass(frozen=True)
class IncidentTold:
    mark: str
    words: str
    small: str
    href: str


@dataclass(frozen=True)
class IncidentList:
    heading: str
    lines: tuple[IncidentTold, ...]


def incident_list(session: Session, *, reader: str, only_trial: str | None = None) -> IncidentList:
    """One statement. only_trial: what a viewer of one trial sees."""
    found = incidents(session, trial_id=only_trial)
    return IncidentList(_heading(found), tuple(_told(one, reader) for one in found))


def _heading(found: Sequence[IncidentFact]) -> str:
    if not found:
        return "No incident was written down"
    counts = Counter(one.incident.what for one in found)
    kinds = ", ".join(f"{counts[what]} {words.lower()}" for what, words in INCIDENTS.items() if counts[what])
    return f"{len(found)} incident{'' if len(found) == 1 else 's'}: {kinds}"


def _told(one: IncidentFact, reader: str) -> IncidentTold:
    distance = one.incident.distance_m
    words = INCIDENTS[one.incident.what] + (f", {written(distance, unit_for_reader('distance', reader))}" if distance is not None else "")
    where = f"{day_words(one.day)}{', ' + one.place if one.place else ''}, {clock_words(one.at)}"
    done = f"Done: {one.incident.done}" if one.incident.done else "What was done is not written down"
    href = f"/shots/{one.incident.shot_id}" if one.incident.shot_id else f"/sessions/{one.session_id}"
    return IncidentTold(one.label or "!", words, f"{where}. {done.rstrip('.')}. {one.question}", href)
