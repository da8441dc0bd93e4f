"""A caveat: one thing to check, what it affects and the shots that it rests on; and the view that caveats are looked for in."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from operator import attrgetter

from proofyard.quantities.reason import Reason
from proofyard.records.caveat_facts import NO_FACTS, CaveatFacts
from proofyard.records.trial import Trial
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.views.cells import Cell, CountedShot
from proofyard.views.settings import Through, ViewSettings
from proofyard.wording.reasons.results import TITLES
from proofyard.wording.reasons.said import said

# What caveats look at: the shots that a page counts, the groups that it compares, and what was loosed around them.

FEW = 5  # fewer shots than this give no percentage anyway, so nothing more is said of them
ALIKE = 0.2  # correlation of shots of one arrow where nobody enters one: common practice is 0.05 to 0.3, no source


@dataclass(frozen=True)
class Group:
    """Shots that one number stands for.

    key, words       of the group itself: a cell, a head, a panel
    row, row_words   what it is compared by: the head form of a cell; the group itself where it has no cells
    level            groups of one level are compared with each other: an energy band
    """

    key: str
    words: str
    shots: tuple[LoosedShot, ...]
    row: str = ""
    row_words: str = ""
    level: str = ""


@dataclass(frozen=True)
class View:
    """
    shots       those that are counted, in the order loosed
    around      all that were loosed in the same days and at the same panels, counted or not; () for the counted alone
    trials      those of the shots, by id: a trial may say how its next energy is chosen
    free_spots  panel build -> (aim spots still free, aim spots), where that is known
    varied      what the groups differ in by intent: "panel", "day", "archer"; no caveat then says that they do
    alike       intraclass correlation stated for shots of one arrow, bow or panel; None where no ranges are shown
    """

    shots: tuple[LoosedShot, ...]
    groups: tuple[Group, ...] = ()
    facts: CaveatFacts = NO_FACTS
    around: tuple[LoosedShot, ...] = ()
    trials: Mapping[str, Trial] = field(default_factory=dict)
    free_spots: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    through: Through = Through()
    place: str = "chronograph"
    varied: frozenset[str] = frozenset()
    alike: float | None = ALIKE

    @cached_property
    def loosed(self) -> tuple[LoosedShot, ...]:
        """All that there is to look at."""
        return self.around or self.shots

    @cached_property
    def rows(self) -> dict[str, tuple[str, tuple[LoosedShot, ...]]]:
        """Row -> (its words, its shots of all levels)."""
        found: dict[str, tuple[str, tuple[LoosedShot, ...]]] = {}
        for group in self.groups:
            key = group.row or group.key
            words, shots = found.get(key, (group.row_words or group.words, ()))
            found[key] = (words, shots + group.shots)
        return found

    @cached_property
    def levels(self) -> dict[str, list[Group]]:
        """Groups that are compared with each other, by level."""
        found: dict[str, list[Group]] = {}
        for group in self.groups:
            found.setdefault(group.level, []).append(group)
        return found


def by(shots: Sequence[LoosedShot], name: str) -> dict[str, list[LoosedShot]]:
    """Shots by one of their facts; those that don't say are left out."""
    found: defaultdict[str, list[LoosedShot]] = defaultdict(list)
    said = attrgetter(f"fact.{name}")
    for shot in shots:
        found[said(shot)].append(shot)
    return {value: some for value, some in found.items() if value is not None}


# One thing to check, with what it affects and the shots that it rests on.

# Those that weigh most come first: they can turn a finding round, the last only widen it.
KINDS = tuple(TITLES)


@dataclass(frozen=True)
class RestsOn:
    """A shot that a caveat rests on, for a reader to tap."""

    shot_id: str
    label: str


@dataclass(frozen=True)
class Caveat:
    """
    kind     one of KINDS
    reasons  what there is to say, a sentence each
    affects  which result it affects
    shots    what it rests on, in the order loosed
    notes    (key of a group of the view, what stands beside that group's number)
    """

    kind: str
    reasons: tuple[Reason, ...]
    affects: Reason
    shots: tuple[RestsOn, ...] = ()
    notes: tuple[tuple[str, Reason], ...] = ()

    @property
    def title(self) -> str:
        return TITLES[self.kind]

    @property
    def words(self) -> str:
        return " ".join(said(one) for one in self.reasons)

    @property
    def touches(self) -> str:
        return said(self.affects)


def rests_on(shots: Iterable[LoosedShot]) -> tuple[RestsOn, ...]:
    each = {shot.fact.shot_id: shot.fact.label for shot in shots}
    return tuple([RestsOn(shot_id, label) for shot_id, label in each.items()])


# The caveats of a results page: its cells are the groups, and all that was loosed stands around them.


def cell_key(cell: Cell) -> str:
    return f"{cell.form}:{cell.band.value}"


def view_of_results(
    loosed: Loosed, counted: Sequence[CountedShot], *, cells: Sequence[Cell] = (), facts: CaveatFacts, settings: ViewSettings
) -> View:
    """The view that a results page gives to `caveats_of`."""
    groups = (
        Group(
            cell_key(cell),
            f"{cell.who}, {cell.band.with_unit}",
            tuple(one.shot for one in cell.shots),
            row=cell.form,
            row_words=cell.who,
            level=cell.band.with_unit,
        )
        for cell in cells
    )
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
