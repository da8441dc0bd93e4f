"""What is said of a 50 % energy: on its own page, in a head's drawing, and wherever else one stands."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import plainly, unit_for_reader, written
from proofyard.records.shot import ALL_ENTRIES
from proofyard.wording.counts import all_listed, be, capital, counted
from proofyard.wording.energies import energy_words, range_words, ranged_words, times_words
from proofyard.wording.levels import TWO_SIDED

FIFTY = "50\N{NO-BREAK SPACE}%"
# By simulation: tests/bench/coverage_of_the_half_truths.csv and coverage_of_fifty_percent.csv.
CLOSED_OFF_THE_MIDDLE = (
    "Closed intervals are right less often where the true 50 % energy is off the middle of the energies shot and the "
    "curve rises slowly: in simulations with 20 shots at slope 4, 94.2 % of them held it."
)
ONE_SIDED_MEANS = (
    "In simulations such a one-sided limit is right in about 98 of 100 cases where the true 50 % energy is off the "
    "middle of the energies shot. Where it is in the middle and the curve rises slowly, it is right in about 7 of 8. "
    "Shoot on the open side to close the interval."
)


def _energy(*, energy_j: float, low_j: float | None, high_j: float | None, reader: str) -> str:
    return energy_words(energy_j, reader, low_j=low_j, high_j=high_j)


def _estimate(*, energy_j: float, low_j: float | None, high_j: float | None, reader: str) -> str:
    """ "75 J, 95 % interval 63 to 90 J": no more figures than the interval carries."""
    return f"{energy_words(energy_j, reader, low_j=low_j, high_j=high_j)}, {ranged_words(low_j, high_j, reader=reader)}"


def _lead(*, who: str, on: str, estimate: str, more: tuple[str, ...]) -> str:
    return " ".join([f"The {FIFTY} energy of {who} against {on} is {estimate}.", *more])


def _uncertain(*, low_j: float | None, high_j: float | None, reader: str) -> str:
    if low_j is None and high_j is None:
        return f"With the uncertainty of the energies included, the {FIFTY} energy is not bounded on either side."
    return f"With the uncertainty of the energies included: {ranged_words(low_j, high_j, reader=reader)}."


def _percent(share: float) -> str:
    return f"{plainly(100 * share)}\N{NO-BREAK SPACE}%"


def _part(part: float) -> str:
    return f"{plainly(100 * part, figures=2)}\N{NO-BREAK SPACE}%" if part < 10 else "an unknown amount"


def _combinations(*, most: float, combinations: int, moved: float) -> str:
    return (
        f"Up to {_part(most)} belongs to single combinations of bow, arrow and archer ({counted(combinations, 'combination')}) and moves "
        f"the {FIFTY} energy by {_part(moved)}."
    )


def _undecided(*, shots: int, if_all: str | None, if_none: str | None) -> str:
    ends = [one or "not estimated" for one in (if_all, if_none)]
    return (
        f"{counted(shots)} undecided and left out: counted as through, the {FIFTY} energy would be {ends[0]}; "
        f"counted as not through, {ends[1]}."
    )


def _term(*, term: str, times: float, low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return f"{capital(term)}: not bounded; too few shots to show an effect."
    level = f"{TWO_SIDED} interval " if low is not None and high is not None else ""
    settled = (low is not None and low > 1) or (high is not None and high < 1)
    unsure = "" if settled else "; too few shots to show an effect"
    return f"{capital(term)}: {FIFTY} energy times {times:.2f}, {level}{times_words(low, high)}{unsure}."


def _limit(*, limit_m_s: float, energy_j: float, mass_kg: float, reader: str) -> str:
    speed = written(limit_m_s, unit_for_reader("speed", reader), figures=3)
    energy = written(energy_j, unit_for_reader("energy", reader), figures=3)
    return f"{speed}, which is {energy} with {written(mass_kg, unit_for_reader('mass', reader), figures=3)}; the rule gives no interval"


def _limit_made_of(*, each: int, shots: int, arrows: tuple[str, ...], spread_m_s: float, widest_m_s: float, reader: str) -> str:
    unit = unit_for_reader("speed", reader)
    with_what = f"arrow {arrows[0]}" if len(arrows) == 1 else f"{len(arrows)} arrows of one form and mass"
    return (
        f"the {each} highest that did not get through and the {each} lowest that did, of {shots} shots with {with_what}; "
        f"they are {written(spread_m_s, unit, figures=2)} apart, {written(widest_m_s, unit, figures=3)} at most"
    )


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # the estimate, to end a sentence without its stop
        "energy_carried": _energy,
        "estimate": _estimate,
        "estimate_of_shots": lambda *, estimate, shots: f"{estimate} ({counted(shots)})",
        "no_estimate": "no estimate yet: {why}",
        "undecided_check_behind": lambda *, shots: (
            f"{counted(shots)} undecided: check from behind whether {'it' if shots == 1 else 'they'} got through"
        ),
        "outside_the_energies_shot": lambda *, low_j, high_j, reader: (
            f"That is outside the energies shot, {range_words(low_j, high_j, reader=reader)}: an extrapolation of the curve that no shot "
            "has checked."
        ),
        "sentence_of_its_own": lambda *, why: f"{capital(why)}.",
        # in a head's drawing on the results page
        "curve_of_mixed_types": lambda *, types: f"No curve: these shots mix {counted(types, 'panel type')}, and each needs its own curve.",
        "fifty_percent_found": lambda *, estimate, more: f"{FIFTY} energy: {estimate}. {more or ''}".rstrip(),
        "fifty_percent_not_found": f"No estimate yet of the {FIFTY} energy: {{why}}.",
        # beside another trial
        "estimate_of_mixed_types": "no estimate: it was shot at {types} panel types, and each needs its own",
        # the page's finding, and a head's
        "no_estimate_with_any_head": "No estimate yet with any head.",
        "no_shots_for_a_curve": "No shots yet.",
        "lead_found": _lead,
        "lead_not_found": f"No estimate yet of the {FIFTY} energy of {{who}} against {{on}}: {{why}}.",
        # a head's row
        "so_many_shots": lambda *, shots: counted(shots),
        "through_of_shots": lambda *, hits, shots: f"{hits} of {shots}" if shots else "none",
        "point_not_found": "no estimate yet",
        "range_of_point": lambda *, low_j, high_j, outside, reader: (
            capital(ranged_words(low_j, high_j, reader=reader)) + ("; outside the energies shot" if outside else "")
        ),
        # what to check
        "one_sided_means": ONE_SIDED_MEANS,
        "closed_off_the_middle": CLOSED_OFF_THE_MIDDLE,
        "point_of_chosen_energies": (
            "The energies were chosen by the outcomes so far, so the interval is widened for that; where the curve rises slowly, closed "
            "intervals of 20 shots still held the true point in only 82 to 93 of 100 simulations."
        ),
        "only_few_shots": lambda *, shots: f"Only {counted(shots)}: a few more may change it a lot.",
        "point_on_one_panel": "All on one panel, {panel}; another panel of this type may differ.",
        "undecided_left_out": _undecided,
        "unmeasured_left_out": lambda *, shots: (
            f"{counted(shots)} more {'has' if shots == 1 else 'have'} no measured energy and {be(shots)} left out."
        ),
        # the uncertainty of the energies
        "no_energy_has_uncertainty": "None of these shots has an energy with an uncertainty, so the interval holds none.",
        "with_energy_uncertainty": _uncertain,
        "of_instruments": lambda *, part: (
            f"Of that, {_part(part)} comes from the instruments and is shared by all these energies: it moves every head alike and "
            "changes no comparison."
        ),
        "of_combinations": _combinations,
        "each_its_own_speed": "Every shot has its own speed reading, so none uses the mean of its combination.",
        "energies_without_uncertainty": lambda *, shots: f"The energy of {counted(shots)} has no uncertainty, so it is not included.",
        # other shares
        "energy_of_shares": lambda *, shares: f"{all_listed(_percent(share) for share in shares)} energy",
        "too_few_for_tails": "Too few shots: {shots} of the {needed} needed.",
        # further terms beside the energy
        "term_angle": "{step_deg:g}° further from square",
        "term_near": "{step_mm:g} mm further from the nearest earlier hit",
        "term_entry": lambda *, entry, usual: f"in at {ALL_ENTRIES[entry].lower()} instead of {ALL_ENTRIES[usual].lower()}",
        "term_told": _term,
        "not_worked_out": "Not worked out: {why}.",
        "one_entry_only": "Every shot here went in at the same kind of place, as far as recorded, so where it went in is not included.",
        "terms_rest_on": lambda *, shots, left_out: (
            f"From {counted(shots)}{f'; {left_out} more lack one of these and are left out' if left_out else ''}, each at equal energy. "
            "Effects that always changed together cannot be separated."
        ),
        # the averaging limit
        "averaging_limit": _limit,
        "limit_made_of": _limit_made_of,
        "by_the_curve": lambda *, told: capital(told),
        "arrow_not_shot_with_this_head": "that arrow was not shot with this head",
        "averaging_limit_is_borrowed": (
            "A rule borrowed from tests of bullets and fragments against modern armour. No standard lays it down for arrows, "
            "and it certifies nothing."
        ),
        "no_measured_speed": "no shot has a measured speed",
    }
)
