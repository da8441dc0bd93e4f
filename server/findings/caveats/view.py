"""What caveats look at: the shots that a page counts, the groups that it compares, and what was loosed around them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from server.findings.loosed import LoosedShot
from server.findings.through import Through
from server.records.caveat_facts import NO_FACTS, CaveatFacts
from server.records.trial import Trial

FEW = 5  # fewer shots than this carry no share anyway, so nothing more is said of them
ALIKE = 0.2  # how alike shots of one arrow are taken to be where nobody says: common practice is 0.05 to 0.3, no source


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

    @property
    def loosed(self) -> tuple[LoosedShot, ...]:
        """All that there is to look at."""
        return self.around or self.shots

    @property
    def rows(self) -> dict[str, tuple[str, tuple[LoosedShot, ...]]]:
        """Row -> (its words, its shots of all levels)."""
        found: dict[str, tuple[str, tuple[LoosedShot, ...]]] = {}
        for group in self.groups:
            key = group.row or group.key
            words, shots = found.get(key, (group.row_words or group.words, ()))
            found[key] = (words, shots + group.shots)
        return found

    @property
    def levels(self) -> dict[str, list[Group]]:
        """Groups that are compared with each other, by level."""
        found: dict[str, list[Group]] = {}
        for group in self.groups:
            found.setdefault(group.level, []).append(group)
        return found


def by(shots: Sequence[LoosedShot], name: str) -> dict[str, list[LoosedShot]]:
    """Shots by one of their facts; those that don't say are left out."""
    found: dict[str, list[LoosedShot]] = {}
    for shot in shots:
        value = getattr(shot.fact, name)
        if value is not None:
            found.setdefault(value, []).append(shot)
    return found
