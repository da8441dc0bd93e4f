"""What a claim must name before it can be judged, said by the field that lacks it."""

from collections.abc import Mapping
from typing import Any

from proofyard.records.claim import MOST_ONE_IN, OF_DIFFERENCES, OF_ENERGIES, OF_SHARES
from proofyard.records.columns import picked
from proofyard.records.typed_values import Problem

Row = Mapping[str, Any]
# Of a claim that compares: the two columns that name what is compared, and what to do where one is empty.
_TWO = {
    "needs_less": ("head_form", "than_head", "Choose another head: a head needs as much as itself."),
    "thickness": ("thickness_m", "than_thickness_m", "Enter another thickness: two of one thickness are compared as panels."),
    "panel": ("panel_id", "than_panel_id", "Choose another panel."),
    "stand": ("stand_id", "than_stand_id", "Choose another stand."),
}
_ASKED = {
    "head_form": ("head_form", "Choose the head."),
    "than_head": ("than_head", "Choose the head that it is compared with."),
    "thickness_m": ("thickness", "Enter the thickness, for example 2 mm."),
    "than_thickness_m": ("than_thickness", "Enter the thickness that it is compared with, for example 1.6 mm."),
    "panel_id": ("panel", "Choose the panel."),
    "than_panel_id": ("than_panel", "Choose the panel that it is compared with."),
    "stand_id": ("stand", "Choose the stand that holds this garment or backing."),
    "than_stand_id": ("than_stand", "Choose the stand that it is compared with."),
    "fifty_percent_above_j": ("fifty_percent_above", "Enter the energy, for example 80 J."),
    "difference_ratio": ("difference", "Enter how much more at least, for example 10 %."),
}


def missing_parts(claim: Row) -> list[Problem]:
    """What is missing or contradicts, of a claim as it would stand."""
    form = claim["claim_form"]
    problems = _of_shares(claim) if form in OF_SHARES else _of_energies(claim) if form in OF_ENERGIES else []
    if claim.get("construction") is None and form != "panel":
        # Shots at mail say nothing of plate, so no claim mixes constructions.
        problems.append(Problem("construction", "Choose how the panels are made."))
    if form != "never" and claim.get("set_shots") == 0:
        problems.append(Problem("set_shots", "Enter 1 or more, for example 29, or leave it empty."))
    return problems


def _of_shares(claim: Row) -> list[Problem]:
    problems = []
    if claim["claim_form"] == "holds" and not 2 <= (claim.get("one_in") or 0) <= MOST_ONE_IN:
        problems.append(Problem("one_in", f"Enter a number from 2 to {MOST_ONE_IN}, for example 10: at most 1 shot in 10."))
    if not picked(claim.get("heads")):
        problems.append(Problem("heads", "Tick the heads that it is to hold against."))
    if (claim.get("bow_id") is None) == (claim.get("energy_j") is None):
        both = claim.get("bow_id") is not None
        said = "Leave one of the two empty: the bow, or the energy." if both else "Choose a bow, or enter an energy."
        problems.append(Problem("bow", said))
    return problems


def _of_energies(claim: Row) -> list[Problem]:
    form = claim["claim_form"]
    one, other, same = _TWO.get(form, ("", "", ""))
    wanted = ["head_form", *(name for name in (one, other) if name and name != "head_form")]
    wanted += ["fifty_percent_above_j"] if form == "fifty_percent_above" else ["difference_ratio"] if form in OF_DIFFERENCES else []
    problems = [Problem(*_ASKED[name]) for name in wanted if not claim.get(name)]
    if one and claim.get(one) and claim.get(one) == claim.get(other):
        problems.append(Problem(_ASKED[other][0], same))
    return problems
