"""What an energy at the target, with its range, does to each head and panel type of the book."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from proofyard.answers.another_bow.flown import Ranged
from proofyard.how_far import part_by_part
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.shots.loosed import Loosed
from proofyard.statistics.share_at_energy import ShareAtEnergy, share_at_energy, share_by_order
from proofyard.views.cells import FEWEST_FOR_PERCENT, CountedShot, RowGroup, counted_shot, row_key, rows_of, settled
from proofyard.views.counted import sort_shots
from proofyard.views.curve import FiftyPercent, fifty_percent_of, told_of
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import Through, ViewSettings

PLACE = "target"


@dataclass(frozen=True)
class HeadShot:
    """One head at one panel type, whatever bow is asked about: its 50 % energy and where a page tells it."""

    panel_type: str
    on: str
    row: RowGroup
    fifty_percent: FiftyPercent
    href: str


@dataclass(frozen=True)
class HeadThere(HeadShot):
    """The same at one energy. A CantTell says why there is no share.

    verdict  through (more than half), held (fewer), open, or none where nothing can be told
    """

    found: ShareAtEnergy | CantTell

    @property
    def verdict(self) -> str:
        one = self.found
        if isinstance(one, CantTell):
            return "none"
        return "through" if one.low > 0.5 else "held" if one.high < 0.5 else "open"

    @property
    def named(self) -> Reason:
        """In a sentence."""
        return because("head_there", who=self.row.who, on=self.on)

    @property
    def share(self) -> Reason:
        """ "88 % (60 to 97)"; the range alone under ten shots; a bound without a curve; or why nothing can be told."""
        one = self.found
        if isinstance(one, CantTell):
            return because("share_not_told", why=one.reason)
        return because("share_there", share=self.middle, low=one.low, high=one.high, beyond=self.beyond)

    @property
    def middle(self) -> float | None:
        """The share within its range; None where there are too few shots to give one, or no 50 % energy."""
        few = self.fifty_percent.shots < FEWEST_FOR_PERCENT or self.fifty_percent.point is None
        return None if isinstance(self.found, CantTell) or few else self.found.share

    @property
    def brief(self) -> Reason:
        """Its range alone: "60 to 97 %"."""
        one = self.found
        return because("share_not_known") if isinstance(one, CantTell) else because("share_range", low=one.low, high=one.high)

    @property
    def told(self) -> Reason:
        """Its 50 % energy."""
        return told_of(self.fifty_percent)

    @property
    def beyond(self) -> str:
        """Whether the energy lies outside those that were shot: "" , "partly" or "all"."""
        one = self.found
        return "" if isinstance(one, CantTell) else "all" if one.outside else "partly" if one.partly else ""


def heads_shot(loosed: Loosed, *, through: Through, fair: str) -> tuple[HeadShot, ...]:
    """Every head at every panel type that was shot, the most shot type first."""
    view = settled(ViewSettings(through=through, fair=fair, at=PLACE), loosed.shots)
    sorted_shots = sort_shots(loosed, view)
    mine: dict[tuple[str, str], list[CountedShot]] = {}
    without: dict[tuple[str, str], list[str]] = {}
    for shot in sorted_shots.counted:
        mine.setdefault(panel_type_of(shot.fact), []).append(counted_shot(shot, view, edges=()))
    for shot in sorted_shots.off_axis:
        without.setdefault(panel_type_of(shot.fact), []).append(row_key(shot, view))
    types = sorted({*mine, *without}, key=lambda one: (-len(mine.get(one, ())) - len(without.get(one, ())), one))
    return tuple(
        head for one in part_by_part(types, "panel types") for head in _heads_of(one, mine.get(one, []), without.get(one, []), view=view)
    )


def _heads_of(of_type: tuple[str, str], mine: Sequence[CountedShot], without: Sequence[str], *, view: ViewSettings) -> Iterator[HeadShot]:
    value, words = of_type
    for row in rows_of([*(one.row for one in mine), *without], view):
        point = fifty_percent_of([one for one in mine if one.row == row.key], unmeasured=without.count(row.key))
        yield HeadShot(value, words, row, point, view.address("/fifty-percent", panel_type=value, head=row.key))


def heads_there(heads: Sequence[HeadShot], energy: Ranged) -> tuple[HeadThere, ...]:
    """What this energy does to each: panel types in their order, and in each the head that most get through with."""
    order = {key: n for n, key in enumerate(dict.fromkeys(one.panel_type for one in heads))}
    there = [HeadThere(**vars(one), found=share_of(one.fifty_percent, energy)) for one in heads]
    return tuple(sorted(there, key=lambda one: (order[one.panel_type], _best(one))))


def share_of(point: FiftyPercent, energy: Ranged) -> ShareAtEnergy | CantTell:
    """By the curve where there is one, else by what more energy can't do."""
    if point.curve is not None and not (point.chosen and point.point is None):
        return share_at_energy(point.curve, energy.value, low_j=energy.low, high_j=energy.high, chosen=point.chosen)
    if not point.shots:
        return CantTell(point.why_not or because("no_shots"))
    return share_by_order(point.energies_j, point.through, low_j=energy.low, high_j=energy.high)


def counted_by_verdict(heads: Sequence[HeadThere]) -> dict[str, int]:
    return {verdict: sum(one.verdict == verdict for one in heads) for verdict in ("through", "held", "open", "none")}


def _best(one: HeadThere) -> tuple[float, float, str]:
    if isinstance(one.found, CantTell):
        return (1.0, 0.0, one.row.key)
    middle = one.found.share if one.found.share is not None else (one.found.low + one.found.high) / 2
    return (0.0, -middle, one.row.key)
