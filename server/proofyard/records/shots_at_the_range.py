"""The shots that phones are told of: the day's own in full, of all others what a hit on the panel is drawn and judged by."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import and_, func, or_, select
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.book import Clash, Device
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.range_facts import OpenSetup, as_record, rows_of
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.speed import SpeedReading
from proofyard.records.trial import Setup, ShootingEnd

MOST_IN_FULL = 50  # read shots of the day, the newest; what is still open is told in full whatever it weighs


class Told(NamedTuple):
    """full: ids of shots that are told whole. earlier: panel build id -> a row for each other shot there, oldest first (`_row`)."""

    full: frozenset[str]
    earlier: dict[str, list[list[Any]]]


def day_of(setups: Iterable[OpenSetup], today: date) -> frozenset[str]:
    """The sessions that are the day's own: those of the newest day that isn't ahead, and what is set up for later.

    The newest day and not today: who looks in the morning after wants the day before, and a laptop's clock may be wrong.
    """
    days = {one.day.id: one.day.day for one in setups}
    past = [day for day in days.values() if day <= today.isoformat()]
    return frozenset(one for one, day in days.items() if not past or day >= max(past))


def told_on(session: Session, panel_build_ids: Iterable[str], own: Iterable[str], ends: Mapping[str, int]) -> Told:
    """One statement: every shot at these panel builds, whatever its trial, since earlier hits count wherever they come from.

    own   the sessions that are the day's own
    ends  end id -> its place among the ends that are told
    """
    ours = frozenset(own)
    rows = session.execute(_marks(panel_build_ids)).all()
    full = {row.id for row in rows if row.open}
    day = sorted((row for row in rows if row.session_id in ours and not row.open), key=lambda row: (row.loosed_at or 0, row.id))
    full |= {row.id for row in day[-MOST_IN_FULL:]}
    earlier: dict[str, list[list[Any]]] = {}
    for row in rows:
        if row.id not in full:
            earlier.setdefault(row.panel, []).append(_row(row, ends))
    return Told(frozenset(full), earlier)


def _marks(panel_build_ids: Iterable[str]) -> Any:
    """What a hit is drawn, named and judged by; `open`: whether somebody has still to do something about it."""
    read = and_(ShotReading.id.is_not(None), ShotReading.voided_rev.is_(None))
    low, high = (func.coalesce(one, "") for one in (ShotReading.outcome_low, ShotReading.outcome_high))
    two = or_(low != high, ShotReading.rear_check == 1, ShotReading.depth_bound == "at_least")
    to_check = and_(ShotReading.hit == "on_panel", func.coalesce(ShotReading.rear_check, 1) == 1, two)
    of_speed = select(SpeedReading.id).where(SpeedReading.shot_id == Shot.id).correlate(Shot)
    said_twice = (
        select(Clash.id).where(Clash.settled_op_id.is_(None), or_(Clash.record_id == Shot.id, Clash.record_id.in_(of_speed))).exists()
    )
    standing = and_(Shot.voided_rev.is_(None), or_(and_(Shot.purpose == "counted", ~read), and_(read, to_check)))
    reading = ("hit", "outcome_low", "outcome_high", "x_m", "y_m", "plate")
    return (
        select(
            *(
                getattr(Shot, name)
                for name in ("id", "rev", "label", "shooting_end_id", "purpose", "position", "loosed_at", "planned_shot_id")
            ),
            Shot.voided_rev.is_not(None).label("voided"),
            Device.letter,
            Archer.call_name.label("by"),
            Arrow.tag,
            ShotReading.rev.label("reading_rev"),
            ShotReading.voided_rev.is_not(None).label("reading_voided"),
            *(getattr(ShotReading, name) for name in reading),
            Setup.session_id,
            Setup.panel_build_id.label("panel"),
            or_(standing, said_twice).label("open"),
        )
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(ArrowBuild, ArrowBuild.id == Shot.arrow_build_id)
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .join(Archer, Archer.id == Shot.archer_id)
        .join(ShotReading, ShotReading.id == Shot.id, isouter=True)
        .join(Device, Device.id == Shot.recorded_by, isouter=True)
        .where(Setup.panel_build_id.in_(list(panel_build_ids)))
        .order_by(Shot.id)
    )


def _row(row: Any, ends: Mapping[str, int]) -> list[Any]:
    """As static/js/range/snapshot.js reads it; lengths in mm, to a tenth. What is empty at its end is left out."""
    x, y = (None if one is None else round(one * 1000, 1) for one in (row.x_m, row.y_m))
    standing = row.reading_rev is not None and not row.reading_voided
    reading = (row.hit, row.outcome_low, row.outcome_high, x, y, row.plate) if standing else (None,) * 6
    made = [
        row.id,
        row.rev,
        row.label,
        ends.get(row.shooting_end_id, -1),
        row.purpose,
        row.position,
        row.loosed_at,
        row.letter,
        row.by,
        row.tag,
    ]
    made += [int(bool(row.voided)), row.reading_rev or 0, *reading, row.planned_shot_id]
    while made[-1] is None:
        made.pop()
    return made


def shots_in_full(session: Session, only: Iterable[str], panel_build_ids: Iterable[str] | None = None) -> list[dict[str, Any]]:
    """These shots, at any panel or at these builds: each with its reading, its own speed, and where it belongs.

    `setup` says whose a shot is: it may be another trial's.
    """
    shots, readings = Shot.__table__, ShotReading.__table__
    speeds = SpeedReading.__table__
    newest = select(func.max(speeds.c.id)).where(speeds.c.shot_id == shots.c.id).correlate(shots).scalar_subquery()
    wanted = [shots.c.id.in_(list(only))]
    if panel_build_ids is not None:
        wanted.append(Setup.panel_build_id.in_(list(panel_build_ids)))
    query = (
        select(
            *(column.label(f"s_{column.name}") for column in shots.c),
            *(column.label(f"r_{column.name}") for column in readings.c),
            *(column.label(f"v_{column.name}") for column in speeds.c),
            Setup.id.label("setup"),
            Setup.panel_build_id.label("panel"),
            Device.letter.label("letter"),
            Device.call_name.label("phone"),
            Arrow.tag.label("tag"),
            Head.form.label("form"),
            Archer.call_name.label("by"),
            Bow.name.label("bow_name"),
            Bow.marked_weight_n.label("marked_weight_n"),
        )
        .join(ShootingEnd, ShootingEnd.id == shots.c.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(ArrowBuild, ArrowBuild.id == shots.c.arrow_build_id)
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .join(Head, Head.id == ArrowBuild.head_id, isouter=True)
        .join(BowBuild, BowBuild.id == shots.c.bow_build_id)
        .join(Bow, Bow.id == BowBuild.bow_id)
        .join(Archer, Archer.id == shots.c.archer_id)
        .join(readings, readings.c.id == shots.c.id, isouter=True)
        .join(speeds, speeds.c.id == newest, isouter=True)
        .join(Device, Device.id == shots.c.recorded_by, isouter=True)
        .where(*wanted)
        .order_by(shots.c.id)
    )
    return [_shot(row) for row in rows_of(session, query)]


def _shot(row: Mapping[str, Any]) -> dict[str, Any]:
    shot, reading, speed = ({name[2:]: value for name, value in row.items() if name.startswith(f"{part}_")} for part in "srv")
    read = None
    if reading["id"] is not None:
        # For a drawing; what was said of it stands beside it as it was typed.
        metres = {name: reading[name] for name in ("x_m", "y_m", "depth_m")}
        read = as_record("shot_reading", reading) | {name: value and round(value, 5) for name, value in metres.items()}
    named = ("setup", "panel", "letter", "phone", "tag", "form", "by", "bow_name", "marked_weight_n")
    return (
        as_record("shot", shot)
        | {"reading": read, "speed": as_record("speed_reading", speed) if speed["id"] else None}
        | {name: row[name] for name in named}
    )
