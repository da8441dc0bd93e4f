"""What is wrong with what an address asks for, beside the control that it came from."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import plainly

_RANGE = "enter a range, for example 170 to 190 HV, 45 to 50 HRC or 500 to 600 MPa"


def _no_choice(*, typed: str, shown: str) -> str:
    """`shown`: what stands in for it meanwhile; empty where nothing does."""
    return f"“{typed}” is not one of the choices. Pick one" + (f"; until then it shows “{shown}”." if shown else ".")


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # of any setting
        "asked_no_choice": _no_choice,
        "asked_is_not": "“{typed}” is not {what} here. Pick one from the list.",
        "asked_nothing": "That has to be more than nothing.",
        "asked_no_page": "“{typed}” is no page of the list. Pick one below; until then it shows the first.",
        # of a view
        "asked_depth": "Enter the depth past the rear face, for example 20 mm; until then it shows any depth.",
        "asked_limits_too_long": "That is too long for band limits: {most} numbers at most, for example {example}.",
        "asked_one_limit_or_two": "“{typed}” could be one number or two. Put a space between limits, for example {example}.",
        "asked_too_many_limits": "{limits} limits are too many to read: {most} at most, for example {example}.",
        "asked_no_limit": "There is no number in “{typed}”. Enter band limits, for example {example}.",
        "asked_limit_twice": "One limit is there twice. Enter each once, for example {example}.",
        "asked_limit_in_unit": "“{typed}” is not a band limit. Enter numbers in {unit} without the unit, for example {example}.",
        "asked_never_fair": (
            "These two settings exclude each other: a hit there is never fair. Pick “Any, fair or not”, or another place where it went in."
        ),
        # of the 50 % energy
        "asked_no_percentages": "“{typed}” is not a list of percentages. Enter numbers, for example {example}.",
        "asked_within_100": "Enter percentages above 0 and below 100 %, for example {example}.",
        "asked_too_many_shares": "{shares} are too many to read: {most} at most, for example {example}.",
        # of comparisons
        "asked_a_second": "Tick a second one, or none to compare all.",
        "asked_too_many_groups": "Tick {most} at most: {groups} need too many comparisons for any difference to be shown.",
        "asked_too_many_trials": "{trials} trials are too many: pick {most} at most. The first {most} are shown.",
        # of a plan
        "asked_no_number_of_shots": "“{typed}” is no number of shots that can be counted out. Give 1 to {most}.",
        # of another bow and of a what-if
        "asked_draw_weight": "Enter the draw weight, for example 160 lb.",
        "asked_panel": "That panel is not in the list. Pick one.",
        "asked_panel_type": "The panel was not shot with that behind it. Pick one from the list.",
        "asked_no_rule": "There is no rule for {what} of this kind of armour. Enter nothing here.",
        "asked_no_interval": f"“{{typed}}” is not an interval: {_RANGE}.",
        "asked_one_scale": f"Both ends on one scale: {_RANGE}.",
        "asked_no_table": f"No table leads from {{scale}} to a strength: {_RANGE}.",
        "asked_one_figure": f"A hardness is never one figure: {_RANGE}.",
        "asked_softer_first": lambda *, low, high, scale: f"From the softer end to the harder: {plainly(low)} to {plainly(high)} {scale}?",
        # of blunt impact
        "asked_trial": "That trial is not in the list. Pick one.",
        "asked_panel_not_hit": "None of these shots hit that panel. Pick one from the list.",
        "asked_shot": "That shot is not among these.",
        "asked_no_after": "Enter nothing here: this arrow neither bounced back nor passed right through.",
    }
)
