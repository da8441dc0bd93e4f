"""Whether an arrow may be loosed again: one that was shot since it was last looked at is to check.

That is the rule whatever it struck. A miss into a frame breaks a shaft as well as a plate does.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because
from proofyard.records.hit_facts import BuildHits, build_hits
from proofyard.records.kit_facts import FlightFact, flights
from proofyard.records.range_facts import CurrentArrow
from proofyard.storage import Session
from proofyard.wording.reasons.shots import SOUND_WORDS


@dataclass(frozen=True)
class Soundness:
    """answer: new, sound, to_check, not_sound; `why`: what it rests on, with the label of the shot."""

    answer: str
    why: Reason

    @property
    def words(self) -> str:
        return SOUND_WORDS[self.answer]

    @property
    def need(self) -> bool:
        """Whether a hand is wanted before this arrow is loosed."""
        return self.answer in ("to_check", "not_sound")


NEVER_SHOT = Soundness("new", because("sound_never_shot"))


def soundness_of(fact: FlightFact, *, unnamed: bool = False) -> Soundness:
    """From the last loose, what was read of it, and the last check of one build.

    unnamed  say that it was shot, not as which shot: a viewer of one trial must not meet another's
    """
    shot_since = fact.loosed_at is not None and (fact.checked_at is None or fact.loosed_at > fact.checked_at)
    if fact.found == "not_sound":
        # Shooting it again does not mend it.
        label = fact.label if shot_since and not unnamed else None
        return Soundness("not_sound", because("sound_found_not_sound", loosed_since=shot_since, shot=label))
    if fact.grounded_at is not None and (fact.checked_at is None or fact.grounded_at > fact.checked_at):
        return Soundness("not_sound", because("sound_read_as_broken", shot=None if unnamed else fact.grounded_by))
    if shot_since:
        return Soundness("to_check", because("sound_loosed_since", shot=None if unnamed else fact.label))
    if fact.found == "sound":
        return Soundness("sound", because("sound_looked_at"))
    return NEVER_SHOT


def soundness_of_builds(session: Session, arrow_build_ids: Iterable[str] | None = None, *, unnamed: bool = False) -> dict[str, Soundness]:
    """Arrow build id -> soundness, in one statement. A build that is not in it was never shot and never checked."""
    return {fact.arrow_build_id: soundness_of(fact, unnamed=unnamed) for fact in flights(session, arrow_build_ids)}


def soundness(arrow: CurrentArrow) -> str:
    """sound, to_check or not_sound, by the rule of every page; an arrow that never flew is sound here."""
    fact = FlightFact(
        arrow.build, arrow.last_loosed_at, None, arrow.last_checked_at, arrow.last_check, arrow.grounded_at, arrow.grounded_by
    )
    answer = soundness_of(fact).answer
    return "sound" if answer == "new" else answer


# How often an arrow hit something since it was made, sharpened and mounted: as far as its builds say what was done.
#
# A shot that nobody has read may have hit too; it is counted apart, so that the figure is no false comfort.

SHARPENED = re.compile(r"sharp|ground|grind|touched up|hon(ed|ing)|filed|filing|stoned|whet", re.IGNORECASE)
MOUNTED = re.compile(r"mount|hafted|glued on|new head", re.IGNORECASE)


@dataclass(frozen=True)
class ArrowHits:
    """Counts; None where no build says that this was ever done. unread: loosed and not read, since it was made."""

    made: int
    sharpened: int | None
    mounted: int | None
    unread: int

    @property
    def told(self) -> Reason:
        return because("arrow_hits", made=self.made, sharpened=self.sharpened, mounted=self.mounted, unread=self.unread)


def arrow_hits(builds: Sequence[BuildHits]) -> ArrowHits:
    """From all builds of one arrow, in any order."""
    ordered = sorted(builds, key=lambda build: build.number)
    sharpened = mounted = None
    for place, build in enumerate(ordered):
        before = ordered[place - 1] if place else None
        if build.work and SHARPENED.search(build.work):
            sharpened = place
        another_head = build.head_id is not None and (before is None or before.head_id != build.head_id)
        if another_head or (build.work and MOUNTED.search(build.work)):
            mounted = place
    return ArrowHits(
        made=sum(build.hits for build in ordered),
        sharpened=None if sharpened is None else sum(build.hits for build in ordered[sharpened:]),
        mounted=None if mounted is None else sum(build.hits for build in ordered[mounted:]),
        unread=sum(build.unread for build in ordered),
    )


def hits_by_arrow(session: Session, arrow_ids: Iterable[str] | None = None) -> Mapping[str, ArrowHits]:
    """Arrow id -> its hits, of all arrows or of these, in one statement."""
    by_arrow: dict[str, list[BuildHits]] = {}
    for build in build_hits(session, arrow_ids):
        by_arrow.setdefault(build.arrow_id, []).append(build)
    return {arrow_id: arrow_hits(builds) for arrow_id, builds in by_arrow.items()}
