"""A trial that follows another: what it takes over, and what changed from the one to the other."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.findings.panel_hits import build_words
from server.findings.session_page import setup_words
from server.quantities import unit_for_reader, written
from server.records.columns import meanings
from server.records.kit_between import BuildMade, TrialKit, builds_made, kit_of_trials
from server.records.listing import one
from server.records.panel import WORK
from server.records.trial import Session as Day
from server.records.trial import Setup, Trial
from server.records.trial_days import SetupFact, days_of
from server.storage import Session

# Taken over. A prediction is not: what is expected of the new trial is said anew, before its first shot.
COPIED = (
    "question", "varied", "held_fixed", "enough", "through", "near_opened", "near_dented", "near_edge", "finger", "spoils", "next_shot_rule",
    "start_energy", "next_step_percent", "bow_change_costs", "stop_rule", "stop_shots", "stop_width_percent",
)  # fmt: skip
_FAIR = ("near_opened", "near_dented", "near_edge", "finger", "spoils")
KIT_WORDS = {"panel": "Panels", "stand": "Stands", "bow": "Bows", "arrow": "Arrows"}


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
    if trial is None or trial.struck_rev is not None:
        return None
    used = {(item.noun, item.record_id): item for item in kit_of_trials(session, [trial_id])}
    days = days_of(session, trial_id=trial_id)
    setups = [setup for day in days for setup in day.setups]
    builds = builds_made(session, {key for _, key in used} | {setup.panel.id for setup in setups})
    return FollowUp(
        trial=trial,
        kit=tuple(_kit_offered(item, builds) for item in sorted(used.values(), key=lambda item: (list(KIT_WORDS).index(item.noun), by_name(item.name)))),
        setups=_setups_offered(setups, builds, reader=reader),
        last_day=days[-1].day if days else None,
    )  # fmt: skip


def _kit_offered(item: TrialKit, builds: Sequence[BuildMade]) -> KitOffered:
    gone = any(build.retired for build in builds if build.of_id == item.record_id)
    name = f"Arrow {item.name}" if item.noun == "arrow" else item.name
    return KitOffered(f"{item.noun}:{item.record_id}", name + (", retired" if gone else ""), gone)


def _setups_offered(setups: Sequence[SetupFact], builds: Sequence[BuildMade], *, reader: str) -> tuple[SetupOffered, ...]:
    """One for each panel, stand, distance, angle and chronograph; the newest stands for those alike."""
    kept: dict[tuple[object, ...], SetupFact] = {}
    for fact in setups:
        one_setup = fact.setup
        kept[fact.panel.id, one_setup.stand_id, one_setup.distance_m, one_setup.angle_rad, one_setup.chronograph_id, one_setup.chronograph_at_m] = fact
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


def by_name(name: str) -> tuple[str, int, str]:
    """So that P9 stands before P10, and both before Q1."""
    start = name.rstrip("0123456789")
    digits = name[len(start) :]
    return (start.casefold(), int(digits[:9]) if digits else 0, name)


@dataclass(frozen=True)
class FieldChange:
    """One thing that is another in the trial that follows: its label, what it was, and what it is."""

    label: str
    before: str
    after: str


def changes_between(before: Trial, after: Trial, *, kit: Sequence[TrialKit] = (), reader: str) -> tuple[FieldChange, ...]:
    """What changed from a trial to one that follows it: its own words and rules, then the kit, by name."""
    known = meanings(Trial)
    found = []
    for name in COPIED:
        column, meaning = known[name]
        was, now = getattr(before, column), getattr(after, column)
        if _plain(was) != _plain(now):
            found.append(FieldChange(meaning.label, _words(name, was, reader=reader), _words(name, now, reader=reader)))
    return (*found, *_kit_changes(before.id, after.id, kit))


def _plain(value: object) -> object:
    return " ".join(value.split()) if isinstance(value, str) else value


def _words(name: str, value: object, *, reader: str) -> str:
    if value is None or value == "":
        return "the default of the construction" if name in _FAIR else "not said"
    choices = meanings(Trial)[name][1].choices
    if name == "spoils":
        return ", ".join(choices[rung] for rung in json.loads(str(value))) or "none"
    if isinstance(value, float):
        return written(value, unit_for_reader("energy" if name == "start_energy" else "thickness", reader))
    return choices.get(str(value), str(value))


def _kit_changes(before: str, after: str, kit: Sequence[TrialKit]) -> list[FieldChange]:
    """Kit that only one of the two used or means to use; nothing of a sort that the later one doesn't name yet."""
    found = []
    for noun, label in KIT_WORDS.items():
        was, now = (_names(kit, noun, trial_id) for trial_id in (before, after))
        if now and was and set(was) != set(now):
            gone, new = ([name for key, name in some.items() if key not in other] for some, other in ((was, now), (now, was)))
            found.append(FieldChange(label, f"without {', '.join(gone)}" if gone else "all of them", f"with {', '.join(new)}" if new else "no new ones"))
    return found


def _names(kit: Sequence[TrialKit], noun: str, trial_id: str) -> Mapping[str, str]:
    mine = [item for item in kit if item.trial_id == trial_id and item.noun == noun]
    return {item.record_id: item.name for item in sorted(mine, key=lambda item: by_name(item.name))}


def meant_words(kit: Sequence[TrialKit], trial_id: str) -> tuple[tuple[str, str], ...]:
    """What a trial is meant to use, by sort, as it was written down; empty where nothing was."""
    said = []
    for noun, label in KIT_WORDS.items():
        names = [item.name for item in kit if item.trial_id == trial_id and item.noun == noun and item.meant]
        if names:
            said.append((label, ", ".join(sorted(names, key=by_name))))
    return tuple(said)
