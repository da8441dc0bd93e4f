"""Would it have held, had it been otherwise? From shots or printed rules to the energy that half would need, side by side."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.charts.what_if_curve import Asked as DrawnAsked
from server.charts.what_if_curve import Mark, WhatIfCurve, draw_what_if
from server.findings.impact import Impacts
from server.findings.loosed import Loosed, loosed_with
from server.findings.view_settings import Query
from server.findings.what_if.answer import Answer, Bows, answer_of
from server.findings.what_if.ask import CHANGES, WhatIfAsked, fitting, unfitting, what_if_asked
from server.findings.what_if.basis import Armour, Basis, armour_of, basis_of, panel_choices
from server.findings.what_if.words import basis_words, counted, joules_range
from server.quantities import unit_for_reader
from server.records.instrument import HardnessReading, Reading
from server.records.listing import readings_of
from server.records.panel import Panel, PanelBuild
from server.records.panel_facts import panels_with_builds
from server.records.shot_facts import shot_facts
from server.records.speed_facts import PairingFact, all_speeds, masses_and_instruments, pairings
from server.statistics.fifty_percent_point import curve_band
from server.storage import Session, Storage

DRAWN_POINTS = 97


@dataclass(frozen=True, eq=False)
class WhatIf:
    """All that the page shows. `armour` None: no panel was picked yet; then there is nothing else.

    problems  field -> sentence, those of the address and those of fields that say nothing of this armour
    """

    asked: WhatIfAsked
    panels: Mapping[str, str]
    problems: Mapping[str, str]
    armour: Armour | None = None
    basis: Basis | None = None
    basis_words: tuple[str, ...] = ()
    answers: tuple[Answer, ...] = ()
    picture: WhatIfCurve | None = None


@dataclass(frozen=True)
class _Held:
    """What was fetched of the book."""

    loosed: Loosed
    impacts: Impacts
    known: Sequence[PairingFact]
    panels: Sequence[tuple[Panel, PanelBuild]]


def read_what_if(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> WhatIf:
    """Eleven statements, whatever the number of shots. `only_trial`: all that this viewer may see."""
    asked = what_if_asked(query)
    with book.read() as session:
        held = _fetch(session, only_trial)
        choices = panel_choices(held.panels, held.loosed)
        picked = _picked(asked.panel, held.panels)
        problems = dict(asked.problems)
        if picked is None:
            if asked.panel:
                problems["panel"] = "The book has no such panel. Pick one from the list."
            return WhatIf(asked, choices, problems)
        panel, build = picked
        thickness = readings_of(session, Reading, "panel_build", build.id)
        hardness = readings_of(session, HardnessReading, "panel_build", build.id)
        armour = armour_of(panel, build, loosed=held.loosed, thickness=thickness, hardness=hardness)
    return _found(asked, held, armour, choices=choices, problems=problems, reader=reader)


def _fetch(session: Session, only_trial: str | None) -> _Held:
    facts = shot_facts(session, struck=True)
    series, own = all_speeds(session)
    known = pairings(session)
    weighed, tools = masses_and_instruments(session)
    impacts = Impacts(series=series, own=own, mass_facts=weighed, tools=tools, known=known)
    loosed = loosed_with(session, facts, impacts=impacts).of_trial(only_trial)
    panels = panels_with_builds(session)
    if only_trial is not None:
        seen = {shot.fact.panel_build_id for shot in loosed.shots}
        panels = [(panel, build) for panel, build in panels if build.id in seen]
        shot_by = {shot.fact.pairing_id for shot in loosed.shots}
        known = {key: fact for key, fact in known.items() if key in shot_by}
    return _Held(loosed, impacts, tuple(known.values()), panels)


def _picked(wanted: str, panels: Sequence[tuple[Panel, PanelBuild]]) -> tuple[Panel, PanelBuild] | None:
    """By a build's id, or a panel's: then its newest build."""
    by_build = next((pair for pair in panels if pair[1].id == wanted), None)
    return by_build or next((pair for pair in panels if pair[0].id == wanted), None)


def _found(
    asked: WhatIfAsked, held: _Held, armour: Armour, *, choices: Mapping[str, str], problems: dict[str, str], reader: str
) -> WhatIf:
    problems |= unfitting(asked, armour.construction)
    basis = basis_of(held.loosed, armour.panel, build=armour.build, asked=asked)
    answers = tuple(
        answer_of(fitting(what, armour.construction), letter, asked=asked, armour=armour, basis=basis, bows=_bows(held), reader=reader)
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
        basis_words=basis_words(basis, armour, asked=asked, reader=reader),
        answers=answers,
        picture=_picture(armour, basis, answers, reader=reader),
    )


def _bows(held: _Held) -> Bows:
    return Bows(held.loosed, held.impacts, held.known)


def _picture(armour: Armour, basis: Basis, answers: Sequence[Answer], *, reader: str) -> WhatIfCurve | None:
    """The curve of the shots, and where each what-if moves it; ranges alone where there are no shots."""
    drawn = [
        DrawnAsked(one.letter, one.title_words, one.rules_low_j, one.rules_high_j, one.low_j, one.high_j, one.changed)
        for one in answers
        if one.rules_low_j is not None and one.rules_high_j is not None
    ]
    if not drawn:
        return None
    marks = [Mark(one.shot.fact.label, f"/shots/{one.shot.fact.shot_id}", one.energy.value, one.through_low) for one in basis.shots if one.energy is not None]
    curve = None
    if basis.curve is not None and basis.point is not None:
        ends = [*basis.energies_j, basis.point.energy_j] + [end for one in drawn for end in (one.rules_low_j, one.rules_high_j)]
        # Wide enough that a curve moved by any factor still crosses the whole picture.
        low, high = 0.3 * min(ends), 2.0 * max(ends)
        energies = [low + (high - low) * n / (DRAWN_POINTS - 1) for n in range(DRAWN_POINTS)]
        curve = (tuple(energies), curve_band(basis.curve, energies).chances)
    return draw_what_if(
        armour.panel.name, marks, curve=curve, asked=drawn, shot_j=(min(basis.energies_j), max(basis.energies_j)) if basis.shots else None,
        unit=unit_for_reader("energy", reader), words=_picture_words(basis, answers, reader=reader),
    )  # fmt: skip


def _picture_words(basis: Basis, answers: Sequence[Answer], *, reader: str) -> str:
    told = [f"{one.letter}: {one.title_words}, with the shots’ doubt {joules_range(one.low_j, one.high_j, reader=reader)}" for one in answers if one.told]
    start = f"{counted(len(basis.shots), 'shot')}, {basis.hits} through. " if basis.shots else "No shots. "
    return start + ". ".join(told) + "."
