"""Pictures as pages need them: of one thing, in the tray, with their phone; and which trials one belongs to."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, func, select
from sqlmodel import Session

from server.records.book import Device, Revision
from server.records.panel import Panel, PanelBuild, PanelFace
from server.records.picture import Picture
from server.records.shot import Shot
from server.records.trial import Session as Day
from server.records.trial import Setup, Walk


@dataclass(frozen=True)
class PictureFact:
    """A picture and where it came from. `came_at`: when the book took it; `face`: the corners that straighten it, if it has any."""

    picture: Picture
    letter: str | None
    who: str
    came_at: int
    face: PanelFace | None = None

    @property
    def at(self) -> int:
        """When it was taken, as far as that is known; else when it came."""
        return self.picture.taken_at if self.picture.taken_at is not None else self.came_at


_FACT = (
    select(Picture, Device.letter, Device.call_name, Revision.at, PanelFace)
    .join(Revision, (Revision.noun == "picture") & (Revision.record_id == Picture.id) & (Revision.rev == 1))
    .join(Device, Device.id == Revision.device_id, isouter=True)
    .join(PanelFace, (PanelFace.picture_id == Picture.id) & PanelFace.struck_rev.is_(None) & PanelFace.corners.is_not(None), isouter=True)
)


def pictures_of(session: Session, noun: str, ids: str | Iterable[str], *, struck: bool = False) -> list[PictureFact]:
    """The pictures of some records of one noun, oldest first."""
    wanted = [ids] if isinstance(ids, str) else list(ids)
    query = _FACT.where(Picture.noun == noun, Picture.record_id.in_(wanted))
    if not struck:
        query = query.where(Picture.struck_rev.is_(None))
    return _facts(session, query)


def one_picture(session: Session, picture_id: str) -> PictureFact | None:
    return next(iter(_facts(session, _FACT.where(Picture.id == picture_id))), None)


def in_the_tray(session: Session, *, most: int = 60) -> list[PictureFact]:
    """Pictures that nobody has said what they are of, the newest first."""
    query = _FACT.where(Picture.record_id.is_(None), Picture.struck_rev.is_(None))
    return _facts(session, query, newest=most)


def _facts(session: Session, query: Select[Any], newest: int | None = None) -> list[PictureFact]:
    at = func.coalesce(Picture.taken_at, Revision.at)
    ordered = query.order_by(at.desc(), Picture.id).limit(newest) if newest else query.order_by(at, Picture.id)
    return [PictureFact(row[0], row[1], row[2] or "somebody", row[3], row[4]) for row in session.execute(ordered)]


def count_in_the_tray(session: Session) -> int:
    query = select(func.count()).select_from(Picture).where(Picture.record_id.is_(None), Picture.struck_rev.is_(None))
    return int(session.execute(query).scalar_one())


def is_of_trial(session: Session, picture: Picture, trial_id: str) -> bool:
    """Whether a viewer of that trial may see it: of one of its shots, or of a panel or arrow that it shot."""
    if picture.record_id is None:
        return False
    column = {"shot": Shot.id, "panel_build": Setup.panel_build_id, "arrow_build": Shot.arrow_build_id}.get(picture.noun or "")
    if column is None:
        return False
    query = (
        select(Shot.id)
        .join(Walk, Walk.id == Shot.walk_id)
        .join(Setup, Setup.id == Walk.setup_id)
        .join(Day, Day.id == Setup.session_id)
        .where(Day.trial_id == trial_id, column == picture.record_id, Shot.struck_rev.is_(None))
    )
    return session.execute(query.limit(1)).first() is not None


@dataclass(frozen=True)
class NearShot:
    """A shot that a picture may be of."""

    shot_id: str
    label: str
    panel: str
    loosed_at: int | None


def newest_shots(session: Session, *, most: int = 120) -> list[NearShot]:
    """The shots that were put down last: a picture is looked through within a day or two of them."""
    rows = session.execute(
        select(Shot.id, Shot.label, Panel.name, Shot.loosed_at)
        .join(Walk, Walk.id == Shot.walk_id)
        .join(Setup, Setup.id == Walk.setup_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .where(Shot.struck_rev.is_(None), Shot.purpose != "let_down")
        .order_by(Shot.id.desc())
        .limit(most)
    )
    return [NearShot(*row) for row in rows]
