"""What differs from one trial to one that follows it, and what a trial is meant to use, in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities import unit_for_reader, written
from proofyard.records.columns import meanings, picked
from proofyard.records.kit_between import TrialKit
from proofyard.records.trial import Trial

# Taken over. A prediction is not: what is expected of the new trial is said again, before its first shot.
COPIED = (
    "question",
    "varied",
    "held_fixed",
    "enough",
    "through",
    "near_opened",
    "near_dented",
    "near_edge",
    "position_accuracy",
    "spoils",
    "next_shot_rule",
    "start_energy",
    "next_step_percent",
    "bow_change_costs",
    "stop_rule",
    "stop_shots",
    "stop_width_percent",
)


_FAIR = ("near_opened", "near_dented", "near_edge", "position_accuracy", "spoils")


KIT_WORDS = {"panel": "Panels", "stand": "Stands", "bow": "Bows", "arrow": "Arrows"}


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
        return "the default of the construction" if name in _FAIR else "not recorded"
    choices = meanings(Trial)[name][1].choices
    if name == "spoils":
        return ", ".join(choices[outcome_level] for outcome_level in picked(str(value))) or "none"
    if isinstance(value, float):
        return written(value, unit_for_reader("energy" if name == "start_energy" else "thickness", reader))
    return choices.get(str(value), str(value))


def _kit_changes(before: str, after: str, kit: Sequence[TrialKit]) -> list[FieldChange]:
    """Kit that only one of the two used or means to use; nothing of a kind that the later one doesn't name yet."""
    found = []
    for noun, label in KIT_WORDS.items():
        was, now = (_names(kit, noun, trial_id) for trial_id in (before, after))
        if now and was and set(was) != set(now):
            gone, new = ([name for key, name in some.items() if key not in other] for some, other in ((was, now), (now, was)))
            found.append(
                FieldChange(
                    label, f"without {', '.join(gone)}" if gone else "all of them", f"with {', '.join(new)}" if new else "no new ones"
                )
            )
    return found


def _names(kit: Sequence[TrialKit], noun: str, trial_id: str) -> Mapping[str, str]:
    mine = [item for item in kit if item.trial_id == trial_id and item.noun == noun]
    return {item.record_id: item.name for item in sorted(mine, key=lambda item: by_name(item.name))}


def meant_words(kit: Sequence[TrialKit], trial_id: str) -> tuple[tuple[str, str], ...]:
    """What a trial is meant to use, by kind, as it was recorded; empty where nothing was."""
    said = []
    for noun, label in KIT_WORDS.items():
        names = [item.name for item in kit if item.trial_id == trial_id and item.noun == noun and item.meant]
        if names:
            said.append((label, ", ".join(sorted(names, key=by_name))))
    return tuple(said)
