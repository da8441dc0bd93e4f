"""What must hold between records when one is written: the trial is open, cautions are ticked, the pairing exists.

Each rule says in a sentence what stands in the way and what to do about it.
"""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from sqlalchemy import Select, bindparam, func, insert, select
from sqlmodel import Session

from server.records import corners, panel, plan, shot, speed, trial
from server.records.columns import meanings
from server.records.ids import new_id
from server.records.nouns import TABLES
from server.records.operations import Operation
from server.records.typed_values import Problem

Row = Mapping[str, Any]
Rule = Callable[[Session, Operation, Row | None, dict[str, Any]], list[Problem]]


def _state_of_a_walk() -> Select[Any]:
    trials, days, setups, walks, ticks = (one.__table__ for one in (trial.Trial, trial.Session, trial.Setup, trial.Walk, trial.CautionTick))
    ticked = select(func.count()).where(ticks.c.session_id == days.c.id, ticks.c.struck_rev.is_(None)).correlate(days)
    return (
        select(trials.c.state, ticked.scalar_subquery().label("ticked"))
        .join(days, days.c.trial_id == trials.c.id)
        .join(setups, setups.c.session_id == days.c.id)
        .join(walks, walks.c.setup_id == setups.c.id)
        .where(walks.c.id == bindparam("walk"))
    )


def _pairing_of_three() -> Select[Any]:
    table = speed.Pairing.__table__
    return select(table.c.id).where(*(table.c[name] == bindparam(name) for name in ("bow_build_id", "arrow_build_id", "archer_id")))


# Built once, and on the tables themselves: every save of a shot runs these, and building them took longer than running them.
_STATE_OF_A_WALK, _PAIRING_OF_THREE = _state_of_a_walk(), _pairing_of_three()


def before_write(session: Session, op: Operation, row: Row | None, values: dict[str, Any]) -> dict[str, Any]:
    """Fill in what follows from what was said: who recorded a shot, a pairing that did not exist, one rung for two."""
    values = dict(values)
    if op.noun == "shot":
        if row is None:
            values["recorded_by"] = op.device_id
        _make_pairing(session, op, {**(row or {}), **values})
    if op.noun in ("shot_reading", "second_reading") and values.get("outcome_low") is not None and "outcome_high" not in values:
        values["outcome_high"] = values["outcome_low"]
    return values


def _make_pairing(session: Session, op: Operation, shot_row: Row) -> None:
    three = {name: shot_row.get(name) for name in ("bow_build_id", "arrow_build_id", "archer_id")}
    if None in three.values():
        return  # the check of links says which one is missing
    there = session.execute(_PAIRING_OF_THREE, three).first()
    if there is None and all(_are_there(session, [("bow_build", three["bow_build_id"]), ("arrow_build", three["arrow_build_id"]), ("archer", three["archer_id"])])):
        # It follows from the shot and says nothing of its own, so it has no operation; the shot's is its witness.
        session.execute(insert(speed.Pairing.__table__).values(id=new_id(), rev=1, struck_rev=None, typed="{}", **three))


def _are_there(session: Session, wanted: Sequence[tuple[str, Any]]) -> list[bool]:
    """Whether the book has each of these (noun, id). One statement for all: a save asks this for every link it has."""
    asked = ", ".join(f'EXISTS (SELECT 1 FROM "{TABLES[noun].__tablename__}" WHERE id = ?)' for noun, _ in wanted)
    row = session.connection().exec_driver_sql(f"SELECT {asked}", tuple(record_id for _, record_id in wanted)).one()
    return [bool(one) for one in row]


def check(session: Session, op: Operation, row: Row | None, values: dict[str, Any]) -> list[Problem]:
    """Every rule that stands in the way of this write, in words."""
    problems = _links(session, op, values)
    if problems:
        return problems
    whole = {**(row or {}), **values}
    rule = _RULES.get(op.noun)
    return rule(session, op, row, whole) if rule else []


def _links(session: Session, op: Operation, values: Mapping[str, Any]) -> list[Problem]:
    linked = []
    for name, (column, meaning) in meanings(TABLES[op.noun]).items():
        target = values.get(column)
        if meaning.value != "link" or target is None:
            continue
        noun = meaning.noun or _noun_of(op.noun, name, values)
        if noun is not None:
            linked.append((name, meaning.label, noun, target))
    if not linked:
        return []
    found = _are_there(session, [(noun, target) for _, _, noun, target in linked])
    return [
        Problem(name, f"{label}: the book has no such record (yet). Pick another, or wait for the other phone.")
        for (name, label, _, _), there in zip(linked, found, strict=True)
        if not there
    ]


def _noun_of(noun: str, name: str, values: Mapping[str, Any]) -> str | None:
    # A reading and a picture say of which noun their record is.
    return values.get("noun") if name == "record" else None


def _takes_shots(session: Session, walk_id: str) -> list[Problem]:
    where = session.execute(_STATE_OF_A_WALK, {"walk": walk_id}).first()
    if where is None:
        return []
    if where.state == "closed":
        return [Problem("walk", "This trial is closed and takes no shots. Reopen it with a reason, then send this again.")]
    if where.state == "planned":
        return [Problem("walk", "This trial is only planned. Open it, then send this again.")]
    if where.ticked < len(trial.CAUTIONS):
        return [Problem("walk", "The cautions of this session are not all ticked. Tick them, then send this again.")]
    return []


def _shot(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if row and "label" in op.body and op.body["label"] != row["label"]:
        return [Problem("label", f"A shot keeps its label. This one is {row['label']}.")]
    return _takes_shots(session, whole["walk_id"]) if row is None else []


def _shot_reading(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    the_shot = session.get(shot.Shot, op.record_id)
    if the_shot is None:
        return [Problem("", "The book does not have this shot yet. It may still be on the other phone; this waits for it.")]
    problems = _rungs_fit(whole)
    low = whole.get("outcome_low")
    if low is not None and whole.get("hit") not in (None, "fair_target"):
        problems.append(Problem("hit", f"“{shot.HITS[whole['hit']]}” has no outcome. Take the rung away, or say that it struck the panel."))
    if whole.get("fair_overrule") and not whole.get("fair_reason"):
        problems.append(Problem("fair_reason", "Say why you overrule, in a few words."))
    if (whole.get("x_m") is None) != (whole.get("y_m") is None):
        problems.append(Problem("x", "A place needs both: how far right and how far up."))
    return problems + _way_in_fits(session, the_shot, whole)


def _second_reading(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    the_shot = session.get(shot.Shot, whole["shot_id"])
    return _rungs_fit(whole) + (_way_in_fits(session, the_shot, whole) if the_shot else [])


def _rungs_fit(whole: Row) -> list[Problem]:
    low, high = whole.get("outcome_low"), whole.get("outcome_high")
    if low is None or high is None or 0 <= int(high) - int(low) <= 2:
        return []
    return [Problem("outcome_high", "Give two rungs next to each other, the lower one first, for example 3 or 4.")]


def _way_in_fits(session: Session, the_shot: Any, whole: Row) -> list[Problem]:
    if whole.get("way_in") is None:
        return []
    construction = session.execute(
        select(panel.Panel.construction)
        .join(panel.PanelBuild, panel.PanelBuild.panel_id == panel.Panel.id)
        .join(trial.Setup, trial.Setup.panel_build_id == panel.PanelBuild.id)
        .join(trial.Walk, trial.Walk.setup_id == trial.Setup.id)
        .where(trial.Walk.id == the_shot.walk_id)
    ).scalar()
    ways = shot.WAYS_IN.get(construction or "", shot.ALL_WAYS_IN)
    if whole["way_in"] in ways:
        return []
    said = panel.CONSTRUCTIONS.get(construction or "", "This panel").lower()
    return [Problem("way_in", f"A {said} panel has no “{shot.ALL_WAYS_IN[whole['way_in']].lower()}”. Pick one of: {', '.join(ways.values())}.")]


def _trial(_: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    reopened = row is not None and row["state"] == "closed" and whole["state"] == "open"
    if reopened and not (op.reason or "").strip():
        return [Problem("reason", "Say why it is reopened, for example: three more shots with the reground heads.")]
    if whole.get("follows_id") == op.record_id:
        return [Problem("follows", "A trial can’t follow itself.")]
    return _stopping(whole)


def _stopping(whole: Row) -> list[Problem]:
    problems = []
    for rule, column in (("shots", "stop_shots"), ("width", "stop_width_percent")):
        if whole.get("stop_rule") == rule and not whole.get(column):
            problems.append(Problem(column, "Say how many, for example 20." if rule == "shots" else "Say how narrow, for example 50."))
    return problems


def _prediction(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    table = plan.Prediction.__table__
    same = select(table.c.id).where(
        table.c.trial_id == whole["trial_id"], table.c.archer_id == whole["archer_id"], table.c.id != op.record_id, table.c.struck_rev.is_(None)
    )
    if op.action != "strike" and session.execute(same).first():
        return [Problem("archer", "This archer has said what to expect already. Correct that: what it said before is kept.")]
    return []


def _plan(_: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if op.action == "strike" or 1 <= whole["rounds"] <= 100:
        return []
    return [Problem("rounds", f"{whole['rounds']} shots for each is no plan: give 1 to 100.")]


def _hardness(_: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    slides, bites = whole.get("slides_hrc"), whole.get("bites_hrc")
    picks = [whole.get(name) for name in ("slides_hrc", "bites_hrc", "sticks_hrc")]
    if whole.get("value") is None and all(pick is None for pick in picks):
        return [Problem("value", "Give a value with its scale, or the picks: the hardest that slides, the softest that bites.")]
    if whole.get("value") is not None and whole.get("scale") is None:
        return [Problem("scale", "A hardness value needs its scale, for example HV.")]
    if slides is not None and bites is not None and slides >= bites:
        return [Problem("bites", f"The pick that bites ({bites:g} HRC) must be harder than the one that slides ({slides:g} HRC).")]
    return []


def _speed_reading(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if (whole.get("series_id") is None) == (whole.get("shot_id") is None):
        return [Problem("", "A speed belongs to a series or to a shot.")]
    if whole.get("value_m_s") is None and not whole.get("left_out_reason"):
        return [Problem("value", "Type the speed, for example 52.6 m/s, or say why there is none.")]
    return []


def _unique_name(field: str) -> Rule:
    def rule(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
        if op.action == "strike" or (row is not None and field not in op.body):
            return []
        table = TABLES[op.noun].__table__
        same = select(table.c.id).where(
            func.lower(table.c[field]) == str(whole[field]).lower(), table.c.id != op.record_id, table.c.struck_rev.is_(None)
        )
        if session.execute(same).first():
            return [Problem(field, f"There is a “{whole[field]}” already. Use a name that tells them apart.")]
        return []

    return rule


def _pairing(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if row is not None:
        return []
    table = speed.Pairing.__table__
    three = ("bow_build_id", "arrow_build_id", "archer_id")
    if session.execute(select(table.c.id).where(*(table.c[name] == whole[name] for name in three))).first():
        return [Problem("arrow_build", "This bow, arrow and archer are a pairing already. Open that one.")]
    return []


def _picture(_: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if not whole.get("sha256"):
        return [Problem("", "A picture comes as a file, to an address of its own.")]
    if (whole.get("noun") is None) != (whole.get("record_id") is None):
        return [Problem("record", "Say both: of what it is, and of which one. Or neither, and it lies in the tray.")]
    if row is not None and "record" in op.body and "noun" not in op.body:
        return [Problem("noun", "Say of what it is along with which one.")]
    return []


def _panel_face(_: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if whole.get("corners") is None:
        return []
    problems = corners.problems(whole["corners"])
    for name, field in (("scale_m", "scale"), ("height_m", "height")):
        if whole.get(name) is None:
            problems.append(Problem(field, "Measure it on the panel: without it the corners give no scale."))
    return problems


_RULES: Mapping[str, Rule] = MappingProxyType(
    {
        "picture": _picture,
        "panel_face": _panel_face,
        "shot": _shot,
        "shot_reading": _shot_reading,
        "second_reading": _second_reading,
        "trial": _trial,
        "prediction": _prediction,
        "plan": _plan,
        "hardness_reading": _hardness,
        "speed_reading": _speed_reading,
        "pairing": _pairing,
        "archer": _unique_name("call_name"),
        "instrument": _unique_name("name"),
        "bow": _unique_name("name"),
        "head": _unique_name("name"),
        "arrow": _unique_name("tag"),
        "panel": _unique_name("name"),
        "stand": _unique_name("name"),
    }
)
