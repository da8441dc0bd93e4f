"""The speeds of a combination: its finding, its series with their readings, and what they rest on."""

from dataclasses import dataclass

from proofyard.answers.speeds.drawings import combination_speeds_drawn
from proofyard.charts.figure import Figure
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import Reason, because
from proofyard.records.speed_facts import CombinationFact, SpeedFact
from proofyard.shots.combination_speeds import CombinationFound, CombinationLine, SeriesFound, combination_found
from proofyard.shots.speed_without_chronograph import inputs_told
from proofyard.storage import Session
from proofyard.wording.combinations import combination_builds, combination_name
from proofyard.wording.figures import unusual_value
from proofyard.wording.reasons.said import said as reason_words


@dataclass(frozen=True)
class ReadingLine:
    """One reading of a series, or of a shot."""

    fact: SpeedFact
    about: str

    @property
    def value(self) -> Reason:
        speed = self.fact.value_m_s
        return because("speeds_reading", value=None if speed is None else Uncertain(speed, self.fact.uncertainty_m_s))

    @property
    def left_out(self) -> bool:
        return bool(self.fact.left_out_reason) or self.fact.short_draw


@dataclass(frozen=True)
class SeriesLine:
    """One series: what it was read with, what those that count say, and its readings in order."""

    found: SeriesFound
    readings: tuple[ReadingLine, ...]

    @property
    def heading(self) -> Reason:
        one, tool = self.found.series, self.found.instrument
        name = tool.name if tool else None
        return because("speeds_series", day=one.day, instrument=name, stood_at_m=one.stood_at_m, air_k=one.air_temperature_k)

    @property
    def mean(self) -> Reason:
        found = self.found.readings
        if found is None:
            return because("speeds_none_counts")
        u = found.standard_uncertainty_type_a
        return because("speeds_mean", mean_m_s=found.mean, u_m_s=u, spread_m_s=found.spread, readings=found.n)

    @property
    def next_place(self) -> int:
        return max((one.place or 0 for one in self.found.facts), default=0) + 1


@dataclass(frozen=True)
class CombinationRead:
    """One combination. `pool`: whether it was asked to be pooled with like ones."""

    found: CombinationFound
    pool: bool
    series: tuple[SeriesLine, ...]
    on_shots: tuple[ReadingLine, ...]
    drawing: Figure | None

    @property
    def fact(self) -> CombinationFact:
        return self.found.fact

    @property
    def name(self) -> str:
        return combination_name(self.fact)

    @property
    def builds(self) -> str:
        return combination_builds(self.fact)

    @property
    def finding(self) -> Reason:
        speed = self.found.speed
        if speed.speed is None:
            return because("speeds_not_measured", why=speed.why_not)
        return because("speeds_finding", speed=speed.speed, energy=speed.energy_at_chronograph_j, why=speed.why_not)

    @property
    def pooled(self) -> Reason | None:
        if self.found.pooled_with:
            return because("speeds_pooled", arrows=tuple(fact.arrow_tag for fact in self.found.pooled_with))
        return because("speeds_nothing_to_pool") if self.pool else None

    @property
    def readings(self) -> Reason:
        speed = self.found.speed
        return because(
            "speeds_readings",
            readings=(speed.pooled.n if speed.pooled else 0) or len(speed.used),
            own=len(speed.used) if speed.pooled else None,
            further=len(speed.further),
            left_out=len(speed.left_out),
        )

    @property
    def expanded(self) -> Reason | None:
        """Its expanded uncertainty, to hold 95 in 100."""
        found = self.found.expanded
        return because("speeds_expanded", width_m_s=found[0], factor=found[1]) if found else None

    @property
    def energy(self) -> Reason:
        return self._worked_out(self.found.speed.energy_at_chronograph_j, "energy")

    @property
    def momentum(self) -> Reason:
        return self._worked_out(self.found.speed.momentum_kg_m_s, "momentum")

    def _worked_out(self, value: Uncertain | None, shown_as: str) -> Reason:
        if value is None:
            return because("speeds_not_measured", why=self.found.speed.why_not)
        return because("speeds_both", value=value, shown_as=shown_as)


def read_combination(session: Session, combination_id: str, *, reader: str, pool: bool = False) -> CombinationRead | None:
    """Six statements; None if there is none of that id."""
    found = combination_found(session, combination_id, pool=pool)
    if found is None:
        return None
    return CombinationRead(
        found=found,
        pool=pool,
        series=tuple(SeriesLine(one, tuple(_reading(fact, reader) for fact in one.facts)) for one in found.series),
        on_shots=tuple(_reading(fact, reader) for fact in found.on_shots),
        drawing=combination_speeds_drawn(found, name=combination_name(found.fact), reader=reader),
    )


def _reading(fact: SpeedFact, reader: str) -> ReadingLine:
    """With what it rests on, why it is left out, and what is unusual about it."""
    said = (
        reason_words(inputs_told(fact.method, fact.inputs, value_m_s=fact.value_m_s), reader),
        f"left out: {fact.left_out_reason}" if fact.left_out_reason else "",
        "short draw" if fact.short_draw else "",
        unusual_value(fact.value_m_s, "arrow_speed") if fact.value_m_s is not None else "",
    )
    return ReadingLine(fact, "; ".join(filter(None, said)))


def line_of(line: CombinationLine) -> Reason:
    """A combination in the list of all."""
    speed = line.speed
    return because(
        "speeds_line",
        speed=speed.speed,
        energy=speed.energy_at_chronograph_j,
        momentum=speed.momentum_kg_m_s,
        why=speed.why_not,
        builds=combination_builds(line.fact),
    )
