"""What is said on the sheet of a day: how many shots, what the answer rests on, what is still to do, what to shoot next."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.records.trial import NEXT_SHOT_RULES
from proofyard.wording.counts import counted


def _shots(*, shots: int, hits: int, unread: int) -> str:
    if not shots:
        return "No shots this day."
    rest = f", {unread} not read yet." if unread else "."
    return f"{counted(shots, 'shot')} this day, {counted(hits, 'hit')} on the panel read{rest}"


def _rests_on(*, days: int, this_day_alone: bool, counts: int, shots: int) -> str:
    which = "this day’s shots" if this_day_alone else f"all shots of this trial up to this day, {counted(days, 'day')}"
    return f"This rests on {which}: {counts} counted of {counted(shots, 'shot')}."


def _fewest(*, enough: str, more: int, few: int) -> str:
    rest = f" {more} more have fewer than {few}." if more else ""
    return f"The heads and energies with the fewest shots, whatever their outcome.{_planned(enough)}{rest}"


def _planned(enough: str) -> str:
    return f" Planned: {enough.rstrip('.')}." if enough else ""


def _by_rule(*, panel_type: str, rule: str, why: str, waiting: str) -> str:
    return " ".join(filter(None, (f"By the trial’s rule, at {panel_type}: {rule}.", why, waiting)))


def _lagging(*, shots: int, undecided: int) -> str:
    words = f"{shots} counted so far" if shots else "none counted yet"
    return words + (f", {undecided} more with fairness undecided" if undecided else "")


def _cell(*, who: str, band: str, panel_type: str) -> str:
    return f"{who[:1].upper()}{who[1:]} at {band}{f', {panel_type}' if panel_type else ''}"


def _joined(*, words: Sequence[str]) -> str:
    return ", ".join(filter(None, words))


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "day_shots": _shots,
        "day_rests_on": _rests_on,
        # still to do
        "day_unread": "Not read yet",
        "day_rear_check": "Check from behind on the bench",
        "day_no_outcome": "Hit, no outcome read",
        "day_to_check": lambda *, arrows: f"{_arrows(arrows)} to check before {'it is' if arrows == 1 else 'they are'} shot again",
        "day_not_sound": lambda *, arrows: f"{_arrows(arrows)} not sound: keep out of the quiver",
        "day_unmeasured": "Energy not measured: {want}",
        "day_short_draw": "a short draw without its own speed; it can’t be measured now",
        "day_weigh_and_read": "weigh arrow {arrow}, and read its speed with {bow} and {archer}",
        "day_weigh": "weigh arrow {arrow}, build {build}",
        "day_read_speeds": "read speeds of {archer} with {bow}",
        # next
        "day_closed": "The trial is closed and takes no more shots. Start a follow-up trial.",
        "day_nothing_counts": "Nothing counts yet: any fair hit with a measured energy helps.",
        "day_enough_everywhere": lambda *, few, enough: f"Every head has {few} shots or more in every band.{_planned(enough)}",
        "day_fewest": _fewest,
        "day_rule_waits": lambda *, rule: f"{NEXT_SHOT_RULES[rule]}. No shots yet.",
        "day_by_rule": _by_rule,
        "day_offer": lambda *, hand: f"{hand[:1].upper()}{hand[1:]}",
        "day_gain": _joined,
        "day_cell": _cell,
        "day_lagging": _lagging,
    }
)


def _arrows(arrows: int) -> str:
    return "Arrow" if arrows == 1 else "Arrows"
