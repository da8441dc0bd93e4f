"""What a trial's plan page shows: the order with what is done, the spots on the panel, what was said beforehand."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.panel_drawing import AimSpot, Features, PanelDrawing, draw_panel
from server.charts.panel_words import Hit
from server.findings.fair_rules import FairRules, rules_of
from server.findings.panel_hits import build_words, panel_title, panel_words
from server.findings.planning.aim_spots import Spoilt, no_longer_fair, spoilt_spots
from server.findings.view_settings import form_words
from server.findings.when import moment_words
from server.quantities import unit_for_reader, written
from server.records.listing import all_of, one
from server.records.panel import Panel, PanelBuild
from server.records.plan import MIXED
from server.records.plan_facts import (
    PlanFact,
    PlannedFact,
    PredictionFact,
    kit_at_hand,
    planned_shots,
    plans_of,
    predictions_of,
)
from server.records.range_facts import CurrentArrow, current_arrows
from server.records.shot_facts import ShotFact, shot_facts
from server.records.trial import RUNG_WORDS, Trial
from server.storage import Session

WHEN_CLEAR = "when the line is clear"


@dataclass(frozen=True)
class PlanRow:
    """One shot of the order. state: done, skipped, next or open; `trouble`: its spot is fair no longer."""

    planned_id: str
    rev: int
    place: str
    words: str
    small: str
    state: str
    label: str
    shot_id: str
    trouble: str


@dataclass(frozen=True)
class PlanShown:
    plan: PlanFact
    lead: str
    about: tuple[tuple[str, str], ...]
    rows: tuple[PlanRow, ...]
    drawing: PanelDrawing | None
    caption: str


@dataclass(frozen=True)
class SaidBefore:
    """One archer's prediction; `when` says after how many shots, if not before the first."""

    archer_id: str
    archer: str
    says: str
    figures: str
    when: str
    late: bool


@dataclass(frozen=True)
class PlanPageRead:
    trial: Trial
    shown: PlanShown | None
    older: tuple[tuple[str, str], ...]
    predictions: tuple[SaidBefore, ...]
    facts: tuple[PredictionFact, ...]
    arrows: tuple[CurrentArrow, ...]
    archers: tuple[tuple[str, str], ...]
    bows: tuple[tuple[str, str], ...]
    panels: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class PanelState:
    """A panel build, the rules that hold on it, and every shot at it: what spots are drawn from."""

    panel: Panel
    build: PanelBuild
    rules: FairRules
    facts: tuple[ShotFact, ...]


def read_plan_page(session: Session, trial_id: str, *, plan_id: str = "", reader: str = "metric") -> PlanPageRead | None:
    """Nine statements; None if there is no such trial. The newest plan is shown unless another is asked for."""
    trial = one(session, Trial, trial_id)
    if trial is None:
        return None
    plans = plans_of(session, [trial_id])
    chosen = next((plan for plan in plans if plan.plan.id == plan_id), plans[0] if plans else None)
    panels = {panel.id: panel for panel in all_of(session, Panel, retired=False)}
    builds = sorted(all_of(session, PanelBuild), key=lambda b: (panels[b.panel_id].name if b.panel_id in panels else "", -b.number))
    kit = kit_at_hand(session)
    said = predictions_of(session, trial_id)
    return PlanPageRead(
        trial=trial,
        shown=_shown(session, chosen, reader=reader) if chosen else None,
        older=tuple((plan.plan.id, _plan_words(plan)) for plan in plans if plan is not chosen),
        predictions=tuple(_said(fact, reader) for fact in said),
        facts=tuple(said),
        arrows=tuple(current_arrows(session)),
        archers=tuple(kit["archer"]),
        bows=tuple(kit["bow"]),
        panels=tuple((b.id, _panel(panels[b.panel_id], b)) for b in builds if b.panel_id in panels),
    )


def panel_state(session: Session, trial: Trial, *, build_id: str) -> PanelState | None:
    """Three statements."""
    build = one(session, PanelBuild, build_id)
    panel = one(session, Panel, build.panel_id) if build else None
    if build is None or panel is None:
        return None
    return PanelState(panel, build, rules_of(trial, panel.construction), tuple(shot_facts(session, panel_build_id=build_id)))


def _panel(panel: Panel, build: PanelBuild) -> str:
    words = panel_words(panel)
    return build_words(panel, build) + (f", {words}" if words else "")


def _plan_words(fact: PlanFact) -> str:
    return f"{fact.plan.rounds} each, {MIXED[fact.plan.mixed].lower()}, at {build_words(fact.panel, fact.build)}, seed {fact.plan.seed}"


def _shown(session: Session, fact: PlanFact, *, reader: str) -> PlanShown:
    planned = planned_shots(session, [fact.plan.id])
    facts = shot_facts(session, panel_build_id=fact.build.id)
    rules = rules_of(fact.trial, fact.panel.construction)
    spoilt, unplaced = spoilt_spots(facts, rules)
    first = next((one.planned.id for one in planned if not one.shot_id and not one.planned.skipped), "")
    rows = tuple(_row(one, next_id=first, spoilt=spoilt, rules=rules) for one in planned)
    caption = "Numbers in rings are spots to aim at, by their place in the order. They lie so far from each other, the edge and earlier hits that a hit on the spot is fair."
    if unplaced:
        caption += f" {unplaced} earlier hit{'s' if unplaced > 1 else ''} with no known place may spoil some."
    about = (
        ("Panel", _panel(fact.panel, fact.build)),
        ("Balanced over", MIXED[fact.plan.mixed]),
        ("Shots for each", str(fact.plan.rounds)),
        ("Your group", written(fact.plan.group_m, unit_for_reader("length", reader)) if fact.plan.group_m else ""),
        ("Seed", f"{fact.plan.seed} (the same seed and kit give the same order again)"),
        ("Note", fact.plan.note or ""),
    )
    return PlanShown(fact, lead_of(rows), about, rows, _drawing(fact, planned, facts), caption)


def lead_of(rows: Sequence[PlanRow]) -> str:
    """ "24 shots planned: 7 done, 1 skipped. Next: arrow 7, upper left, spot 3, when the line is clear." """
    done, skipped = (sum(row.state == state for row in rows) for state in ("done", "skipped"))
    said = f"{len(rows)} shots planned: {done} done" + (f", {skipped} skipped" if skipped else "") + "."
    following = next((row for row in rows if row.state == "next"), None)
    return said + (f" Next: {following.words}, {WHEN_CLEAR}." if following else " Nothing of it is left to shoot.")


def _row(fact: PlannedFact, *, next_id: str, spoilt: Sequence[Spoilt], rules: FairRules) -> PlanRow:
    planned = fact.planned
    state = "done" if fact.shot_id else "skipped" if planned.skipped else "next" if planned.id == next_id else "open"
    words = f"arrow {fact.arrow_tag}" + (f", {planned.aim_name}" if planned.aim_name else "")
    small = [form_words(fact.form or "not_said").lower(), fact.archer or "", fact.bow or "", f"round {planned.block}" if planned.block else ""]
    trouble = "" if fact.shot_id else no_longer_fair(planned.aim_x_m, planned.aim_y_m, spoilt=spoilt, rules=rules)
    return PlanRow(
        planned.id, planned.rev, str(planned.place), words, ", ".join(part for part in small if part), state, fact.label or "",
        fact.shot_id or "", trouble,
    )  # fmt: skip


def _drawing(fact: PlanFact, planned: Sequence[PlannedFact], facts: Sequence[ShotFact]) -> PanelDrawing | None:
    """The spots that are left, by place in the order, and the hits so far."""
    panel = fact.panel
    if not panel.width_m or not panel.height_m:
        return None
    left = [one.planned for one in planned if not one.shot_id and not one.planned.skipped]
    struck = [f for f in facts if f.hit in ("fair_target", "partial") and f.purpose != "let_down"]
    return draw_panel(
        panel_title(panel, fact.build), panel.outline or "rectangle", width_m=panel.width_m, height_m=panel.height_m, rung_words=RUNG_WORDS,
        features=Features(aim_spots=tuple(AimSpot(str(p.place), p.aim_x_m, p.aim_y_m) for p in left if p.aim_x_m is not None and p.aim_y_m is not None)),
        hits=[Hit(n, f.label, f.x_m, f.y_m, f.outcome_low, f.outcome_high, f"/shots/{f.shot_id}") for n, f in enumerate(struck, 1)],
    )  # fmt: skip


def _said(fact: PredictionFact, reader: str) -> SaidBefore:
    said = fact.prediction
    figures = []
    if said.share_ratio is not None:
        figures.append(f"{written(said.share_ratio, '%')} get through")
    if said.half_energy_j is not None:
        figures.append(f"half get through at {written(said.half_energy_j, unit_for_reader('energy', reader))}")
    changed = said.rev > 1
    before = fact.shots_before_change if changed else fact.shots_before
    when = f"{'Changed' if changed else 'Said'} {moment_words(fact.changed_at if changed else fact.said_at)}, "
    when += "before the first shot" if before == 0 else f"after {before} shot{'' if before == 1 else 's'}"
    if changed and fact.shots_before < before:
        when += "; first said before that, and the notebook keeps what"
    return SaidBefore(said.archer_id, fact.archer, said.says, "; ".join(figures), when + ".", before > 0)
