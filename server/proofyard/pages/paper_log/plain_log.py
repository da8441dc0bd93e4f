"""`/log`: a shot, and its reading if you like, on a plain form: for a phone whose script is off, or a laptop at the line."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter

from proofyard.access.seats import Seat
from proofyard.answers.range import kit as range_kit
from proofyard.pages.frame.form_page import Asked, Block, Bodies, Form, Sent, form_routes
from proofyard.pages.frame.forms import FieldState, FormField, FormOperations, Problems, nth_id
from proofyard.pages.range.shell import CAUTIONS
from proofyard.records import range_facts
from proofyard.records.at_the_butt import at_the_butt
from proofyard.records.devices import now_ms
from proofyard.records.listing import one
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.speed import SpeedReading
from proofyard.records.trial import ShootingEnd
from proofyard.records.typed_values import Problem
from proofyard.storage import Session
from proofyard.wording.reasons.said import said
from proofyard.wording.when import clock_words

router = APIRouter()

SHOT_FIELDS = ("archer", "bow_build", "arrow_build", "purpose", "short_draw")
READ = (
    "hit",
    "why",
    "x",
    "y",
    "entry",
    "outcome_low",
    "outcome_high",
    "rear_check",
    "depth",
    "depth_bound",
    "depth_method",
    "arrow_did",
    "head_fate",
    "shaft_fate",
    "damage",
    "note",
)
ALL_THE_SAME = "arrow_all_the_same"  # the answer to the question of an arrow that nobody checked
SHOT_PLACE = 1000  # the shot's own number among the ids that follow from the form's


@dataclass(frozen=True)
class PlainLog:
    """`logged`: the label of the shot that was logged last; `ready`: there is a set-up to shoot at; `at_the_butt`: who is."""

    caution: str
    at_the_butt: str
    logged: str
    ready: bool
    next_label: str


@form_routes(router, "/log")
def plain_log(asked: Asked) -> Form:
    """Empty, or with the choices of the shot that was logged last (`?after=`)."""
    shot_id, after, allowed = nth_id(asked.operation, SHOT_PLACE), _told(asked, "after"), _told(asked, "allowed")
    with asked.book.read() as session:
        # A second tap, or a lost reply: it is in the book already.
        there = one(session, Shot, shot_id) is not None
        before = one(session, Shot, after) if after else None
        end = one(session, ShootingEnd, before.shooting_end_id) if before else None
        options, label = _options(session), _next_label(session, asked.seat)
        nobody_shoots = _who_is_at_the_butt(session)
    typed = {"purpose": "counted", "setup": end.setup_id if end else ""}
    typed |= {name: getattr(before, f"{name}_id") or "" for name in ("archer", "bow_build")} if before else {}
    more: dict[str, Any] = {"typed": typed, "options": options}
    setup = Block(table=ShootingEnd, names=["setup"], title="The shot", **more)
    shot = Block(table=Shot, names=SHOT_FIELDS, **more)
    speed = Block(table=SpeedReading, names=["value"], prefix="speed_")
    read = Block(table=ShotReading, names=READ, prefix="reading_", title="What you read, if you have read it")

    def keep(operations: FormOperations, bodies: Bodies) -> None:
        if not there:
            _keep(asked, operations, [bodies[block.key] for block in (setup, shot, speed, read)], label=label, shot_id=shot_id)

    def arrange(fields: list[FormField], sent: Sent) -> list[FormField]:
        picked = sent.bodies.get(shot.key, {}).get("arrow_build")
        if ALL_THE_SAME in asked.form or (picked and any(one.field == "arrow_build" for one in sent.problems.get(shot.key, ()))):
            fields = _after("arrow_build", _tick(asked, ALL_THE_SAME, "Shot all the same, though nobody checked it"), fields)
        return _after("speed_value", _tick(asked, "new_shooting_end", "This shot begins a new end"), fields)

    def check(bodies: Bodies) -> Problems:
        problem = None if there else _unasked(asked, {**bodies[setup.key], **bodies[shot.key]}, allowed)
        return {shot.key: [problem]} if problem else {}

    return Form(
        heading=f"Log a shot: {label}",
        after=f"/log?after={shot_id}" + _goes_on(asked, shot_id, allowed),
        unseen={"allowed": allowed},
        check=check,
        blocks=[setup, shot, speed, read],
        nav="range",
        title="Log a shot",
        template="paper_log/plain_log.html",
        own=lambda sent: PlainLog(CAUTIONS["line"], nobody_shoots, before.label if before else "", bool(options["setup"]), label),
        sort=lambda problems: _in_one_box(problems, setup.key, shot.key),
        arrange=arrange,
        keep=keep,
    )


def _in_one_box(problems: Problems, setup: str, shot: str) -> Problems:
    """Which end and set-up a shot belongs to is asked in one box."""
    found: dict[str, list[Problem]] = {}
    for key, some in problems.items():
        for problem in some:
            whole = key in (shot, setup) and problem.field in ("shooting_end", "setup", "")
            found.setdefault(setup if whole else key, []).append(Problem("setup", problem.sentence) if whole else problem)
    return found


def _told(asked: Asked, name: str) -> str:
    """What travels from one shot to the next: in the address of the empty form, in the form that is sent."""
    return str(asked.form.get(name) or asked.request.query_params.get(name, ""))[:36]


def _tick(asked: Asked, name: str, label: str) -> FormField:
    return FormField(name, label, "tick", FieldState(str(asked.form.get(name, ""))))


def _after(name: str, more: FormField, fields: list[FormField]) -> list[FormField]:
    at = [field.name for field in fields].index(name) + 1
    return [*fields[:at], more, *fields[at:]]


def _goes_on(asked: Asked, shot_id: str, allowed: str) -> str:
    """An answer holds for the end: it travels on with the id of a shot of that end."""
    kept = shot_id if asked.form.get(ALL_THE_SAME) else allowed
    return f"&allowed={kept}" if kept else ""


def _unasked(asked: Asked, body: Mapping[str, Any], allowed: str) -> Problem | None:
    """An arrow that nobody checked is asked about once an end, as on the phones' line. A let-down flies nowhere."""
    if asked.form.get(ALL_THE_SAME) or body.get("purpose") == "let_down":
        return None
    with asked.book.read() as session:
        before = one(session, Shot, allowed) if allowed else None
        ends = [] if asked.form.get("new_shooting_end") else _open_ends(session, str(body.get("setup", "")))
        if before is not None and any(end["id"] == before.shooting_end_id for end in ends[-1:]):
            return None
        why = range_kit.unchecked(session, str(body.get("arrow_build", "")))
    return Problem("arrow_build", said(why)) if why else None


def _open_ends(session: Session, setup: str) -> list[dict[str, Any]]:
    return [w for w in range_facts.shooting_ends_of(session, [setup]) if not w["voided"] and "at_butt_at" not in w["said"]]


def _options(session: Session) -> dict[str, list[tuple[str, str]]]:
    setups = range_facts.open_setups(session)
    arrows = range_kit.arrows_for_phone(session, setups)  # of many those that a phone is told of, too
    return {
        "setup": [(one.setup.id, range_kit.setup_in_a_list(one)) for one in setups],
        "archer": list(range_facts.archers_here(session)),
        "bow_build": bow_options(session),
        "arrow_build": [(a["build"], _arrow_words(a)) for a in arrows if a["state"] != "not_sound"],
    }


def _who_is_at_the_butt(session: Session) -> str:
    """ "Wren is at the butt since 14:05." of the open days; "" while nobody is. The time is the laptop's, as on every page."""
    out = at_the_butt(session, {one.day.id for one in range_facts.open_setups(session)})
    if not out:
        return ""
    names = list(dict.fromkeys(str(one["who"]) for one in out))
    said = f"{', '.join(names[:-1])} and {names[-1]} are" if len(names) > 1 else f"{names[0]} is"
    first = min((one["said"]["went_at"] for one in out if "went_at" in one["said"]), default=None)
    return f"{said} at the butt{f' since {clock_words(first)}' if first is not None else ''}."


def bow_options(session: Session) -> list[tuple[str, str]]:
    bows = range_kit.bows_for_phone(range_facts.current_bows(session))
    return [(b["build"], f"{b['weight']} lb, {b['name']}" if b["weight"] else b["name"]) for b in bows]


def _keep(asked: Asked, operations: FormOperations, bodies: list[Mapping[str, Any]], *, label: str, shot_id: str) -> None:
    """An end if none is open, the shot, its speed, its reading."""
    end, shot, speed, read = bodies
    setup = str(end.get("setup", ""))
    with asked.book.read() as session:
        ends = _open_ends(session, setup)
    if ends and not asked.form.get("new_shooting_end"):
        shooting_end = ends[-1]["id"]
    else:
        shooting_end = operations.new("shooting_end", {"setup": setup, "begun_at": now_ms()}, of="shooting_end")
    body = {**shot, "label": label, "shooting_end": shooting_end, "loosed_at": now_ms(), "purpose": shot.get("purpose") or "counted"}
    operations.put("shot", shot_id, body, of="shot")
    if str(speed.get("value", "")).strip():
        operations.new("speed_reading", {"shot": shot_id, **speed, "method": "chronograph"}, of="speed_speed_reading")
    if said := said_of_hit(read):
        operations.put("shot_reading", shot_id, said, of="reading_shot_reading")


def said_of_hit(read: Mapping[str, Any]) -> dict[str, Any]:
    """What was filled of a reading; a place that was typed is a known place."""
    said = {name: value for name, value in read.items() if value not in ("", [], "no")}
    return {**said, "place_known": "yes"} if said.get("x") or said.get("y") else said


def _next_label(session: Session, seat: Seat) -> str:
    return f"{seat.letter}{range_facts.where_it_stands(session, seat.device_id, seat.letter).highest_label + 1}"


def _arrow_words(arrow: Mapping[str, Any]) -> str:
    return f"{arrow['tag']}, {arrow['head'] or arrow['form']}" + (", to check" if arrow["state"] == "to_check" else "")
