"""50 % energies: of each head at each panel type, as on the page."""

from typing import Any

from fastapi import Request, Response
from pydantic import Field

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.fifty_percent.page import HeadFiftyPercent, PanelTypePart, read_fifty_percent
from proofyard.answers.fifty_percent.settings import ARROW, SPREADS, TAILS, TERM
from proofyard.api.v1.asked import must_be_usable, query_of
from proofyard.api.v1.documented import routes, told
from proofyard.api.v1.findings import CaveatTold, SettingsTold, settings, to_check
from proofyard.api.v1.results import VIEW
from proofyard.api.v1.shapes import ReasonTold, Shape, shape_of
from proofyard.api.v1.told import answered, number, reason
from proofyard.exchange.fifty_percent_columns import OF_A_HEAD_AT_A_TYPE
from proofyard.views.address import Setting
from proofyard.views.settings import Filter

router = routes("50 % energies")

FILTERS: tuple[Setting[Any] | Filter, ...] = (*VIEW, TERM, TAILS, ARROW, *SPREADS)
HeadTold = shape_of(
    "FiftyPercentEnergy",
    "The 50 % energy (ballistic limit V50, as an energy) of one head at one panel type, or why there is none.",
    OF_A_HEAD_AT_A_TYPE,
    undecided=(int, Field(description="Shots beside that may have got through or not: in neither count")),
    unmeasured=(int, Field(description="Shots beside without an energy")),
    one_sided_level=(float | None, Field(description="Where only one end is bounded: how often that end holds by itself")),
    method=(str | None, Field(description="How the interval was found")),
    outside=(bool, Field(description="The point lies outside the energies shot: a guess of the curve’s")),
    chosen=(bool, Field(description="The energies were chosen by the outcomes so far")),
    why_not=(ReasonTold | None, Field(description="Why there is no figure")),
    unbounded=(ReasonTold | None, Field(description="Why an end is not bounded")),
    lead=(ReasonTold, Field(description="The one sentence on this head")),
    notes=(list[ReasonTold], Field(description="What to check in reading it")),
)


class FiftyPercentTold(Shape):
    """The 50 % energy of each head at each panel type."""

    settings: SettingsTold
    finding: ReasonTold
    loosed: int
    counted: int
    energies: list[HeadTold] = Field(description="The panel type that was shot most first")  # type: ignore[valid-type]
    to_check: list[CaveatTold]


@router.get("/fifty-percent", **told(FiftyPercentTold, filters=FILTERS, listed=False))
def fifty_percent(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """50 % energies

    Of each head at each panel type with its 95 % interval, or the reason why the shots give none.
    """

    def make() -> dict[str, Any]:
        query = query_of(request, known=FILTERS, paged=False)
        found = read_fifty_percent(book, query, reader="metric", only_trial=seat.trial_id)
        must_be_usable(found.asked)
        return {
            "settings": settings(found.asked.view),
            "finding": reason(found.finding),
            "loosed": found.loosed,
            "counted": found.counted,
            "energies": [_head(head, part) for part in found.parts for head in part.heads],
            "to_check": to_check(found.to_check),
        }

    return answered(request, seat, book, make)


def _head(head: HeadFiftyPercent, part: PanelTypePart) -> dict[str, Any]:
    found, point = head.found, head.found.point
    return {
        "panel_type": part.words,
        "panel_type_key": part.key,
        "head_form": head.key,
        "shots": found.shots,
        "through": found.hits,
        "fifty_percent_energy_j": number(point.energy_j) if point else None,
        "fifty_percent_energy_low_j": number(point.low_j) if point else None,
        "fifty_percent_energy_high_j": number(point.high_j) if point else None,
        "undecided": len(found.open_shots),
        "unmeasured": found.unmeasured,
        "one_sided_level": point.one_sided_level if point else None,
        "method": point.method if point else None,
        "outside": bool(point.outside) if point else False,
        "chosen": found.chosen,
        "why_not": reason(found.why_not) if point is None else None,
        "unbounded": reason(point.unbounded) if point else None,
        "lead": reason(head.lead),
        "notes": [reason(one) for one in head.notes],
    }
