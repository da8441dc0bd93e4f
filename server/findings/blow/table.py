"""A blow as a row of a table, its figures bare under headings that carry the units; and the printed limits in words."""

from dataclasses import dataclass

from server.findings.blow.criterion import CriterionFound
from server.findings.blow.page import BlowRow
from server.findings.shot_page import what_it_did
from server.physics.backing_drop import printed_drop
from server.physics.ranges import CantTell
from server.physics.trauma import printed_back_face
from server.quantities import Uncertain, from_si, plainly, unit_for_reader, with_unit, written_with_uncertainty


@dataclass(frozen=True)
class PrintedTold:
    """The limit of 44 mm and the drop check, with what they were made for."""

    figure: str
    made_for: str
    not_for: str
    drop: str


def printed_told() -> PrintedTold:
    found = printed_back_face("bullets_on_clay")
    return PrintedTold(found.words, found.made_for, found.not_for, printed_drop("bullets_on_clay").words)


def blow_cells(row: BlowRow, *, reader: str) -> tuple[str, ...]:
    """Label, panel, what it did, energy, momentum, what went on in the panel, the back pushed in, the criterion."""
    there, told = row.impact.at_target, row.told
    back = row.fact.back_face_m
    if told is None:
        went_on = "can’t be told"
    else:
        went_on = _span(*told.range.energy_j, open_above=told.open_above, reader=reader)
    return (
        row.fact.label,
        row.fact.panel_name,
        what_it_did(row.fact, reader=reader),
        _doubtful(there.energy_j, "energy", reader) if there else "not known",
        _doubtful(there.momentum_kg_m_s, "momentum", reader) if there else "not known",
        went_on,
        plainly(from_si(back, unit_for_reader("length", reader)), figures=3) if back is not None else "not read",
        criterion_cell(row.criterion),
    )


def _span(low_j: float, high_j: float, *, open_above: bool, reader: str) -> str:
    low, high = (plainly(from_si(one, unit_for_reader("energy", reader)), figures=2) for one in (low_j, high_j))
    if open_above:
        return f"{low} or more"
    return low if low == high else f"{low} to {high}"


def _doubtful(found: Uncertain, shown_as: str, reader: str) -> str:
    """ "83.3 ± 1.2": the unit stands in the heading."""
    unit = unit_for_reader(shown_as, reader)
    return written_with_uncertainty(found, unit, figures=3).replace(with_unit("", unit), "", 1)


def criterion_cell(found: CriterionFound | CantTell) -> str:
    """ "−4.1 to −0.7", "−4.1 or more"."""
    if isinstance(found, CantTell):
        return "can’t be told"
    low, high = (None if end is None else plainly(end, figures=2) for end in (found.low, found.high))
    if low is None:
        return f"at most {high}" if high is not None else "not bounded"
    if high is None:
        return f"{low} or more"
    return low if low == high else f"{low} to {high}"
