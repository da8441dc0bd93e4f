"""The caveats of a results page: its cells are the groups, and all that was loosed stands around them."""

from collections.abc import Sequence

from server.findings.caveats.view import Group, View
from server.findings.cells import Cell, CountedShot
from server.findings.loosed import Loosed
from server.findings.view_settings import ViewSettings
from server.records.caveat_facts import CaveatFacts


def cell_key(cell: Cell) -> str:
    return f"{cell.form}:{cell.band.value}"


def view_of_results(
    loosed: Loosed, counted: Sequence[CountedShot], *, cells: Sequence[Cell] = (), facts: CaveatFacts, settings: ViewSettings
) -> View:
    """The view that a results page gives to `caveats_of`."""
    groups = (
        Group(
            cell_key(cell), f"{cell.who}, {cell.band.with_unit}", tuple(one.shot for one in cell.shots),
            row=cell.form, row_words=cell.who, level=cell.band.with_unit,
        )
        for cell in cells
    )  # fmt: skip
    return View(
        shots=tuple(one.shot for one in counted),
        groups=tuple(groups),
        facts=facts,
        around=loosed.shots,
        trials=loosed.trials,
        through=settings.through,
        place=settings.place,
        alike=float(settings.alike),
    )
