"""The averaging limit in words, beside the curve's own answer and never instead of it."""

from dataclasses import dataclass

from server.findings.half.averaging import AveragingFound
from server.findings.half.point import HalfPoint, as_printed, energy_words, point_words
from server.quantities import unit_for_reader, written
from server.statistics.ballistic_limit import BORROWED


@dataclass(frozen=True)
class LimitTold:
    """`facts`: term and words. `label` says that it is borrowed, whatever the answer."""

    facts: tuple[tuple[str, str], ...]
    label: str = BORROWED


def limit_told(found: AveragingFound, point: HalfPoint, *, reader: str) -> LimitTold:
    """In the reader's units, with the curve's answer under it."""
    told = point_words(point, reader=reader)
    beside = ("50\N{NO-BREAK SPACE}% point of the curve", told[:1].upper() + told[1:])
    if found.limit is None or found.energy_j is None or found.mass_kg is None:
        return LimitTold((("Averaging limit", f"Refused: {as_printed(found.why_not)}."), beside))
    limit, unit = found.limit, unit_for_reader("speed", reader)
    each = limit.rule.each_side
    energy = energy_words(found.energy_j, reader)
    mass = written(found.mass_kg, unit_for_reader("mass", reader), figures=3)
    arrows = f"arrow {found.arrows[0]}" if len(found.arrows) == 1 else f"{len(found.arrows)} arrows that are alike"
    return LimitTold(
        (
            ("Averaging limit", f"{written(limit.limit_m_s, unit, figures=3)}, which is {energy} with {mass}; no interval, the rule gives none"),
            (
                "Made of",
                f"the {each} highest that did not get through and the {each} lowest that did, of {limit.shots} shots with {arrows}; "
                f"they lie {written(limit.spread_m_s, unit, figures=2)} apart, {written(limit.rule.widest_spread_m_s, unit, figures=3)} at most",
            ),
            beside,
        )
    )
