"""What a result is said to be, and what it can't carry: the finding of the results page, what it leaves open, the caveats.

The finding ranks no heads whose energies differ, and says when shots are few. Heads, bands, bows and panel types come by
their names.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import in_readers, plainly, unit_for_reader, written
from proofyard.records.trial import NEXT_SHOT_RULES, Trial, parts_of_rule
from proofyard.wording.counts import be, capital, days_listed, hits_of, listed
from proofyard.wording.counts import counted as so_many
from proofyard.wording.when import day_words


# How a trial chose its energies and why it stopped, in words: shown wherever its results are.
def kept_rule(trial: Trial) -> tuple[tuple[str, str], ...]:
    """(what, words) for a list of facts; a pair without words is left out there."""
    return rule_words(*parts_of_rule(trial))


def rule_words(rule: str | None, shots: int | None, percent: int | None, stopped: str | None) -> tuple[tuple[str, str], ...]:
    """ "Up and down: less after …", "After 20 shots", "It rained."."""
    stop = f"After {shots} shots" if shots else ""
    if percent:
        stop = f"When the high end of the 50\u00a0% point is at most {percent}\u00a0% above the low end"
    return (("Next shot", NEXT_SHOT_RULES[rule] if rule else ""), ("Stop", stop), ("Stopped because", stopped or ""))


def _cell_share(*, where: str, who: str, did: str, low: int, high: int, shots: int, panel: str) -> str:
    """What was seen on one panel is said of that panel."""
    return f"{capital(where)} {who} {did} in {_of_shots(low, high, shots)}" + (f", all on {panel}" if panel else "")


def _of_shots(low: int, high: int, shots: int) -> str:
    if 0 < low == shots:
        return {1: "the one shot", 2: "both shots"}.get(shots, f"all {shots} shots")
    return f"{hits_of(low, high, shots)} shot{'' if high == 0 and shots == 1 else 's'}"


def _two_heads(*, first: str, who: str, low: int, high: int, shots: int) -> str:
    return f"{first}; {who} in {_of_shots(low, high, shots)}"


def _picked_for_difference(*, few: bool, intervals: tuple[str, str]) -> str:
    """Two heads that nobody named in advance."""
    begin = "Few shots, and the two heads that differ most" if few else "The two heads that differ most"
    return f"{begin}: a hint, not a finding. 95{PERCENT} intervals: {f'{PERCENT} and '.join(intervals)}{PERCENT}."


def _how_sure(*, who: str, on: str, interval: str, few: bool) -> str:
    begin = "Few shots, so a wide interval: the" if few else "The"
    return f"{begin} share of {who} through {on} has a 95\N{NO-BREAK SPACE}% interval of {interval}\N{NO-BREAK SPACE}%."


_AXIS_NOTES = {
    "tip": "A tip’s area is known to 10 % at best; of a rounded tip it is taken 0.1 mm in. Use it only to compare heads at first contact.",
    "edge": "This counts the whole edge as cutting; once through, only the part still in contact cuts.",
    "front": "This uses the head’s frontal area, as if the whole head had to pass.",
}
FAIR_HITS = {"fair": "fair hits", "fair_or_not_known": "fair hits and those with fairness undecided", "any": "hits, fair or not"}


def _showing(*, fair: str, picked: tuple[str, ...], place: str, by: str, meaning: str, interval: str) -> str:
    """`picked`: the other settings in words; `by`: what the energy is shared out over, empty for the whole."""
    parts = [FAIR_HITS[fair], *picked]
    return (
        f"Showing: {', '.join(parts)}. Energy at the {place}{f', {by}' if by else ''}. Through means {meaning}. "
        f"Intervals: {interval}, 95\N{NO-BREAK SPACE}%."
    )


def _near_limit(*, shots: int, sure: float) -> str:
    return (
        f"{so_many(shots)} may belong to the next band, being within {sure:g} standard uncertainties of its limit; "
        f"the table marks {'it' if shots == 1 else 'them'}."
    )


def _mixed_bows(*, bands: tuple[str, ...]) -> str:
    one = "One band mixes bows" if len(bands) == 1 else "Some bands mix bows"
    return f"{one} ({'; '.join(bands)}). Energy and bow changed together, so their effects cannot be separated here."


# Caveats: a title for each kind, the sentences, what they affect, and the few words beside a number.

PERCENT = "\N{NO-BREAK SPACE}%"

TITLES: Mapping[str, str] = MappingProxyType(
    {
        "chosen_energies": "Energies chosen by the outcomes",
        "hardness_and_day": "Hardness and day changed together",
        "one_panel_only": "Shot at one panel only",
        "one_day_only": "Shot on one day only",
        "speed_drift": "Speeds drifted",
        "draw_drift": "The bow changed",
        "used_up": "Little room left on the panel",
        "provisional": "Outcomes still undecided",
        "archers": "Archers not balanced",
        "one_carries": "One arrow, bow or panel dominates",
        "one_panel": "All shots on one panel",
        "second_reader": "Second readings",
    }
)


def _archer_unbalanced(*, archer: str, by: str, one: str, one_shots: int, one_of: int, other: str, other_shots: int, other_of: int) -> str:
    at, what = ("at", "those energies") if by == "energies" else ("with", "those two")
    one_part, other_part = f"{one_shots or 'none'} of {so_many(one_of, 'shot')}", f"{other_shots or 'none'} of {so_many(other_of, 'shot')}"
    return f"{archer} shot {one_part} {at} {one} and {other_part} {at} {other}: a difference between {what} could be due to the archer."


def _one_dominates(*, arrows: int, bows: int, panels: int, counts: int, fewest: int, alike: float | None) -> str:
    said = ", ".join(f"one {what} in {n}" for what, n in (("arrow", arrows), ("bow", bows), ("panel", panels)) if n)
    weak = "such counts say less than their number suggests" if alike is None else "the intervals may be too narrow"
    words = (
        f"More than half of the shots come from {said} of {so_many(counts, 'count')} of {fewest} shots or more. Shots of one arrow, bow or "
        f"panel resemble each other, so {weak}."
    )
    if alike is None:
        return words
    return (
        f"{words} Each such count also shows its interval if shots of one arrow, bow or panel correlate by "
        f"{plainly(alike)} (0 = independent, 1 = identical)."
    )


def _if_correlated(*, carried: tuple[str, ...], alike: float, low: float, high: float) -> str:
    return f"{', '.join(carried)}; if correlated by {plainly(alike)}: 95{PERCENT} interval {100 * low:.0f} to {100 * high:.0f}{PERCENT}"


def _carried(*, what: str, name: str, shots: int, of: int) -> str:
    part = "all" if shots == of else f"{shots} of"
    return f"{part} {of} {'on' if what == 'panel' else 'with'} {'arrow ' if what == 'arrow' else ''}{name}"


def _order_shows_it(*, shots: int, form: str, panel: str, more_runs: int) -> str:
    more = f", and {more_runs} more such run{'s' if more_runs > 1 else ''}" if more_runs else ""
    return (
        "The order of the shots shows it: less energy after a shot that got through, more after one that was "
        f"stopped, {shots} shots of the {form.lower()} at {panel}{more}."
    )


def _goes_with(*, rows: tuple[str, ...], day: bool) -> str:
    text = f"{listed(rows)}: a difference could be due to {'that day (air, bows, archers)' if day else 'that panel'}."
    return text[:1].upper() + text[1:]


def _draw_changed(*, archer: str, bow: str, first_m: float, last_m: float, first: str, last: str, reader: str) -> str:
    was, came = (written(one, unit_for_reader("length", reader), figures=3) for one in (first_m, last_m))
    return f"{archer} drew {bow} to {came} {last}, and to {was} {first}."


def _weight_changed(*, archer: str, bow: str, change: float, first: str, last: str) -> str:
    return f"{bow} at {archer}’s draw was {abs(100 * change):.1f}{PERCENT} {'weaker' if change < 0 else 'stronger'} {last} than {first}."


def _mean_as_if_unchanged(*, shots: int) -> str:
    theirs = "its energy" if shots == 1 else "their energies"
    return f"{so_many(shots, 'shot')} used a mean speed, as if nothing had changed: {theirs} may be off by about as much."


def _harder_heads(*, heads: tuple[str, ...], days: tuple[str, ...], other_days: tuple[str, ...], both: tuple[str, ...]) -> str:
    harder = listed(one or "a head with no name" for one in heads)
    only = " only" if len(days) == 1 else ""
    within = f"compare them on {days_listed(both)} only." if both else "no day had both."
    return (
        f"The harder heads ({harder}) were shot on {days_listed(days)}{only}, the softer ones of their form on "
        f"{days_listed(other_days)}. Between days, other things than hardness changed too: {within}"
    )


def _of_hits(one: str, more: str) -> Callable[..., str]:
    return lambda *, hits, of: f"{hits} of {so_many(of, 'hit')} {one if hits == 1 else more}."


def _not_read(*, shots: int) -> str:
    return f"{so_many(shots, 'shot')} {'has' if shots == 1 else 'have'} not been read and {'is' if shots == 1 else 'are'} not counted."


def _read_again(*, hits: int, same: int, within_one: int) -> str:
    were = "was" if hits == 1 else "were"
    who = f"{so_many(hits, 'hit')} {were} read by a second person"
    return f"{who}: same outcome in {same} of {hits}, within one level in {within_one} of {hits}."


def _depths_differ(*, depths: int, median_m: float, most_m: float, reader: str) -> str:
    middle, most = (written(value, unit_for_reader("length", reader), figures=2) for value in (median_m, most_m))
    return f"Depths differ by {most}." if depths == 1 else f"{depths} depths differ by {middle} (median), {most} at most."


def _kappa(*, kappa: float, low: float | None, high: float | None) -> str:
    said = f"Agreement beyond chance (weighted kappa): {kappa:.2f}"
    return said + ("." if low is None else f" (95{PERCENT} interval {low:.2f} to {high:.2f}; 0 is chance, 1 is full agreement).")


def _speeds_drifted(*, day: str, bow: str, archer: str, change: float, readings: int, low: float, high: float) -> str:
    return (
        f"On {day_words(day)}, arrow speeds from {bow} shot by {archer} {'fell' if change < 0 else 'rose'} by "
        f"{abs(100 * change):.1f}{PERCENT} from the first to the last of {so_many(readings, 'reading')} "
        f"(99{PERCENT} interval {100 * low:.1f} to {100 * high:.1f}{PERCENT})."
    )


def _mean_in_a_drift(*, shots: int, falling: bool) -> str:
    early, late = ("low", "high") if falling else ("high", "low")
    return f"{so_many(shots, 'shot')} used a mean speed: the early ones may be too {early}, the late ones too {late}."


def _few_spots(*, free: int, spots: int, panel: str) -> str:
    return f"{free or 'None'} of {spots} aim spots on {panel} {'is' if free <= 1 else 'are'} still free."


def _hits_turned(*, panel: str, now: int, last: int, then: int, before: int) -> str:
    was = "was" if then < 2 else "were"
    return f"On {panel}, {now} of the last {last} hits were not fair; {then or 'none'} of the {before} before {was}."


def _rule_kept(*, rule: str | None, stop_shots: int | None, stop_percent: int | None, stopped_because: str | None) -> str:
    """ "Stop: after 20 shots. Stopped because: it rained."; empty where nothing was written down."""
    kept = rule_words(rule, stop_shots, stop_percent, stopped_because)
    return " ".join(f"{what}: {words[0].lower()}{words[1:].rstrip('.')}." for what, words in kept if words)


CAVEATS: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "archer_unbalanced": _archer_unbalanced,
        "affects_energies": "comparing energies",
        "affects_one_energy": "comparing them at one energy",
        "one_dominates": _one_dominates,
        "if_correlated": _if_correlated,
        "carried_by": _carried,
        "affects_counts": "{counts} counts",
        "affects_group": "{group}",
        "all_on_one_panel": "All {shots} counted shots hit one panel, {panel}. Another panel of the same type may behave differently.",
        "affects_every_share": "every share here",
        "trial_chose_energies": lambda *, shots: f"The trial chose each next energy by the outcomes so far ({so_many(shots, 'shot')}).",
        "order_shows_chosen_energies": _order_shows_it,
        "totals_mean_nothing": (
            "Totals over several energies then mean nothing and are hidden; counts within one band are drawn towards a "
            "half. The 50\N{NO-BREAK SPACE}% energy can still be estimated."
        ),
        "affects_totals": "every total over energies",
        "goes_with": _goes_with,
        "at_one_panel": lambda *, row, shots, panel: f"{row} ({so_many(shots, 'shot')}) at {panel} only",
        "on_one_day": lambda *, row, shots, day: f"{row} ({so_many(shots, 'shot')}) on {day_words(day)} only",
        "affects_rows": lambda *, rows: listed(rows),
        "draw_changed": _draw_changed,
        "weight_changed": _weight_changed,
        "at_its_start": "at its start",
        "at_the_start_of": lambda *, day: f"at the start of {day_words(day)}",
        "at_the_end_of": lambda *, day: f"at the end of {day_words(day)}",
        "on_day": lambda *, day: f"on {day_words(day)}",
        "mean_as_if_unchanged": _mean_as_if_unchanged,
        "affects_bow": "energies of {bow}",
        "harder_heads_on_their_own_days": _harder_heads,
        "affects_heads_of_one_form": "heads of one form that differ in hardness",
        "still_to_check_from_behind": _of_hits("still has to be checked from behind", "still have to be checked from behind"),
        "undecided_between_levels": _of_hits("is undecided between two outcome levels", "are undecided between two outcome levels"),
        "may_belong_to_another": _of_hits("may belong to another shot", "may belong to another shot"),
        "could_still_change": "{hits} of these could still count as through or not.",
        "not_read_yet": _not_read,
        "affects_undecided_counts": "counts that may still change",
        "read_by_a_second": _read_again,
        "disagree_on_through": lambda *, labels: f"They disagree on whether it got through for {', '.join(labels)}.",
        "same_place_of_entry": "Same place of entry in {same} of {hits}.",
        "depths_differ": _depths_differ,
        "too_few_for_kappa": "Too few for agreement beyond chance: at least {fewest} are needed.",
        "no_kappa": "Agreement beyond chance could not be worked out: {why}.",
        "kappa": _kappa,
        "affects_readings": "how sure a reading is",
        "speeds_drifted": _speeds_drifted,
        "mean_in_a_drift": _mean_in_a_drift,
        "affects_bow_that_day": "energies of {bow} that day",
        "few_spots_left": _few_spots,
        "hits_turned_unfair": _hits_turned,
        "same_of_more_panels": lambda *, panels: f"The same is true of {so_many(panels, 'more panel')}.",
        "use_a_fresh_panel": "Fair hits now need aim at what is left, often the edge. Use a fresh panel.",
        "affects_panels": lambda *, panels: f"shots at {listed(panels)}",
        "rule_kept": _rule_kept,
    }
)


def _hits_caption(*, order: str, unplaced: int) -> str:
    listed_only = f" {unplaced} with no known place {be(unplaced)} only in the list." if unplaced else ""
    return f"Number: {order}. Letter: phone and its count. Tile: the outcome level.{listed_only}"


def _room(*, free: tuple[str, ...], spots: int, unplaced: int) -> str:
    left = f"{len(free)} of {spots} aim spots still free: {', '.join(free)}." if free else f"None of {spots} aim spots is free."
    return left + (f" {unplaced} hit{'s' if unplaced > 1 else ''} with no known place may spoil more." if unplaced else "")


FINDING: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # the finding
        "no_shots_yet": "No shots yet",
        "no_shot_matches": "No shot in the book matches what you picked.",
        "none_counted": lambda *, loosed: f"None of {so_many(loosed)} is counted",
        "reasons_below": "The reasons are listed below.",
        "none_measured": lambda *, counted: f"{so_many(counted)}, none with a measured energy",
        "table_lists_them": "The table lists them by head.",
        "too_few_for_percent": lambda *, most, on: f"Too few shots at {on} to give a percentage: at most {so_many(most)} in one band.",
        "cell_share": _cell_share,
        "two_cells": _two_heads,
        "two_seen": _two_heads,
        "picked_for_difference": _picked_for_difference,
        "how_sure": _how_sure,
        "others_at_that_energy": lambda *, on, heads: f"At the same energy, {on}: {'; '.join(heads)}.",
        "other_head": "{who} {counted}, {why}",
        "other_too_few": "too few shots to give a percentage",
        "other_not_compared": "not compared",
        "other_compared": lambda *, verdict: verdict[:1].lower() + verdict[1:],
        # Where energies were chosen by the outcomes so far, one share over all of them says nothing of the head.
        "no_totals": "Energies were chosen by the outcomes so far, so one share over all of them means nothing",
        "no_totals_do": "Enter band limits under Settings, or look at the 50\N{NO-BREAK SPACE}% energy, which such shots can still give.",
        # about the counts
        "near_a_limit": _near_limit,
        "blind_energies": lambda *, shots: (
            f"The energy of {so_many(shots)} has no uncertainty, because the accuracy of the instruments is not recorded."
        ),
        "drag_assumed": lambda *, shots: (
            f"For {so_many(shots)} the loss to air drag rests on an assumed drag, not a measured one: an arrow with tall "
            "feathers or a broad head may have lost more."
        ),
        "axis_note": lambda *, axis: _AXIS_NOTES[axis],
        "speeds_of_like_pooled": lambda *, shots: (
            f"{so_many(shots)} took the speed of like combinations (same bow, archer and fletching, mass within 2 %), "
            "with a wider uncertainty."
        ),
        "short_draws_counted": lambda *, shots: (
            f"{so_many(shots)} with a short draw {be(shots)} counted, because {'its' if shots == 1 else 'their'} speed "
            "was read on the shot itself."
        ),
        "entry_not_recorded": lambda *, shots: (
            f"Where {'it' if shots == 1 else 'they'} went in is not recorded for {so_many(shots)}; counted as not through a gap."
        ),
        "mixed_bows": _mixed_bows,
        "mixed_panel_types": lambda *, types: (
            f"These counts mix {so_many(len(types), 'panel type')} ({', '.join(types)}). Pick one panel type to compare heads on it."
        ),
        "showing": _showing,
        # why an energy is in no band
        "no_distance": "distance to the panel not recorded",
        "no_shaft": "shaft not measured",
        "no_flight": "the flight to the panel can’t be worked out",
        "no_own_speed": "short draw with no speed of its own",
        "no_speed": "no speed read for that bow, arrow and archer",
        "left_out_never_weighed": "arrow never weighed",
        "of_a_gap": "{counts}; says nothing about the plate, counted separately",
        "of_no_band": "{counts}; in no band, listed by head in the table",
        # beside one shot
        "energy_not_told": "energy at the {place} can’t be told",
        "past_rear_face": lambda *, depth_m, at_least, reader: (
            f"{'at least ' if at_least else ''}{in_readers(depth_m, 'length', reader, figures=3)} past the rear face"
        ),
        # the hits on one panel
        "panel_hits_caption": _hits_caption,
        "panel_room": _room,
        "order_on_panel": lambda *, of_trial: "order of this trial’s hits on this panel" if of_trial else "order on this panel",
        # a row: whose shots
        "heads_without_measure": "heads whose {measure} is not known",
        "heads_with_measure": "heads with a {measure} of {words}",
        "shots_over": "shots at panels over {garment}",
        "shots_in_front": "shots at panels in front of {backing}",
        # beside a number, and the list behind it
        "counted_in_a_file": "Counted: {counted} of {loosed} shots.",
        "perhaps_next_band": "perhaps in the next band, at {limit}",
        "several_bows": "{bows} bows, most shots with the {most}",
        "no_such_list": "There is no such list of shots left out.",
        "no_such_row": "The table has no such row.",
        "no_such_band": "The table has no such energy band.",
        "no_such_count": "The table has no such count.",
        # under a head's drawing
        "no_shots_to_count": "No shots to count.",
        "too_few_in_a_band": lambda *, most: f"Too few shots to give a percentage: at most {so_many(most)} in a band.",
        "no_total": "No total over all energies, because each energy was chosen by the outcomes so far.",
        "none_at_any_energy": lambda *, shots: f"None of {so_many(shots)}, at any energy.",
        "all_at_every_energy": lambda *, shots: f"All {shots} shots, at every energy." if shots != 1 else "The one shot.",
        "most_in_one_band": "Most shots in one band: {counted}, {band}.",
    }
)

SENTENCES = MappingProxyType({**FINDING, **CAVEATS})
