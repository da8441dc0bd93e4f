"""Photos: when, by which phone, of what; and what one in the tray is likely of, the nearest in time first."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because
from proofyard.records.kit_facts import newest_builds
from proofyard.records.listing import all_of
from proofyard.records.names import names_of
from proofyard.records.photo import SEEN_FROM
from proofyard.records.photo_facts import NearShot, PhotoFact, newest_shots, photos_of, placed_photos
from proofyard.records.trial import Trial
from proofyard.storage import Session
from proofyard.views.address import PAGE, AskedPage, Choice, Query, Reading
from proofyard.wording.reasons.said import said
from proofyard.wording.revisions import href_of

NEAR_MS = 20 * 60_000  # a photo taken within this of a loose is proposed for it
MOST_NEAR = 8
MOST_BUILDS = 200  # of panels, and of arrows: names of no more than 400 records are asked for at once
A_PAGE = 48  # of a gallery: full rows of two, three and four
TRIAL = Choice(name="trial", label="Trial", blank="All trials", wrong="No trial for “{}”. Pick one from the list; until then it shows all.")


@dataclass(frozen=True)
class PhotoShown:
    """One photo as a page shows it. of, of_words, of_href: what it is of, leads_to: that without from where; empty in the tray.

    words   what it shows and when, for who can't see it; caption: from where and when, where the page says of what
    """

    id: str
    rev: int
    words: str
    caption: str
    when: str
    of: str
    of_words: str
    of_href: str
    leads_to: str
    seen_from: str
    note: str
    width: int
    height: int
    voided: bool


@dataclass(frozen=True)
class PhotosOf:
    """The photos of one record, and what a form sends to add another: `of` is "shot:<id>"."""

    of: str
    back: str
    items: tuple[PhotoShown, ...]
    facts: tuple[PhotoFact, ...] = ()
    seen_options: tuple[tuple[str, str], ...] = tuple(SEEN_FROM.items())


def photo_shown(fact: PhotoFact, name: str = "") -> PhotoShown:
    photo = fact.photo
    of = because("photo_of", noun=photo.noun, name=name, seen_from=photo.seen_from) if photo.noun else None
    when = because("photo_when", at=fact.at if photo.taken_at is not None else None, came_at=fact.came_at)
    return PhotoShown(
        id=photo.id,
        rev=photo.rev,
        words=said(because("photo_words", of=of, when=when)),
        caption=said(because("photo_caption", seen_from=photo.seen_from, when=when)),
        when=said(because("photo_by", when=when, letter=fact.letter, who=fact.who)),
        of=f"{photo.noun}:{photo.record_id}" if photo.noun else "",
        of_words=said(of),
        of_href=href_of(photo.noun or "", photo.record_id or ""),
        leads_to=said(because("photo_of", noun=photo.noun, name=name, seen_from=None)) if photo.noun else "",
        seen_from=photo.seen_from or "",
        note=photo.note or "",
        width=photo.width,
        height=photo.height,
        voided=photo.voided_rev is not None,
    )


def photos_on_page(session: Session, noun: str, *, ids: str | Sequence[str], name: str, back: str) -> PhotosOf:
    """The photos of a shot, of a panel's build, or of an arrow's builds: one statement. The first id takes new ones."""
    wanted = [ids] if isinstance(ids, str) else list(ids)
    facts = photos_of(session, noun, wanted) if wanted else []
    return PhotosOf(f"{noun}:{wanted[0]}" if wanted else "", back, tuple(photo_shown(fact, name) for fact in facts), tuple(facts))


def named(session: Session, facts: Iterable[PhotoFact]) -> list[PhotoShown]:
    """Each with the name of what it is of, in one statement more."""
    listed = list(facts)
    names = names_of(session, [(f.photo.noun, f.photo.record_id) for f in listed if f.photo.noun and f.photo.record_id])
    return [photo_shown(fact, names.get(fact.photo.record_id or "", "")) for fact in listed]


@dataclass(frozen=True)
class Gallery:
    """Photos with what they are of, the newest first: of one trial, where only that was asked for or may be seen.

    trials  question by id, of those that this reader may pick from; page, pages: which part is shown of how many
    """

    asked: "AskedPhotos"
    photos: tuple[PhotoShown, ...]
    count: int
    trials: dict[str, str]

    @property
    def pages(self) -> int:
        return max(1, -(-self.count // A_PAGE))

    @property
    def page(self) -> int:
        return min(self.asked.page, self.pages)

    @property
    def told(self) -> Reason:
        return because("photos_found", count=self.count, of_trial=self.trials.get(self.asked.trial))


@dataclass(frozen=True, kw_only=True)
class AskedPhotos(AskedPage):
    """trial: its id, or "" for all."""

    trial: str


def read_gallery(session: Session, query: Query, *, only_trial: str | None = None) -> Gallery:
    """The photos that an address asks for: five statements."""
    reading = Reading(query)
    trials = {one.id: one.question for one in all_of(session, Trial) if only_trial in (None, one.id)}
    asked = AskedPhotos(trial=reading.one(TRIAL.of(trials)), page=reading.one(PAGE), **reading.as_typed())
    facts = placed_photos(session, only_trial=only_trial or asked.trial or None)
    page = min(asked.page, max(1, -(-len(facts) // A_PAGE)))
    return Gallery(asked, tuple(named(session, facts[(page - 1) * A_PAGE : page * A_PAGE])), len(facts), trials)


@dataclass(frozen=True)
class Choices:
    """What a photo can be of: shots by time, then builds of panels and arrows."""

    shots: tuple[NearShot, ...]
    builds: tuple[tuple[str, str], ...]

    def for_photo(self, at_ms: int) -> list[tuple[str, str]]:
        """(value, words), those loosed near in time first."""
        near = sorted((s for s in self.shots if _apart(s, at_ms) <= NEAR_MS), key=lambda s: _apart(s, at_ms))[:MOST_NEAR]
        others = [s for s in self.shots if s not in near]
        return [
            *((f"shot:{s.shot_id}", _shot_words(s, round((at_ms - (s.loosed_at or 0)) / 60_000))) for s in near),
            *((f"shot:{s.shot_id}", _shot_words(s, None)) for s in others),
            *self.builds,
        ]


def _apart(shot: NearShot, at_ms: int) -> float:
    return abs(shot.loosed_at - at_ms) if shot.loosed_at is not None else float("inf")


def _shot_words(shot: NearShot, minutes: int | None) -> str:
    return said(because("photo_near_shot", label=shot.label, panel=shot.panel, loosed_at=shot.loosed_at, minutes=minutes))


def choices(session: Session) -> Choices:
    """Three statements. Of very many builds the newest are offered."""
    shots = newest_shots(session)
    found = newest_builds(session, most=MOST_BUILDS)
    names = names_of(session, found)
    ordered = sorted(found, key=lambda one: (one[0] != "panel_build", names.get(one[1], "")))
    listed = tuple((f"{noun}:{build_id}", names[build_id]) for noun, build_id in ordered if build_id in names)
    return Choices(tuple(shots), listed)
