"""What the next shot's choice starts from, fetched for one trial or for the set-ups that phones shoot at."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from proofyard.answers.planning.aim_spots import ring_label, spot_words
from proofyard.answers.planning.next_shot import NextShot, next_shot
from proofyard.quantities import READERS
from proofyard.quantities.reason import because
from proofyard.records.panel import Panel
from proofyard.records.plan import PlannedShot
from proofyard.records.plan_facts import newest_planned
from proofyard.records.range_facts import OpenSetup
from proofyard.records.shot_facts import ShotFact, facts_for_fairness
from proofyard.records.trial import Trial
from proofyard.records.trial_days import SetupFact, days_of
from proofyard.shots.fair_hits import mark_hits
from proofyard.shots.loosed import LoosedShot
from proofyard.storage import Session
from proofyard.views.kit_to_choose_from import KitToChooseFrom
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import through_of
from proofyard.wording.panels import build_and_panel_words
from proofyard.wording.reasons.said import said


@dataclass(frozen=True)
class NextShotRead:
    """The choice at the newest set-up's panel type, and which that is."""

    panel: str
    found: NextShot
    reader: str


def _choose(
    kit: KitToChooseFrom,
    trial: Trial,
    panel: Panel,
    facts: Sequence[ShotFact],
    *,
    stand_id: str | None,
    builds: Collection[str],
    arrows: Sequence[str],
    bows: Sequence[str],
) -> NextShot:
    """facts: all that says which hits were fair at these panel builds (`facts_for_fairness`).

    stand_id        the stand that the next shot meets the panel on: what lies behind it is part of the panel type
    arrows, bows    those that the trial says it uses; empty for all
    """
    marks = mark_hits(facts, builds=builds, trials={trial.id: trial}, checks=kit.checks)
    standing = [f for f in facts if f.panel_build_id in builds and not f.voided]
    mine = _of_type([f for f in standing if f.trial_id == trial.id], panel, stand_id)
    shots = [LoosedShot(f, kit.impacts.of_shot(f), marks.get(f.shot_id)) for f in mine]
    return next_shot(trial, shots, hand=kit.at_hand(only_arrows=arrows, only_bows=bows), through=through_of(trial))


def _of_type(facts: Sequence[ShotFact], panel: Panel, stand_id: str | None) -> list[ShotFact]:
    """Those at the panel's type as it hangs on this stand. Before its first shot there, those to which what lay behind makes no odds."""
    alone = [fact for fact in facts if (fact.construction, fact.thickness_m) == (panel.construction, panel.thickness_m)]
    here = {panel_type_of(fact) for fact in alone if fact.stand_id == stand_id}
    if here:
        return [fact for fact in alone if panel_type_of(fact) in here]
    return [fact for fact in alone if not (fact.behind.garment_differs or fact.behind.backing_differs)]


def read_next_shot(session: Session, trial_id: str, *, reader: str) -> NextShotRead | None:
    """Ten statements; None if there is no such trial or nothing is set up."""
    days = days_of(session, trial_id=trial_id)
    setups = [setup for day in days for setup in day.setups]
    if not setups:
        return None
    newest: SetupFact = setups[-1]
    builds = {one.build.id for one in setups}
    facts = facts_for_fairness(session, builds)
    kit = KitToChooseFrom.load(session, facts, trials=[trial_id], panel_builds=builds, trial_id=trial_id)
    found = _choose(
        kit,
        days[0].trial,
        newest.panel,
        facts,
        stand_id=newest.setup.stand_id,
        builds=builds,
        arrows=kit.uses["uses_arrow"],
        bows=kit.uses["uses_bow"],
    )
    return NextShotRead(build_and_panel_words(newest.panel, newest.build), found, reader)


def next_for_phones(session: Session, setups: Iterable[OpenSetup]) -> dict[str, dict[str, Any]]:
    """Set-up id -> what comes next there: by the trial's rule, or by its plan. Empty where there is neither.

    One statement where no trial has a rule, eight more where one has: worked out once for all phones.
    """
    open_ones = list(setups)
    planned: dict[tuple[str, str], list[list[Any]]] = {}
    for one in newest_planned(session, sorted({setup.trial.id for setup in open_ones})) if open_ones else ():
        planned.setdefault((one.trial_id, one.panel_build_id), []).append(_planned_row(one.planned, one.arrow_tag))
    told = {}
    by_rule = [setup for setup in open_ones if setup.trial.next_shot_rule not in (None, "none")]
    rules = _by_rule(session, by_rule) if by_rule else {}
    for setup in open_ones:
        rows = planned.get((setup.trial.id, setup.panel_build.id), [])
        more = ({"plan": rows} if rows else {}) | ({"rule": rules[setup.setup.id]} if setup.setup.id in rules else {})
        if more:
            told[setup.setup.id] = more
    return told


def _planned_row(shot: PlannedShot, tag: str) -> list[Any]:
    """id, rev, arrow build, archer, bow build, the spot in words, place in the order, whether skipped, arrow's tag, and the
    spot as [number in its ring, metres right, metres up] or None; the spot in words for a phone that shows inches."""
    x, y = shot.aim_x_m, shot.aim_y_m
    spot = [ring_label(shot.aim_name, shot.place), x, y] if x is not None and y is not None else None
    words, in_inches = (spot_words(shot.aim_name, x_m=x, y_m=y, reader=reader) for reader in READERS)
    return [
        shot.id,
        shot.rev,
        shot.arrow_build_id,
        shot.archer_id or "",
        shot.bow_build_id or "",
        words,
        shot.place,
        1 if shot.skipped else 0,
        tag,
        spot,
        in_inches,
    ]


def _by_rule(session: Session, setups: Sequence[OpenSetup]) -> dict[str, dict[str, Any]]:
    """`loosed`: how many the rule has seen loosed at this set-up. One more, and what it says is out of date."""
    panels = {setup.panel_build.id for setup in setups}
    everything, wait = facts_for_fairness(session, panels), because("phone_unread")
    kit = KitToChooseFrom.load(session, everything, trials={setup.trial.id for setup in setups}, panel_builds=panels)
    found = {}
    for setup in setups:
        builds = {other.panel_build.id for other in setups if other.trial.id == setup.trial.id}
        stand = setup.setup.stand_id
        chosen = _choose(kit, setup.trial, setup.panel, everything, stand_id=stand, builds=builds, arrows=setup.arrows, bows=setup.bows)
        here = [f for f in everything if f.setup_id == setup.setup.id and not f.voided and f.purpose != "let_down"]
        unread = any(f.hit is None and f.purpose == "counted" for f in here)
        best = None if chosen.best is None or unread else chosen.best.hand.fact
        found[setup.setup.id] = {
            "loosed": len(here),
            "why": said(chosen.plainly),
            "next": [best.arrow_build_id, best.archer_id, best.bow_build_id] if best else None,
            "wait": said(because("phone_enough") if chosen.stop else wait if unread else because("phone_none_at_hand")),
            "unread": said(wait),
            "not_sound": said(because("phone_not_sound")),
        }
    return found
