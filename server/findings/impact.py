"""What each shot was: mass, speed, energy and momentum at the chronograph, with the doubt that each carries.

A shot's own reading wins. Without one the mean of its pairing stands in, widened by how much single shots scatter;
a view may go further and pool like pairings, and says so. Where nothing was measured there is no energy, only the
reason: nothing is guessed.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from server.findings.instrument_doubt import InstrumentDoubt, doubt_of, doubt_of_speeds
from server.physics.energy import kinetic_energy_j, momentum_kg_m_s, momentum_uncertainty_kg_m_s
from server.quantities import Uncertain
from server.records.instrument import Instrument
from server.records.shot_facts import ShotFact
from server.records.speed_facts import (
    MassFact,
    PairingFact,
    SpeedFact,
    instruments,
    masses,
    pairings,
    speeds_of_series,
    speeds_of_shots,
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
class ImpactStep:
    """One line of how a figure came about. `shown_as` is a row of quantities.UNITS_FOR_READER."""

    words: str
    value: Uncertain | None
    shown_as: str
    note: str = ""
    noun: str | None = None
    record_id: str | None = None
    last: bool = False


@dataclass(frozen=True)
class Impact:
    """One shot's figures at the chronograph, in SI. `why_not` says what is missing where there are none."""

    basis: str
    why_not: str | None
    mass: Uncertain | None
    speed: Uncertain | None
    energy_at_chronograph_j: Uncertain | None
    momentum_kg_m_s: Uncertain | None
    steps: tuple[ImpactStep, ...]

    @property
    def measured(self) -> bool:
        return self.energy_at_chronograph_j is not None


@dataclass(frozen=True)
class PairingSpeed:
    """What a pairing's readings say together.

    used, left_out    the readings, in order
    speed             mean with its standard uncertainty (type A of the mean, type B of the chronograph)
    one_shot          the same mean as the speed of one shot more: its doubt holds the scatter of single shots too
    """

    pairing_id: str
    used: tuple[SpeedFact, ...]
    left_out: tuple[SpeedFact, ...]
    readings: Readings | None
    type_b: InstrumentDoubt | None
    speed: Uncertain | None
    one_shot: Uncertain | None
    mass: Uncertain | None
    energy_at_chronograph_j: Uncertain | None
    momentum_kg_m_s: Uncertain | None
    pooled: PooledReadings | None
    pooled_with: tuple[str, ...]
    why_not: str | None


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
        self._mass_cache: dict[str, Uncertain | None] = {}

    @classmethod
    def load(cls, session: Session, facts: Sequence[ShotFact] | None = None, *, pool: bool = False) -> "Impacts":
        """Fetch what is needed, in five statements whatever the number of shots."""
        return cls(
            series=speeds_of_series(session),
            own=speeds_of_shots(session),
            mass_facts=masses(session),
            tools=instruments(session),
            known=pairings(session),
            pool=pool,
        )

    def mass_of(self, arrow_build_id: str) -> Uncertain | None:
        """The mean of an arrow build's mass readings that were not left out; None if it was never weighed."""
        if arrow_build_id not in self._mass_cache:
            self._mass_cache[arrow_build_id] = self._mean_mass(arrow_build_id)
        return self._mass_cache[arrow_build_id]

    def _mean_mass(self, arrow_build_id: str) -> Uncertain | None:
        kept = [m for m in self._masses.get(arrow_build_id, ()) if m.left_out_reason is None]
        read = summarise_readings(m.value_kg for m in kept)
        if isinstance(read, CantTell):
            return None
        doubt = doubt_of((self._tools.get(m.instrument_id or "") for m in kept), read.mean)
        # A mass does not change from weighing to weighing, so one reading is as good as the scale.
        return _uncertain(read.mean, read.n, _type_a(read), doubt)

    def of_pairing(self, pairing_id: str) -> PairingSpeed:
        """The mean speed of a pairing and what follows from it, pooled with like ones if this view pools."""
        if pairing_id not in self._pairing_cache:
            self._pairing_cache[pairing_id] = self._pairing(pairing_id)
        return self._pairing_cache[pairing_id]

    def _pairing(self, pairing_id: str) -> PairingSpeed:
        all_of = self._by_pairing.get(pairing_id, [])
        used = tuple(f for f in all_of if f.left_out_reason is None and f.value_m_s is not None and not f.short_draw)
        left_out = tuple(f for f in all_of if f not in used)
        read = summarise_readings(f.value_m_s for f in used if f.value_m_s is not None)
        readings = None if isinstance(read, CantTell) else read
        known = self._known.get(pairing_id)
        mass = self.mass_of(known.arrow_build_id) if known else None
        pooled, pooled_with = self._pooled(pairing_id, used) if self.pool else (None, ())
        mean = pooled.mean if pooled else readings.mean if readings else None
        doubt = None if mean is None else doubt_of_speeds(used, self._tools, at_value=mean)
        speed = one_shot = None
        if pooled and mean is not None:
            parts = list(pooled.components)
            speed = _uncertain(mean, pooled.n, parts, doubt, needs_type_a=True)
            one_shot = _uncertain(mean, pooled.n, parts + _scatter(pooled.within_spread, pooled.n), doubt, needs_type_a=True)
        elif readings and mean is not None:
            speed = _uncertain(mean, readings.n, _type_a(readings), doubt, needs_type_a=True)
            one_shot = _uncertain(
                mean, readings.n, _type_a(readings) + _scatter(readings.spread, readings.n), doubt, needs_type_a=True
            )
        return PairingSpeed(
            pairing_id=pairing_id, used=used, left_out=left_out, readings=readings, type_b=doubt, speed=speed, one_shot=one_shot,
            mass=mass, energy_at_chronograph_j=energy_of(mass, speed), momentum_kg_m_s=momentum_of(mass, speed),
            pooled=pooled, pooled_with=pooled_with, why_not=_missing(mass, speed, known),
        )  # fmt: skip

    def _pooled(self, pairing_id: str, used: Sequence[SpeedFact]) -> tuple[PooledReadings | None, tuple[str, ...]]:
        like = self.like_pairings(pairing_id)
        groups = [used, *(self._speeds(other) for other in like)]
        found = pool_readings([f.value_m_s for f in group if f.value_m_s is not None] for group in groups)
        with_readings = tuple(other for other, group in zip(like, groups[1:], strict=True) if group)
        if isinstance(found, CantTell) or not with_readings:
            return None, ()
        return found, with_readings

    def _speeds(self, pairing_id: str) -> list[SpeedFact]:
        return [
            f
            for f in self._by_pairing.get(pairing_id, [])
            if f.left_out_reason is None and f.value_m_s is not None and not f.short_draw
        ]

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
        """The figures of one shot, and the way to them step by step."""
        mass = self.mass_of(fact.arrow_build_id)
        own = self._own_speed(fact)
        pairing = self.of_pairing(fact.pairing_id)
        if own is not None:
            basis, speed = "own", own
        elif fact.short_draw:
            # The pairing's mean is of full draws: it says nothing of this one.
            return _not_measured(mass, "It was a short draw, and no speed was read on it.")
        elif pairing.one_shot is not None:
            basis, speed = ("pooled" if pairing.pooled else "pairing"), pairing.one_shot
        else:
            return _not_measured(mass, _missing(mass, None, self._known.get(fact.pairing_id)) or "No speed was read.")
        if mass is None:
            why = f"Arrow {fact.arrow_tag}, build {fact.arrow_build_number}, was never weighed."
            return Impact("not_measured", why, None, speed, None, None, self._steps(fact, basis, mass, speed))
        return Impact(
            basis=basis, why_not=None, mass=mass, speed=speed, energy_at_chronograph_j=energy_of(mass, speed),
            momentum_kg_m_s=momentum_of(mass, speed), steps=self._steps(fact, basis, mass, speed),
        )  # fmt: skip

    def _own_speed(self, fact: ShotFact) -> Uncertain | None:
        kept = [f for f in self._by_shot.get(fact.shot_id, ()) if f.left_out_reason is None and f.value_m_s is not None]
        if not kept:
            return None
        read = summarise_readings(f.value_m_s for f in kept if f.value_m_s is not None)
        assert not isinstance(read, CantTell)
        doubt = doubt_of_speeds(kept, self._tools, at_value=read.mean)
        return _uncertain(read.mean, read.n, _type_a(read), doubt)

    def _steps(self, fact: ShotFact, basis: str, mass: Uncertain | None, speed: Uncertain) -> tuple[ImpactStep, ...]:
        weighed = f"{mass.n} reading{'s' if mass.n != 1 else ''}" if mass and mass.n else "never weighed"
        steps = [
            ImpactStep(
                f"Arrow {fact.arrow_tag}, build {fact.arrow_build_number}, weighed", mass, "mass", weighed, "arrow", fact.arrow_id
            ),
            ImpactStep("Speed at the chronograph", speed, "speed", self._speed_note(fact, basis, speed), "pairing", fact.pairing_id),
        ]
        energy, momentum = energy_of(mass, speed), momentum_of(mass, speed)
        if momentum is not None:
            steps.append(ImpactStep("Momentum at the chronograph, m v", momentum, "momentum"))
        if energy is not None:
            steps.append(ImpactStep("Energy at the chronograph, ½ m v²", energy, "energy", last=True))
        return tuple(steps)

    def _speed_note(self, fact: ShotFact, basis: str, speed: Uncertain) -> str:
        parts = [BASES[basis]]
        if basis != "own":
            parts.append(f"{speed.n} reading{'s' if speed.n != 1 else ''}; its doubt holds how much single shots scatter")
        if basis == "pooled":
            parts.append(f"pooled with {len(self.of_pairing(fact.pairing_id).pooled_with)} like pairings, and so wider")
        if fact.chronograph_at_m is not None and basis == "own":
            parts.append(f"{fact.chronograph_at_m:g} m from the bow")
        if speed.standard_uncertainty is None:
            parts.append("its doubt can’t be told: " + ("the chronograph’s accuracy is not written down" if basis == "own" or (speed.n or 0) > 1 else "one reading has no spread"))
        return ", ".join(parts)


def energy_of(mass: Uncertain | None, speed: Uncertain | None) -> Uncertain | None:
    """½ m v² with its doubt, from mass and speed that were found independently (GUM 5.1.2)."""
    if mass is None or speed is None:
        return None
    energy = kinetic_energy_j(mass.value, speed.value)
    um, uv = mass.standard_uncertainty, speed.standard_uncertainty
    if um is None or uv is None:
        return Uncertain(energy, None, None, speed.n)
    parts = [
        Component("mass", energy * um / mass.value, mass.dof or math.inf, "B"),
        Component("speed", 2 * energy * uv / speed.value if speed.value else 0.0, speed.dof or math.inf, "A"),
    ]
    total = combine(*parts)
    return Uncertain(energy, total.standard_uncertainty, total.dof if total.dof > 0 else None, speed.n)


def momentum_of(mass: Uncertain | None, speed: Uncertain | None) -> Uncertain | None:
    """m v with its doubt."""
    if mass is None or speed is None:
        return None
    value = momentum_kg_m_s(mass.value, speed.value)
    um, uv = mass.standard_uncertainty, speed.standard_uncertainty
    if um is None or uv is None:
        return Uncertain(value, None, None, speed.n)
    u = momentum_uncertainty_kg_m_s(mass.value, speed.value, mass_u_kg=um, speed_u_m_s=uv)
    return Uncertain(value, u, None, speed.n)


def _type_a(read: Readings) -> list[Component]:
    part = type_a(read)
    return [] if isinstance(part, CantTell) else [part]


def _scatter(spread: float | None, n: int) -> list[Component]:
    """How far one shot lies from the mean: the doubt of standing in for a shot that was not read."""
    return [] if not spread or n < 2 else [Component("single shots scatter", spread, n - 1, "A")]


def _uncertain(
    mean: float, n: int, parts: Iterable[Component], doubt: InstrumentDoubt | None, *, needs_type_a: bool = False
) -> Uncertain:
    parts = list(parts)
    if doubt is None or (needs_type_a and not parts):
        return Uncertain(mean, None, None, n)
    total = combine(*parts, type_b(doubt.words, doubt.standard_uncertainty))
    return Uncertain(mean, total.standard_uncertainty, total.dof if total.dof > 0 else None, n)


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
    return Impact("not_measured", why, mass, None, None, None, ())
