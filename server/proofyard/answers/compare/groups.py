"""The groups of a comparison with their counts by band, and which pairs of them are asked about. How a pair stands is not worked out
here: that has one home, views/pair_comparison.py."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from proofyard.quantities.reason import CantTell, because
from proofyard.views.axes import Band
from proofyard.views.cells import Cell, CountedShot, RowGroup, make_cell
from proofyard.views.comparable import CONFOUNDERS, Kind
from proofyard.views.pair_comparison import Pair, PairFamily

MOST_GROUPS = 5  # ten pairs: more questions than that, and hardly any could be shown


@dataclass(frozen=True)
class ShotGroup:
    """What is compared: its name, its shots, and those whose fairness isn't known, which are in no comparison."""

    row: RowGroup
    shots: tuple[CountedShot, ...]
    not_known: tuple[CountedShot, ...] = ()
    cells: tuple[Cell, ...] = ()

    @property
    def key(self) -> str:
        return self.row.key

    @property
    def words(self) -> str:
        return self.row.words

    @property
    def who(self) -> str:
        return self.row.who


@dataclass(frozen=True)
class AskedFamily:
    """A family with those of its pairs that a page asks about: `pairs` against the reference, `beyond` the others."""

    family: PairFamily
    pairs: tuple[Pair, ...]
    beyond: tuple[Pair, ...]

    @property
    def every(self) -> tuple[Pair, ...]:
        return (*self.pairs, *self.beyond)


@dataclass(frozen=True)
class Comparison:
    """The groups that were shot, within bands, and how their pairs stand."""

    groups: tuple[ShotGroup, ...]
    bands: tuple[Band, ...]
    families: tuple[AskedFamily, ...]

    @property
    def pairs(self) -> tuple[Pair, ...]:
        return tuple(pair for one in self.families for pair in one.every)


def compare_groups(
    groups: Sequence[ShotGroup], *, bands: Sequence[Band], families: Sequence[PairFamily], method: str, picked: bool = False
) -> Comparison | CantTell:
    """These groups' counts and pairs. `picked`: a reader picked the groups, and so asks about pairs beside the reference too."""
    full = [replace(group, cells=_cells(group, bands, method)) for group in groups if group.shots]
    if len(full) < 2:
        return CantTell(because("only_one_group_counted", group=full[0].who) if full else because("no_group_counted"))
    keys = {group.key for group in full}
    asked = [AskedFamily(one, _among(one.pairs, keys), _among(one.beyond, keys) if picked else ()) for one in families]
    return Comparison(tuple(full), tuple(bands), tuple(one for one in asked if one.every))


def _among(pairs: Sequence[Pair], keys: set[str]) -> tuple[Pair, ...]:
    return tuple(pair for pair in pairs if {pair.first.row.key, pair.second.row.key} <= keys)


def _cells(group: ShotGroup, bands: Sequence[Band], method: str) -> tuple[Cell, ...]:
    return tuple(make_cell(group.row, band, counted=group.shots, not_known=group.not_known, method=method, href="") for band in bands)


def confounders_of(pair: Pair, kind: Kind) -> tuple[str, ...]:
    """What the two don't share although it isn't what is compared: one name only on one side."""
    said = []
    sides = [[one.shot.fact for one in side.shots] for side in (pair.first, pair.second)]
    for key in kind.confounders:
        word, of = CONFOUNDERS[key]
        one, other = ({of(fact) for fact in side} for side in sides)
        if one and other and not one & other:
            said.append(word)
    return tuple(said)
