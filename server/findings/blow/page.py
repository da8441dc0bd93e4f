"""The blow behind armour that held: what each shot left in the panel, what the backing kept, what the criterion can't say."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.charts.blow_by_energy import BlowByEnergy, BlowMark, draw_blows
from server.findings.blow.ask import BlowAsked, blow_asked
from server.findings.blow.backing import BackingTold, backing_told
from server.findings.blow.criterion import CriterionFound, criterion_of
from server.findings.blow.shared import LEFT, SharedBlow, came_through, shared_blow
from server.findings.blow.words import BlowTold, energy_range, heading_of, told_of
from server.findings.impact import Impact, Impacts
from server.findings.view_settings import Query
from server.physics.ranges import CantTell
from server.quantities import unit_for_reader, written
from server.records.kit_between import StandFact, stands_built
from server.records.listing import all_of, belonging
from server.records.panel import Panel
from server.records.shot_facts import ShotFact, shot_facts
from server.records.stand import BackingCheck
from server.records.trial import Trial
from server.storage import Session, Storage

MOST_ROWS = 120  # more than a phone draws at ease; the download has them all


@dataclass(frozen=True)
class BlowRow:
    """One shot that nothing came through, or may not have."""

    fact: ShotFact
    impact: Impact
    shared: SharedBlow | CantTell
    criterion: CriterionFound | CantTell

    @property
    def told(self) -> SharedBlow | None:
        return None if isinstance(self.shared, CantTell) else self.shared


@dataclass(frozen=True)
class Blow:
    """All that the page shows. `trial` None with no panel and no shot: nothing was picked yet.

    through, unread, no_rung   shots that are in no row, and why
    more                       rows that were left out of a long list
    cant                       reason -> how many shots it holds for, the commonest first
    prints                     how many of the rows have a print in the backing written down
    """

    asked: BlowAsked
    trials: Mapping[str, str]
    panels: Mapping[str, str]
    problems: Mapping[str, str]
    trial: Trial | None = None
    asked_for: bool = False
    heading: str = ""
    rows: tuple[BlowRow, ...] = ()
    more: int = 0
    through: int = 0
    unread: int = 0
    no_rung: int = 0
    cant: tuple[tuple[str, int], ...] = ()
    prints: int = 0
    backings: tuple[BackingTold, ...] = ()
    picked: BlowTold | None = None
    picture: BlowByEnergy | None = None


@dataclass(frozen=True)
class _Held:
    """What was fetched of the book."""

    facts: Sequence[ShotFact]
    impacts: Impacts
    panels: Mapping[str, Panel]
    stands: Mapping[str, StandFact]
    checks: Sequence[BackingCheck]


def read_blow(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> Blow:
    """At most eleven statements, whatever the number of shots. `only_trial`: all that this viewer may see."""
    asked = blow_asked(query)
    problems = dict(asked.problems)
    with book.read() as session:
        trials = {one.id: one for one in all_of(session, Trial) if only_trial in (None, one.id)}
        if asked.trial and asked.trial not in trials:
            problems["trial"] = "The book has no such trial for you. Pick one from the list."
        wanted = _wanted(asked, problems, only_trial)
        choices = {key: one.question for key, one in trials.items()}
        if wanted is None:
            return Blow(asked, choices, {}, problems)
        facts = _facts(session, wanted[0], value=wanted[1])
        held = _Held(
            facts=facts,
            impacts=Impacts.load(session, facts),
            panels={one.id: one for one in belonging(session, Panel, "id", {fact.panel_id for fact in facts})},
            stands=stands_built(session, {fact.stand_id for fact in facts if fact.stand_id}),
            checks=belonging(session, BackingCheck, "stand_id", {fact.stand_id for fact in facts if fact.stand_id}),
        )
    return _found(asked, held, trials, choices=choices, problems=problems, reader=reader)


def _wanted(asked: BlowAsked, problems: Mapping[str, str], only_trial: str | None) -> tuple[str, str] | None:
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
    asked: BlowAsked, held: _Held, trials: Mapping[str, Trial], *, choices: Mapping[str, str], problems: dict[str, str], reader: str
) -> Blow:
    panels = {fact.panel_build_id: _panel_name(fact) for fact in held.facts}
    if asked.panel and asked.panel not in panels:
        problems["panel"] = "No shot of these struck that panel. Pick one from the list."
    counted = [fact for fact in held.facts if fact.purpose == "counted" and (asked.panel not in panels or fact.panel_build_id == asked.panel)]
    struck = [fact for fact in counted if fact.hit == "fair_target"]
    rows = [row_of(fact, held.impacts.of_shot(fact), panel=held.panels.get(fact.panel_id), stand=_stand(held, fact), asked=asked, reader=reader) for fact in struck if fact.outcome_low is not None and not came_through(fact)]
    picked = next((fact for fact in held.facts if fact.shot_id == asked.shot), None)
    if asked.shot and picked is None:
        problems["shot"] = "The book has no such shot here."
    if asked.after_m_s is not None and (picked is None or picked.arrow_did not in LEFT):
        problems["after"] = "That is asked only of a shot whose arrow bounced back or passed right through."
    told = _told(held, picked, asked=asked, reader=reader) if picked else None
    seen = {fact.stand_id for fact in counted}
    return Blow(
        asked=asked,
        trials=choices,
        panels=panels,
        problems=problems,
        trial=trials.get(held.facts[0].trial_id) if held.facts and len({fact.trial_id for fact in held.facts}) == 1 else trials.get(asked.trial),
        asked_for=True,
        heading=told.heading if told else heading_of([row.told for row in rows], reader=reader),
        rows=tuple(rows[:MOST_ROWS]),
        more=max(len(rows) - MOST_ROWS, 0),
        through=sum(came_through(fact) for fact in struck),
        unread=sum(fact.hit is None for fact in counted),
        no_rung=sum(fact.outcome_low is None for fact in struck),
        cant=_cant(rows),
        prints=sum(row.fact.back_face_m is not None for row in rows),
        backings=tuple(backing_told(built, held.checks, reader=reader) for key, built in held.stands.items() if key in seen),
        picked=told,
        picture=_picture(rows, asked, reader=reader),
    )


def _panel_name(fact: ShotFact) -> str:
    return fact.panel_name + (f", build {fact.panel_build_number}" if fact.panel_build_number > 1 else "")


def _stand(held: _Held, fact: ShotFact) -> StandFact | None:
    return held.stands.get(fact.stand_id or "")


def row_of(
    fact: ShotFact, impact: Impact, *, panel: Panel | None, stand: StandFact | None, asked: BlowAsked, reader: str
) -> BlowRow:
    """One shot, worked out. How fast an arrow left was typed for the picked one alone."""
    after = asked.after_m_s if fact.shot_id == asked.shot else None
    shared = shared_blow(fact, impact, panel=panel, stand=stand.stand if stand else None, after_m_s=after)
    return BlowRow(fact, impact, shared, criterion_of(fact, shared, panel=panel, asked=asked, reader=reader))


def _told(held: _Held, fact: ShotFact, *, asked: BlowAsked, reader: str) -> BlowTold:
    stand = _stand(held, fact)
    row = row_of(fact, held.impacts.of_shot(fact), panel=held.panels.get(fact.panel_id), stand=stand, asked=asked, reader=reader)
    return told_of(fact, row.impact, shared=row.shared, criterion=row.criterion, asked=asked, stand=stand, panel=held.panels.get(fact.panel_id), reader=reader)


def _cant(rows: Sequence[BlowRow]) -> tuple[tuple[str, int], ...]:
    counts: dict[str, int] = {}
    for row in rows:
        if isinstance(row.shared, CantTell):
            counts[row.shared.reason] = counts.get(row.shared.reason, 0) + 1
    return tuple(sorted(counts.items(), key=lambda one: (-one[1], one[0])))


def _picture(rows: Sequence[BlowRow], asked: BlowAsked, *, reader: str) -> BlowByEnergy | None:
    """Every shot whose blow could be shared out."""
    unit = unit_for_reader("energy", reader)
    marks = []
    for row in rows:
        if row.told is None or row.impact.at_target is None:
            continue
        energy = row.impact.at_target.energy_j.value
        said = f"{row.fact.label}: struck with {written(energy, unit, figures=2)}, {energy_range(row.told, reader)} went on in {row.fact.panel_name}"
        low, high = row.told.range.energy_j
        marks.append(BlowMark(row.fact.label, asked.address(shot=row.fact.shot_id, after=""), said, energy, low, high, row.told.open_above))
    if not marks:
        return None
    words = f"{len(marks)} shot{'s' if len(marks) > 1 else ''} that did not come through: what each struck with, and from least to most what may have gone on in the panel. The rest was spent on dent, heat and shaft. Illustrative: no picture of what anyone could bear."
    return draw_blows(marks, unit=unit, title="What went on in the panel, by what struck it", words=words)
