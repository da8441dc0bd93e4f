"""What is said of one question asked of several groups' books."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.wording.counts import capital, listed


def _few(few: bool) -> str:
    return "; few shots" if few else ""


def _share(*, hits: int, shots: int, interval: str, few: bool) -> str:
    return f"{hits} of {shots} through, 95\N{NO-BREAK SPACE}% interval {interval}\N{NO-BREAK SPACE}%{_few(few)}"


def _point(*, estimate: str, shots: int, few: bool) -> str:
    return f"{estimate}, n = {shots}{_few(few)}"


def _no_shots(*, loosed: int) -> str:
    return (
        "no such shots"
        if not loosed
        else f"none of its {loosed} such shots can be counted"
        if loosed > 1
        else "its one such shot is not counted"
    )


def _armour_differs(*, what: str, least: str, most: str, percent: int) -> str:
    more = f"{percent}\N{NO-BREAK SPACE}% more than of {least}’s"
    return f"the armour differs: the {what} of {most}’s panels is {more}. Narrow the limits until they are alike"


def _no_measure(*, groups: tuple[str, ...]) -> str:
    return f"whether the armour is alike can’t be told: neither thickness nor weight is recorded for all panels of {listed(groups)}"


def _wide(wide: bool) -> str:
    return " With three or four groups the interval is wide by nature." if wide else ""


def _share_of_all(*, value: float, low: float, high: float) -> str:
    return f"{100 * value:.0f}\N{NO-BREAK SPACE}%, 95\N{NO-BREAK SPACE}% interval {100 * low:.0f} to {100 * high:.0f}\N{NO-BREAK SPACE}%"


def _found_share(*, who: str, estimate: str, groups: int, shots: int, wide: bool) -> str:
    return f"Over {groups} groups and {shots} shots, the share through with the {who} is {estimate}.{_wide(wide)}"


def _found_energy(*, who: str, estimate: str, between: float, groups: int, left_out: int, shots: int, wide: bool) -> str:
    out = f" {left_out} of {groups + left_out} groups are left out, as their intervals are open." if left_out else ""
    apart = (
        f"beyond their intervals the groups lie about {100 * between:.0f}\N{NO-BREAK SPACE}% apart"
        if between > 0.005
        else ("the groups lie no further apart than their intervals let expect")
    )
    return (
        f"Over {groups} groups and {shots} shots, the 50\N{NO-BREAK SPACE}% energy of the {who} is {estimate}; {apart}.{out}{_wide(wide)}"
    )


def _refused(*, why: str, who: str, groups: int) -> str:
    return f"{capital(why)}. So no figure is given over {'all ' if groups > 1 else ''}groups for the {who}: read each by itself."


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "pool_limits_crossed": "Enter a limit that is not below the first one.",
        "pool_no_shots": _no_shots,
        "pool_share": _share,
        "pool_share_of_all": _share_of_all,
        "pool_no_point": "no estimate yet: {why} ({hits} of {shots} through)",
        "pool_point": _point,
        "pool_needs_a_band": "a share through holds at one energy, so enter an energy to begin at and one to end at",
        "pool_by_thickness": "thickness",
        "pool_by_weight": "weight of a square metre",
        "pool_by_hardness": "hardness",
        "pool_in_vickers": "That is in {scale}. Groups are asked on one scale, Vickers: enter it so, for example 180 HV.",
        "pool_other_armour": _armour_differs,
        "pool_no_measure": _no_measure,
        "pool_nothing": "No group has a counted shot like this.",
        "pool_refused": _refused,
        "pool_found_share": _found_share,
        "pool_found_energy": _found_energy,
    }
)
