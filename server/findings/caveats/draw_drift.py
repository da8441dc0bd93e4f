"""A bow that grew weaker or stronger, or a draw that changed, between the checks of the days that are shown."""

from collections.abc import Sequence
from datetime import datetime

from server.findings.bow.days import SAME_DRAW_M
from server.findings.caveats.caveat import Caveat, rests_on, some
from server.findings.caveats.view import View
from server.findings.loosed import LoosedShot
from server.findings.when import day_words
from server.quantities import written
from server.records.caveat_facts import BowChecked

LEAST_CHANGE = 0.01  # of the weight: what a bow scale may be off


def draw_drift(view: View) -> list[Caveat]:
    """One caveat for each bow and archer whose checks on these days differ."""
    found = []
    for pair in dict.fromkeys((shot.fact.bow_build_id, shot.fact.archer_id) for shot in view.shots):
        shots = [shot for shot in view.shots if (shot.fact.bow_build_id, shot.fact.archer_id) == pair]
        days = {shot.fact.day for shot in shots}
        checks = [one for one in view.facts.checks if (one.bow_build_id, one.archer_id) == pair and one.at is not None and _day(one.at) in days]
        found += _of(sorted(checks, key=lambda one: one.at or 0), shots)
    return found


def _day(at_ms: int) -> str:
    return datetime.fromtimestamp(at_ms / 1000).date().isoformat()


def _of(checks: Sequence[BowChecked], shots: Sequence[LoosedShot]) -> list[Caveat]:
    fact = shots[0].fact
    draws = [one for one in checks if one.draw_m is not None]
    said = ""
    if len(draws) > 1 and abs((draws[-1].draw_m or 0.0) - (draws[0].draw_m or 0.0)) > SAME_DRAW_M:
        first, last = _when(draws)
        was, came = (written(one.draw_m or 0.0, "mm", figures=3) for one in (draws[0], draws[-1]))
        said = f"{fact.archer} drew {fact.bow_name} to {came} {last}, and to {was} {first}."
    else:
        weighed = [one for one in checks if one.weight_n]
        change = (weighed[-1].weight_n or 0.0) / (weighed[0].weight_n or 1.0) - 1 if len(weighed) > 1 else 0.0
        if abs(change) >= LEAST_CHANGE:
            first, last = _when(weighed)
            said = f"{fact.bow_name} at {fact.archer}’s draw was {abs(100 * change):.1f}\N{NO-BREAK SPACE}% {'weaker' if change < 0 else 'stronger'} {last} than {first}."
    if not said:
        return []
    by_mean = [shot for shot in shots if shot.impact.basis in ("pairing", "pooled")]
    if by_mean:
        said += f" {some(len(by_mean), 'shot')} took a mean speed, as if nothing had changed: {'its energy' if len(by_mean) == 1 else 'their energies'} may be off by about as much."
    return [Caveat("draw_drift", said, f"energies of {fact.bow_name}", rests_on(by_mean or shots))]


def _when(checks: Sequence[BowChecked]) -> tuple[str, str]:
    days = [_day(one.at or 0) for one in (checks[0], checks[-1])]
    if days[0] == days[1]:
        return "at its start", f"at the end of {day_words(days[0])}"
    return f"on {day_words(days[0])}", f"on {day_words(days[1])}"
