"""What the page of trials side by side says: what changed, what could explain a difference, and what to check.

What can change comes by its name in a sentence ("the panel type"), trials by theirs ("Trial 2").
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import in_readers
from proofyard.wording.counts import all_listed, capital, counted
from proofyard.wording.when import day_words, short_day_words


def _changed_together(*, every: tuple[str, ...]) -> str:
    return (
        f"{capital(all_listed(every))} changed together, for every shot. If the counts differ by more than chance, "
        f"any of them may be why, and these shots cannot show which: no shot of one trial shares "
        f"{'either' if len(every) == 2 else 'any of them'} with the other."
    )


def _by_default(*, follows: bool) -> str:
    which = "that follows another, with that one" if follows else "and the one before it"
    return f"Shown by default: the newest trial {which}. Pick others below."


# What can change from one trial to another: the label of its row, and its name in a sentence.
FACTOR_NAMES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "panel_type": ("Panel type", "the panel type"),
        "panel": ("Panels", "the panels themselves"),
        "form": ("Heads", "the form of head"),
        "hardness": ("Hardness of the heads", "the hardness of the heads"),
        "arrow": ("Arrows", "the arrows themselves"),
        "bow": ("Bows", "the bow"),
        "archer": ("Loosed by", "who loosed"),
        "who_with": ("Who shot which bow", "who shot which bow"),
        "distance": ("Distance", "the distance"),
        "angle": ("Angle of the panel", "the angle of the panel"),
        "stand": ("Stand and backing", "the stand"),
        "chronograph": ("Chronograph", "the chronograph"),
        "place": ("Place", "the place"),
        "day": ("Day", "the day"),
        "weather": ("Weather", "the weather"),
    }
)


def _many(*, number: int, again: tuple[str, ...]) -> str:
    in_all = f"{len(again)} in all trials: {', '.join(again)}" if again else "none in all trials"
    return f"{number} of them, {in_all}"


def _deep(*, stand: str, deep_m: float, mass_kg: float | None, height_m: float | None, how: str, at: int | None, reader: str) -> str:
    fell = (
        f", {in_readers(mass_kg, 'heavy_mass', reader)} let fall {in_readers(height_m, 'distance', reader)}" if mass_kg and height_m else ""
    )
    more = fell + (f", {how}" if how else "") + (f", {short_day_words(at)}" if at else "")
    return f"{stand}: {in_readers(deep_m, 'length', reader)} deep{more}"


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # the title
        "trials_side_by_side": "Trials side by side",
        "changed_for_every_shot": lambda *, factors: f"Changed for every shot: {all_listed(factors)}",
        "changed_for_some_shots": lambda *, factors: f"Changed for some shots: {all_listed(factors)}",
        # Of three and more nothing is said of every shot: two of them may well be alike.
        "different_between_these": lambda *, factors: f"Different between these trials: {all_listed(factors)}",
        "nothing_recorded_changed": "Nothing recorded changed",
        # under it
        "no_trial_yet": "There is no trial yet.",
        "only_one_trial": "There is only one trial; a comparison needs two.",
        "pick_one_more_trial": "Pick one more trial.",
        "pick_two_to_four_trials": "Pick two to four trials.",
        "changes_listed_below": "What changed from each trial to the next is listed below.",
        "for_some_shots_only": lambda *, factors: f"For some shots only: {all_listed(factors)}.",
        "measured_differences": lambda *, figures: f"Measured differences: {all_listed(figures)}.",
        "newest_pair_shown": _by_default,
        "all_shots_looked_at": "One of them has no counted shot here, so the changes are listed for all shots.",
        # what could explain a difference
        "nothing_changed_between": "Nothing recorded changed between the shots counted here.",
        "cause_not_recorded": "If the counts differ by more than chance, the cause is not recorded.",
        "nothing_changed_for_every_shot": "No recorded thing changed for every shot.",
        "only_one_thing_changed": (
            "Only one thing changed for every shot: {factor}. If the counts differ by more than chance, that may be "
            "why, or something not recorded."
        ),
        "changed_together": _changed_together,
        "how_to_separate_them": "To separate them, keep all but one the same, or shoot both ways on one day.",
        "some_could_explain_part": lambda *, factors: (
            f"For some shots only: {all_listed(factors)}. That could explain part of a difference too."
        ),
        "none_alike": (
            "No shots are left in one trial if only those alike in all of that are counted, so these changes cannot be excluded."
        ),
        "so_many_alike": (
            "{first} and {second} shots are alike in all of that (single arrows and panels apart). "
            "Count only those to exclude these changes."
        ),
        # beside one thing
        "fair_in_one_not_in_another": "the same hit may count as fair in one trial and not in another",
        "too_few_energies": "fewer than {fewest} shots with a measured energy: too few to show a change",
        "within_the_scatter": "no larger than the shot-to-shot scatter explains",
        "more_than_one_chronograph": "read by more than one chronograph, so part of it may be due to them",
        "bands_allow_for_it": "comparing within one energy band allows for this",
        "energy_of_bow": "Energy of {bow}, {archer}, at the chronograph",
        "weight_of_bow": "Weight of {bow} at the draw",
        "not_shot": "not shot",
        "not_weighed": "not weighed",
        "arrows_on_average": lambda *, mass_kg, reader: f"arrows of {in_readers(mass_kg, 'mass', reader, figures=3)} on average",
        "backing_was_deep": _deep,
        "many_of_them": _many,
        "day_with_its_weather": "the day with its weather",
        # builds met again
        "hits_when_it_began": lambda *, trial, hits, day: f"{trial}: {counted(hits, 'earlier hit')} when it began on {day_words(day)}",
        "same_build_again": lambda *, number, met: (
            f"The same build {number}, nothing was done to it between, as far as the book knows. {'; '.join(met)}."
        ),
        # before the counts
        "through_means_differ": "These trials define “through” differently. Here all are counted by one definition: {meaning}.",
        "fair_distances_differ": (
            "Their fair distances differ, and each trial’s hits are counted by its own. Pick “Any, fair or not” to count them alike."
        ),
    }
)
