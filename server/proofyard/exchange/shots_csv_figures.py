"""Columns of shots.csv that are worked out: speed, energy and momentum where the shot was read and at the target, and of the head."""

from collections.abc import Callable

from proofyard.exchange.csv_writing import Value
from proofyard.exchange.shots_csv_columns import (
    U_WORDS,
    Ask,
    ShotRow,
    count_of_readings,
    number_column,
    of_fact,
    text_column,
    uncertainty_of,
    value_of,
)
from proofyard.quantities import Uncertain
from proofyard.shots.at_target import AtTarget
from proofyard.shots.head_measures import sectional_density
from proofyard.wording.reasons.said import sentence

FIGURES = (
    number_column(
        "arrow_mass_kg", "Mass of the whole arrow as built, mean of its readings", "kg", "worked out", value_of(lambda s: s.impact.mass)
    ),
    number_column("arrow_mass_u_kg", U_WORDS, "kg", "worked out", uncertainty_of(lambda s: s.impact.mass)),
    number_column(
        "arrow_mass_readings", "How many readings that is the mean of", "1", "worked out", count_of_readings(lambda s: s.impact.mass)
    ),
    number_column("speed_at_chronograph_m_s", "Speed at the chronograph", "m/s", "worked out", value_of(lambda s: s.impact.speed)),
    number_column("speed_at_chronograph_u_m_s", U_WORDS, "m/s", "worked out", uncertainty_of(lambda s: s.impact.speed)),
    number_column(
        "speed_readings", "How many readings that is the mean of", "1", "worked out", count_of_readings(lambda s: s.impact.speed)
    ),
    text_column(
        "speed_basis",
        "Where the speed comes from",
        "worked out",
        lambda r: r.shot.impact.basis,
        values=(
            "own = read on this shot; combination = mean of the readings of this bow, arrow and archer; pooled = mean of like "
            "combinations; not_measured = none"
        ),
    ),
    number_column(
        "energy_at_chronograph_j",
        "Kinetic energy at the chronograph, ½ m v²",
        "J",
        "worked out",
        value_of(lambda s: s.impact.energy_at_chronograph_j),
    ),
    number_column("energy_at_chronograph_u_j", U_WORDS, "J", "worked out", uncertainty_of(lambda s: s.impact.energy_at_chronograph_j)),
    number_column(
        "momentum_at_chronograph_kg_m_s",
        "Momentum at the chronograph, m v",
        "kg·m/s",
        "worked out",
        value_of(lambda s: s.impact.momentum_kg_m_s),
    ),
    number_column("momentum_at_chronograph_u_kg_m_s", U_WORDS, "kg·m/s", "worked out", uncertainty_of(lambda s: s.impact.momentum_kg_m_s)),
    text_column(
        "not_measured_because", "What is missing where there is no energy", "worked out", lambda r: sentence(r.shot.impact.why_not) or None
    ),
)


def there_of(of: Callable[[AtTarget], Value]) -> Ask:
    """Of the figures at the target, where there are any."""
    return lambda row: None if (found := row.shot.impact.at_target) is None else of(found)


AT_TARGET = (
    number_column(
        "speed_read_at_m",
        "Where along the flight the speed was read, from the bow; what was taken where nobody wrote it down",
        "m",
        "worked out",
        there_of(lambda t: t.from_m.value),
    ),
    number_column("flown_m", "From there to the panel", "m", "worked out", there_of(lambda t: t.flown_m)),
    number_column(
        "air_density_kg_m3", "Density of the air it flew through", "kg/m³", "worked out", there_of(lambda t: t.air.density.value)
    ),
    number_column("air_density_u_kg_m3", U_WORDS, "kg/m³", "worked out", there_of(lambda t: t.air.density.standard_uncertainty)),
    text_column(
        "air_basis",
        "Whether the weather was written down, or taken",
        "worked out",
        there_of(lambda t: "written" if t.air.all_written else "taken"),
        values="written = temperature, pressure and humidity were written down; taken = one at least was not",
    ),
    number_column(
        "drag_coefficient", "Drag coefficient on the shaft’s cross-section", "1", "worked out", there_of(lambda t: t.drag.coefficient.value)
    ),
    number_column("drag_coefficient_u", U_WORDS, "1", "worked out", there_of(lambda t: t.drag.coefficient.standard_uncertainty)),
    text_column(
        "drag_basis",
        "Whether this arrow’s own drag was measured",
        "worked out",
        there_of(lambda t: "fitted" if t.drag.fitted else "default"),
        values="fitted = from its speeds at two distances; default = taken, with a wide range",
    ),
    number_column("speed_at_target_m_s", "Speed at the target", "m/s", "worked out", there_of(lambda t: t.speed.value)),
    number_column("speed_at_target_u_m_s", U_WORDS, "m/s", "worked out", there_of(lambda t: t.speed.standard_uncertainty)),
    number_column("energy_at_target_j", "Kinetic energy at the target", "J", "worked out", there_of(lambda t: t.energy_j.value)),
    number_column("energy_at_target_u_j", U_WORDS, "J", "worked out", there_of(lambda t: t.energy_j.standard_uncertainty)),
    number_column(
        "energy_at_target_u_instruments_j",
        "The part of that uncertainty that all shots share",
        "J",
        "worked out",
        there_of(lambda t: t.share_of("instrument")),
    ),
    number_column(
        "energy_at_target_u_combination_j",
        "The part that the shots of one bow, arrow and archer share",
        "J",
        "worked out",
        there_of(lambda t: t.share_of("combination")),
    ),
    number_column(
        "energy_at_target_u_shot_j", "The part that is this shot’s alone", "J", "worked out", there_of(lambda t: t.share_of("shot"))
    ),
    number_column(
        "momentum_at_target_kg_m_s", "Momentum at the target", "kg·m/s", "worked out", there_of(lambda t: t.momentum_kg_m_s.value)
    ),
    number_column(
        "momentum_at_target_u_kg_m_s", U_WORDS, "kg·m/s", "worked out", there_of(lambda t: t.momentum_kg_m_s.standard_uncertainty)
    ),
    number_column(
        "time_of_flight_s", "How long it was under way from where its speed was read", "s", "worked out", there_of(lambda t: t.time_s)
    ),
    number_column(
        "drop_m",
        "How far it dropped from bow to panel below the line at which it left, if panel and bow stood at one height",
        "m",
        "worked out",
        there_of(lambda t: t.drop_m),
    ),
    number_column(
        "angle_of_fall_rad",
        "Angle from level at which it came down, if panel and bow stood at one height",
        "rad",
        "worked out",
        there_of(lambda t: t.fall_angle_rad),
    ),
    text_column(
        "no_target_because",
        "What is missing where there is no energy at the target",
        "worked out",
        lambda r: sentence(r.shot.impact.no_target) or None,
    ),
)


def measure_of(name: str, *, u: bool = False) -> Ask:
    def ask(row: ShotRow) -> Value:
        found: Uncertain | None = getattr(row.head_measures, name).value
        return None if found is None else found.standard_uncertainty if u else found.value

    return ask


def _behind(row: ShotRow) -> Value:
    found = sectional_density(row.head_shape, row.shot.impact.mass).value
    return found.value if found else None


HEAD = (
    number_column("tip_flat_m", "Width of the flat on the head’s tip", "m", "typed", of_fact("tip_flat_m")),
    number_column(
        "tip_area_m2",
        "Area of the tip at first contact: of its flat, or of its rounding 0.1 mm in",
        "m²",
        "worked out",
        measure_of("tip_area"),
    ),
    number_column("tip_area_u_m2", U_WORDS, "m²", "worked out", measure_of("tip_area", u=True)),
    number_column("frontal_area_m2", "Area of the head at its broadest, from its section", "m²", "worked out", measure_of("frontal_area")),
    number_column("frontal_area_u_m2", U_WORDS, "m²", "worked out", measure_of("frontal_area", u=True)),
    number_column("cutting_edge_m", "Length of cutting edge, all together", "m", "worked out", measure_of("edge")),
    number_column("cutting_edge_u_m", U_WORDS, "m", "worked out", measure_of("edge", u=True)),
    number_column("wedge_angle_rad", "Whole angle at which the head opens, from tip to widest", "rad", "worked out", measure_of("wedge")),
    number_column("wedge_angle_u_rad", U_WORDS, "rad", "worked out", measure_of("wedge", u=True)),
    number_column("sectional_density_kg_m2", "Mass of the arrow over the head’s frontal area", "kg/m²", "worked out", _behind),
)
