"""What a trial's plan page shows: the order with what is done, the spots on the panel, what was said beforehand."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.answers.planning.aim_spots import Spoilt, no_longer_fair, ring_label, spoilt_spots, spot_words
from proofyard.charts.figure import Figure
from proofyard.charts.outcome_words import Hit
from proofyard.charts.panel_drawing import AimSpot, Features, draw_panel
from proofyard.quantities import unit_for_reader, written
from proofyard.quantities.reason import Reason, because
from proofyard.records.arrows_at_the_range import NEWEST_BUILDS, arrows_wanted, many_in_use
from proofyard.records.claim_facts import ClaimFact, claims_of
from proofyard.records.kit_to_pick import panels_to_pick
from proofyard.records.listing import one
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.plan import MIXED
from proofyard.records.plan_facts import PlanFact, PlannedFact, kit_at_hand, planned_shots, plans_of
from proofyard.records.range_facts import CurrentArrow
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.records.trial import OUTCOME_WORDS, Trial
from proofyard.shots.fair_hits import FairRules, rules_of
from proofyard.shots.soundness import soundness
from proofyard.storage import Session
from proofyard.views.predictions import SaidBefore, said_before
from proofyard.views.settings import form_words
from proofyard.wording.panels import build_and_panel_words, build_words, panel_title
from proofyard.wording.reasons.said import said


@dataclass(frozen=True)
class PlanRow:
    """One shot of the order. state: done, skipped, next or open; `trouble`: its spot is fair no longer, its arrow not to be
    shot; `when`: once its arrow is checked, or when the line is clear."""

    planned_id: str
    rev: int
    place: str
    words: str
    small: str
    state: str
    label: str
    shot_id: str
    trouble: tuple[Reason, ...]
    when: Reason


@dataclass(frozen=True)
class PlanShown:
    plan: PlanFact
    lead: Reason
    about: tuple[tuple[str, str], ...]
    rows: tuple[PlanRow, ...]
    drawing: Figure | None
    caption: Reason


@dataclass(frozen=True)
class PlanPageRead:
    """more_panels: the book has more than are offered; of_many: so it is with arrows, in words."""

    trial: Trial
    reader: str
    shown: PlanShown | None
    older: tuple[tuple[str, str], ...]
    predictions: tuple[SaidBefore, ...]
    arrows: tuple[CurrentArrow, ...]
    archers: tuple[tuple[str, str], ...]
    bows: tuple[tuple[str, str], ...]
    panels: tuple[tuple[str, str], ...]
    claim: ClaimFact | None
    more_panels: bool = False
    of_many: Reason | None = None


@dataclass(frozen=True)
class PanelState:
    """A panel build, the rules that hold on it, and every shot at it: what spots are drawn from."""

    panel: Panel
    build: PanelBuild
    rules: FairRules
    facts: tuple[ShotFact, ...]


def read_plan_page(session: Session, trial_id: str, *, plan_id: str = "", reader: str = "metric") -> PlanPageRead | None:
    """Twelve statements; None if there is no such trial. The newest plan is shown unless another is asked for."""
    trial = one(session, Trial, trial_id)
    if trial is None:
        return None
    plans = plans_of(session, [trial_id])
    chosen = next((plan for plan in plans if plan.plan.id == plan_id), plans[0] if plans else None)
    panels, more_panels = panels_to_pick(session, trial_id)
    kit = kit_at_hand(session)
    arrows = tuple(arrows_wanted(session, [trial_id]))
    return PlanPageRead(
        trial=trial,
        reader=reader,
        shown=_shown(session, chosen, arrows=arrows, reader=reader) if chosen else None,
        older=tuple((plan.plan.id, _plan_words(plan)) for plan in plans if plan is not chosen),
        predictions=said_before(session, trial_id, reader=reader),
        arrows=arrows,
        archers=tuple(kit["archer"]),
        bows=tuple(kit["bow"]),
        claim=claims_of(session, [trial_id]).get(trial_id),
        panels=tuple((build.id, build_and_panel_words(panel, build)) for panel, build in panels),
        more_panels=more_panels,
        of_many=because("plan_of_many_arrows", newest=NEWEST_BUILDS) if many_in_use(session) else None,
    )


def panel_state(session: Session, trial: Trial, *, build_id: str) -> PanelState | None:
    """Three statements."""
    build = one(session, PanelBuild, build_id)
    panel = one(session, Panel, build.panel_id) if build else None
    if build is None or panel is None:
        return None
    return PanelState(panel, build, rules_of(trial, panel.construction), tuple(shot_facts(session, panel_build_id=build_id)))


def _plan_words(fact: PlanFact) -> str:
    plan, panel = fact.plan, build_words(fact.panel, fact.build)
    return said(because("plan_in_a_list", each=plan.rounds, mixed=plan.mixed, panel=panel, seed=plan.seed))


def _shown(session: Session, fact: PlanFact, *, arrows: Sequence[CurrentArrow], reader: str) -> PlanShown:
    planned = planned_shots(session, [fact.plan.id])
    facts = shot_facts(session, panel_build_id=fact.build.id)
    rules = rules_of(fact.trial, fact.panel.construction)
    spoilt, unplaced = spoilt_spots(facts, rules)
    sound = {arrow.build: soundness(arrow) for arrow in arrows}
    left = [one for one in planned if not one.shot_id and not one.planned.skipped]
    first = next((one.planned.id for one in left if sound.get(one.planned.arrow_build_id) in ("sound", "to_check")), "")
    rows = tuple(
        _row(one, next_id=first, sound=sound.get(one.planned.arrow_build_id, "away"), spoilt=spoilt, rules=rules, reader=reader)
        for one in planned
    )
    caption = because("spots_caption", unplaced=unplaced)
    about = (
        ("Panel", build_and_panel_words(fact.panel, fact.build)),
        ("Balanced over", MIXED[fact.plan.mixed]),
        ("Shots for each", str(fact.plan.rounds)),
        ("Your group", written(fact.plan.group_m, unit_for_reader("length", reader)) if fact.plan.group_m else ""),
        ("Seed", said(because("plan_seed", seed=fact.plan.seed))),
        ("Note", fact.plan.note or ""),
    )
    return PlanShown(fact, lead_of(rows), about, rows, _drawing(fact, planned, facts, reader), caption)


def lead_of(rows: Sequence[PlanRow]) -> Reason:
    """How many are done and skipped, and which is next."""
    done, skipped = (sum(row.state == state for row in rows) for state in ("done", "skipped"))
    following = next((because("next_planned", words=row.words, when=row.when) for row in rows if row.state == "next"), None)
    waiting = any(row.state == "open" for row in rows)
    return because("order_lead", shots=len(rows), done=done, skipped=skipped, following=following, waiting=waiting)


def _row(fact: PlannedFact, *, next_id: str, sound: str, spoilt: Sequence[Spoilt], rules: FairRules, reader: str) -> PlanRow:
    """sound: as its arrow is now; "away" if it has been retired or rebuilt."""
    planned = fact.planned
    state = "done" if fact.shot_id else "skipped" if planned.skipped else "next" if planned.id == next_id else "open"
    spot = spot_words(planned.aim_name, x_m=planned.aim_x_m, y_m=planned.aim_y_m, reader=reader)
    words = f"arrow {fact.arrow_tag}" + (f", {spot}" if spot else "")
    small = [
        form_words(fact.form or "not_recorded").lower(),
        fact.archer or "",
        fact.bow or "",
        f"round {planned.block}" if planned.block else "",
    ]
    spoils = no_longer_fair(planned.aim_x_m, planned.aim_y_m, spoilt=spoilt, rules=rules)
    waits = {"not_sound": because("arrow_not_sound", tag=fact.arrow_tag), "away": because("arrow_away", tag=fact.arrow_tag)}.get(sound)
    trouble = () if state in ("done", "skipped") else tuple(one for one in (spoils, waits) if one)
    return PlanRow(
        planned.id,
        planned.rev,
        str(planned.place),
        words,
        ", ".join(part for part in small if part),
        state,
        fact.label or "",
        fact.shot_id or "",
        trouble,
        because("once_checked") if sound == "to_check" else because("when_line_clear"),
    )


def _drawing(fact: PlanFact, planned: Sequence[PlannedFact], facts: Sequence[ShotFact], reader: str) -> Figure | None:
    """The spots that are left, by the numbers that the order names them by, and the hits so far."""
    panel = fact.panel
    if not panel.width_m or not panel.height_m:
        return None
    left = [one.planned for one in planned if not one.shot_id and not one.planned.skipped]
    hits = [f for f in facts if f.hit in ("on_panel", "partial") and f.purpose != "let_down"]
    return draw_panel(
        panel_title(panel, fact.build),
        panel.outline or "rectangle",
        width_m=panel.width_m,
        height_m=panel.height_m,
        outcome_words=OUTCOME_WORDS,
        features=Features(
            aim_spots=tuple(
                AimSpot(ring_label(p.aim_name, p.place), p.aim_x_m, p.aim_y_m)
                for p in left
                if p.aim_x_m is not None and p.aim_y_m is not None
            )
        ),
        hits=[Hit(n, f.label, f.x_m, f.y_m, f.outcome_low, f.outcome_high, f"/shots/{f.shot_id}") for n, f in enumerate(hits, 1)],
        reader=reader,
    )
