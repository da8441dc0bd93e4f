"""Blunt impact behind armour that held: what each shot left in the panel, what the backing kept, what the criterion can't say."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from proofyard.answers.blunt.ask import BluntAsked, blunt_asked
from proofyard.answers.blunt.backing import BackingTold, backing_told
from proofyard.answers.blunt.criterion import CriterionFound, criterion_of
from proofyard.answers.blunt.one_shot import BluntTold, told_of
from proofyard.answers.blunt.shared import LEFT, Shared, SharedImpact, came_through, shared_impact
from proofyard.charts.blunt_by_energy import BluntMark, draw_blunt
from proofyard.charts.figure import Figure
from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.kit_between import StandFact, stands_built
from proofyard.records.listing import belonging
from proofyard.records.panel import Panel
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.records.stand import BackingCheck
from proofyard.records.trial import Trial
from proofyard.records.trial_days import newest_trials
from proofyard.shots.impact import Impact, Impacts
from proofyard.storage import Session, Storage
from proofyard.views.address import Query
from proofyard.wording.reasons.said import said

MOST_ROWS = 120  # more than a phone draws at ease; the download has them all


@dataclass(frozen=True)
class BluntRow:
    """One shot that nothing came through, or may not have."""

    fact: ShotFact
    impact: Impact
    shared: Shared
    criterion: CriterionFound | CantTell

    @property
    def told(self) -> SharedImpact | None:
        return None if isinstance(self.shared, CantTell) else self.shared

    @property
    def took(self) -> Reason:
        """Momentum that the panel took, for a column with its unit; `passed`: the energy that went on in it."""
        if self.told is None:
            return because("blunt_not_known")
        low, high = self.told.range.momentum_kg_m_s
        return because("blunt_cell", low_si=low, high_si=high, shown_as="momentum", open_above=False)

    @property
    def passed(self) -> Reason:
        if self.told is None:
            return because("blunt_not_known")
        low, high = self.told.range.energy_j
        return because("blunt_cell", low_si=low, high_si=high, shown_as="energy", open_above=self.told.open_above)

    @property
    def ranks(self) -> Reason:
        """The criterion's range."""
        found = self.criterion
        return because("blunt_not_known") if isinstance(found, CantTell) else because("blunt_bounds", low=found.low, high=found.high)


@dataclass(frozen=True)
class BluntAnswer:
    """All that the page shows. `trial` None with no panel and no shot: nothing was picked yet.

    through, unread, no_outcome_level   shots that are in no row, and why
    envelope                   from the least to the most over all rows; None for one shot
    more                       rows that were left out of a long list
    cant                       reason -> how many shots it holds for, the commonest first
    prints                     how many of the rows have a print in the backing written down
    bounces                how many have the length of a bounce, so that the height of the spot counts
    """

    asked: BluntAsked
    trials: Mapping[str, str]
    panels: Mapping[str, str]
    problems: Mapping[str, str]
    trial: Trial | None = None
    asked_for: bool = False
    finding: Reason | None = None
    envelope: Reason | None = None
    rows: tuple[BluntRow, ...] = ()
    more: int = 0
    through: int = 0
    unread: int = 0
    no_outcome_level: int = 0
    cant: tuple[tuple[Reason, int], ...] = ()
    prints: int = 0
    bounces: int = 0
    backings: tuple[BackingTold, ...] = ()
    picked: BluntTold | None = None
    drawing: Figure | None = None


@dataclass(frozen=True)
class _Held:
    """What was fetched of the book."""

    facts: Sequence[ShotFact]
    impacts: Impacts
    panels: Mapping[str, Panel]
    stands: Mapping[str, StandFact]
    checks: Sequence[BackingCheck]


def read_blunt(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> BluntAnswer:
    """At most eleven statements, whatever the number of shots. `only_trial`: all that this viewer may see."""
    asked = blunt_asked(query)
    problems = dict(asked.problems)
    with book.read() as session:
        named = {one for one in (asked.trial, only_trial) if one and only_trial in (None, one)}
        trials = {one.id: one for one in belonging(session, Trial, "id", named)}
        if asked.trial and asked.trial not in trials:
            problems["trial"] = said(because("asked_trial"))
        wanted = _wanted(asked, problems, only_trial)
        offered = newest_trials(session) if only_trial is None else {}
        choices = {key: one.question for key, one in trials.items() if key not in offered} | offered
        if wanted is None:
            return BluntAnswer(asked, choices, {}, problems)
        facts = _facts(session, wanted[0], value=wanted[1])
        if beside := {fact.trial_id for fact in facts} - set(trials):
            trials |= {one.id: one for one in belonging(session, Trial, "id", beside)}
        held = _Held(
            facts=facts,
            impacts=Impacts.load(session, facts),
            panels={one.id: one for one in belonging(session, Panel, "id", {fact.panel_id for fact in facts})},
            stands=stands_built(session, {fact.stand_id for fact in facts if fact.stand_id}),
            checks=belonging(session, BackingCheck, "stand_id", {fact.stand_id for fact in facts if fact.stand_id}),
        )
    return _found(asked, held, trials, choices=choices, problems=problems, reader=reader)


def _wanted(asked: BluntAsked, problems: Mapping[str, str], only_trial: str | None) -> tuple[str, str] | None:
    """Which shots to fetch, by a name of ShotFact and its value; None where nothing was picked."""
    trial = only_trial or (asked.trial if "trial" not in problems else "")
    if trial and (asked.trial or asked.panel or asked.shot):
        return "trial_id", trial
    if asked.panel:
        return "panel_build_id", asked.panel
    return ("shot_id", asked.shot) if asked.shot else None


def _facts(session: Session, name: str, *, value: str) -> list[ShotFact]:
    wanted: dict[str, Any] = {name: value}
    return shot_facts(session, **wanted)


def _found(
    asked: BluntAsked, held: _Held, trials: Mapping[str, Trial], *, choices: Mapping[str, str], problems: dict[str, str], reader: str
) -> BluntAnswer:
    panels = {fact.panel_build_id: _panel_name(fact) for fact in held.facts}
    if asked.panel and asked.panel not in panels:
        problems["panel"] = said(because("asked_panel_not_hit"))
    counted = [
        fact for fact in held.facts if fact.purpose == "counted" and (asked.panel not in panels or fact.panel_build_id == asked.panel)
    ]
    hits = [fact for fact in counted if fact.hit == "on_panel"]
    rows = [
        row_of(fact, held.impacts.of_shot(fact), panel=held.panels.get(fact.panel_id), stand=_stand(held, fact), asked=asked)
        for fact in hits
        if fact.outcome_low is not None and not came_through(fact)
    ]
    picked = next((fact for fact in held.facts if fact.shot_id == asked.shot), None)
    if asked.shot and picked is None:
        problems["shot"] = said(because("asked_shot"))
    if asked.after_m_s is not None and (picked is None or picked.arrow_did not in LEFT):
        problems["after"] = said(because("asked_no_after"))
    told = _told(held, picked, asked=asked, reader=reader) if picked else None
    impacts = [(row.fact.label, row.told) for row in rows]
    seen = {fact.stand_id for fact in counted}
    return BluntAnswer(
        asked=asked,
        trials=choices,
        panels=panels,
        problems=problems,
        trial=trials.get(held.facts[0].trial_id)
        if held.facts and len({fact.trial_id for fact in held.facts}) == 1
        else trials.get(asked.trial),
        asked_for=True,
        finding=told.finding if told else finding_of(impacts),
        envelope=None if told else envelope_of(impacts),
        rows=tuple(rows[:MOST_ROWS]),
        more=max(len(rows) - MOST_ROWS, 0),
        through=sum(came_through(fact) for fact in hits),
        unread=sum(fact.hit is None for fact in counted),
        no_outcome_level=sum(fact.outcome_low is None for fact in hits),
        cant=_cant(rows),
        bounces=sum(row.told is not None and row.told.bounce is not None for row in rows) + (told is not None and told.bounced),
        prints=sum(row.fact.back_face_m is not None for row in rows),
        backings=tuple(backing_told(built, held.checks) for key, built in held.stands.items() if key in seen),
        picked=told,
        drawing=_drawing(rows, asked, reader=reader),
    )


def _panel_name(fact: ShotFact) -> str:
    return fact.panel_name + (f", build {fact.panel_build_number}" if fact.panel_build_number > 1 else "")


def _stand(held: _Held, fact: ShotFact) -> StandFact | None:
    return held.stands.get(fact.stand_id or "")


def row_of(fact: ShotFact, impact: Impact, *, panel: Panel | None, stand: StandFact | None, asked: BluntAsked) -> BluntRow:
    """One shot, worked out. How fast an arrow left was typed for the picked one alone."""
    after = asked.after_m_s if fact.shot_id == asked.shot else None
    shared = shared_impact(fact, impact, panel=panel, stand=stand.stand if stand else None, after_m_s=after, fall_m=asked.fall_m)
    return BluntRow(fact, impact, shared, criterion_of(fact, shared, panel=panel, asked=asked))


def _told(held: _Held, fact: ShotFact, *, asked: BluntAsked, reader: str) -> BluntTold:
    stand = _stand(held, fact)
    row = row_of(fact, held.impacts.of_shot(fact), panel=held.panels.get(fact.panel_id), stand=stand, asked=asked)
    return told_of(
        fact,
        row.impact,
        shared=row.shared,
        criterion=row.criterion,
        asked=asked,
        stand=stand,
        panel=held.panels.get(fact.panel_id),
        reader=reader,
    )


def typical_of(impacts: Sequence[tuple[str, SharedImpact | None]]) -> tuple[str, SharedImpact] | None:
    """The middle shot by the momentum that the panel took, itself and its own range; of two middle ones the lesser. None: none is known.

    Momentum orders all of them alike: it is bounded even where nothing bounds the energy.
    """
    known = sorted(((label, one) for label, one in impacts if one is not None), key=lambda pair: sum(pair[1].range.momentum_kg_m_s))
    return known[(len(known) - 1) // 2] if known else None


def finding_of(impacts: Sequence[tuple[str, SharedImpact | None]]) -> Reason:
    """One typical impact; or why nothing is said. `impacts`: label and impact of every row."""
    found = typical_of(impacts)
    if found is None:
        return because("blunt_none_known") if impacts else because("blunt_no_hits")
    label, impact = found
    (low, high), (low_j, high_j) = impact.range.momentum_kg_m_s, impact.range.energy_j
    return because("blunt_typical", label=label, low_kg_m_s=low, high_kg_m_s=high, low_j=low_j, high_j=high_j, open_above=impact.open_above)


def envelope_of(impacts: Sequence[tuple[str, SharedImpact | None]]) -> Reason | None:
    """From the least to the most over all rows, and which one is called typical; None where none or only one is known."""
    known = [one for _, one in impacts if one is not None]
    if len(known) < 2:
        return None
    return because(
        "blunt_all_shots",
        shots=len(known),
        low_kg_m_s=min(one.range.momentum_kg_m_s[0] for one in known),
        high_kg_m_s=max(one.range.momentum_kg_m_s[1] for one in known),
        low_j=min(one.range.energy_j[0] for one in known),
        high_j=max(one.range.energy_j[1] for one in known),
        open_above=any(one.open_above for one in known),
        unread=sum(one.ending in ("bounced", "held", "unknown") for one in known),
    )


def _cant(rows: Sequence[BluntRow]) -> tuple[tuple[Reason, int], ...]:
    counts = Counter(row.shared.reason for row in rows if isinstance(row.shared, CantTell))
    return tuple(sorted(counts.items(), key=lambda one: (-one[1], said(one[0]))))


def _drawing(rows: Sequence[BluntRow], asked: BluntAsked, *, reader: str) -> Figure | None:
    """Every shot whose impact could be shared out."""
    unit = unit_for_reader("energy", reader)
    marks = []
    for row in rows:
        if row.told is None or row.impact.at_target is None:
            continue
        energy = row.impact.at_target.energy_j.value
        low, high = row.told.range.energy_j
        told = because(
            "blunt_mark",
            label=row.fact.label,
            panel=row.fact.panel_name,
            energy_j=energy,
            low_j=low,
            high_j=high,
            open_above=row.told.open_above,
        )
        marks.append(BluntMark(asked.address(shot=row.fact.shot_id, after=""), said(told, reader), energy, low, high, row.told.open_above))
    if not marks:
        return None
    return draw_blunt(marks, unit=unit, title=said(because("blunt_drawing")), words=said(because("blunt_drawn", shots=len(marks))))
