"""To which end a shot can be moved: of its own set-up or another, of its trial or any open one, or an end of its own there."""

from collections.abc import Sequence

from proofyard.quantities import in_readers
from proofyard.quantities.reason import because
from proofyard.records.end_facts import MOST_SETUPS, EndFact, ends_of
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import Setup, ShootingEnd
from proofyard.storage import Session
from proofyard.wording.panels import build_words
from proofyard.wording.reasons.said import said
from proofyard.wording.when import day_words

NEW = "new:"  # before the id of a set-up: an end that this correction begins there
MOST_LABELS = 4


def setup_of_new(picked: str) -> str | None:
    """The set-up in which a new end was picked, or None."""
    return picked.removeprefix(NEW) if picked.startswith(NEW) else None


def ends_for_shot(session: Session, fact: ShotFact, reader: str) -> tuple[list[tuple[str, str]], bool]:
    """(end, words): the shot's own set-up first, then the newest day's; after the ends of each an end of the shot's own.

    And whether other open trials have more set-ups than are offered.
    """
    setups: dict[str, EndFact] = {}
    labels: dict[str, dict[str, list[str]]] = {}
    others = set()
    for one in ends_of(session, fact.trial_id):
        others |= {one.setup.id} if one.trial_id != fact.trial_id else set()
        setups[one.setup.id] = one
        of = labels.setdefault(one.setup.id, {})
        if one.label:
            of.setdefault(one.end_id or "", []).append(one.label)
        elif one.end_id == fact.shooting_end_id:
            of.setdefault(one.end_id, [fact.label])  # the shot itself is crossed out
    found = []
    for setup_id in sorted(setups, key=lambda one: one != fact.setup_id):
        words = _setup_words(setups[setup_id], reader)
        found += [(end, said(because("end_with", setup=words, labels=_listed(some)))) for end, some in labels[setup_id].items()]
        found.append((f"{NEW}{setup_id}", said(because("end_of_its_own", setup=words))))
    return found, len(others) >= MOST_SETUPS


def panel_build_of(session: Session, picked: str) -> str | None:
    """The panel build that is shot at in an end, or in the set-up of a new one."""
    setup_id = setup_of_new(picked)
    if setup_id is None:
        end = session.get(ShootingEnd, picked)
        setup_id = end.setup_id if end else ""
    setup = session.get(Setup, setup_id)
    return setup.panel_build_id if setup else None


def _setup_words(one: EndFact, reader: str) -> str:
    """ "P3, 14 m, 24 October 2026"."""
    distance = [in_readers(one.setup.distance_m, "distance", reader)] if one.setup.distance_m is not None else []
    return ", ".join([build_words(one.panel, one.build), *distance, day_words(one.day)])


def _listed(labels: Sequence[str]) -> str:
    more = f" and {len(labels) - MOST_LABELS} more" if len(labels) > MOST_LABELS else ""
    return ", ".join(labels[:MOST_LABELS]) + more
