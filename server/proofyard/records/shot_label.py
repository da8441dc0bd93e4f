"""A shot's label is how people name it, so no two shots share one, and it begins with its own phone's letter.

A shot whose label can't stand is stored all the same, under one that can: a phone at the range must never lose a shot.
The label that it is given ends in a small letter (A7b), which no phone gives by itself: so it is never in the way of
the labels that are still to come, and A7 stays readable in it. What the phone said stays beside it, as typed.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import bindparam, exists, select
from sqlmodel import Session

from proofyard.records.book import Device
from proofyard.records.operations import Operation
from proofyard.records.prepared import Prepared
from proofyard.records.shot import Shot
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd
from proofyard.records.typed_values import Problem

# "a007" names the same shot to people as A7.
_FORM = re.compile(r"([a-z]{1,2})0*([0-9]{1,6})([a-z]*)", re.ASCII | re.IGNORECASE)
_ENDINGS = "bcdefghijklmnopqrstuvwxyz"

_DEVICE, _SHOT = Device.__table__, Shot.__table__
# One statement for what nearly every shot needs to hear: its phone's letter, whether another phone has the label's, and
# whether another shot has the label.
_ASKED = select(
    select(_DEVICE.c.letter).where(_DEVICE.c.id == bindparam("device")).scalar_subquery().label("own"),
    # A phone that was removed gives no more labels. Let in again it has a new letter, and what it held has the old one.
    exists()
    .where(_DEVICE.c.letter == bindparam("letter"), _DEVICE.c.id != bindparam("device"), _DEVICE.c.role != "out")
    .label("of_another"),
    exists().where(_SHOT.c.label == bindparam("label")).label("there"),
)
_HEARD = Prepared(_ASKED)


def label_that_stands(session: Session, op: Operation, label: str) -> tuple[str, Problem | None]:
    """The label that a new shot gets, and what to say if it is not the one that was asked for."""
    form = _FORM.fullmatch(label)
    letter = form[1].upper() if form else ""
    asked = f"{letter}{form[2]}{form[3].lower()}" if form else label
    own, of_another, there = _HEARD.first(session, {"device": op.device_id, "letter": letter, "label": asked})
    wrong_letter = bool(of_another and own)
    if not there and not wrong_letter:
        return asked, None
    stem = f"{own}{form[2]}" if form and wrong_letter else f"{letter}{form[2]}" if form else asked
    given = _free(session, stem)
    why = f"{letter} is another phone’s letter" if wrong_letter else f"Another shot is {asked} already"
    return given, Problem("label", f"{why}, so this one is {given} in the book. Where you wrote {label}, write {given}.")


def _free(session: Session, stem: str) -> str:
    """The first label of a row that no shot has: A7b, A7c … A7z, A7bb …"""
    taken = set(session.execute(select(_SHOT.c.label).where(_SHOT.c.label.startswith(stem, autoescape=True))).scalars())
    labels: list[str] = [f"{stem}{first}{last}" for first in ("", *_ENDINGS) for last in _ENDINGS]
    return next(label for label in labels if label not in taken)


def keeps_its_label(row: Mapping[str, Any], asked: object) -> bool:
    """Whether a label said again is the one that the shot has, or the one that its phone gave it at first."""
    return asked in (row["label"], json.loads(row["typed"]).get("label"))


@dataclass(frozen=True)
class Namesake:
    """Another shot with the same label."""

    shot_id: str
    day: str


@dataclass(frozen=True)
class LabelTold:
    """first   what the phone called it, if that could not stand; "" otherwise
    others  shots that have the same label, from before labels were kept apart"""

    first: str
    others: tuple[Namesake, ...]


def label_told(session: Session, shot_id: str, label: str, *, only_trial: str | None = None) -> LabelTold:
    """What a reader must know of a label: that it was mended, or that it names more than one shot (of `only_trial`)."""
    rows = session.execute(
        select(Shot.id, Shot.typed, Day.day)
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(Day, Day.id == Setup.session_id)
        .where(Shot.label == label, *([] if only_trial is None else [Day.trial_id == only_trial]))
        .order_by(Shot.id)
    ).all()
    typed = next((json.loads(row.typed).get("label") for row in rows if row.id == shot_id), None)
    return LabelTold(typed if typed and typed != label else "", tuple(Namesake(row.id, row.day) for row in rows if row.id != shot_id))
