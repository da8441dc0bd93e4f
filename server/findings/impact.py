"""What each shot was: mass, speed, energy and momentum where its speed was read and at the target, with their doubt.

A shot's own reading wins. Without one the mean of its pairing stands in, widened by how much single shots scatter;
a view may go further and pool like pairings, and says so. Where nothing was measured there is no energy, only the
reason: nothing is guessed.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from server.findings.arrow_drag import Drag, drag_of_arrow
from server.findings.at_target import AtTarget, Read, at_target
from server.findings.energy_and_momentum import energy_of, momentum_of
from server.findings.instrument_doubt import InstrumentDoubt, doubt_of, doubt_of_speeds
from server.findings.shot_doubts import SINGLE_SHOTS, Reckoned, doubts_of_mass, doubts_of_speed, missing_words
from server.findings.speed_places import mean_place, near_and_further, unknown_place
from server.findings.speed_without_chronograph import inputs_words
from server.physics.ranges import CantTell as NoWay
from server.physics.uncertainty_budget import Doubt
from server.quantities import Uncertain
from server.records.instrument import Instrument
from server.records.shot_facts import ShotFact
from server.records.speed_facts import (
    MassFact,
    PairingFact,
    SpeedFact,
    all_speeds,
    masses_and_instruments,
    pairings,
)
from server.statistics.pooled_readings import PooledReadings, pool_readings
from server.statistics.refusals import CantTell
from server.statistics.repeated_readings import Component, Readings, combine, summarise_readings, type_a, type_b
from server.storage import Session

ALIKE_MASS_RATIO = 0.02  # pairings pool only while their arrows' masses differ by no more than this
BASES = {
    "own": "read on this shot",
    "pairing": "mean of its pairing’s readings",
    "pooled": "mean of like pairings’ readings",
    "not_measured": "not measured",
}


@dataclass(frozen=True)
class Impact:
    """One shot's figures where its speed was read, in SI, and at the target. `why_not`: what is missing where there are none.

    doubts         every cause of doubt in mass and speed
    speed_note     in words where the speed comes from
    half_way       read by frames or sound: the mean over its flight, which is about its speed half way, at no chronograph
    from_m         where along the flight it was read; None if nobody said
    no_target      why there are none at the target; empty where there are
    """

    basis: str
    why_not: str | None
    mass: Uncertain | None
    speed: Uncertain | None
    energy_at_chronograph_j: Uncertain | None
    momentum_kg_m_s: Uncertain | None
    doubts: tuple[Doubt, ...] = ()
    speed_note: str = ""
    half_way: bool = False
    from_m: Uncertain | None = None
    at_target: AtTarget | None = None
    no_target: str = ""

    @property
    def measured(self) -> bool:
        return self.energy_at_chronograph_j is not None

    def energy_at(self, place: str) -> Uncertain | None:
        """At the "chronograph" or at the "target"."""
        if place == "chronograph":
            return self.energy_at_chronograph_j
        return self.at_target.energy_j if self.at_target else None

    def has_energy_at(self, place: str) -> bool:
        return self.measured if place == "chronograph" else self.at_target is not None


@dataclass(frozen=True)
class PairingSpeed:
    """What a pairing's readings say together.

    used, left_out    the readings, in order
    further           read further down range than the others: they tell what the air takes, and are in no mean
    stood_at          where along the flight the used ones were read; None if nobody said
    speed             mean with its standard uncertainty (type A of the mean, type B of the chronograph)
    single            the same mean as the speed of one shot more: its doubt holds the scatter of single shots too
    """

    pairing_id: str
    used: tuple[SpeedFact, ...]
    left_out: tuple[SpeedFact, ...]
    further: tuple[SpeedFact, ...]
    stood_at: Uncertain | None
    readings: Readings | None
    type_b: InstrumentDoubt | None
    speed: Uncertain | None
    single: Reckoned | None
    mass: Uncertain | None
    energy_at_chronograph_j: Uncertain | None
    momentum_kg_m_s: Uncertain | None
    pooled: PooledReadings | None
    pooled_with: tuple[str, ...]
    why_not: str | None

    @property
    def one_shot(self) -> Uncertain | None:
        return self.single.value if self.single else None


class Impacts:
    """The figures of every shot and pairing that a page needs, from readings fetched once."""

    def __init__(
        self,
        *,
        series: Sequence[SpeedFact],
        own: Sequence[SpeedFact],
        mass_facts: Sequence[MassFact],
        tools: Mapping[str, Instrument],
        known: Mapping[str, PairingFact],
        pool: bool = False,
    ) -> None:
        self.pool = pool
        self._tools, self._known = tools, known
        self._by_pairing: dict[str, list[SpeedFact]] = {}
        self._by_shot: dict[str, list[SpeedFact]] = {}
        self._masses: dict[str, list[MassFact]] = {}
        for fact in (*series, *own):
            self._by_pairing.setdefault(fact.pairing_id, []).append(fact)
        for fact in own:
            self._by_shot.setdefault(fact.shot_id or "", []).append(fact)
        for mass in mass_facts:
            self._masses.setdefault(mass.arrow_build_id, []).append(mass)
        self._pairing_cache: dict[str, PairingSpeed] = {}
        self._mass_cache: dict[str, Reckoned | None] = {}
        self._drag_cache: dict[tuple[str, float], Drag] = {}
        # Shots without a speed of their own, of one pairing at one set-up, have one and the same figures.
        self._alike_cache: dict[tuple[str, str], Impact] = {}

    @classmethod
    def load(cls, session: Session, facts: Sequence[ShotFact] | None = None, *, pool: bool = False) -> "Impacts":
        """Fetch what is needed, in three statements whatever the number of shots."""
        series, own = all_speeds(session)
        weighed, tools = masses_and_instruments(session)
        return cls(
            series=series,
            own=own,
            mass_facts=weighed,
            tools=tools,
            known=pairings(session),
            pool=pool,
        )

    @property
    def pairings(self) -> Mapping[str, PairingFact]:
        """Pairing id -> bow, arrow and archer of it."""
        return self._known

    def mass_of(self, arrow_build_id: str) -> Uncertain | None:
        """The mean of an arrow build's mass readings that were not left out; None if it was never weighed."""
        found = self._reckoned_mass(arrow_build_id)
        return found.value if found else None

    def _reckoned_mass(self, arrow_build_id: str) -> Reckoned | None:
        if arrow_build_id not in self._mass_cache:
            self._mass_cache[arrow_build_id] = self._mean_mass(arrow_build_id)
        return self._mass_cache[arrow_build_id]

    def _mean_mass(self, arrow_build_id: str) -> Reckoned | None:
        kept = [m for m in self._masses.get(arrow_build_id, ()) if m.left_out_reason is None]
        read = summarise_readings(m.value_kg for m in kept)
        if isinstance(read, CantTell):
            return None
        doubt = doubt_of((self._tools.get(m.instrument_id or "") for m in kept), read.mean)
        # A mass does not change from weighing to weighing, so one reading is as good as the scale.
        return _reckoned(read.mean, read.n, _type_a(read), doubt, tool="the scale’s")

    def of_pairing(self, pairing_id: str) -> PairingSpeed:
        """The mean speed of a pairing and what follows from it, pooled with like ones if this view pools."""
        if pairing_id not in self._pairing_cache:
            self._pairing_cache[pairing_id] = self._pairing(pairing_id)
        return self._pairing_cache[pairing_id]

    def _pairing(self, pairing_id: str) -> PairingSpeed:
        all_of = self._by_pairing.get(pairing_id, [])
        used, further = near_and_further(_counting(all_of))
        taken = {f.reading_id for f in (*used, *further)}
        left_out = tuple(f for f in all_of if f.reading_id not in taken)
        read = summarise_readings(f.value_m_s for f in used if f.value_m_s is not None)
        readings = None if isinstance(read, CantTell) else read
        known = self._known.get(pairing_id)
        mass = self.mass_of(known.arrow_build_id) if known else None
        pooled, pooled_with = self._pooled(pairing_id, used) if self.pool else (None, ())
        mean = pooled.mean if pooled else readings.mean if readings else None
        doubt = None if mean is None else doubt_of_speeds(used, self._tools, at_value=mean)
        speed = single = None
        if pooled and mean is not None:
            parts = list(pooled.components)
            speed = _reckoned(mean, pooled.n, parts, doubt, needs_type_a=True)
            single = _reckoned(mean, pooled.n, parts + _scatter(pooled.within_spread, pooled.n), doubt, needs_type_a=True)
        elif readings and mean is not None:
            speed = _reckoned(mean, readings.n, _type_a(readings), doubt, needs_type_a=True)
            single = _reckoned(
                mean, readings.n, _type_a(readings) + _scatter(readings.spread, readings.n), doubt, needs_type_a=True
            )
        value = speed.value if speed else None
        return PairingSpeed(
            pairing_id=pairing_id, used=used, left_out=left_out, further=further, stood_at=mean_place(used), readings=readings,
            type_b=doubt, speed=value, single=single, mass=mass, energy_at_chronograph_j=energy_of(mass, value),
            momentum_kg_m_s=momentum_of(mass, value), pooled=pooled, pooled_with=pooled_with,
            why_not=_missing(mass, value, known),
        )  # fmt: skip

    def _pooled(self, pairing_id: str, used: Sequence[SpeedFact]) -> tuple[PooledReadings | None, tuple[str, ...]]:
        like = self.like_pairings(pairing_id)
        groups = [used, *(self._speeds(other) for other in like)]
        found = pool_readings([f.value_m_s for f in group if f.value_m_s is not None] for group in groups)
        with_readings = tuple(other for other, group in zip(like, groups[1:], strict=True) if group)
        if isinstance(found, CantTell) or not with_readings:
            return None, ()
        return found, with_readings

    def _speeds(self, pairing_id: str) -> tuple[SpeedFact, ...]:
        return near_and_further(_counting(self._by_pairing.get(pairing_id, [])))[0]

    def like_pairings(self, pairing_id: str) -> tuple[str, ...]:
        """Pairings of the same bow build, archer and fletching whose arrows' masses are within ±2 %."""
        me = self._known.get(pairing_id)
        mass = self.mass_of(me.arrow_build_id) if me else None
        if me is None or mass is None:
            return ()
        return tuple(other for other, fact in self._known.items() if other != pairing_id and self._alike(me, fact, mass.value))

    def _alike(self, me: PairingFact, other: PairingFact, mass_kg: float) -> bool:
        same = (me.bow_build_id, me.archer_id, me.fletching) == (other.bow_build_id, other.archer_id, other.fletching)
        mass = self.mass_of(other.arrow_build_id) if same else None
        return mass is not None and abs(mass.value - mass_kg) <= ALIKE_MASS_RATIO * mass_kg

    def of_shot(self, fact: ShotFact) -> Impact:
        """The figures of one shot."""
        own = self._own_speed(fact)
        if own is not None:
            return self._told(fact, "own", own[0], own[1])
        if fact.short_draw:
            # The pairing's mean is of full draws: it says nothing of this one.
            return _not_measured(self.mass_of(fact.arrow_build_id), "It was a short draw, and no speed was read on it.")
        key = (fact.pairing_id, fact.setup_id)
        if key not in self._alike_cache:
            self._alike_cache[key] = self._by_mean(fact)
        return self._alike_cache[key]

    def _by_mean(self, fact: ShotFact) -> Impact:
        pairing = self.of_pairing(fact.pairing_id)
        if pairing.single is None:
            mass = self.mass_of(fact.arrow_build_id)
            return _not_measured(mass, _missing(mass, None, self._known.get(fact.pairing_id)) or "No speed was read.")
        return self._told(fact, "pooled" if pairing.pooled else "pairing", pairing.single, pairing.stood_at)

    def _told(self, fact: ShotFact, basis: str, speed: Reckoned, from_m: Uncertain | None) -> Impact:
        note = self._speed_note(fact, basis, speed)
        half_way = basis == "own" and {f.method for f in self._own_readings(fact)} <= {"frames", "sound"}
        mass = self._reckoned_mass(fact.arrow_build_id)
        if mass is None:
            why = f"Arrow {fact.arrow_tag}, build {fact.arrow_build_number}, was never weighed."
            return Impact("not_measured", why, None, speed.value, None, None, speed_note=note, half_way=half_way, from_m=from_m)
        doubts = (*doubts_of_mass(mass), *doubts_of_speed(speed, own=basis == "own"))
        place = from_m or unknown_place()
        words = "" if from_m else f"taken as {place.value:g} m, give or take as much, since nobody wrote it down"
        read = Read(mass.value, speed.value, doubts, missing_words((("mass", mass), ("speed", speed))), place, words)
        found = at_target(fact, read, drag=self._drag(fact, mass.value.value))
        return Impact(
            basis=basis, why_not=None, mass=mass.value, speed=speed.value, energy_at_chronograph_j=energy_of(mass.value, speed.value),
            momentum_kg_m_s=momentum_of(mass.value, speed.value), doubts=doubts, speed_note=note, half_way=half_way, from_m=from_m,
            at_target=None if isinstance(found, NoWay) else found, no_target=found.reason if isinstance(found, NoWay) else "",
        )  # fmt: skip

    def _drag(self, fact: ShotFact, mass_kg: float) -> Drag:
        """Of an arrow build, whoever shot it: what the air takes is the arrow's."""
        key = (fact.arrow_build_id, fact.shaft_diameter_m or 0.0)
        if key not in self._drag_cache:
            mine = {
                one.pairing_id: _counting(self._by_pairing.get(one.pairing_id, ()))
                for one in self._known.values()
                if one.arrow_build_id == fact.arrow_build_id
            }
            self._drag_cache[key] = drag_of_arrow(mine, mass_kg, diameter_m=key[1], tools=self._tools)
        return self._drag_cache[key]

    def _own_readings(self, fact: ShotFact) -> list[SpeedFact]:
        return [f for f in self._by_shot.get(fact.shot_id, ()) if f.left_out_reason is None and f.value_m_s is not None]

    def _own_speed(self, fact: ShotFact) -> tuple[Reckoned, Uncertain | None] | None:
        kept = self._own_readings(fact)
        if not kept:
            return None
        read = summarise_readings(f.value_m_s for f in kept if f.value_m_s is not None)
        assert not isinstance(read, CantTell)
        doubt = doubt_of_speeds(kept, self._tools, at_value=read.mean)
        return _reckoned(read.mean, read.n, _type_a(read), doubt), mean_place(kept)

    def _speed_note(self, fact: ShotFact, basis: str, found: Reckoned) -> str:
        parts, speed = [BASES[basis]], found.value
        if basis == "own":
            parts += [words for f in self._own_readings(fact) if (words := inputs_words(f.method, f.inputs, value_m_s=f.value_m_s))]
        else:
            parts.append(f"{speed.n} reading{'s' if speed.n != 1 else ''}; its doubt holds how much single shots scatter")
        if basis == "pooled":
            others = len(self.of_pairing(fact.pairing_id).pooled_with)
            parts.append(f"pooled with {others} like pairing{'s' if others != 1 else ''}, and so wider")
        if found.why_not_known:
            parts.append(f"its doubt can’t be told: {found.why_not_known}")
        return ", ".join(parts)


def _type_a(read: Readings) -> list[Component]:
    part = type_a(read)
    return [] if isinstance(part, CantTell) else [part]


def _scatter(spread: float | None, n: int) -> list[Component]:
    """How far one shot lies from the mean: the doubt of standing in for a shot that was not read."""
    return [] if not spread or n < 2 else [Component(SINGLE_SHOTS, spread, n - 1, "A")]


def _counting(facts: Iterable[SpeedFact]) -> tuple[SpeedFact, ...]:
    """Those that say something of a full draw."""
    return tuple(f for f in facts if f.left_out_reason is None and f.value_m_s is not None and not f.short_draw)


def _reckoned(
    mean: float,
    n: int,
    parts: Iterable[Component],
    doubt: InstrumentDoubt | None,
    *,
    needs_type_a: bool = False,
    tool: str = "the chronograph’s",
) -> Reckoned:
    parts = tuple(parts)
    if doubt is None:
        return Reckoned(Uncertain(mean, None, None, n), parts, None, f"{tool} accuracy is not written down")
    if needs_type_a and not parts:
        return Reckoned(Uncertain(mean, None, None, n), parts, doubt, "one reading has no spread")
    total = combine(*parts, type_b(doubt.words, doubt.standard_uncertainty))
    return Reckoned(Uncertain(mean, total.standard_uncertainty, total.dof if total.dof > 0 else None, n), parts, doubt)


def _missing(mass: Uncertain | None, speed: Uncertain | None, known: PairingFact | None) -> str | None:
    arrow = f"Arrow {known.arrow_tag}, build {known.arrow_build_number}" if known else "The arrow"
    bow = f"{known.bow_name}, build {known.bow_build_number}," if known else "the bow"
    if speed is None and mass is None:
        return f"{arrow}, was never weighed, and no speed was read for it with {bow} and this archer."
    if speed is None:
        return f"No speed was read for {arrow.lower()} with {bow} and this archer."
    if mass is None:
        return f"{arrow}, was never weighed."
    return None


def _not_measured(mass: Uncertain | None, why: str) -> Impact:
    return Impact("not_measured", why, mass, None, None, None, no_target=why)
