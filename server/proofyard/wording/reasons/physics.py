"""What the reasons of `physics` say. What a formula expects of a number (`OutOfRange`) follows "expected", "has to be", "want"."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import in_readers


def _loosed_too_steeply(*, steepest_rad: float) -> str:
    return f"it would have to be loosed at more than {math.degrees(steepest_rad):.0f} degrees"


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # what a formula expects
        "above_zero": "above 0 and finite",
        "zero_or_more": "0 or more and finite",
        "finite": "finite",
        "a_result_too_large": "inputs whose result a number can hold",
        "between": "{low:g} to {high:g}",
        "whole_between": "a whole number from {low} to {high}",
        "whole_number": "a whole number",
        "at_least": "at least {least:g}",
        "at_most": "at most {most:g}",
        "above": "above {limit:g}",
        "below": "below {limit:g}",
        "one_for_each": "{count}, one for each",
        "one_end_at_least": "one end at least",
        "one_channel": "one channel",
        "section_has_no_thickness": "none: a {section} section is given by its width",
        "what_a_panel_can_leave": lambda *, panel_kg, reader: f"what a panel of {in_readers(panel_kg, 'heavy_mass', reader)} can have left",
        # the bow and its arrows
        "arrow_has_more_than_the_bow_stored": (
            "the arrow would carry more energy than the bow stored, so the draw, the force-draw points, the mass or the speed is wrong"
        ),
        "limbs_would_take_the_rest": "no bow of this make gives so much to so light an arrow: its own limbs would take the rest",
        "too_many_times_the_bow": "it would have to be more than {most_times:.0f} times as strong: no bow of the same make",
        "arrow_too_far_from_those_shot": (
            "the arrow is under half of the lightest or over twice the heaviest that was shot: too far to say"
        ),
        "no_bow_with_speeds": "no bow has arrows whose mass and speed are known",
        "bow_too_far_from_those_shot": (
            "that is over {most_times:.0f} times the strongest of your bows or under a third of the weakest: no bow of the same make"
        ),
        "arrow_too_far_for_its_bow": (
            "for such a bow the arrow is under half of the lightest or over twice the heaviest that you shot: too far to say"
        ),
        "one_arrow_only": "one arrow can’t tell a virtual mass: shoot a clearly heavier or lighter one too",
        "masses_within_a_tenth": "the arrows are too alike: their masses lie within a tenth of each other",
        "heavier_not_slower": "the heavier arrows weren’t the slower ones, so they differ in more than mass",
        "virtual_mass_below_nothing": "the virtual mass comes out below nothing, so the arrows differ in more than mass",
        "virtual_mass_lost_in_chance": ("the arrows are too alike, or their speeds too rough: the virtual mass can’t be told from chance"),
        "virtual_mass_not_above_nothing": "the virtual mass can’t be told from nothing",
        "arrow_gets_too_little": lambda *, least_efficiency: (
            f"the bow would give the heavier arrow under {100 * least_efficiency:.0f}\N{NO-BREAK SPACE}% of its energy, as no bow in print "
            "does: the arrows’ speeds are too alike for their masses, so they differ in more than mass"
        ),
        # flight
        "loosed_too_steeply": _loosed_too_steeply,
        "out_of_reach": "the arrow doesn’t reach so far, however high it is loosed",
        "drag_lost_in_chance": "the arrow’s loss of speed can’t be told from chance: stand further off, or shoot more",
        "bounce_fits_any_speed": "so long a bounce fits any speed, if the arrow left downwards",
        # speed by sound
        "fewer_than_two_noises": "fewer than two noises stand out: mark release and hit by hand",
        "no_two_noises_far_enough": "no two noises lie as far apart as release and hit do: mark them by hand",
        "no_two_noises_fit_the_flight": (
            "no two noises lie as far apart as release and hit do at {slowest_m_s:g} to {fastest_m_s:g} m/s over {distance_m:g} m: "
            "mark them by hand"
        ),
        "no_time_left_to_fly": "once the sound’s own travel is taken out no time is left to fly in",
        "flight_time_too_poor": "the time from release to hit is known too poorly to tell a speed by",
        # hardness and strength
        "hardness_never_tried": "nobody tried its hardness",
        "hardness_outside_the_table": "what was found lies outside the table for {scale}",
        "hardness_contradicts": (
            "the findings contradict each other: one says at least {at_least:.0f} {scale}, another at most {at_most:.0f} {scale}; "
            "they may be of different places, or of a skin and what lies under it"
        ),
        "hardness_table_ends": "the table from {scale} to {to} doesn’t reach there",
        "strength_table_ends": "the table from {scale} to strength doesn’t reach there",
        "sheet_may_be_too_thin": "a sheet so thin needs {least:g} {scale} or more, and that isn’t sure",
        "asked_steel_open": "the hardness of the steel asked about is open at one end, so its strength has no upper or no lower limit",
        "shot_steel_open": "the hardness of the steel that was shot at is open at one end, so its strength has no upper or no lower limit",
        "no_faster_than_the_limit": "it is no faster than the speed at which half are stopped",
    }
)
