"""All shots: those that an address asks for, of how many, sorted, a page of them at a time."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from proofyard.answers.shots.asked import ALL_FILTERS, APART, AskedShots, asked_of
from proofyard.quantities.reason import Reason, because
from proofyard.records.listing import by_number
from proofyard.records.photo_facts import shots_with_photos
from proofyard.records.search_words import says_all
from proofyard.shots.loosed import Loosed, LoosedShot, load_loosed
from proofyard.storage import Storage
from proofyard.views.address import Query
from proofyard.views.counted import off_the_way, without_outcome
from proofyard.views.listed_shot import ListedShot, listed_shot
from proofyard.views.settings import asked_trial, form_of

A_PAGE = 50


@dataclass(frozen=True)
class ShotsFound:
    """found: all that match, in the order asked for; apart: those that no count has, by why.

    of           how many there are, in the trial if one was picked
    page, pages  which fifty of the found are shown, and how many such there are
    """

    asked: AskedShots
    found: tuple[LoosedShot, ...]
    of: int
    apart: Mapping[str, int]
    with_photo: frozenset[str]
    reader: str

    @property
    def pages(self) -> int:
        return max(1, -(-len(self.found) // A_PAGE))

    @property
    def page(self) -> int:
        return min(self.asked.page, self.pages)

    @property
    def first(self) -> int:
        """Where in the list this page begins, counted from 1."""
        return (self.page - 1) * A_PAGE + 1

    @property
    def shown(self) -> tuple[LoosedShot, ...]:
        return self.found[self.first - 1 : self.first - 1 + A_PAGE]

    @property
    def lines(self) -> tuple[ListedShot, ...]:
        return tuple(
            listed_shot(shot, place=self.asked.at, reader=self.reader, photo=shot.fact.shot_id in self.with_photo) for shot in self.shown
        )

    @property
    def told(self) -> Reason:
        return because("shots_found", count=len(self.found), of=self.of, narrowed=self.asked.narrows)

    @property
    def beside(self) -> Reason:
        return because("shots_apart", voided=self.apart["voided"], let_down=self.apart["let_down"])

    @property
    def told_page(self) -> Reason:
        return because("shots_on_page", first=self.first, last=self.first + len(self.shown) - 1, count=len(self.found))


def read_shots(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> ShotsFound:
    """The shots that an address asks for, as far as this reader may see them."""
    with book.read() as session:
        loosed = load_loosed(session, trial_id=asked_trial(query, only_trial)).of_trial(only_trial)
        with_photo = shots_with_photos(session)
    return shots_found(loosed, query, with_photo=with_photo, reader=reader)


def shots_found(loosed: Loosed, query: Query, *, with_photo: Collection[str], reader: str = "metric") -> ShotsFound:
    """Of these shots, those that the address asks for. with_photo: ids of shots that have one."""
    asked = asked_of(query, loosed, reader=reader)
    # Whether the whole book was read, or of one trial what says something of its shots: the page counts among the trial's alone.
    of_trial = loosed.only_trial or asked.only.get("trial")
    asked_about = (shot for shot in (*loosed.shots, *loosed.voided) if of_trial in (None, shot.fact.trial_id))
    every = [(shot, _ended(shot)) for shot in asked_about]
    apart = {why: sum(why in ended for _, ended in every) for why in APART}
    wanted = {why for why in APART if why in asked.outcomes}
    pool = [(shot, ended) for shot, ended in every if wanted.issuperset(ended.intersection(APART))]
    found = [shot for shot, ended in pool if _is_asked_for(shot, ended, asked, with_photo)]
    return ShotsFound(asked, _in_order(found, asked), len(pool), MappingProxyType(apart), frozenset(with_photo), reader)


def _ended(shot: LoosedShot) -> frozenset[str]:
    """The outcomes under which it is found: each level that it may have, or why it has none."""
    fact = shot.fact
    if fact.voided:
        return frozenset({"voided"})
    if without := without_outcome(fact):
        return frozenset({without})
    assert fact.outcome_low is not None
    return frozenset(str(level) for level in range(fact.outcome_low, (fact.outcome_high or fact.outcome_low) + 1))


def _is_asked_for(shot: LoosedShot, ended: frozenset[str], asked: AskedShots, with_photo: Collection[str]) -> bool:
    """The cheap questions first: an energy has to be worked out."""
    fact = shot.fact
    return (
        all(one.of(fact)[0] == asked.only[one.name] for one in ALL_FILTERS if one.name in asked.only)
        and (not asked.heads or form_of(fact) in asked.heads)
        and (not asked.outcomes or not ended.isdisjoint(asked.outcomes))
        and (asked.entry == "any" or (fact.hit == "on_panel" and not off_the_way(fact.entry, asked.entry)))
        and (not asked.fair or shot.fair_answer == asked.fair)
        and (not asked.photo or fact.shot_id in with_photo)
        and (not asked.words or says_all(asked.words, fact))
        and _within(shot, asked)
    )


def _within(shot: LoosedShot, asked: AskedShots) -> bool:
    if asked.energy_from is None and asked.energy_to is None:
        return True
    energy = shot.energy_at(asked.at)
    if energy is None:
        return False
    low, high = asked.energy_from, asked.energy_to
    return (low is None or energy.value >= low) and (high is None or energy.value <= high)


def _energy(shot: LoosedShot, asked: AskedShots) -> float:
    energy = shot.energy_at(asked.at)
    return -energy.value if energy else 1.0


def _outcome(shot: LoosedShot, asked: AskedShots) -> tuple[int, int]:
    fact = shot.fact
    return (1, 0) if fact.outcome_low is None else (-(fact.outcome_high or fact.outcome_low), -fact.outcome_low)


# What has no such figure stands last; what is equal, in the order loosed.
_BY: Mapping[str, Callable[[LoosedShot, AskedShots], Any]] = MappingProxyType(
    {
        "energy": _energy,
        "outcome": _outcome,
        "depth": lambda shot, asked: -(shot.fact.depth_m or 0.0),
        "label": lambda shot, asked: by_number(shot.fact.label),
    }
)


def _in_order(found: Sequence[LoosedShot], asked: AskedShots) -> tuple[LoosedShot, ...]:
    if asked.sort in _BY:
        return tuple(sorted(found, key=lambda shot: _BY[asked.sort](shot, asked)))
    # Those crossed out came after the others, and belong between them.
    loosed = sorted(found, key=lambda shot: (shot.fact.day, shot.fact.loosed_at or 0)) if any(s.fact.voided for s in found) else list(found)
    return tuple(reversed(loosed) if asked.sort == "newest" else loosed)
