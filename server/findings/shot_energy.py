"""How a shot's energy came about, as its page tells it: step by step, drawn along the flight, and where its doubt is from."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.charts.flight import Along, FlightPicture, draw_flight
from server.findings.at_target import AtTarget
from server.findings.impact import BASES, Impact
from server.findings.impact_steps import ImpactStep, steps_of
from server.findings.loosed import LoosedShot
from server.findings.shot_doubts import QUANTITY_WORDS, SCOPE_WORDS, help_most
from server.physics.ranges import CantTell
from server.physics.uncertainty_budget import Budget, ShotInputs, uncertainty_budget
from server.quantities import Uncertain, unit_for_reader, with_unit, written, written_with_uncertainty

PLACES_DRAWN = 9
# At no distance the way through the air takes nothing, whatever these are: they only fill their places.
NO_WAY = ShotInputs(0.05, 50.0, 0.0, 1.95, 0.0095, 1.2)


@dataclass(frozen=True)
class StepTold:
    """One line of how the energy came about, in the reader's units; `method` is an address."""

    words: str
    value: str
    plus_minus: str
    note: str
    href: str
    href_words: str
    last: bool
    method: str


Said = tuple[str, str]  # words, and the method of the figure that they are; empty for words alone


@dataclass(frozen=True)
class EnergyTold:
    """All about one shot's energy. `at`: where its last figure holds.

    fall      time, drop and angle in a sentence; empty where there are none
    doubts    rows: cause, whom it touches, how much alone, share of the whole
    """

    steps: tuple[StepTold, ...]
    at: str
    basis: str
    why_not: str
    no_target: str
    fall: tuple[Said, ...]
    flight: FlightPicture | None
    doubts: tuple[tuple[str, ...], ...]
    energy_unit: str
    doubts_words: tuple[tuple[Said, ...], ...]


def energy_told(shot: LoosedShot, *, reader: str) -> EnergyTold:
    """In the reader's units."""
    fact, impact = shot.fact, shot.impact
    there, unit = impact.at_target, unit_for_reader("energy", reader)
    budget = there.budget if there else _near(impact)
    missing = there.missing if there else ()
    return EnergyTold(
        steps=tuple(step_told(step, reader) for step in steps_of(fact, impact)),
        at="at the target" if there else "half way" if impact.half_way else "at the chronograph",
        basis=BASES[impact.basis],
        why_not=impact.why_not or "",
        no_target=impact.no_target if impact.measured else "",
        fall=_fall(there, reader) if there else (),
        flight=_drawn(fact.label, there, reader) if there and there.flown_m > 0 else None,
        doubts=_rows(budget, unit) if budget else (),
        energy_unit=unit,
        doubts_words=_words(budget, unit=unit, own=impact.basis == "own", missing=missing) if budget else (),
    )


def _near(impact: Impact) -> Budget | None:
    """The budget where the speed was read, for a shot whose way to the target can't be reckoned."""
    energy = impact.energy_at_chronograph_j
    if energy is None or energy.standard_uncertainty is None or impact.mass is None or impact.speed is None:
        return None
    inputs = replace(NO_WAY, mass_kg=impact.mass.value, speed_m_s=impact.speed.value)
    return uncertainty_budget(inputs, impact.doubts, step="energy_at_chronograph_j")


def _rows(budget: Budget, unit: str) -> tuple[tuple[str, ...], ...]:
    """The heaviest first; what adds nothing is left out."""
    lines = sorted((line for line in budget.lines if line.contribution > 0), key=lambda line: -line.contribution)
    return tuple(
        (
            f"{QUANTITY_WORDS[line.doubt.quantity].capitalize()}: {line.doubt.what}",
            SCOPE_WORDS[line.doubt.scope],
            _alone(line.contribution, unit),
            "under 1" if line.share < 0.01 else f"{100 * line.share:.0f}",
        )
        for line in lines
    )  # fmt: skip


def _alone(u_j: float, unit: str) -> str:
    return written(u_j, unit, uncertainty_si=u_j).removesuffix(with_unit("", unit))


def _words(budget: Budget, *, unit: str, own: bool, missing: Sequence[str]) -> tuple[tuple[Said, ...], ...]:
    """Whom the doubt touches, and which reading would lessen it most."""
    if missing:
        return ((("The whole can’t be told: " + "; ".join(missing) + ".", ""),),)
    by = budget.by_scope
    whom: tuple[Said, ...] = (
        _plus(by["instrument"], unit),
        (" of it is the same for all shots: it moves them together and changes no comparison between them. ", ""),
        _plus(by["pairing"], unit),
        (" is the same for all shots of its pairing, this bow, arrow and archer. ", ""),
        _plus(by["shot"], unit),
        (" is this shot’s alone.", ""),
    )
    advice = help_most(budget, own_speed=own)
    if not advice:
        return (whom,)
    was, rest = _plus(budget.standard_uncertainty, unit), _plus(budget.without_most, unit)
    return whom, ((f"What would help most: {advice}. With nothing in doubt there, ", ""), was, (" would be ", ""), rest, (".", ""))


def _plus(u_j: float, unit: str) -> Said:
    return ("Nothing", "") if u_j == 0 else (f"±\N{NO-BREAK SPACE}{written(u_j, unit, uncertainty_si=u_j)}", "uncertainty_budget")


def _fall(there: AtTarget, reader: str) -> tuple[Said, ...]:
    """Time, drop and angle in a sentence."""
    time = written(there.time_s, "s", figures=2), "time_to_distance_s"
    if isinstance(there.fall, CantTell):
        return ("Under way for ", ""), time, (f" from where its speed was read. How it fell can’t be told: {there.fall.reason}.", "")
    drop = written(there.fall.drop_m, unit_for_reader("length", reader), figures=2), "low_flight"
    angle = written(there.fall.fall_angle_rad, "deg", figures=2), "low_flight"
    return (
        ("Under way for ", ""), time, (" from where its speed was read, it dropped ", ""), drop,
        (" below the line that it had there, and came down at ", ""), angle, (", if panel and bow stood at one height.", ""),
    )  # fmt: skip


def _drawn(label: str, there: AtTarget, reader: str) -> FlightPicture:
    along = []
    for n in range(PLACES_DRAWN):
        flown = there.flown_m * n / (PLACES_DRAWN - 1)
        at = replace(there, inputs=replace(there.inputs, distance_m=flown))
        along.append(Along(there.from_m.value + flown, at.energy_j))
    air = f"{written(there.flown_m, unit_for_reader('distance', reader), figures=3)} of air between them took {written_with_uncertainty(there.speed_lost, unit_for_reader('speed', reader))} of its speed."
    return draw_flight(label, along, reader=reader, air_words=air)


def value_and_doubt(found: Uncertain, shown_as: str, *, reader: str) -> tuple[str, str]:
    """ ("98.3 J", "1.4"); no doubt is an empty text."""
    value, _, doubt = written_with_uncertainty(found, unit_for_reader(shown_as, reader)).partition(" ±")
    return value, doubt.strip()


_STEP_PAGES = {"arrow": ("/arrows/", "this arrow"), "pairing": ("/pairings/", "its readings")}


def step_told(step: ImpactStep, reader: str) -> StepTold:
    value, doubt = value_and_doubt(step.value, step.shown_as, reader=reader) if step.value else ("not measured", "")
    page, words = _STEP_PAGES.get(step.noun or "", ("", ""))
    return StepTold(
        words=step.words, value=value, plus_minus=f"±\u00a0{doubt}" if doubt else "", note=step.note,
        href=page + step.record_id if page and step.record_id else "", href_words=words, last=step.last,
        method=f"/methods#{step.method}" if step.method and step.value else "",
    )  # fmt: skip
