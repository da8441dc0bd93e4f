"""Pictures in words: when, by which phone, of what; and what one in the tray is likely of, the nearest in time first."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from server.findings.revision_words import href_of
from server.findings.when import clock_words, moment_words
from server.records.kit_facts import builds
from server.records.names import names_of
from server.records.picture_facts import NearShot, PictureFact, newest_shots, pictures_of
from server.storage import Session

NEAR_MS = 20 * 60_000  # a picture taken within this of a loose is proposed for it
MOST_NEAR = 8
OF_WORDS = {"shot": "shot {}", "panel_build": "panel {}", "arrow_build": "{}"}


@dataclass(frozen=True)
class PictureShown:
    """One picture as a page shows it. of, of_words, of_href: what it is of; empty in the tray."""

    id: str
    rev: int
    words: str
    when: str
    of: str
    of_words: str
    of_href: str
    note: str
    width: int
    height: int
    struck: bool


@dataclass(frozen=True)
class PicturesOf:
    """The pictures of one record, and what a form sends to add another: `of` is "shot:<id>"."""

    of: str
    back: str
    items: tuple[PictureShown, ...]
    facts: tuple[PictureFact, ...] = ()


def picture_shown(fact: PictureFact, name: str = "") -> PictureShown:
    picture = fact.picture
    of_words = _of_words(picture.noun, name)
    when = moment_words(fact.at) if picture.taken_at is not None else f"came {moment_words(fact.came_at)}, when it was taken is not known"
    phone = f"phone {fact.letter}" if fact.letter else fact.who
    return PictureShown(
        id=picture.id,
        rev=picture.rev,
        words=f"Picture of {of_words}, {when}" if of_words else f"Picture, {when}",
        when=f"{when}, {phone}",
        of=f"{picture.noun}:{picture.record_id}" if picture.noun else "",
        of_words=of_words,
        of_href=href_of(picture.noun or "", picture.record_id or ""),
        note=picture.note or "",
        width=picture.width,
        height=picture.height,
        struck=picture.struck_rev is not None,
    )


def _of_words(noun: str | None, name: str) -> str:
    if not noun:
        return ""
    words = OF_WORDS.get(noun, "{}").format(name or "that is no longer in the book")
    return words.replace("panel Panel", "panel").replace("Arrow ", "arrow ")


def pictures_on_page(session: Session, noun: str, *, ids: str | Sequence[str], name: str, back: str) -> PicturesOf:
    """The pictures of a shot, of a panel's build, or of an arrow's builds: one statement. The first id takes new ones."""
    wanted = [ids] if isinstance(ids, str) else list(ids)
    facts = pictures_of(session, noun, wanted) if wanted else []
    return PicturesOf(f"{noun}:{wanted[0]}" if wanted else "", back, tuple(picture_shown(fact, name) for fact in facts), tuple(facts))


def named(session: Session, facts: Iterable[PictureFact]) -> list[PictureShown]:
    """Each with the name of what it is of, in one statement more."""
    listed = list(facts)
    names = names_of(session, [(f.picture.noun, f.picture.record_id) for f in listed if f.picture.noun and f.picture.record_id])
    return [picture_shown(fact, names.get(fact.picture.record_id or "", "")) for fact in listed]


@dataclass(frozen=True)
class Choices:
    """What a picture can be of: shots by time, then builds of panels and arrows."""

    shots: tuple[NearShot, ...]
    builds: tuple[tuple[str, str], ...]

    def for_picture(self, at_ms: int) -> list[tuple[str, str]]:
        """(value, words), those loosed near in time first."""
        near = sorted((s for s in self.shots if _apart(s, at_ms) <= NEAR_MS), key=lambda s: _apart(s, at_ms))[:MOST_NEAR]
        others = [s for s in self.shots if s not in near]
        return [*((f"shot:{s.shot_id}", _near_words(s, at_ms)) for s in near), *((f"shot:{s.shot_id}", _shot_words(s)) for s in others), *self.builds]


def _apart(shot: NearShot, at_ms: int) -> float:
    return abs(shot.loosed_at - at_ms) if shot.loosed_at is not None else float("inf")


def _shot_words(shot: NearShot) -> str:
    return f"{shot.label}, at {shot.panel}" + (f", {clock_words(shot.loosed_at)}" if shot.loosed_at is not None else "")


def _near_words(shot: NearShot, at_ms: int) -> str:
    minutes = round((at_ms - (shot.loosed_at or 0)) / 60_000)
    apart = "the same minute" if minutes == 0 else f"{abs(minutes)} min {'before' if minutes > 0 else 'after'} the picture"
    return f"{_shot_words(shot)}: {apart}"


def choices(session: Session) -> Choices:
    """Three statements."""
    shots = newest_shots(session)
    found = [one for one in builds(session) if one.noun in ("panel", "arrow")]
    names = names_of(session, [(f"{one.noun}_build", one.build_id) for one in found])
    ordered = sorted(found, key=lambda one: (one.noun != "panel", names.get(one.build_id, "")))
    listed = tuple((f"{one.noun}_build:{one.build_id}", names[one.build_id]) for one in ordered if one.build_id in names)
    return Choices(tuple(shots), listed)
