"""What several answers have in common: counts with their interval, what a finding says, what to check before it is trusted."""

from collections.abc import Iterable
from typing import Any

from pydantic import Field

from proofyard.api.v1.shapes import ReasonTold, Shape
from proofyard.api.v1.told import number, reason
from proofyard.caveats.caveat import Caveat
from proofyard.views.cells import Tally
from proofyard.views.counted import CountedView, Finding, LeftOut
from proofyard.views.settings import ViewSettings


class ShareTold(Shape):
    """How many of how many got through; the two counts differ where some hits are undecided."""

    through_low: int = Field(description="So many got through for certain")
    through_high: int = Field(description="So many may have got through")
    shots: int = Field(description="Of so many")
    share_low: float | None = Field(description="The share, 0 to 1; null where there are too few shots to give one")
    share_high: float | None = Field(description="The same, or its upper bound where some hits are undecided")
    interval_low: float | None = Field(description="Low end of the 95 % interval of the share, 0 to 1")
    interval_high: float | None = Field(description="Its high end")


class FindingTold(Shape):
    """The one finding, and what it leaves open."""

    title: ReasonTold
    more: list[ReasonTold]


class LeftOutTold(Shape):
    """Shots that are in no count, by why."""

    code: str
    words: str
    shots: int


class CaveatTold(Shape):
    """One thing to check before a result is trusted."""

    code: str = Field(description="What kind of thing, for a program")
    title: str
    reasons: list[ReasonTold]
    affects: ReasonTold = Field(description="Which result it affects")
    shot_ids: list[str] = Field(description="The shots that it rests on")


class SettingsTold(Shape):
    """What was asked, with what stood open settled."""

    only: dict[str, str] = Field(description="Filters, by name")
    head: list[str] = Field(description="Only these head forms; empty: all")
    entry: str
    fair: str
    through: str
    method: str
    at: str = Field(description="Where the energy holds")


def share(tally: Tally) -> dict[str, Any]:
    parts = tally.parts if tally.percent else []
    return {
        "through_low": tally.hits_low,
        "through_high": tally.hits_high,
        "shots": tally.shots,
        "share_low": parts[0] if parts else None,
        "share_high": parts[-1] if parts else None,
        "interval_low": number(tally.interval_low),
        "interval_high": number(tally.interval_high),
    }


def finding(found: Finding) -> dict[str, Any]:
    return {"title": reason(found.title), "more": [reason(one) for one in found.more]}


def left_out(rows: Iterable[LeftOut]) -> list[dict[str, Any]]:
    return [{"code": one.key, "words": one.words, "shots": one.count} for one in rows]


def to_check(caveats: Iterable[Caveat]) -> list[dict[str, Any]]:
    return [
        {
            "code": one.kind,
            "title": one.title,
            "reasons": [reason(why) for why in one.reasons],
            "affects": reason(one.affects),
            "shot_ids": [shot.shot_id for shot in one.shots],
        }
        for one in caveats
    ]


def settings(view: ViewSettings) -> dict[str, Any]:
    return {
        "only": dict(view.only),
        "head": list(view.heads),
        "entry": view.entry,
        "fair": view.fair,
        "through": view.through.value,
        "method": view.method,
        "at": view.place,
    }


def counts(view: CountedView) -> dict[str, Any]:
    """The fields of CountedTold."""
    return {
        "settings": settings(view.settings),
        "through_means": view.settings.through.meaning,
        "loosed": view.loosed,
        "counted": view.counted,
        "crossed_out": view.voided,
        "let_down": view.let_down,
        "left_out": left_out(view.left_out),
    }


class CountedTold(Shape):
    """Of a view: what was asked, and how many shots are in it or left out. counted and left_out make loosed."""

    settings: SettingsTold
    through_means: str
    loosed: int
    counted: int
    crossed_out: int
    let_down: int
    left_out: list[LeftOutTold]
