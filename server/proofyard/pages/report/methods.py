"""The formulas and statistics that a report's figures rest on, each as its own docstring tells it."""

from collections.abc import Iterator

from proofyard.answers.claims.energies import EnergyAnswer
from proofyard.answers.claims.read import ClaimRead
from proofyard.answers.methods.page import Method, topics
from proofyard.answers.results.page import Results

AT_CHRONOGRAPH = ("kinetic_energy_j", "kinetic_energy_uncertainty_j", "combine")
AT_TARGET = ("speed_at_distance_m_s", "air_density_kg_m3", "uncertainty_budget")
INTERVALS = {"mid-p": "mid_p_interval", "wilson": "wilson_interval", "exact": "exact_interval", "jeffreys": "jeffreys_interval"}
CURVE = ("fit_curve", "fifty_percent_point")
COMPARED = ("compare_two", "energy_levels")
CLAIMS = {"holds": ("any_time_bounds", "verdict_of"), "energies": ("verdict_above",)}


def methods_used(results: tuple[Results, ...], *, claim: ClaimRead | None, compared: bool, curves: bool) -> tuple[Method, ...]:
    """Of what these pages show, in the order in which a shot asks for them."""
    by_name = {method.name: method for topic in topics() for method in topic.methods}
    return tuple(by_name[name] for name in dict.fromkeys(_names(results, claim, compared=compared, curves=curves)))


def _names(results: tuple[Results, ...], claim: ClaimRead | None, *, compared: bool, curves: bool) -> Iterator[str]:
    yield from AT_CHRONOGRAPH
    if any(one.settings.place == "target" for one in results):
        yield from AT_TARGET
    yield from (INTERVALS[one.settings.method] for one in results)
    if curves:
        yield from CURVE
    if compared:
        yield from COMPARED
    if claim:
        yield from CLAIMS["energies" if isinstance(claim.found, EnergyAnswer) else "holds"]
