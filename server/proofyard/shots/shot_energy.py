"""How a shot's energy came about, as its page tells it: step by step, drawn along the flight, and where its uncertainty is from."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from proofyard.charts.figure import Figure
from proofyard.charts.flight import Along, draw_flight
from proofyard.physics.uncertainty_budget import Budget, ShotInputs, uncertainty_budget
from proofyard.quantities import Uncertain, unit_for_reader, with_unit, written, written_with_uncertainty
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.shots.at_target import AtTarget, help_most
from proofyard.shots.impact import Impact
from proofyard.shots.impact_steps import ImpactStep, steps_of
from proofyard.shots.loosed import LoosedShot
from proofyard.wording.reasons.impact import SCOPES
from proofyard.wording.reasons.said import said, sentence

PLACES_DRAWN = 9
# At no distance the way through the air takes nothing, whatever these are: they only fill their places.
NO_WAY = ShotInputs(0.05, 50.0, 0.0, 1.95, 0.0095, 1.2)


@dataclass(frozen=True)
class StepTold:
    """One line of how the energy came about, in the reader's units; `method` is an address."""

    words: str
    value: str
    plus_minus: str = ""
    note: str = ""
    href: str = ""
    href_words: str = ""
    last: bool = False
    method: str = ""


Said = tuple[str, str]  # words, and the method of the figure that they are; empty for words alone


@dataclass(frozen=True)
class EnergyTold:
    """All about one shot's energy. `at`: where its last figure holds.

    fall      time, drop and angle in a sentence; empty where there are none
    uncertainties   rows: source, whom it affects, how much alone, share of the whole
    """

    steps: tuple[StepTold, ...]
    at: str
    basis: str
    why_not: str
    no_target: str
    fall: tuple[Said, ...]
    flight: Figure | None
    uncertainties: tuple[tuple[str, ...], ...]
    energy_unit: str
    uncertainty_words: tuple[tuple[Said, ...], ...]


def energy_told(shot: LoosedShot, *, reader: str) -> EnergyTold:
    """In the reader's units."""
    fact, impact = shot.fact, shot.impact
    there, unit = impact.at_target, unit_for_reader("energy", reader)
    budget = there.budget if there else budget_at_chronograph(impact)
    missing = there.missing if there else ()
    return EnergyTold(
        steps=tuple(step_told(step, reader) for step in steps_of(fact, impact)),
        at=said(because("energy_place", place="target" if there else "half_way" if impact.half_way else "chronograph")),
        basis=said(because("energy_basis", basis=impact.basis)),
        why_not=sentence(impact.why_not, reader),
        no_target=sentence(impact.no_target, reader) if impact.measured else "",
        fall=_fall(there, reader) if there else (),
        flight=_drawn(fact.label, there, reader) if there and there.flown_m > 0 else None,
        uncertainties=_rows(budget, unit) if budget else (),
        energy_unit=unit,
        uncertainty_words=_words(budget, unit=unit, own=impact.basis == "own", missing=missing) if budget else (),
    )


def budget_at_chronograph(impact: Impact) -> Budget | None:
    """Where the uncertainty of a shot's energy comes from where its speed was read; None where it can't be told."""
    energy = impact.energy_at_chronograph_j
    if energy is None or energy.standard_uncertainty is None or impact.mass is None or impact.speed is None:
        return None
    inputs = replace(NO_WAY, mass_kg=impact.mass.value, speed_m_s=impact.speed.value)
    return uncertainty_budget(inputs, impact.uncertainties, step="energy_at_chronograph_j")


def _rows(budget: Budget, unit: str) -> tuple[tuple[str, ...], ...]:
    """The heaviest first; what adds nothing is left out."""
    lines = sorted((line for line in budget.lines if line.contribution > 0), key=lambda line: -line.contribution)
    return tuple(
        (
            said(because("uncertainty_of", quantity=line.uncertainty.quantity, what=line.uncertainty.what)),
            SCOPES[line.uncertainty.scope],
            _alone(line.contribution, unit),
            "under 1" if line.share < 0.01 else f"{100 * line.share:.0f}",
        )
        for line in lines
    )


def _alone(u_j: float, unit: str) -> str:
    return written(u_j, unit, uncertainty_si=u_j).removesuffix(with_unit("", unit))


def _words(budget: Budget, *, unit: str, own: bool, missing: Sequence[Reason]) -> tuple[tuple[Said, ...], ...]:
    """Which shots the uncertainty affects, and which reading would reduce it most."""
    if missing:
        return ((_bare(because("energy_whole_not_known", parts=tuple(missing))),),)
    by = budget.by_scope
    whom: tuple[Said, ...] = (
        _plus(by["instrument"], unit),
        _bare(because("energy_shared_by_all")),
        _plus(by["combination"], unit),
        _bare(because("energy_shared_by_combination")),
        _plus(by["shot"], unit),
        _bare(because("energy_of_the_shot_alone")),
    )
    advice = help_most(budget, own_speed=own)
    if not advice:
        return (whom,)
    was, rest = _plus(budget.standard_uncertainty, unit), _plus(budget.without_most, unit)
    return whom, (_bare(because("energy_help", advice=advice)), was, _bare(because("energy_help_would_be")), rest, (".", ""))


def _bare(reason: Reason) -> Said:
    """Words without a figure in them, and so without a method."""
    return said(reason), ""


def _plus(u_j: float, unit: str) -> Said:
    return ("Nothing", "") if u_j == 0 else (f"±\N{NO-BREAK SPACE}{written(u_j, unit, uncertainty_si=u_j)}", "uncertainty_budget")


def _fall(there: AtTarget, reader: str) -> tuple[Said, ...]:
    """Time, drop and angle in a sentence."""
    time = written(there.time_s, "s", figures=2), "time_to_distance_s"
    if isinstance(there.fall, CantTell):
        return (_bare(because("energy_under_way")), time, _bare(because("energy_fall_not_known", why=there.fall.reason)))
    drop = written(there.fall.drop_m, unit_for_reader("length", reader), figures=2), "low_flight"
    angle = written(there.fall.fall_angle_rad, "deg", figures=2), "low_flight"
    return (
        _bare(because("energy_under_way")),
        time,
        _bare(because("energy_dropped")),
        drop,
        _bare(because("energy_came_down")),
        angle,
        _bare(because("energy_one_height")),
    )


def _drawn(label: str, there: AtTarget, reader: str) -> Figure:
    along = []
    for n in range(PLACES_DRAWN):
        flown = there.flown_m * n / (PLACES_DRAWN - 1)
        at = replace(there, inputs=replace(there.inputs, distance_m=flown))
        along.append(Along(there.from_m.value + flown, at.energy_j))
    air = because("energy_in_air", flown_m=there.flown_m, lost=there.speed_lost)
    return draw_flight(label, along, reader=reader, air_words=said(air, reader))


def value_and_uncertainty(found: Uncertain, shown_as: str, *, reader: str) -> tuple[str, str]:
    """("98.3 J", "1.4"); no uncertainty is an empty text."""
    value, _, uncertainty = written_with_uncertainty(found, unit_for_reader(shown_as, reader)).partition(" ±")
    return value, uncertainty.strip()


_STEP_PAGES = {"arrow": ("/arrows/", "this arrow"), "combination": ("/combinations/", "its readings")}


def step_told(step: ImpactStep, reader: str) -> StepTold:
    value, uncertainty = value_and_uncertainty(step.value, step.shown_as, reader=reader) if step.value else ("not measured", "")
    page, words = _STEP_PAGES.get(step.noun or "", ("", ""))
    return StepTold(
        words=said(step.what, reader),
        value=value,
        plus_minus=f"±\u00a0{uncertainty}" if uncertainty else "",
        note=said(step.note, reader),
        href=page + step.record_id if page and step.record_id else "",
        href_words=words,
        last=step.last,
        method=f"/methods/of/{step.method}" if step.method and step.value else "",
    )
