"""Whether an arrow may be loosed again: one that was shot since it was last looked at is to check.

That is the rule whatever it struck. A miss into a frame breaks a shaft as well as a plate does.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from server.records.kit_facts import FlightFact, flights
from server.storage import Session

WORDS = {"new": "Not shot yet", "sound": "Sound", "to_check": "To check", "not_sound": "Not sound"}


@dataclass(frozen=True)
class Soundness:
    """answer: new, sound, to_check, not_sound. `why` says what it rests on, with the label of the shot."""

    answer: str
    why: str

    @property
    def words(self) -> str:
        return WORDS[self.answer]

    @property
    def need(self) -> bool:
        """Whether a hand is wanted before this arrow is loosed."""
        return self.answer in ("to_check", "not_sound")


NEVER_SHOT = Soundness("new", "nor checked")


def soundness_of(fact: FlightFact) -> Soundness:
    """From the last loose and the last check of one build."""
    shot_since = fact.loosed_at is not None and (fact.checked_at is None or fact.loosed_at > fact.checked_at)
    if fact.found == "not_sound":
        # Shooting it again does not mend it.
        return Soundness("not_sound", "found not sound" + (f", and loosed since: {fact.label}" if shot_since else ""))
    if shot_since:
        return Soundness("to_check", f"loosed as {fact.label}, not looked at since")
    if fact.found == "sound":
        return Soundness("sound", "flexed, looked at, sound")
    return NEVER_SHOT


def soundness_of_builds(session: Session, arrow_build_ids: Iterable[str] | None = None) -> dict[str, Soundness]:
    """Arrow build id -> soundness, in one statement. A build that is not in it was never shot and never checked."""
    return {fact.arrow_build_id: soundness_of(fact) for fact in flights(session, arrow_build_ids)}
