"""Comparisons: how two heads, panels or days stand to each other, as on the page."""

from collections.abc import Sequence
from typing import Any

from fastapi import Request, Response
from pydantic import Field

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.compare.asked import BY, OF
from proofyard.answers.compare.page import CompareFindings, GroupOut, read_comparison
from proofyard.api.v1.asked import must_be_usable, query_of
from proofyard.api.v1.documented import routes, told
from proofyard.api.v1.findings import CaveatTold, CountedTold, FindingTold, counts, finding, to_check
from proofyard.api.v1.results import VIEW
from proofyard.api.v1.shapes import ReasonTold, Shape
from proofyard.api.v1.told import answered, number, reason
from proofyard.quantities.reason import CantTell
from proofyard.views.pair_comparison import Pair, PairFamily, pair_notes, pair_told, pair_verdict, reference_told
from proofyard.views.settings import EDGES, METHOD

router = routes("comparisons")

FILTERS = (*VIEW, METHOD, EDGES, BY, OF)


class GroupTold(Shape):
    """One that is compared."""

    group: str
    words: str
    counted: int
    counts: ReasonTold


class PairTold(Shape):
    """Two groups. Above 1 the first gets through more easily."""

    among: str = Field(description="What both share, as addresses have it: the panel type, or the head form")
    among_words: str
    first: str = Field(description="The group that stands first")
    second: str
    first_shots: int
    first_through: int
    second_shots: int
    second_through: int
    way: str = Field(
        description="curve: the second’s 50 % energy over the first’s; levels: the first’s odds over the second’s at like energies; "
        "a_fortiori: the same, where the one with less energy may only be shown to get through more often; apart: no way to tell"
    )
    ratio: float | None
    raw_low: float | None = Field(description="95 % interval of this pair by itself; null: not bounded on that side")
    raw_high: float | None
    corrected_low: float | None = Field(description="The same as one of several questions: the verdict is of this one")
    corrected_high: float | None
    corrected_level: float | None = Field(description="The level of that interval")
    p_value: float | None
    verdict: str = Field(description="first, second: shown to get through more easily; not_shown; too_few; apart")
    verdict_told: ReasonTold
    why_not: ReasonTold | None = Field(description="Why there is no ratio")
    declared: bool = Field(description="The trial named this pair before its first shot")
    questions: int = Field(description="How many questions share the correction")
    told: ReasonTold = Field(description="The one sentence on this pair")
    notes: list[ReasonTold]


class ComparisonTold(CountedTold):
    """How groups of shots stand to each other."""

    by: str = Field(description="What is compared")
    finding: FindingTold
    why_not: ReasonTold | None = Field(description="Why there is nothing to compare")
    groups: list[GroupTold]
    references: list[ReasonTold] = Field(description="Against which group the others stand, and what the questions pay")
    pairs: list[PairTold]
    to_check: list[CaveatTold]


@router.get("/comparisons", **told(ComparisonTold, filters=FILTERS, listed=False))
def comparisons(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """Comparisons of two groups of shots

    Heads, panels, panel types, days and more (`by`), those that were picked (`of`), with ratio, interval by itself and as one of
    several questions.
    """

    def make() -> dict[str, Any]:
        query = query_of(request, known=FILTERS, paged=False)
        found = read_comparison(book, query, only_trial=seat.trial_id)
        must_be_usable(found.asked)
        must_be_usable(found.compare)
        return _told(found)

    return answered(request, seat, book, make)


def _told(found: CompareFindings) -> dict[str, Any]:
    families = found.comparison.families if found.comparison else ()
    return counts(found) | {
        "by": found.compare.kind.key,
        "finding": finding(found.finding),
        "why_not": reason(found.found.reason) if isinstance(found.found, CantTell) else None,
        "groups": _groups(found.groups),
        "references": [reason(reference_told(one.family)) for one in families],
        "pairs": [_pair(pair, one.family) for one in families for pair in one.every],
        "to_check": to_check(found.to_check),
    }


def _groups(groups: Sequence[GroupOut]) -> list[dict[str, Any]]:
    return [{"group": one.row.key, "words": one.row.words, "counted": one.counted, "counts": reason(one.counts)} for one in groups]


def _pair(pair: Pair, family: PairFamily) -> dict[str, Any]:
    raw, corrected = pair.raw, pair.corrected
    return {
        "among": family.key,
        "among_words": family.on,
        "first": pair.first.row.key,
        "second": pair.second.row.key,
        "first_shots": len(pair.first.shots),
        "first_through": pair.first.hits,
        "second_shots": len(pair.second.shots),
        "second_through": pair.second.hits,
        "way": pair.found.way,
        "ratio": number(pair.found.ratio),
        "raw_low": number(raw.low) if raw else None,
        "raw_high": number(raw.high) if raw else None,
        "corrected_low": number(corrected.low) if corrected else None,
        "corrected_high": number(corrected.high) if corrected else None,
        "corrected_level": corrected.level if corrected else None,
        "p_value": number(pair.found.p_value),
        "verdict": pair.verdict,
        "verdict_told": reason(pair_verdict(pair)),
        "why_not": reason(pair.found.why),
        "declared": pair.named,
        "questions": pair.questions,
        "told": reason(pair_told(pair)),
        "notes": [reason(one) for one in pair_notes(pair)],
    }
