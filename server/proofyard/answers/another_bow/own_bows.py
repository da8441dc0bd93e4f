"""The archers' own bows, as far as they tell what another would do: weight, stroke and the speeds of their arrows."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from proofyard.physics.another_bow import AnotherBow, OwnBow, speed_of_another_bow
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.speed_facts import CombinationFact
from proofyard.shots.bow_records import BowRecords
from proofyard.shots.bow_speeds import BowSpeeds, bow_speeds
from proofyard.shots.impact import Impacts

# Where nobody wrote a brace height down: common practice, no source.
BRACE_M = 0.160


@dataclass(frozen=True)
class ShotBow:
    """One bow build as one archer shoots it. `brace_assumed`: its brace height is not recorded."""

    words: str
    href: str
    own: OwnBow
    draw_m: float
    weight_source: Reason | None
    brace_assumed: bool
    speeds: BowSpeeds

    @property
    def mean_arrow_kg(self) -> float:
        return _mean([one.mass.value for one in self.speeds.arrows])

    @property
    def mean_speed_m_s(self) -> float:
        return _mean([one.speed.value for one in self.speeds.arrows])


@dataclass(frozen=True)
class OwnBows:
    """Those that can be used, weakest first, and the others with what they lack."""

    shot: tuple[ShotBow, ...]
    not_used: tuple[Reason, ...]

    @property
    def strongest(self) -> ShotBow:
        return self.shot[-1]

    @cached_property
    def scale_u(self) -> float:
        """The chronograph's share, common to all; 0 where it isn't known."""
        return max((one.speeds.scale_u or 0.0 for one in self.shot), default=0.0)

    @cached_property
    def stood_at_m(self) -> float:
        """Mean place where the speeds were read, from the bow; 0 where nobody said."""
        places = [arrow.found.stood_at for one in self.shot for arrow in one.speeds.arrows]
        known = [place.value for place in places if place is not None]
        return _mean(known) if known else 0.0

    def speed_of(self, weight_n: float, *, draw_m: float, arrow_kg: float) -> AnotherBow | CantTell:
        """Of another bow, drawn so far."""
        stroke = draw_m - _mean([one.draw_m - one.own.stroke_m for one in self.shot]) if self.shot else draw_m
        if stroke <= 0:
            return CantTell(because("drawn_within_the_brace"))
        return speed_of_another_bow(
            [one.own for one in self.shot], weight_n, stroke_m=stroke, arrow_kg=arrow_kg, speed_scale_u=self.scale_u
        )

    def without(self, bow: str) -> "OwnBows":
        """As if that bow had never been shot."""
        return OwnBows(tuple(one for one in self.shot if one.own.bow != bow), ())


def own_bows(records: BowRecords, impacts: Impacts, known: Sequence[CombinationFact]) -> OwnBows:
    """`known`: the combinations that may be used."""
    groups: dict[tuple[str, str], list[CombinationFact]] = {}
    for fact in known:
        groups.setdefault((fact.bow_build_id, fact.archer_id), []).append(fact)
    found = [_shot_bow(facts, records, impacts=impacts) for facts in groups.values()]
    shot = [one for one in found if not isinstance(one, Reason)]
    lacking = [one for one in found if isinstance(one, Reason)]
    return OwnBows(tuple(sorted(shot, key=lambda one: (one.own.weight_n, one.words))), tuple(lacking))


def _shot_bow(facts: Sequence[CombinationFact], records: BowRecords, *, impacts: Impacts) -> ShotBow | Reason:
    """Of one build and archer. Or what it lacks."""
    build = records.builds[facts[0].bow_build_id]
    bow = records.bows[build.bow_id]
    words = f"{bow.name}{f', build {build.number}' if build.number > 1 else ''}, {facts[0].archer}"
    speeds = bow_speeds(impacts, facts, stored=CantTell(because("no_force_read")), weight_n=None)
    if not speeds.arrows:
        return because("bow_without_speeds", bow=words, arrows=len(facts))
    known = records.drawn(build.id, facts[0].archer_id)
    draw = known.draw_m or records.longest_draw_m(build.id)
    if known.weight_n is None:
        return because("bow_without_weight", bow=words)
    if draw is None:
        return because("bow_without_draw", bow=words)
    stroke = draw - (build.brace_height_m or BRACE_M)
    if stroke <= 0:
        return because("bow_drawn_within_its_brace", bow=words)
    return ShotBow(
        words=words,
        href=f"/bows/{build.id}",
        own=OwnBow(bow.id, known.weight_n, stroke, speeds.for_the_fit),
        draw_m=draw,
        weight_source=known.weight_source,
        brace_assumed=build.brace_height_m is None,
        speeds=speeds,
    )


@dataclass(frozen=True)
class Foretold:
    """One own bow as the others foretell it, beside what was measured. `held`: the range holds it."""

    bow: ShotBow
    measured_m_s: float
    arrow_kg: float
    low_m_s: float
    high_m_s: float

    @property
    def held(self) -> bool:
        return self.low_m_s <= self.measured_m_s <= self.high_m_s


def foretold(own: OwnBows) -> tuple[Foretold, ...]:
    """Each own bow by the others alone; none with a single bow, or where the others are too far from it."""
    told = []
    for one in own.shot:
        others = own.without(one.own.bow)
        found = others.speed_of(one.own.weight_n, draw_m=one.draw_m, arrow_kg=one.mean_arrow_kg)
        if isinstance(found, AnotherBow):
            told.append(Foretold(one, one.mean_speed_m_s, one.mean_arrow_kg, found.low_m_s, found.high_m_s))
    return tuple(told)


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)
