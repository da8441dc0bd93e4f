"""What the first page asks of the whole book: the newest day that something was shot on, and what still wants a hand."""

from typing import NamedTuple

from sqlalchemy import func, or_, select
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.arrow import ArrowBuild, ArrowCheck
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.range_facts import CurrentArrow, arrows_in_use
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd


class OpenShot(NamedTuple):
    """A shot that nobody read yet, or that has to be checked from behind. Names as ShotFact has them."""

    label: str
    panel_name: str
    day: str
    session_id: str
    hit: str | None
    rear_check: bool
    unread: bool


def newest_day(session: Session) -> tuple[str, dict[str, int]] | None:
    """The newest day that something was shot on, and how many each archer shot then; None while nothing was."""
    stands = (Shot.voided_rev.is_(None), Shot.purpose != "let_down")
    of = select(Day.day).join(Setup, Setup.session_id == Day.id).join(ShootingEnd, ShootingEnd.setup_id == Setup.id)
    newest = of.join(Shot, Shot.shooting_end_id == ShootingEnd.id).where(*stands).order_by(Day.day.desc()).limit(1).scalar_subquery()
    rows = session.execute(
        select(Day.day, Archer.call_name, func.count())
        .join(Setup, Setup.session_id == Day.id)
        .join(ShootingEnd, ShootingEnd.setup_id == Setup.id)
        .join(Shot, Shot.shooting_end_id == ShootingEnd.id)
        .join(Archer, Archer.id == Shot.archer_id)
        .where(*stands, Day.day == newest)
        .group_by(Day.day, Archer.call_name)
        .order_by(Archer.call_name)
    ).all()
    return (rows[0][0], {row[1]: row[2] for row in rows}) if rows else None


def open_shots(session: Session) -> list[OpenShot]:
    """All of the book's, in the order they were loosed: a shot left open a year ago is open still. One statement, no whole shots."""
    read = ShotReading.hit.is_not(None)
    unread = ~read & Shot.purpose.not_in(("let_down", "speed_only"))
    to_check = read & (func.coalesce(ShotReading.rear_check, 0) == 1)
    rows = session.execute(
        select(Shot.label, Panel.name, Day.day, Day.id, ShotReading.hit, func.coalesce(ShotReading.rear_check, 0), unread)
        .select_from(Shot)
        .join(ShotReading, (ShotReading.id == Shot.id) & ShotReading.voided_rev.is_(None), isouter=True)
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(Day, Day.id == Setup.session_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .where(Shot.voided_rev.is_(None), Shot.purpose != "let_down", or_(unread, to_check))
        .order_by(Day.day, ShootingEnd.begun_at, ShootingEnd.number, ShootingEnd.id, Shot.position, Shot.loosed_at, Shot.id)
    )
    return [OpenShot(row[0], row[1], row[2], row[3], row[4], bool(row[5]), bool(row[6])) for row in rows]


def arrows_shot_since_a_check(session: Session) -> list[CurrentArrow]:
    """Those in use whose newest build was shot after it was last looked at: of all others nobody asks whether they are sound."""
    flown = (Shot.arrow_build_id == ArrowBuild.id, Shot.voided_rev.is_(None), Shot.purpose != "let_down", Shot.loosed_at.is_not(None))
    looked = select(ArrowCheck.id).where(
        ArrowCheck.arrow_build_id == ArrowBuild.id, ArrowCheck.voided_rev.is_(None), ArrowCheck.at >= Shot.loosed_at
    )
    since = select(Shot.id).where(*flown, ~looked.correlate(ArrowBuild, Shot).exists()).correlate(ArrowBuild)
    return arrows_in_use(session, since.exists())
