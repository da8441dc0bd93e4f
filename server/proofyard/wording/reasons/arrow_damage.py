"""What is said of arrows: heads and shafts that shots ended, and how many shots one lasts."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import plainly, with_unit
from proofyard.wording.counts import all_listed, counted
from proofyard.wording.levels import TWO_SIDED

ONE_SIDE = "one-sided, 95\N{NO-BREAK SPACE}%"


def _shots(value: float) -> str:
    """Two figures carry what so few heads say."""
    return plainly(value, figures=2)


def _life(*, lasts: float | None, low: float, high: float | None, shots: int, ended: int, ended_high: int) -> str:
    """ "6.8 shots, 95 % interval 3.2 to 20 (5 ended in 34 shots)"."""
    if high is None:
        how = "none ended" if not ended_high else f"none surely ended, perhaps {ended_high}"
        return f"at least {_shots(low)} shots ({ONE_SIDE}; {how} in {counted(shots)})"
    how_many = f"{ended}" if ended == ended_high else f"{ended} to {ended_high}"
    first = f"{_shots(lasts)} shots, " if lasts is not None else ""
    return f"{first}{TWO_SIDED} interval {_shots(low)} to {_shots(high)} shots ({how_many} ended in {counted(shots)})"


def _lasts(*, who: str, on: str, life: str) -> str:
    return f"On {on} {who} lasts {life}."


def _dies(*, who: str, other: str, on: str, ended: str, other_ended: str, level: float) -> str:
    share = with_unit(plainly(100 * level, figures=4), "%")
    return (
        f"On {on} {who} gets through more easily than {other} and dies of it: at like energy {ended} shots ended its head, "
        f"against {other_ended} (both shown, each by an interval of {share})."
    )


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # the page's finding
        "no_shots_on_a_panel": "No shot on a panel matches what you picked.",
        "no_head_looked_at": lambda *, shots: f"Nobody noted what became of a head after {counted(shots)} on the panel.",
        "head_lasts": _lasts,
        # gets through and dies of it
        "gets_through_and_dies": _dies,
        "not_yet_that_any_dies": lambda *, pairs: (
            f"Not yet shown {'of these two heads' if pairs == 1 else f'in any of {pairs} pairs of heads'} that one gets through more "
            "easily and dies of it."
        ),
        "dies_of_it": "Shown: {who} gets through and dies of it",
        "not_yet_that_it_dies_of_it": "Not yet",
        "ratio_with_ends": "{ratio}, {ends}",
        "endings_told": lambda *, first, second, ratio, ends: (
            f"{first} against {second}; odds {f'{plainly(ratio, figures=3)} times, ' if ratio is not None else ''}{ends}"
        ),
        "endings_not_told": "Not compared: {why}",
        "endings_at_chosen_energies": "energies were chosen by the outcomes",
        "endings_at_no_like_energy": "no shots of both at like energy",
        "endings_alike": "none of these heads was surely ended, or all were",
        # a row
        "life_told": _life,
        "life_not_told": "not told: {why}",
        # what ends a head, and what is shown
        "ended_means": lambda *, ends: f"A head is ended when it is {all_listed(ends, 'or')}.",
        "damage_showing": lambda *, narrowed: f"Showing: {', '.join(narrowed) or 'all shots on a panel'}, fair or not.",
    }
)
