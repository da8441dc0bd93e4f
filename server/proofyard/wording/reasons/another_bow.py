"""What is said of another bow: its arrow's speed and energy with one range, what comes of it, what it rests on."""

import math
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.quantities import Uncertain, figure, from_si, plainly, unit_for_reader, with_unit
from proofyard.wording.counts import capital, counted, listed
from proofyard.wording.figures import as_typed_first, with_uncertainty
from proofyard.wording.levels import TWO_SIDED
from proofyard.wording.reasons.bow import inches, pounds

PERCENT = "\N{NO-BREAK SPACE}%"


def _whole(value_si: float, unit: str) -> str:
    value = from_si(value_si, unit)
    return f"{value:.0f}" if value >= 10 else plainly(value, figures=2)


def _ranged(value: float, low: float, high: float, *, shown_as: str, reader: str) -> str:
    """ "58 m/s (54 to 63)"."""
    unit = unit_for_reader(shown_as, reader)
    return f"{with_unit(_whole(value, unit), unit)} ({_whole(low, unit)} to {_whole(high, unit)})"


def _weight(weight_n: float, reader: str) -> str:
    """ "145 lbf (645 N)": archers know bows by their pounds."""
    return pounds(weight_n) + ("" if reader == "archery" else f" ({figure(weight_n, 'draw_weight', reader, figures=3)})")


def _draw(draw_m: float, reader: str) -> str:
    """ "31 in (787 mm)"."""
    return inches(draw_m) + ("" if reader == "archery" else f" ({figure(draw_m, 'draw_length', reader, figures=3)})")


def _speed(*, speed_m_s: float, low_m_s: float, high_m_s: float, reader: str) -> str:
    return _ranged(speed_m_s, low_m_s, high_m_s, shown_as="speed", reader=reader)


def _energy(*, energy_j: float, low_j: float, high_j: float, reader: str) -> str:
    return _ranged(energy_j, low_j, high_j, shown_as="energy", reader=reader)


def _found(
    *,
    mass_kg: float,
    weight_n: float,
    typed: Sequence[str],
    speed_m_s: float,
    speed_low_m_s: float,
    speed_high_m_s: float,
    distance_m: float,
    energy_j: float,
    low_j: float,
    high_j: float,
    beyond: bool,
    reader: str,
) -> str:
    of_arrow, of_bow, how_far = typed
    mass = as_typed_first(of_arrow, mass_kg, "arrow_mass", reader)
    weight = as_typed_first(of_bow, weight_n, "draw_weight", reader)
    distance = as_typed_first(how_far, distance_m, "distance", reader)
    speed = _speed(speed_m_s=speed_m_s, low_m_s=speed_low_m_s, high_m_s=speed_high_m_s, reader=reader)
    energy = _energy(energy_j=energy_j, low_j=low_j, high_j=high_j, reader=reader)
    guess = ", an extrapolation" if beyond else ""
    return f"An arrow of {mass} from a bow of {weight} should leave at {speed} and reach {distance} with {energy}{guess}."


def _verdicts(*, through: Sequence[str], held: Sequence[str], open: int, untold: int, of: int) -> str:
    """Of each head at each panel type: by name where something is sure, else by how many."""
    if not of:
        return "No head was shot at a panel yet, so nothing can be said of what gets through."
    parts = [
        f"more than half should get through with {listed(through)}" if through else "",
        f"fewer than half with {listed(held)}" if held else "",
        f"it is not clear for {open}" if open else "",
        f"nothing can be told for {untold}" if untold else "",
    ]
    return f"Of {counted(of, 'pair', 'pairs')} of head and armour: {'; '.join(part for part in parts if part)}."


def _range(*, bows: int, arrows: int) -> str:
    return (
        f"Ranges are {TWO_SIDED}; one is carried from the bow to the armour: the speeds of {counted(arrows, 'combination')} (bow, "
        f"arrow, archer) on {counted(bows, 'bow')}, how bows of one weight differ, how limbs get heavier, the air, and your shots."
    )


def _percent(share: float) -> str:
    percent = 100 * share
    if 0 < percent < 1:
        return "under 1"
    return "over 99" if 99 < percent < 100 else f"{percent:.0f}"


def _between(low: float, high: float) -> str:
    if low < 0.01 and high > 0.99:
        return "anything"
    if low < 0.01:
        return f"{_percent(high)}{PERCENT} or less"
    if high > 0.99:
        return f"{_percent(low)}{PERCENT} or more"
    one, other = _percent(low), _percent(high)
    return f"{one if one == other else f'{one} to {other}'}{PERCENT}"


def _share(*, share: float | None, low: float, high: float, beyond: str) -> str:
    note = {"all": ", outside the energies shot", "partly": ", partly outside the energies shot", "": ""}[beyond]
    if share is None:
        return f"{_between(low, high)}{note}"
    return f"{_percent(share)}{PERCENT} ({_between(low, high)}){note}"


def _draws(*, weight_n: float, source: str | None, draw_m: float, reader: str) -> str:
    said = f" ({source})" if source else ""
    return f"{_weight(weight_n, reader)} at {_draw(draw_m, reader)}{said}"


def _arrows(*, arrows: int, low_kg: float, high_kg: float, speed_m_s: float, reader: str) -> str:
    unit = unit_for_reader("mass", reader)
    low, high = _whole(low_kg, unit), _whole(high_kg, unit)
    span = with_unit(low if low == high else f"{low} to {high}", unit)
    return f"{counted(arrows, 'arrow build')} of {span} at a mean of {figure(speed_m_s, 'arrow_speed', reader, figures=3)}"


def _foretold(*, low_m_s: float, high_m_s: float, held: bool, reader: str) -> str:
    unit = unit_for_reader("speed", reader)
    span = with_unit(f"{_whole(low_m_s, unit)} to {_whole(high_m_s, unit)}", unit)
    return f"the others predict {span}, {'which holds it' if held else 'which misses it'}"


def _needs(*, not_used: Sequence[str]) -> str:
    if not not_used:
        return "Weigh one arrow, record the draw weight of its bow, and read three speeds or more with a chronograph."
    return f"What would help: {'; '.join(not_used)}."


def _beyond_weight(*, low_n: float, high_n: float, reader: str) -> str:
    low, high = _weight(low_n, reader), _weight(high_n, reader)
    span = f"your bow of {low}" if low == high else f"your bows, {low} to {high}"
    return f"The draw weight lies outside {span}: an extrapolation. Speeds from a bow nearer to it would help most."


def _gpp(kg_per_n: float) -> str:
    return f"{from_si(kg_per_n, 'gr') / from_si(1.0, 'lbf'):.1f}"


def _beyond_arrow(*, kg_per_n: float, low_kg_per_n: float, high_kg_per_n: float) -> str:
    light = kg_per_n < low_kg_per_n
    return (
        f"{_gpp(kg_per_n)} grains per pound is {'lighter' if light else 'heavier'} for its bow than any arrow you shot "
        f"({_gpp(low_kg_per_n)} to {_gpp(high_kg_per_n)}): an extrapolation. Read the speed of a {'lighter' if light else 'heavier'} one."
    )


def _beyond_draw(*, low_m: float, high_m: float, reader: str) -> str:
    low, high = _draw(low_m, reader), _draw(high_m, reader)
    return f"The draw length lies outside those of your bows, {low if low == high else f'{low} to {high}'}: an extrapolation."


def _took(*, taken: Sequence[str]) -> str:
    return f"Not entered, so taken: {'; '.join(taken)}."


def _arrow_share(*, share: float, u: float) -> str:
    """A spread of two standard uncertainties, in percent."""
    return f"{_percent(share)}{PERCENT} ± {math.ceil(100 * u)} of the energy that it sets in motion"


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "another_bow_found": _found,
        "another_bow_verdicts": _verdicts,
        "another_bow_range": _range,
        "another_bow_not_told": lambda *, why: f"This can’t be reckoned: {why}.",
        "another_bow_chart": "Energy from the bow to the armour",
        # why not
        "another_bow_no_bow": "no bow of the book has a draw weight, a draw length, a weighed arrow and its speed",
        "another_bow_needs": _needs,
        "another_bow_needs_distance": "no set-up says how far it was shot. Enter the distance, for example 30 m",
        "another_bow_needs_shaft": "no arrow’s shaft is measured. Enter the shaft’s diameter, for example 12.7 mm",
        "drawn_within_the_brace": "so short a draw is hardly longer than the brace height",
        "bow_without_speeds": lambda *, bow, arrows: (
            f"{bow} is not used: no speed was read {'of its one arrow' if arrows == 1 else f'of its {arrows} arrows'}, or none was weighed"
        ),
        "bow_without_weight": "{bow} is not used: its draw weight is not recorded",
        "bow_without_draw": "{bow} is not used: how far it is drawn is not recorded",
        "bow_drawn_within_its_brace": "{bow} is not used: its draw is no longer than its brace height",
        "another_bow_more_not_used": lambda *, more: f"{counted(more, 'bow')} more {'is' if more == 1 else 'are'} not used either",
        # the arrow's way
        "step_speed_leaving": "Leaves at",
        "step_energy_leaving": "Leaves with",
        "step_speed_there": lambda *, distance_m, reader: f"Speed at {figure(distance_m, 'distance', reader)}",
        "step_energy_there": lambda *, distance_m, reader: f"Energy at {figure(distance_m, 'distance', reader)}",
        "step_arrow_share": "The bow gives the arrow",
        "speed_ranged": _speed,
        "energy_ranged": _energy,
        "arrow_share": _arrow_share,
        "speed_foretold": "the speed, predicted from other bows",
        # a head at a panel type
        "head_there": "{who} at {on}",
        "share_there": _share,
        "share_range": lambda *, low, high: _between(low, high),
        "share_not_known": "not known",
        "share_not_told": lambda *, why: f"not known: {why}",
        # what to check
        "another_bow_beyond_weight": _beyond_weight,
        "another_bow_beyond_arrow": _beyond_arrow,
        "another_bow_beyond_draw": _beyond_draw,
        "another_bow_one_bow": (
            "It rests on one bow, {bow}: how far others differ from it is taken from bows in print. Speeds from a second bow would "
            "help most"
        ),
        "another_bow_beyond_energies": lambda *, heads, of: (
            f"For {heads} of {counted(of, 'pair')} of head and armour the energy lies outside all energies shot: the curve’s guess"
        ),
        "another_bow_same_arrows": (
            "The share is that of your own arrows at this energy: an arrow of another mass with the same head and energy is taken "
            "to do the same"
        ),
        # what it rests on
        "another_bow_took": _took,
        "took_mass": lambda *, mass_kg, bow, reader: f"an arrow of {figure(mass_kg, 'arrow_mass', reader)}, the mean of those of {bow}",
        "took_distance": lambda *, distance_m, reader: f"{figure(distance_m, 'distance', reader)}, the distance that was shot most",
        "took_draw": lambda *, draw_m, bow, reader: f"a draw of {_draw(draw_m, reader)}, as {bow}",
        "took_shaft": lambda *, shaft_m, arrow, reader: (
            f"a shaft of {figure(shaft_m, 'shaft_diameter', reader)}, as arrow {arrow}, the nearest in mass"
        ),
        "another_bow_flight": lambda *, drag: f"{capital(drag)}. Air of any usual day.",
        "another_bow_brace": "Where no brace height is recorded 160 mm is taken (common practice, no source).",
        # an own bow
        "own_bow_draws": _draws,
        "own_bow_arrows": _arrows,
        "own_bow_virtual_mass": lambda *, mass_kg, u_kg, reader: (
            f"virtual mass {with_uncertainty(Uncertain(mass_kg, u_kg), 'mass', reader)}"
        ),
        "own_bow_no_virtual_mass": "virtual mass can’t be told",
        "own_bow_foretold": _foretold,
        "own_bow_not_foretold": "no other bow to predict it",
    }
)
