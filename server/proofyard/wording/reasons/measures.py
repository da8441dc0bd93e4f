"""What is said of measures: which of them orders the heads as the outcomes do, how firmly, and why it can't be told."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.quantities import figure
from proofyard.wording.counts import all_listed, counted

LUCK = "luck alone does as well in {} of 100 cases"


def _chance(p: float) -> str:
    """ "luck alone does as well in 3 of 100 cases"."""
    return LUCK.format("less than 1" if p < 0.01 else f"{100 * p:.0f}")


def _same(one_line: tuple[str, ...]) -> str:
    if not one_line:
        return ""
    goes = "goes" if len(one_line) == 1 else "go"
    return f"; in these heads {all_listed(one_line)} {goes} with it, so which of them it is can’t be told here"


def _told(*, how: str, strength: float, rises: bool, heads: int, p: float | None, one_line: tuple[str, ...]) -> str:
    way = "more" if rises else "less"
    if how == "concordance":
        share = f"{100 * strength:.0f}\N{NO-BREAK SPACE}%"
        first = f"of two heads at one energy level with different outcomes, the one with {way} of it got through in {share}"
    else:
        first = f"heads with {way} of it need less energy: correlation {strength:.2f} (0 none, 1 perfect)"
    firm = _chance(p) if p is not None else "too few heads to tell that from luck"
    return f"{first}; {counted(heads, 'head')}; {firm}{_same(one_line)}"


def _shown(*, measure: str, on: str, rises: bool, heads: int, p: float | None, one_line: tuple[str, ...]) -> str:
    way = "more" if rises else "less"
    name = measure[:1].lower() + measure[1:]
    return f"On {on} heads with {way} {name} get through more easily ({counted(heads, 'head')}; {_chance(p or 0.0)}){_same(one_line)}."


def _energy(*, more: int, pairs: int) -> str:
    if not pairs:
        return "No head has two shots with different outcomes and energies."
    return (
        f"Energy itself, with one and the same head: of {pairs} pairs of shots with different outcomes, the one with more energy got "
        f"through in {more}."
    )


def _drag(*, dragging: Sequence[str], known: int, unknown: int) -> str:
    lead = "A shaft that is wider than its head drags in the hole; it is in none of these measures."
    which = f"None of the {counted(known, 'head')} measured with their shafts" if unknown else "No head here"
    found = f"It does behind {all_listed(dragging)}." if dragging else f"{which} is narrower than its shaft." if known else ""
    open_ = f"Of {counted(unknown, 'head')} it can’t be told: head or shaft was not measured." if unknown else ""
    return " ".join(part for part in (lead, found, open_) if part)


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "measure_told": _told,
        "measure_says_nothing": lambda *, heads: f"measured of {counted(heads, 'head')}: nothing to order by",
        "measure_shown": _shown,
        "no_measure_shown": lambda *, heads, on: (
            f"On {on} no measure of the {counted(heads, 'head')} is shown to explain which get through."
        ),
        "measures_not_told": lambda *, why: f"Which measure explains? {why[:1].upper()}{why[1:]}.",
        "energy_orders": _energy,
        "shaft_drag": _drag,
        "shaft_of_head": lambda *, head, shaft_m, head_m, reader: (
            f"{head} (shaft {figure(shaft_m, 'small_length', reader)}, head {figure(head_m, 'small_length', reader)})"
        ),
    }
)
