"""The two pictures of a bow build, in a reader's units."""

from server.charts.force_draw import ForceDraw, draw_force_draw
from server.charts.speed_by_mass import ArrowMark, FitPoint, SpeedByMass, draw_speed_by_mass
from server.findings.bow.curve import Curve
from server.findings.bow.page import BowFound
from server.findings.bow.speeds import Expected
from server.quantities import unit_for_reader


def force_draw_of(found: BowFound, reader: str, *, energy_words: str) -> ForceDraw | None:
    """None where the points make no curve."""
    curve = found.curve
    if not isinstance(curve, Curve):
        return None
    draw = found.draw.draw_m
    inside = draw is not None and curve.draws_m[0] < draw <= curve.draws_m[-1]
    return draw_force_draw(
        f"{found.bow.name}, build {found.build.number}", curve.draws_m, curve.forces_n, draw_unit=unit_for_reader("length", reader),
        force_unit=unit_for_reader("force", reader), energy_words=energy_words, rest_taken=curve.rest_from_brace,
        up_to_m=draw if inside else None,
    )  # fmt: skip


def speed_by_mass_of(found: BowFound, reader: str, *, fit_words: str, asked: Expected | None = None) -> SpeedByMass | None:
    """None where no arrow has both a speed and a mass."""
    if not found.speeds.arrows:
        return None
    marks = [
        ArrowMark(
            f"Arrow {one.fact.arrow_tag}, build {one.fact.arrow_build_number}", f"/pairings/{one.fact.pairing_id}", one.mass.value,
            one.speed, one.speed.n or 1,
        )
        for one in found.speeds.arrows
    ]  # fmt: skip
    fit = [FitPoint(one.mass_kg, one.speed_m_s, one.u_m_s, one.inside) for one in found.speeds.curve]
    return draw_speed_by_mass(
        f"{found.bow.name}, build {found.build.number}", marks, fit, mass_unit=unit_for_reader("mass", reader),
        speed_unit=unit_for_reader("speed", reader), fit_words=fit_words,
        asked=(asked.mass_kg, asked.speed, asked.inside) if asked else None,
    )  # fmt: skip
