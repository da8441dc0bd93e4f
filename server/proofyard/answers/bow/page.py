"""One bow build: what it stores, what its arrows get of it, how it stood on its days. Sixteen statements at most."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from proofyard.charts.figure import Figure
from proofyard.charts.force_draw import draw_force_draw
from proofyard.charts.speed_by_mass import ArrowMark, FitPoint, draw_speed_by_mass
from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.archer import Archer
from proofyard.records.bow import Bow, BowBuild, BowCheck, DrawPoint
from proofyard.records.instrument import Instrument
from proofyard.records.listing import all_of, belonging, one
from proofyard.records.short_draws import newest_short_draws, short_draws_with
from proofyard.records.speed_facts import CombinationFact, archers_of_bow, combinations_of_bow
from proofyard.records.trial import Session as Day
from proofyard.shots.bow_curve import A_LITTLE_SHORT_M, Curve, Stored, curve_of, stored_to
from proofyard.shots.bow_days import Drift, ShortDraw, day_of, drifts, in_order
from proofyard.shots.bow_draw import DrawKnown, draw_of
from proofyard.shots.bow_speeds import MOST_ARROWS, BowSpeeds, Expected, bow_speeds, expected
from proofyard.shots.impact import Impacts
from proofyard.storage import Session
from proofyard.wording.reasons.said import said

LEAST_GRAINS_PER_POUND = 8.0
FEW_READINGS = 4
MOST_SHORT_DRAWS = 100


@dataclass(frozen=True)
class BowFound:
    """Everything of one build. `archer_id` is whose speeds are shown; `stored_at` the energy at that one's draw.

    stored    to the last point
    short_draws, short_count  the newest, and how many there are
    of_arrows  how many that archer has with it, where only the newest of them are in `speeds`; else 0
    expected  for an arrow of the mass asked about, or why not; None where none was asked about
    """

    bow: Bow
    build: BowBuild
    points: tuple[DrawPoint, ...]
    curve: Curve | CantTell
    stored: Stored | CantTell
    archer_id: str | None
    archers: dict[str, str]
    may_choose: tuple[str, ...]
    draw: DrawKnown
    stored_at: Stored | CantTell
    speeds: BowSpeeds
    checks: tuple[BowCheck, ...]
    drifts: tuple[Drift, ...]
    short_draws: tuple[ShortDraw, ...]
    tools: dict[str, Instrument]
    expected: Expected | CantTell | None
    force_draw: Figure | None = None
    speed_by_mass: Figure | None = None
    short_count: int = 0
    of_arrows: int = 0

    @property
    def name(self) -> str:
        return f"{self.bow.name}, build {self.build.number}"

    @property
    def energy(self) -> Stored | None:
        """What it stores at that archer's draw; `no_energy` says why that is None."""
        return None if isinstance(self.stored_at, CantTell) else self.stored_at

    @property
    def no_energy(self) -> Reason | None:
        return because("bow_why", why=self.stored_at.reason) if isinstance(self.stored_at, CantTell) else None

    @property
    def no_uncertainty(self) -> Reason | None:
        why = self.energy.why_no_uncertainty if self.energy else ""
        return because("bow_why", why=why) if why else None

    @property
    def further(self) -> Stored | None:
        """To the last point, where that lies beyond the archer's draw."""
        last = self.stored
        return last if isinstance(last, Stored) and self.energy and last.draw_m > self.energy.draw_m + 0.0005 else None

    @property
    def read_again(self) -> int:
        """How many draws were read more than once."""
        return self.curve.read_again if isinstance(self.curve, Curve) else 0

    @property
    def little_m(self) -> float:
        """How short a draw `energy.lost_a_little_j` is of."""
        return A_LITTLE_SHORT_M

    @property
    def finding(self) -> Reason:
        stored = self.energy
        if isinstance(self.stored_at, CantTell) or stored is None:
            said = because("bow_not_stored", why=self.stored_at.reason if isinstance(self.stored_at, CantTell) else "")
        else:
            source = self.draw.source if self.draw.draw_m is not None else None
            u = stored.energy.standard_uncertainty
            said = because("bow_stored", energy_j=stored.energy.value, u_j=u, draw_m=stored.draw_m, source=source)
        shares = [one.efficiency.value for one in self.speeds.arrows if one.efficiency]
        return because("bow_finding", stored=said, least=min(shares, default=None), most=max(shares, default=None))

    @property
    def brace_note(self) -> Reason | None:
        if isinstance(self.curve, CantTell) or not self.curve.rest_from_brace:
            return None
        return because("bow_brace_rest", brace_m=self.build.brace_height_m or 0.0)

    @property
    def arrow_notes(self) -> Iterator[Reason]:
        """What the table's figures rest on, and what is weak about them."""
        arrows = self.speeds.arrows
        few = sum((one.speed.n or 0) < FEW_READINGS for one in arrows)
        if few:
            yield because("bow_few_readings", few=few, arrows=len(arrows))
        yield from (because("bow_no_efficiency", why=why) for why in dict.fromkeys(one.why_no_efficiency for one in arrows) if why)
        if any(one.grains_per_pound is not None for one in arrows):
            yield because("bow_grains", weight=self.draw.weight_source)

    @property
    def left_out(self) -> Reason | None:
        """That only the newest of very many arrows are looked at."""
        return because("bow_newest_arrows", newest=MOST_ARROWS, of=self.of_arrows) if self.of_arrows else None

    @property
    def light(self) -> Reason | None:
        """A caution where an arrow is light for the bow."""
        gpp = [(one.fact.arrow_tag, one.grains_per_pound) for one in self.speeds.arrows]
        light = tuple(dict.fromkeys(tag for tag, found in gpp if found is not None and found < LEAST_GRAINS_PER_POUND))
        return because("bow_light", arrows=light, least_gpp=LEAST_GRAINS_PER_POUND) if light else None

    @property
    def fitted(self) -> bool:
        return not isinstance(self.speeds.fit, CantTell)

    @property
    def fit(self) -> Reason:
        """The fit in a sentence, or why there is none."""
        fit = self.speeds.fit
        if not self.speeds.arrows:
            return because("bow_no_speeds")
        if isinstance(fit, CantTell):
            return because("bow_no_fit", why=fit.reason)
        mass = fit.virtual_mass_kg
        return because("bow_fit", mass_kg=mass.value, u_kg=mass.standard_uncertainty, arrows=fit.arrows)

    @property
    def agreement(self) -> Reason | None:
        """How well the arrows agree with the fit."""
        fit = self.speeds.fit
        if isinstance(fit, CantTell):
            return None
        if fit.arrows == 2:
            return because("bow_two_agree")
        return because("bow_unread_agree") if fit.misfit is None else because("bow_agree", misfit=fit.misfit)

    @property
    def speed_expected(self) -> Expected | None:
        return None if isinstance(self.expected, CantTell) else self.expected

    @property
    def not_expected(self) -> Reason | None:
        return because("bow_why", why=self.expected.reason) if isinstance(self.expected, CantTell) else None

    @property
    def check_days(self) -> tuple[tuple[BowCheck, str], ...]:
        return tuple((check, day_of(check)) for check in self.checks)

    @property
    def changes(self) -> Iterator[Reason]:
        """How its weight changed within a day."""
        for drift in self.drifts:
            first, last = drift.first, drift.last
            yield because(
                "bow_drift",
                day=drift.day,
                who=self.archers.get(drift.archer_id or "", ""),
                first_n=first.weight_n or 0,
                last_n=last.weight_n or 0,
                share=drift.share,
                speed_share=drift.speed_share,
                first_k=first.temperature_k,
                last_k=last.temperature_k,
                arrows=last.arrows_since,
                why_not=drift.why_not,
            )

    @property
    def change_notes(self) -> Iterator[Reason]:
        """What a drift may be instead, and what the model leaves out."""
        if not self.drifts:
            return
        if self.energy and self.energy.little_worth_n > 0:
            yield because("bow_little_draw", draw_m=A_LITTLE_SHORT_M, worth_n=self.energy.little_worth_n)
        yield because("bow_model")

    @property
    def tools_to_pick(self) -> list[tuple[str, str]]:
        """What a force may have been read with, retired ones last."""
        standing = [one for one in self.tools.values() if one.voided_rev is None]
        standing.sort(key=lambda one: (bool(one.retired), one.name.lower()))
        return [(one.id, one.name + (", retired" if one.retired else "")) for one in standing]


def bow_found(
    session: Session, build_id: str, *, reader: str, archer_id: str | None = None, mass_kg: float | None = None
) -> BowFound | None:
    """None if there is no such build. `mass_kg`: of an arrow whose speed is asked for."""
    build = one(session, BowBuild, build_id)
    bow = one(session, Bow, build.bow_id) if build else None
    if build is None or bow is None:
        return None
    points = belonging(session, DrawPoint, "bow_build_id", build_id)
    checks = in_order(belonging(session, BowCheck, "bow_build_id", build_id))
    session_days = {one.id: one.day for one in belonging(session, Day, "id", [c.session_id for c in checks if c.session_id], voided=True)}
    people = {person.id: person for person in all_of(session, Archer, voided=True)}
    shot_by = _shot_by(session, build_id, archer_id)
    short_count = short_draws_with(session, build_id)
    short = newest_short_draws(session, build_id, most=MOST_SHORT_DRAWS) if short_count else []
    impacts = Impacts.load(session, short, also=[fact.arrow_build_id for fact in shot_by.facts])
    choices = shot_by.choices or _archers(shot_by.facts, impacts)
    whose = archer_id if archer_id in choices else next(iter(choices), None)
    tools = dict(impacts.tools)
    curve = curve_of(points, build.brace_height_m)
    stored = curve if isinstance(curve, CantTell) else stored_to(curve, points, tools=tools)
    draw = draw_of(bow, people.get(whose or ""), checks, curve=curve, brace_m=build.brace_height_m)
    at_draw = curve if isinstance(curve, CantTell) else stored_to(curve, points, tools=tools, draw_m=draw.draw_m)
    speeds = bow_speeds(impacts, [fact for fact in shot_by.facts if fact.archer_id == whose], stored=at_draw, weight_n=draw.weight_n)
    asked = None if mass_kg is None else speeds.fit if isinstance(speeds.fit, CantTell) else expected(speeds.fit, mass_kg)
    found = BowFound(
        bow=bow,
        build=build,
        points=tuple(points),
        curve=curve,
        stored=stored,
        archer_id=whose,
        archers={person.id: person.call_name for person in people.values()},
        may_choose=choices,
        draw=draw,
        stored_at=at_draw,
        speeds=speeds,
        checks=tuple(checks),
        drifts=drifts(checks, session_days),
        short_draws=tuple(
            ShortDraw(fact.shot_id, fact.label, fact.archer, fact.arrow_tag, fact.day, impacts.of_shot(fact).speed) for fact in short
        ),
        tools=tools,
        expected=asked,
        short_count=short_count,
        of_arrows=shot_by.of,
    )
    return replace(found, force_draw=_force_draw(found, reader), speed_by_mass=_speed_by_mass(found, reader))


def _force_draw(found: BowFound, reader: str) -> Figure | None:
    """None where the points make no curve."""
    curve = found.curve
    if not isinstance(curve, Curve):
        return None
    draw = found.draw.draw_m
    inside = draw is not None and curve.draws_m[0] < draw <= curve.draws_m[-1]
    return draw_force_draw(
        found.name,
        curve.draws_m,
        curve.forces_n,
        draw_unit=unit_for_reader("length", reader),
        force_unit=unit_for_reader("force", reader),
        energy_words=said(found.finding, reader),
        rest_taken=curve.rest_from_brace,
        up_to_m=draw if inside else None,
    )


def _speed_by_mass(found: BowFound, reader: str) -> Figure | None:
    """None where no arrow has both a speed and a mass."""
    if not found.speeds.arrows:
        return None
    marks = [
        ArrowMark(
            f"Arrow {one.fact.arrow_tag}, build {one.fact.arrow_build_number}",
            f"/combinations/{one.fact.combination_id}",
            one.mass.value,
            one.speed,
            one.speed.n or 1,
        )
        for one in found.speeds.arrows
    ]
    asked = found.speed_expected
    return draw_speed_by_mass(
        found.name,
        marks,
        [FitPoint(one.mass_kg, one.speed_m_s, one.u_m_s, one.inside) for one in found.speeds.curve],
        mass_unit=unit_for_reader("mass", reader),
        speed_unit=unit_for_reader("speed", reader),
        fit_words=said(found.fit, reader),
        asked=(asked.mass_kg, asked.speed, asked.inside) if asked else None,
    )


@dataclass(frozen=True)
class _ShotBy:
    """Combinations of a bow build that are looked at. choices: the archers, where not all are; of: then how many this archer has."""

    facts: Sequence[CombinationFact]
    choices: tuple[str, ...] = ()
    of: int = 0


def _shot_by(session: Session, build_id: str, archer_id: str | None) -> _ShotBy:
    """All of them, or of very many the newest of one archer."""
    every = tuple(combinations_of_bow(session, build_id, most=MOST_ARROWS + 1).values())
    if len(every) <= MOST_ARROWS:
        return _ShotBy(every)
    counts = archers_of_bow(session, build_id)
    whose = archer_id if archer_id in counts else next(iter(counts))
    newest = combinations_of_bow(session, build_id, archer_id=whose, most=MOST_ARROWS)
    return _ShotBy(tuple(newest.values()), tuple(counts), counts[whose] if counts[whose] > MOST_ARROWS else 0)


def _archers(mine: Sequence[CombinationFact], impacts: Impacts) -> tuple[str, ...]:
    """Who shot this build, most measured arrows first."""
    counts: dict[str, int] = {}
    for fact in mine:
        measured = impacts.of_combination(fact.combination_id).energy_at_chronograph_j is not None
        counts[fact.archer_id] = counts.get(fact.archer_id, 0) + measured
    return tuple(sorted(counts, key=lambda archer: -counts[archer]))
