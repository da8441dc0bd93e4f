"""Photos as pages need them: of one thing, in the tray, with their phone; and which trials one belongs to."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, func, or_, select
from sqlmodel import Session

from proofyard.records.book import Device, Revision, revision_of
from proofyard.records.panel import Panel, PanelBuild, PanelFace
from proofyard.records.photo import Photo
from proofyard.records.shot import Shot
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd


@dataclass(frozen=True)
class PhotoFact:
    """A photo and where it came from. `came_at`: when the book took it; `face`: the corners that straighten it, if it has any."""

    photo: Photo
    letter: str | None
    who: str
    came_at: int
    face: PanelFace | None = None

    @property
    def at(self) -> int:
        """When it was taken, as far as that is known; else when it came."""
        return self.photo.taken_at if self.photo.taken_at is not None else self.came_at


_FACT = (
    select(Photo, Device.letter, Device.call_name, Revision.at, PanelFace)
    .join(Revision, revision_of("photo", Photo.id))
    .join(Device, Device.id == Revision.device_id, isouter=True)
    .join(PanelFace, (PanelFace.photo_id == Photo.id) & PanelFace.voided_rev.is_(None) & PanelFace.corners.is_not(None), isouter=True)
)


def photos_of(session: Session, noun: str, ids: str | Iterable[str], *, voided: bool = False) -> list[PhotoFact]:
    """The photos of some records of one noun, oldest first."""
    wanted = [ids] if isinstance(ids, str) else list(ids)
    query = _FACT.where(Photo.noun == noun, Photo.record_id.in_(wanted))
    if not voided:
        query = query.where(Photo.voided_rev.is_(None))
    return _facts(session, query)


def one_photo(session: Session, photo_id: str) -> PhotoFact | None:
    return next(iter(_facts(session, _FACT.where(Photo.id == photo_id))), None)


def shots_with_photos(session: Session, shot_ids: Collection[str] | None = None) -> frozenset[str]:
    """Ids of the shots, of all or of these, that have one that stands."""
    query = select(Photo.record_id).where(Photo.noun == "shot", Photo.record_id.is_not(None), Photo.voided_rev.is_(None))
    if shot_ids is not None:
        query = query.where(Photo.record_id.in_(sorted(shot_ids)))
    return frozenset(session.execute(query.distinct()).scalars())


def of_file(session: Session, sent_sha256: str) -> list[Photo]:
    """The photos that came as these bytes and weren't crossed out, the first that came first."""
    query = select(Photo).where(Photo.sent_sha256 == sent_sha256, Photo.voided_rev.is_(None)).order_by(Photo.id)
    return list(session.execute(query).scalars())


def in_the_tray(session: Session, *, most: int = 60) -> list[PhotoFact]:
    """Photos that nobody has said what they are of, the newest first."""
    query = _FACT.where(Photo.record_id.is_(None), Photo.voided_rev.is_(None))
    return _facts(session, query, newest=most)


def _facts(session: Session, query: Select[Any], newest: int | None = None) -> list[PhotoFact]:
    at = func.coalesce(Photo.taken_at, Revision.at)
    ordered = query.order_by(at.desc(), Photo.id).limit(newest) if newest else query.order_by(at, Photo.id)
    return [PhotoFact(row[0], row[1], row[2] or "somebody", row[3], row[4]) for row in session.execute(ordered)]


def count_in_the_tray(session: Session) -> int:
    query = select(func.count()).select_from(Photo).where(Photo.record_id.is_(None), Photo.voided_rev.is_(None))
    return int(session.execute(query).scalar_one())


def placed_photos(session: Session, *, only_trial: str | None = None) -> list[PhotoFact]:
    """All photos that somebody has said what they are of, the newest first; of one trial those that its viewers may see."""
    query = _FACT.where(Photo.record_id.is_not(None), Photo.voided_rev.is_(None))
    if only_trial is not None:
        query = query.where(or_(*((Photo.noun == noun) & Photo.record_id.in_(_of_trial(column, only_trial)) for noun, column in _COLUMNS)))
    return list(reversed(_facts(session, query)))


_COLUMNS: tuple[tuple[str, Any], ...] = (("shot", Shot.id), ("panel_build", Setup.panel_build_id), ("arrow_build", Shot.arrow_build_id))


def _of_trial(column: Any, trial_id: str) -> Select[Any]:
    """What stands in that column for the shots of a trial that stand."""
    return (
        select(column)
        .select_from(Shot)
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(Day, Day.id == Setup.session_id)
        .where(Day.trial_id == trial_id, Shot.voided_rev.is_(None))
    )


def is_of_trial(session: Session, photo: Photo, trial_id: str) -> bool:
    """Whether a viewer of that trial may see it: of one of its shots, or of a panel or arrow that it shot."""
    if photo.record_id is None:
        return False
    column = dict(_COLUMNS).get(photo.noun or "")
    if column is None:
        return False
    return session.execute(_of_trial(column, trial_id).where(column == photo.record_id).limit(1)).first() is not None


@dataclass(frozen=True)
class NearShot:
    """A shot that a photo may be of."""

    shot_id: str
    label: str
    panel: str
    loosed_at: int | None


def newest_shots(session: Session, *, most: int = 120) -> list[NearShot]:
    """The shots that were put down last: a photo is looked through within a day or two of them."""
    rows = session.execute(
        select(Shot.id, Shot.label, Panel.name, Shot.loosed_at)
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .where(Shot.voided_rev.is_(None), Shot.purpose != "let_down")
        .order_by(Shot.id.desc())
        .limit(most)
    )
    return [NearShot(*row) for row in rows]
