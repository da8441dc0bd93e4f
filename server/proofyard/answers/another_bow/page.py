"""What another bow would do: its arrow's speed from the archers' own bows, its energy at the target, the share through with each head."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from proofyard.answers.another_bow.ask import AnotherBowAsked, another_bow_asked
from proofyard.answers.another_bow.flown import Flown, Question, Ranged, flown
from proofyard.answers.another_bow.heads import HeadThere, counted_by_verdict, heads_shot, heads_there
from proofyard.answers.another_bow.own_bows import Foretold, OwnBows, ShotBow, foretold, own_bows
from proofyard.answers.another_bow.question import question_of
from proofyard.charts.energy_chain import EnergyRow, draw_energy_chain
from proofyard.charts.figure import Figure
from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.shot_facts import shot_facts
from proofyard.records.speed_facts import all_speeds, combinations, masses_and_instruments
from proofyard.shots.bow_records import bow_records
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import Loosed, loosed_with
from proofyard.storage import Storage
from proofyard.views.address import Query
from proofyard.wording.counts import capital
from proofyard.wording.reasons.said import said

MEASURED_MOST = 3  # of what is not used, this many lines; the rest as a number


@dataclass(frozen=True)
class AnotherBowFound:
    """All that the page shows. `way`: None where nothing was asked or nothing can be reckoned; then `why_not` and `helps` say why.

    own_rows  each own bow: its words, address, and what is told of it
    """

    asked: AnotherBowAsked
    problems: dict[str, str]
    reader: str
    own: OwnBows
    way: Flown | None = None
    why_not: Reason | None = None
    helps: Reason | None = None
    heads: tuple[HeadThere, ...] = ()
    foretold: tuple[Foretold, ...] = ()
    cautions: tuple[Reason, ...] = ()
    drawing: Figure | None = None
    finding: Reason | None = field(default=None)

    @property
    def lead(self) -> Iterator[Reason]:
        """What the energy does, and what the range holds."""
        if self.way is None:
            return
        by = counted_by_verdict(self.heads)
        through, held = (tuple(one.named for one in self.heads if one.verdict == verdict) for verdict in ("through", "held"))
        yield because("another_bow_verdicts", through=through, held=held, open=by["open"], untold=by["none"], of=len(self.heads))
        yield because("another_bow_range", bows=self.own_count, arrows=self.way.bow.arrows)

    @property
    def own_count(self) -> int:
        return len({one.own.bow for one in self.own.shot})

    @property
    def own_rows(self) -> tuple[tuple[ShotBow, tuple[Reason, ...]], ...]:
        by_bow = {id(one.bow): one for one in self.foretold}
        return tuple((one, tuple(_own_cells(one, by_bow.get(id(one))))) for one in self.own.shot)

    @property
    def steps(self) -> tuple[tuple[Reason, Reason], ...]:
        """The arrow's way: what, and how much."""
        if self.way is None:
            return ()
        way, asked = self.way, self.way.question
        return (
            (because("step_speed_leaving"), _speed(way.bow.speed.value, way.bow.low_m_s, way.bow.high_m_s)),
            (because("step_energy_leaving"), _energy(way.leaving_j.value, way.leaving_j.low, way.leaving_j.high)),
            (
                because("step_speed_there", distance_m=asked.distance_m),
                _speed(way.speed_there.value, way.speed_there.low, way.speed_there.high),
            ),
            (
                because("step_energy_there", distance_m=asked.distance_m),
                _energy(way.at_target_j.value, way.at_target_j.low, way.at_target_j.high),
            ),
            (
                because("step_arrow_share"),
                because("arrow_share", share=way.bow.arrow_share.value, u=way.bow.arrow_share.standard_uncertainty or 0.0),
            ),
        )

    @property
    def rests_on(self) -> Iterator[Reason]:
        """What was taken where nothing was typed, and which bows are not used."""
        if self.way is not None:
            asked = self.way.question
            taken = tuple(_taken(name, asked, self.own.strongest) for name in asked.taken)
            if taken:
                yield because("another_bow_took", taken=taken)
            yield because("another_bow_flight", drag=asked.drag.source)
        if any(one.brace_assumed for one in self.own.shot):
            yield because("another_bow_brace")
        yield from self.own.not_used[:MEASURED_MOST]
        if len(self.own.not_used) > MEASURED_MOST:
            yield because("another_bow_more_not_used", more=len(self.own.not_used) - MEASURED_MOST)


def read_another_bow(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> AnotherBowFound:
    """As an address asks for it. `only_trial`: all that this viewer may see."""
    asked = another_bow_asked(query)
    with book.read() as session:
        facts = shot_facts(session, voided=True)
        series, shots_own = all_speeds(session)
        known = combinations(session)
        weighed, tools = masses_and_instruments(session)
        impacts = Impacts(series=series, own=shots_own, mass_facts=weighed, tools=tools, known=known)
        loosed = loosed_with(session, facts, impacts=impacts).of_trial(only_trial)
        usable = list(known.values())
        if only_trial is not None:
            seen = {shot.fact.combination_id for shot in loosed.shots}
            usable = [fact for fact in usable if fact.combination_id in seen]
        own = own_bows(bow_records(session), impacts, usable)
    return another_bow(loosed, asked, own=own, reader=reader)


def another_bow(loosed: Loosed, asked: AnotherBowAsked, *, own: OwnBows, reader: str) -> AnotherBowFound:
    """Of these shots and bows."""
    problems = dict(asked.problems)
    if not own.shot:
        why, helps = because("another_bow_no_bow"), because("another_bow_needs", not_used=own.not_used[:MEASURED_MOST])
        return AnotherBowFound(asked, problems, reader, own, why_not=why, helps=helps, finding=because("another_bow_not_told", why=why))
    if asked.weight_n is None or problems:
        return AnotherBowFound(asked, problems, reader, own, foretold=foretold(own))
    question = question_of(asked, own, loosed.shots)
    if isinstance(question, Reason):
        return AnotherBowFound(asked, problems, reader, own, why_not=question, finding=because("another_bow_not_told", why=question))
    way = flown(question, own)
    if isinstance(way, CantTell):
        finding = because("another_bow_not_told", why=way.reason)
        return AnotherBowFound(asked, problems, reader, own, why_not=way.reason, foretold=foretold(own), finding=finding)
    heads = heads_there(heads_shot(loosed, through=asked.through, fair=asked.fair), way.at_target_j)
    return AnotherBowFound(
        asked=asked,
        problems=problems,
        reader=reader,
        own=own,
        way=way,
        heads=heads,
        foretold=foretold(own),
        cautions=tuple(_cautions(way, own, heads)),
        drawing=_drawing(way, heads, reader),
        finding=_finding(way, asked),
    )


def _finding(way: Flown, asked: AnotherBowAsked) -> Reason:
    """The answer in one sentence."""
    there, speed = way.at_target_j, way.bow
    return because(
        "another_bow_found",
        mass_kg=way.question.mass_kg,
        weight_n=way.question.weight_n,
        typed=tuple(asked.typed[name] for name in ("mass", "weight", "distance")),
        speed_m_s=speed.speed.value,
        speed_low_m_s=speed.low_m_s,
        speed_high_m_s=speed.high_m_s,
        distance_m=way.question.distance_m,
        energy_j=there.value,
        low_j=there.low,
        high_j=there.high,
        beyond=bool(speed.beyond),
    )


def _cautions(way: Flown, own: OwnBows, heads: Sequence[HeadThere]) -> Iterator[Reason]:
    """What to check before it is trusted, the gravest first."""
    bow, weights = way.bow, [one.own.weight_n for one in own.shot]
    if "weight" in bow.beyond:
        yield because("another_bow_beyond_weight", low_n=min(weights), high_n=max(weights))
    if "arrow" in bow.beyond:
        ratios = [arrow.mass_kg / one.own.weight_n for one in own.shot for arrow in one.own.arrows]
        asked = way.question.mass_kg / way.question.weight_n
        yield because("another_bow_beyond_arrow", kg_per_n=asked, low_kg_per_n=min(ratios), high_kg_per_n=max(ratios))
    if "stroke" in bow.beyond:
        yield because("another_bow_beyond_draw", low_m=min(one.draw_m for one in own.shot), high_m=max(one.draw_m for one in own.shot))
    if bow.bows == 1:
        yield because("another_bow_one_bow", bow=own.strongest.words)
    told = [one for one in heads if not isinstance(one.found, CantTell)]
    outside = sum(one.beyond == "all" for one in told)
    if outside:
        yield because("another_bow_beyond_energies", heads=outside, of=len(told))
    if told:
        yield because("another_bow_same_arrows")


def _own_cells(one: ShotBow, told: Foretold | None) -> Iterator[Reason]:
    fit = one.speeds.fit
    yield because("own_bow_draws", weight_n=one.own.weight_n, source=one.weight_source, draw_m=one.draw_m)
    masses = [arrow.mass.value for arrow in one.speeds.arrows]
    yield because("own_bow_arrows", arrows=len(masses), low_kg=min(masses), high_kg=max(masses), speed_m_s=one.mean_speed_m_s)
    if isinstance(fit, CantTell):
        yield because("own_bow_no_virtual_mass")
    else:
        mass = fit.virtual_mass_kg
        yield because("own_bow_virtual_mass", mass_kg=mass.value, u_kg=mass.standard_uncertainty)
    if told is None:
        yield because("own_bow_not_foretold")
    else:
        yield because("own_bow_foretold", low_m_s=told.low_m_s, high_m_s=told.high_m_s, held=told.held)


def _taken(name: str, asked: Question, strongest: ShotBow) -> Reason:
    if name == "mass":
        return because("took_mass", mass_kg=asked.mass_kg, bow=strongest.words)
    if name == "distance":
        return because("took_distance", distance_m=asked.distance_m)
    if name == "draw":
        return because("took_draw", draw_m=asked.draw_m, bow=strongest.words)
    return because("took_shaft", shaft_m=asked.shaft_m, arrow=asked.like_arrow)


def _speed(value: float, low: float, high: float) -> Reason:
    return because("speed_ranged", speed_m_s=value, low_m_s=low, high_m_s=high)


def _energy(value: float, low: float, high: float) -> Reason:
    return because("energy_ranged", energy_j=value, low_j=low, high_j=high)


def _drawing(way: Flown, heads: Sequence[HeadThere], reader: str) -> Figure:
    there, leaving, distance = way.at_target_j, way.leaving_j, way.question.distance_m
    steps = [
        (said(because("step_energy_leaving"), reader), leaving),
        (said(because("step_energy_there", distance_m=distance), reader), there),
    ]
    rows = [_way_row(words, energy, reader) for words, energy in steps] + [_head_row(one, reader) for one in heads]
    unit = unit_for_reader("energy", reader)
    table = [(f"The arrow: {one.words[:1].lower()}{one.words[1:]}", one.beside, "") for one in rows[:2]]
    table += [(f"{one.row.words}, {one.on}", said(one.share, reader), said(one.told, reader)) for one in heads]
    return draw_energy_chain(
        said(because("another_bow_chart"), reader),
        rows,
        band_j=(there.low, there.value, there.high),
        unit=unit,
        words=". ".join(f"{one.heading}, {one.words}: {one.said}" if one.heading else f"{one.words}: {one.said}" for one in rows) + ".",
        columns=("Head and armour", "Share through, or energy", "50\N{NO-BREAK SPACE}% energy"),
        table=table,
    )


def _way_row(words: str, energy: Ranged, reader: str) -> EnergyRow:
    told = said(_energy(energy.value, energy.low, energy.high), reader)
    return EnergyRow(words, told, told, energy.value, energy.low, energy.high, way=True)


def _head_row(one: HeadThere, reader: str) -> EnergyRow:
    point = one.fifty_percent.point
    told = f"{said(one.share, reader)}; {said(one.told, reader)}"
    return EnergyRow(
        one.row.words,
        said(one.brief, reader),
        told,
        point.energy_j if point else None,
        point.low_j if point else None,
        point.high_j if point else None,
        heading=capital(one.on),
        glyph=one.row.glyph,
        href=one.href,
    )
