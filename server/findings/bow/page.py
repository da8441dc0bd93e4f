"""One bow build: what it stores, what its arrows get of it, how it stood on its days. Twelve statements at most."""

from dataclasses import dataclass

from server.findings.bow.curve import Curve, Stored, curve_of, stored_to
from server.findings.bow.days import Drift, ShortDraw, drifts, in_order
from server.findings.bow.speeds import BowSpeeds, bow_speeds
from server.findings.impact import Impacts
from server.physics.ranges import CantTell
from server.records.archer import Archer
from server.records.bow import Bow, BowBuild, BowCheck, DrawPoint
from server.records.instrument import Instrument
from server.records.listing import all_of, belonging, one
from server.records.shot_facts import shot_facts
from server.records.speed_facts import PairingFact, instruments, masses, pairings, speeds_of_series, speeds_of_shots
from server.storage import Session


@dataclass(frozen=True)
class DrawKnown:
    """How far the archer draws this bow, and where that is from; `weight_n` is what the bow has there."""

    draw_m: float | None
    words: str
    weight_n: float | None
    weight_words: str


@dataclass(frozen=True)
class BowFound:
    """Everything of one build. `archer_id` is whose speeds are shown; `stored_at` the energy at that one's draw.

    stored  to the last point
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


def bow_found(session: Session, build_id: str, *, archer_id: str | None = None) -> BowFound | None:
    """None if there is no such build."""
    build = one(session, BowBuild, build_id)
    bow = one(session, Bow, build.bow_id) if build else None
    if build is None or bow is None:
        return None
    points = belonging(session, DrawPoint, "bow_build_id", build_id)
    checks = in_order(belonging(session, BowCheck, "bow_build_id", build_id))
    people = {person.id: person for person in all_of(session, Archer, struck=True)}
    known, tools = pairings(session), instruments(session)
    impacts = Impacts(
        series=speeds_of_series(session), own=speeds_of_shots(session), mass_facts=masses(session), tools=tools, known=known
    )
    mine = [fact for fact in known.values() if fact.bow_build_id == build_id]
    choices = _archers(mine, impacts)
    whose = archer_id if archer_id in choices else next(iter(choices), None)
    curve = curve_of(points, build.brace_height_m)
    stored = curve if isinstance(curve, CantTell) else stored_to(curve, points, tools=tools)
    draw = _draw_of(bow, people.get(whose or ""), checks, curve=curve)
    at_draw = curve if isinstance(curve, CantTell) else stored_to(curve, points, tools=tools, draw_m=draw.draw_m)
    short = shot_facts(session, bow_build_id=build_id, short_draw=["1"])
    return BowFound(
        bow=bow, build=build, points=tuple(points), curve=curve, stored=stored, archer_id=whose,
        archers={person.id: person.call_name for person in people.values()}, may_choose=choices, draw=draw, stored_at=at_draw,
        speeds=bow_speeds(impacts, [fact for fact in mine if fact.archer_id == whose], stored=at_draw, weight_n=draw.weight_n),
        checks=tuple(checks), drifts=drifts(checks),
        short_draws=tuple(
            ShortDraw(fact.shot_id, fact.label, fact.archer, fact.arrow_tag, fact.day, impacts.of_shot(fact).speed) for fact in short
        ),
        tools=tools,
    )  # fmt: skip


def _archers(mine: list[PairingFact], impacts: Impacts) -> tuple[str, ...]:
    """Who shot this build, most measured arrows first."""
    counts: dict[str, int] = {}
    for fact in mine:
        measured = impacts.of_pairing(fact.pairing_id).energy_at_chronograph_j is not None
        counts[fact.archer_id] = counts.get(fact.archer_id, 0) + measured
    return tuple(sorted(counts, key=lambda archer: -counts[archer]))


def _draw_of(bow: Bow, archer: Archer | None, checks: list[BowCheck], *, curve: Curve | CantTell) -> DrawKnown:
    """The archer's last check says it; else the archer's own draw, if this bow's draw is measured as that is."""
    who = archer.call_name if archer else ""
    own = [check for check in checks if archer and check.archer_id == archer.id]
    last = next((check for check in reversed(own) if check.draw_m is not None), None)
    if last is not None:
        draw, words = last.draw_m, f"{who}’s draw at the last check of this bow"
    elif archer and archer.draw_length_m is not None and bow.draw_from in (None, "back", "unknown"):
        draw, words = archer.draw_length_m, f"{who}’s draw to the back of the bow"
    else:
        draw, words = None, f"to the last point: how far {who} draws this bow is not written down" if who else "to the last point"
    if isinstance(curve, Curve):
        end = curve.draws_m[-1] if draw is None else draw
        if curve.draws_m[0] < end <= curve.draws_m[-1] + 0.0005:
            return DrawKnown(draw, words, curve.force_at(end), "by the force-draw points")
    weighed = next((check for check in reversed(own) if check.weight_n), None)
    if weighed is not None:
        return DrawKnown(draw, words, weighed.weight_n, f"at {who}’s last check")
    return DrawKnown(draw, words, bow.marked_weight_n, "as marked on the bow" if bow.marked_weight_n else "")
