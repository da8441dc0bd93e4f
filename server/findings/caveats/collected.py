"""All caveats of a view, those that weigh most first."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from server.findings.caveats.archers import unbalanced_archers
from server.findings.caveats.carries import one_carries, one_panel
from server.findings.caveats.caveat import KINDS, Caveat
from server.findings.caveats.chosen_energies import chosen_energies
from server.findings.caveats.confounding import head_goes_with
from server.findings.caveats.draw_drift import draw_drift
from server.findings.caveats.hardness_sets import hardness_and_day
from server.findings.caveats.provisional import provisional
from server.findings.caveats.second_reader import second_reader
from server.findings.caveats.speed_drift import speed_drift
from server.findings.caveats.used_up import used_up
from server.findings.caveats.view import View

SHOWN = 3  # the rest is folded: ten warnings are read like none

ASKED: tuple[Callable[[View], list[Caveat]], ...] = (
    chosen_energies, hardness_and_day, head_goes_with, speed_drift, draw_drift, used_up, provisional, unbalanced_archers, one_carries, one_panel,
    second_reader,
)  # fmt: skip


def caveats_of(view: View) -> tuple[Caveat, ...]:
    """Everything to mind in a view, in the order of KINDS; of one kind, what rests on most shots first."""
    order = list(KINDS)
    found = [caveat for ask in ASKED for caveat in ask(view)]
    return tuple(sorted(found, key=lambda one: (order.index(one.kind), -len(one.shots))))


def notes_by_group(caveats: tuple[Caveat, ...]) -> Mapping[str, tuple[str, ...]]:
    """Key of a group -> the few words to stand beside its number."""
    found: dict[str, tuple[str, ...]] = {}
    for caveat in caveats:
        for key, words in caveat.notes:
            found[key] = (*found.get(key, ()), words)
    return MappingProxyType(found)
