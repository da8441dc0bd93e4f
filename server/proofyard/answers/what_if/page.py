"""What if the armour were different? From shots or printed rules to the energy that half would need, side by side."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from proofyard.answers.what_if.answer import Answer, Bows, answer_of
from proofyard.answers.what_if.ask import CHANGES, WhatIfAsked, fitting, unfitting, what_if_asked
from proofyard.answers.what_if.basis import Armour, Basis, armour_of, basis_of, panel_choices, panel_types_at
from proofyard.charts.curves import CurveMark
from proofyard.charts.figure import Figure
from proofyard.charts.what_if_curve import Asked as DrawnAsked
from proofyard.charts.what_if_curve import draw_what_if
from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import Reason, because
from proofyard.records.instrument import HardnessReading, Instrument, Reading
from proofyard.records.listing import readings_of
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.panel_facts import panels_with_builds
from proofyard.records.shot_facts import shot_facts
from proofyard.records.speed_facts import CombinationFact, all_speeds, combinations, masses_and_instruments
from proofyard.shots.bow_records import BowRecords, bow_records
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import Loosed, loosed_with
from proofyard.statistics.fifty_percent_point import curve_band
from proofyard.storage import Session, Storage
from proofyard.views.address import Query
from proofyard.views.settings import form_words
from proofyard.wording.reasons.said import said

DRAWN_POINTS = 97


@dataclass(frozen=True, eq=False)
class WhatIf:
    """All that the page shows. `armour` None: no panel was picked yet; then there is nothing else.

    problems  field -> sentence, those of the address and those of fields that say nothing of this armour
    types     panel types that the panel was shot as, key -> words: more than one where what lay behind it differed
    """

    asked: WhatIfAsked
    panels: Mapping[str, str]
    problems: Mapping[str, str]
    armour: Armour | None = None
    basis: Basis | None = None
    rests_on: tuple[Reason, ...] = ()
    answers: tuple[Answer, ...] = ()
    drawing: Figure | None = None
    types: Mapping[str, str] = field(default_factory=dict)

    @property
    def finding(self) -> Reason | None:
        """The first of the answers that says something; with its letter if there are two."""
        told = next((one for one in self.answers if one.told), None)
        if told is None:
            return because("what_if_no_answer") if self.answers else None
        return because("what_if_two_findings", letter=told.letter, finding=told.finding) if len(self.answers) > 1 else told.finding

    @property
    def answered(self) -> bool:
        """Whether a change has an answer: a first look asks, an answer comes first once there is one."""
        return any(one.told and one.changed for one in self.answers)


@dataclass(frozen=True)
class _Held:
    """What was fetched of the book."""

    loosed: Loosed
    impacts: Impacts
    known: Sequence[CombinationFact]
    panels: Sequence[tuple[Panel, PanelBuild]]
    records: BowRecords
    tools: Mapping[str, Instrument]


def read_what_if(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> WhatIf:
    """Twelve statements, whatever the number of shots. `only_trial`: all that this viewer may see."""
    asked = what_if_asked(query)
    with book.read() as session:
        held = _fetch(session, only_trial)
        choices = panel_choices(held.panels, held.loosed)
        picked = _picked(asked.panel, held.panels)
        problems = dict(asked.problems)
        if picked is None:
            if asked.panel:
                problems["panel"] = said(because("asked_panel"))
            return WhatIf(asked, choices, problems)
        panel, build = picked
        thickness = readings_of(session, Reading, "panel_build", build.id)
        hardness = readings_of(session, HardnessReading, "panel_build", build.id)
        armour = armour_of(panel, build, loosed=held.loosed, thickness=thickness, hardness=hardness, tools=held.tools)
    return _found(asked, held, armour, choices=choices, problems=problems, reader=reader)


def _fetch(session: Session, only_trial: str | None) -> _Held:
    facts = shot_facts(session, voided=True)
    series, own = all_speeds(session)
    known = combinations(session)
    weighed, tools = masses_and_instruments(session)
    impacts = Impacts(series=series, own=own, mass_facts=weighed, tools=tools, known=known)
    loosed = loosed_with(session, facts, impacts=impacts).of_trial(only_trial)
    panels = panels_with_builds(session)
    if only_trial is not None:
        seen = {shot.fact.panel_build_id for shot in loosed.shots}
        panels = [(panel, build) for panel, build in panels if build.id in seen]
        shot_by = {shot.fact.combination_id for shot in loosed.shots}
        known = {key: fact for key, fact in known.items() if key in shot_by}
    return _Held(loosed, impacts, tuple(known.values()), panels, bow_records(session), tools)


def _picked(wanted: str, panels: Sequence[tuple[Panel, PanelBuild]]) -> tuple[Panel, PanelBuild] | None:
    """By a build's id, or a panel's: then its newest build."""
    by_build = next((pair for pair in panels if pair[1].id == wanted), None)
    return by_build or next((pair for pair in panels if pair[0].id == wanted), None)


def _found(asked: WhatIfAsked, held: _Held, armour: Armour, *, choices: Mapping[str, str], problems: dict[str, str], reader: str) -> WhatIf:
    problems |= unfitting(asked, armour.construction)
    types = panel_types_at(held.loosed, armour.panel, build=armour.build)
    if asked.panel_type and asked.panel_type not in types:
        problems["panel_type"] = said(because("asked_panel_type"))
    basis = basis_of(held.loosed, armour.panel, build=armour.build, asked=asked)
    answers = tuple(
        answer_of(
            fitting(what, armour.construction),
            letter,
            asked=asked,
            armour=armour,
            basis=basis,
            bows=Bows(held.loosed, held.impacts, held.known, held.records),
        )
        for what, letter in zip(asked.whats, ("A", "B"), strict=False)
        # A change that could not be read must not be answered as if nobody had asked for it.
        if not any(what.prefix + one.name in problems for one in CHANGES)
    )
    return WhatIf(
        asked=asked,
        panels=choices,
        problems=problems,
        armour=armour,
        basis=basis,
        rests_on=(*_rests_on(basis, armour, asked), *_behind(basis, armour, types)),
        answers=answers,
        drawing=_drawing(armour, basis, answers, reader=reader),
        types=types,
    )


def _rests_on(basis: Basis, armour: Armour, asked: WhatIfAsked) -> Iterator[Reason]:
    head, point = form_words(asked.head).lower() if asked.head else "", basis.point
    if point is None:
        yield because("what_if_no_half", head=head, why=basis.why_not)
        yield because("what_if_published_instead")
        return
    yield because(
        "what_if_starts_from",
        shots=len(basis.shots),
        head=head,
        of=basis.of,
        panels=basis.names,
        panel_type=basis.type_words,
        hits=basis.hits,
        past=asked.through.past,
        energy_j=point.energy_j,
        low_j=point.low_j,
        high_j=point.high_j,
        place=basis.place,
    )
    if basis.of == "panel_type" and not asked.basis:
        yield because("what_if_all_of_its_type", panel=armour.panel.name)


def _behind(basis: Basis, armour: Armour, types: Mapping[str, str]) -> Iterator[Reason]:
    """Where the panel was shot with one thing behind it and with another: which shots are taken."""
    if len(types) > 1 and basis.of != "model":
        yield because(
            "what_if_behind",
            panel=armour.panel.name,
            taken=basis.type_words,
            others=tuple(words for words in types.values() if words != basis.type_words),
        )


def _drawing(armour: Armour, basis: Basis, answers: Sequence[Answer], *, reader: str) -> Figure | None:
    """The curve of the shots, and where each what-if moves it; ranges alone where there are no shots."""
    drawn = [
        DrawnAsked(one.letter, said(one.finding, reader), one.rules_low_j, one.rules_high_j, one.low_j, one.high_j, one.changed)
        for one in answers
        if one.rules_low_j is not None and one.rules_high_j is not None
    ]
    if not drawn:
        return None
    marks = [
        CurveMark(one.shot.fact.label, f"/shots/{one.shot.fact.shot_id}", one.energy.value, one.through_low)
        for one in basis.shots
        if one.energy is not None
    ]
    curve = None
    if basis.curve is not None and basis.point is not None:
        ends = [*basis.energies_j, basis.point.energy_j] + [end for one in drawn for end in (one.rules_low_j, one.rules_high_j)]
        # Wide enough that a curve moved by any factor still crosses the whole drawing.
        low, high = 0.3 * min(ends), 2.0 * max(ends)
        energies = [low + (high - low) * n / (DRAWN_POINTS - 1) for n in range(DRAWN_POINTS)]
        curve = (tuple(energies), curve_band(basis.curve, energies).chances)
    return draw_what_if(
        armour.panel.name,
        marks,
        curve=curve,
        asked=drawn,
        shot_j=(min(basis.energies_j), max(basis.energies_j)) if basis.shots else None,
        unit=unit_for_reader("energy", reader),
        words=_chart_words(basis, answers, reader=reader),
    )


def _chart_words(basis: Basis, answers: Sequence[Answer], *, reader: str) -> str:
    told = [
        because("what_if_drawn_one", letter=one.letter, finding=one.finding, low_j=one.rules_low_j, high_j=one.rules_high_j)
        for one in answers
        if one.told
    ]
    return said(because("what_if_drawn", shots=len(basis.shots), through=basis.hits, told=tuple(told)), reader)
