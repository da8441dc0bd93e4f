"""What a search found: the best first, a page at a time, and how much there is of each noun."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.answers.find.index import Match, Matches, SearchIndex
from proofyard.quantities.reason import Reason, because
from proofyard.views.address import PAGE, AskedPage, Choice, Free, Query, Reading, address, cut

A_PAGE = 50
LONGEST = 200
# In the order in which they stand above the list; one and many.
NOUNS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "shot": ("shot", "shots"),
        "photo": ("photo", "photos"),
        "trial": ("trial", "trials"),
        "session": ("session", "sessions"),
        "panel": ("panel", "panels"),
        "arrow": ("arrow", "arrows"),
        "head": ("head", "heads"),
        "bow": ("bow", "bows"),
        "archer": ("archer", "archers"),
    }
)
_PAGES: Mapping[str, str] = MappingProxyType(
    {
        "shot": "/shots/{}",
        "photo": "/photos/{}/about",
        "trial": "/trials/{}",
        "session": "/sessions/{}",
        "panel": "/panels/{}",
        "arrow": "/arrows/{}",
        "head": "/kit/head/{}",
        "bow": "/kit/bow/{}",
        "archer": "/kit/archer/{}",
    }
)
TYPED = Free(name="q", label="Search")
ONLY = Choice(
    name="only",
    label="Only",
    blank="Everything",
    choices={noun: many for noun, (_, many) in NOUNS.items()},
    wrong="“{}” can’t be searched for alone. Pick from those below; until then it shows everything.",
)


@dataclass(frozen=True)
class FoundLine:
    """One thing that was found, as a row."""

    noun: str
    title: str
    line: str
    href: str


@dataclass(frozen=True)
class Found:
    """What was typed, what was found. page, pages: which part of it."""

    asked: "AskedFor"
    matches: Matches
    page: int

    @property
    def count(self) -> int:
        """Of what is shown: of one noun, where only that was asked for."""
        counts = self.matches.counts
        return counts.get(self.asked.only, 0) if self.asked.only else sum(counts.values())

    @property
    def pages(self) -> int:
        return max(1, -(-self.count // A_PAGE))

    @property
    def told(self) -> Reason:
        return because("found", typed=cut(self.asked.q), count=sum(self.matches.counts.values()), meant=self.matches.meant)

    @property
    def lines(self) -> tuple[FoundLine, ...]:
        return tuple(_line(one) for one in self.matches.best)

    @property
    def by_noun(self) -> tuple[tuple[str, str, bool], ...]:
        """Words, address, and whether it is shown: everything, then each noun that there is."""
        counts = self.matches.counts
        every = [("", f"Everything {sum(counts.values())}")]
        every += [(noun, f"{words[counts[noun] > 1].capitalize()} {counts[noun]}") for noun, words in NOUNS.items() if noun in counts]
        return tuple((words, self.asked.address("/find", only=noun), noun == self.asked.only) for noun, words in every)

    @property
    def shots_href(self) -> str:
        """The shots among them, where they can be filtered and downloaded."""
        return address("/shots", [("text", self.matches.meant or self.asked.q)]) if self.matches.counts.get("shot") else ""


@dataclass(frozen=True, kw_only=True)
class AskedFor(AskedPage):
    """q: as it was typed, cut where nobody types on; only: the one noun asked for, or ""."""

    q: str
    only: str


def read_found(index: SearchIndex, query: Query, *, only_trial: str | None = None) -> Found:
    """What an address asks for, as far as this reader may see it."""
    reading = Reading(query)
    q, only, page = reading.one(TYPED)[:LONGEST], reading.one(ONLY), reading.one(PAGE)
    asked = AskedFor(q=q, only=only, page=page, **reading.as_typed())
    matches = index.find(q, noun=only, only_trial=only_trial, most=A_PAGE, after=(page - 1) * A_PAGE)
    return Found(asked, matches, page)


def _line(one: Match) -> FoundLine:
    href = f"/kit/panel/{one.record_id}" if one.noun == "panel" and not one.page else _PAGES[one.noun].format(one.page or one.record_id)
    return FoundLine(NOUNS[one.noun][0].capitalize(), one.title, one.line, href)
