"""A trial that follows another: what it takes over, and what changed from the one to the other."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.records.kit_between import BuildMade, TrialKit, builds_made, kit_of_trials
from proofyard.records.listing import one
from proofyard.records.panel import WORK
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, Trial
from proofyard.records.trial_days import SetupFact, days_of
from proofyard.storage import Session
from proofyard.wording.panels import build_words
from proofyard.wording.setups import setup_words
from proofyard.wording.trial_changes import KIT_WORDS, by_name


@dataclass(frozen=True)
class KitOffered:
    """One thing to use again. `value` as the form sends it; `gone`: retired, so it can't be."""

    value: str
    words: str
    gone: bool


@dataclass(frozen=True)
class SetupOffered:
    """One set-up to make again. `build_id`: the panel's newest build; `changed`: what was done to it since."""

    setup: Setup
    build_id: str
    words: str
    changed: str
    gone: bool


@dataclass(frozen=True)
class FollowUp:
    """What a new trial may take over from this one."""

    trial: Trial
    kit: tuple[KitOffered, ...]
    setups: tuple[SetupOffered, ...]
    last_day: Day | None


def read_follow_up(session: Session, trial_id: str, *, reader: str) -> FollowUp | None:
    """Four statements; None if there is no such trial."""
    trial = one(session, Trial, trial_id)
    if trial is None or trial.voided_rev is not None:
        return None
    used = {(item.noun, item.record_id): item for item in kit_of_trials(session, [trial_id])}
    days = days_of(session, trial_id=trial_id)
    setups = [setup for day in days for setup in day.setups]
    builds = builds_made(session, {key for _, key in used} | {setup.panel.id for setup in setups})
    return FollowUp(
        trial=trial,
        kit=tuple(
            _kit_offered(item, builds)
            for item in sorted(used.values(), key=lambda item: (list(KIT_WORDS).index(item.noun), by_name(item.name)))
        ),
        setups=_setups_offered(setups, builds, reader=reader),
        last_day=days[-1].day if days else None,
    )


def _kit_offered(item: TrialKit, builds: Sequence[BuildMade]) -> KitOffered:
    gone = any(build.retired for build in builds if build.of_id == item.record_id)
    name = f"Arrow {item.name}" if item.noun == "arrow" else item.name
    return KitOffered(f"{item.noun}:{item.record_id}", name + (", retired" if gone else ""), gone)


def _setups_offered(setups: Sequence[SetupFact], builds: Sequence[BuildMade], *, reader: str) -> tuple[SetupOffered, ...]:
    """One for each panel, stand, distance, angle and chronograph; the newest stands for those alike."""
    kept: dict[tuple[object, ...], SetupFact] = {}
    for fact in setups:
        one_setup = fact.setup
        kept[
            fact.panel.id,
            one_setup.stand_id,
            one_setup.distance_m,
            one_setup.angle_rad,
            one_setup.chronograph_id,
            one_setup.chronograph_at_m,
        ] = fact
    return tuple(_setup_offered(fact, [build for build in builds if build.of_id == fact.panel.id], reader=reader) for fact in kept.values())


def _setup_offered(fact: SetupFact, builds: Sequence[BuildMade], *, reader: str) -> SetupOffered:
    newest = max(builds, key=lambda build: build.number, default=None)
    words = setup_words(fact, reader=reader)
    gone = bool(fact.panel.retired)
    if newest is None or newest.number <= fact.build.number:
        return SetupOffered(fact.setup, fact.build.id, words + (", retired" if gone else ""), "", gone)
    work = WORK.get(newest.work or "", "worked on").lower()
    changed = f"was {build_words(fact.panel, fact.build)}; {work} since"
    words = words.replace(build_words(fact.panel, fact.build), f"{fact.panel.name}, build {newest.number}", 1)
    return SetupOffered(fact.setup, newest.build_id, words + (", retired" if gone else ""), changed, gone)
