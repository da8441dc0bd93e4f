"""What goes out and what stays: the owner's choices, and the words that they take out of the book."""

from collections.abc import Mapping
from dataclasses import dataclass, field

NAMES: Mapping[str, str] = {"as_they_are": "As they are", "initials": "Initials", "invented": "Invented: Archer 1, Archer 2 …"}
PLACES: Mapping[str, str] = {"exact": "As they are", "region": "Only a region", "none": "No place"}
WITHHELD = "(withheld)"


@dataclass(frozen=True)
class Choices:
    """What the owner picked.

    trials          some trials, by id: one by itself, several a folder each; empty: the whole book
    names           a word of NAMES: of archers, range officers, who was there, and phones' call names
    places          a word of PLACES; `region` is what stands for each place then
    notes           whether free notes go out
    photos          ids of the photos that go out; None: all
    also_withheld   further words that must be nowhere
    left_standing   words that may be found in spite of that, since the owner has looked
    licence         a word of LICENCES; empty: all rights kept
    authors         whom to cite, as the owner types it
    """

    trials: tuple[str, ...] = ()
    names: str = "invented"
    places: str = "none"
    region: str = ""
    notes: bool = False
    photos: frozenset[str] | None = frozenset()
    also_withheld: tuple[str, ...] = ()
    left_standing: frozenset[str] = frozenset()
    licence: str = ""
    authors: str = ""


@dataclass(frozen=True)
class Replaced:
    """Words that stand in the book, and what stands for each in what goes out."""

    words: Mapping[str, str] = field(default_factory=dict)

    @property
    def withheld(self) -> tuple[str, ...]:
        """The words that must be nowhere, longest first."""
        return tuple(sorted((word for word, other in self.words.items() if word != other), key=len, reverse=True))
