"""What must hold between records when one is written: the trial is open, cautions are ticked, the combination exists.

Each rule says in a sentence what stands in the way and what to do about it.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Any

from sqlalchemy import Select, bindparam, exists, func, insert, select
from sqlmodel import Session

from proofyard.records import claim, corners, panel, plan, shot, speed, trial
from proofyard.records.claim_parts import missing_parts
from proofyard.records.columns import Meaning, meanings
from proofyard.records.film_rules import film_problems, mark_problems, moment_of_card
from proofyard.records.ids import new_id
from proofyard.records.import_batch import batch_of
from proofyard.records.nouns import NAMES, TABLES
from proofyard.records.operations import Operation
from proofyard.records.place_on_panel import off_the_panel
from proofyard.records.prepared import Prepared
from proofyard.records.shot_label import keeps_its_label, label_that_stands
from proofyard.records.typed_values import Problem

Row = Mapping[str, Any]
Rule = Callable[[Session, Operation, Row | None, dict[str, Any]], list[Problem]]


def _state_of_a_shooting_end() -> Select[Any]:
    trials, days, setups, shooting_ends, ticks = (
        one.__table__ for one in (trial.Trial, trial.Session, trial.Setup, trial.ShootingEnd, trial.CautionTick)
    )
    ticked = select(func.count()).where(ticks.c.session_id == days.c.id, ticks.c.voided_rev.is_(None)).correlate(days)
    return (
        select(trials.c.state, days.c.id.label("day"), ticked.scalar_subquery().label("ticked"))
        .join(days, days.c.trial_id == trials.c.id)
        .join(setups, setups.c.session_id == days.c.id)
        .join(shooting_ends, shooting_ends.c.setup_id == setups.c.id)
        .where(shooting_ends.c.id == bindparam("shooting_end"))
    )


def _combination_of_three() -> Select[Any]:
    table = speed.Combination.__table__
    return select(table.c.id).where(*(table.c[name] == bindparam(name) for name in ("bow_build_id", "arrow_build_id", "archer_id")))


# Built once, and on the tables themselves: every save of a shot runs these, and building them took longer than running them.
_STATE_OF_A_SHOOTING_END, _COMBINATION_OF_THREE = Prepared(_state_of_a_shooting_end()), Prepared(_combination_of_three())


def before_write(session: Session, op: Operation, row: Row | None, values: dict[str, Any]) -> tuple[dict[str, Any], list[Problem]]:
    """Fill in what follows from what was said: who recorded a shot, a label that can stand, one outcome level for two. Gives the
    values, and what to tell of them. It only looks: a refused operation writes nothing."""
    values, told = dict(values), []
    if op.noun == "shot":
        if row is None:
            values["recorded_by"] = op.device_id
            values["label"], mended = label_that_stands(session, op, values["label"])
            told += [mended] if mended else []
        elif "label" in values and keeps_its_label(row, op.body["label"]):
            values["label"] = row["label"]
    if op.noun == "film_mark":
        values |= moment_of_card(session, row, values)
    if op.noun in ("shot_reading", "second_reading") and values.get("outcome_low") is not None and "outcome_high" not in values:
        values["outcome_high"] = values["outcome_low"]
    return values, told


def make_what_follows(session: Session, op: Operation, whole: Row) -> None:
    """What else is written once every check has passed: the combination of a shot's bow, arrow and archer, if it is the first."""
    if op.noun != "shot":
        return
    three = {name: whole[name] for name in ("bow_build_id", "arrow_build_id", "archer_id")}
    if None not in three.values() and _COMBINATION_OF_THREE.first(session, three) is None:
        # It follows from the shot and says nothing of its own, so it has no operation; the shot's is its witness.
        session.execute(insert(speed.Combination.__table__).values(id=new_id(), rev=1, voided_rev=None, typed="{}", **three))


@cache
def _is_each_there(nouns: tuple[str, ...]) -> Prepared:
    tables = [TABLES[noun].__table__ for noun in nouns]
    return Prepared(select(*(exists().where(table.c.id == bindparam(f"id_{n}")).label(f"there_{n}") for n, table in enumerate(tables))))


def _are_there(session: Session, wanted: Sequence[tuple[str, Any]]) -> list[bool]:
    """Whether the book has each of these (noun, id). One statement for all: a save asks this for every link it has."""
    asked = _is_each_there(tuple(noun for noun, _ in wanted))
    return [bool(one) for one in asked.first(session, {f"id_{n}": record_id for n, (_, record_id) in enumerate(wanted)})]


def check(session: Session, op: Operation, row: Row | None, values: dict[str, Any]) -> list[Problem]:
    """Every rule that stands in the way of this write, in words."""
    problems = links_lead_nowhere(session, op, values)
    if problems:
        return problems
    whole = {**(row or {}), **values}
    rule = _RULES.get(op.noun)
    return rule(session, op, row, whole) if rule else []


def links_lead_nowhere(session: Session, op: Operation, values: Mapping[str, Any]) -> list[Problem]:
    """A sentence for each link to a record that the book doesn't have."""
    linked = []
    for name, column, meaning in _links_of(op.noun):
        target = values.get(column)
        if target is None:
            continue
        noun = meaning.noun or _noun_of(op.noun, name, values)
        if noun is not None:
            linked.append((name, meaning.label, noun, target))
    if not linked:
        return []
    found = _are_there(session, [(noun, target) for _, _, noun, target in linked])
    return [
        Problem(name, f"{label}: the book has no such record (yet). Choose another, or wait for the other phone.")
        for (name, label, _, _), there in zip(linked, found, strict=True)
        if not there
    ]


@cache
def _links_of(noun: str) -> tuple[tuple[str, str, Meaning], ...]:
    """The fields of a noun that are links: name, column, meaning. Once a noun: every save asks."""
    fields = meanings(TABLES[noun]).items()
    return tuple((name, column, meaning) for name, (column, meaning) in fields if meaning.value == "link")


def _noun_of(noun: str, name: str, values: Mapping[str, Any]) -> str | None:
    # A reading and a photo say of which noun their record is.
    return values.get("noun") if name == "record" else None


def _takes_shots(session: Session, shooting_end_id: str, *, loosed_at: int | None) -> list[Problem]:
    where = _STATE_OF_A_SHOOTING_END.first(session, {"shooting_end": shooting_end_id})
    if where is None:
        return []
    if where.state == "closed":
        return [Problem("shooting_end", "This trial is closed and takes no shots. Reopen it with a reason, then send this again.")]
    if where.state == "planned":
        return [Problem("shooting_end", "This trial is only planned. Open it, then send this again.")]
    # Nobody can tick them for a day that a spreadsheet tells of. A phone's shot has a moment, and is asked on such a day too.
    if where.ticked < len(trial.CAUTIONS) and (loosed_at is not None or batch_of(session, "session", where.day) is None):
        return [Problem("shooting_end", "The cautions of this session are not all ticked. Tick them, then send this again.")]
    return []


def _shot(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if row and whole["label"] != row["label"]:
        return [Problem("label", f"A shot keeps its label. This one is {row['label']}.")]
    return _takes_shots(session, whole["shooting_end_id"], loosed_at=whole.get("loosed_at")) if row is None else []


def _shot_reading(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    the_shot = session.get(shot.Shot, op.record_id)
    if the_shot is None:
        return [Problem("", "The book does not have this shot yet. It may still be on the other phone; this waits for it.")]
    problems = _outcome_levels_fit(row, whole)
    low = whole.get("outcome_low")
    if low is not None and whole.get("hit") not in (None, "on_panel"):
        problems.append(Problem("hit", f"“{shot.HITS[whole['hit']]}” has no outcome. Remove the outcome, or say that it hit the panel."))
    if whole.get("fair_overrule") and not whole.get("fair_reason"):
        problems.append(Problem("fair_reason", "Enter the reason for overruling, in a few words."))
    if (whole.get("x_m") is None) != (whole.get("y_m") is None):
        problems.append(Problem("x", "Enter both: how far right and how far up."))
    problems += off_the_panel(session, the_shot.shooting_end_id, said=op.body, whole=whole)
    return problems + _entry_fits(session, the_shot, whole)


def _second_reading(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    the_shot = session.get(shot.Shot, whole["shot_id"])
    return _outcome_levels_fit(row, whole) + (_entry_fits(session, the_shot, whole) if the_shot else [])


def _outcome_levels_fit(row: Row | None, whole: Row) -> list[Problem]:
    """Two levels that may be said together are neighbours: who can't part more than two should leave it to the bench."""
    low, high = whole.get("outcome_low"), whole.get("outcome_high")
    if low is None or high is None or int(high) - int(low) in (0, 1):
        return []
    if row and (row.get("outcome_low"), row.get("outcome_high")) == (low, high):
        return []  # read when wider pairs were taken: its note or its depth can still be corrected
    return [Problem("outcome_high", "Choose two levels next to each other, the lower one first, for example 3 or 4.")]


def _entry_fits(session: Session, the_shot: Any, whole: Row) -> list[Problem]:
    if whole.get("entry") is None:
        return []
    construction = session.execute(
        select(panel.Panel.construction)
        .join(panel.PanelBuild, panel.PanelBuild.panel_id == panel.Panel.id)
        .join(trial.Setup, trial.Setup.panel_build_id == panel.PanelBuild.id)
        .join(trial.ShootingEnd, trial.ShootingEnd.setup_id == trial.Setup.id)
        .where(trial.ShootingEnd.id == the_shot.shooting_end_id)
    ).scalar()
    ways = shot.ENTRIES.get(construction or "", shot.ALL_ENTRIES)
    if whole["entry"] in ways:
        return []
    said = panel.CONSTRUCTIONS.get(construction or "", "This panel").lower()
    return [
        Problem("entry", f"A {said} panel has no “{shot.ALL_ENTRIES[whole['entry']].lower()}”. Choose one of: {', '.join(ways.values())}.")
    ]


def _trial(_: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    reopened = row is not None and row["state"] == "closed" and whole["state"] == "open"
    if reopened and not (op.reason or "").strip():
        return [Problem("reason", "Enter why it is reopened, for example: three more shots with the reground heads.")]
    if whole.get("follows_id") == op.record_id:
        return [Problem("follows", "A trial can’t follow itself.")]
    return _stopping(whole)


def _stopping(whole: Row) -> list[Problem]:
    problems = []
    for rule, column in (("shots", "stop_shots"), ("width", "stop_width_percent")):
        if whole.get("stop_rule") == rule and not whole.get(column):
            problems.append(
                Problem(column, "Enter a number, for example 20." if rule == "shots" else "Enter a percentage, for example 50.")
            )
    return problems


def _prediction(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    table = plan.Prediction.__table__
    same = select(table.c.id).where(
        table.c.trial_id == whole["trial_id"],
        table.c.archer_id == whole["archer_id"],
        table.c.id != op.record_id,
        table.c.voided_rev.is_(None),
    )
    if op.action != "void" and session.execute(same).first():
        return [Problem("archer", "This archer has a prediction already. Correct that one; its history is kept.")]
    return []


def _claim(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if op.action == "void":
        return []
    table = claim.Claim.__table__
    same = select(table.c.id).where(table.c.trial_id == whole["trial_id"], table.c.id != op.record_id, table.c.voided_rev.is_(None))
    if session.execute(same).first():
        return [Problem("claim_form", "This trial has a claim already. Correct that one; its history is kept.")]
    return missing_parts(whole)


def _plan(_: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if op.action == "void" or 1 <= whole["rounds"] <= 100:
        return []
    return [Problem("rounds", f"{whole['rounds']} shots for each is no plan: enter 1 to 100.")]


def _hardness(_: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    slides, bites = whole.get("slides_hrc"), whole.get("bites_hrc")
    picks = [whole.get(name) for name in ("slides_hrc", "bites_hrc", "sticks_hrc")]
    if whole.get("value") is None and all(pick is None for pick in picks):
        return [Problem("value", "Enter a value with its scale, or the picks: the hardest that slides, the softest that bites.")]
    if whole.get("value") is not None and whole.get("scale") is None:
        return [Problem("scale", "Choose the scale, for example HV.")]
    if slides is not None and bites is not None and slides >= bites:
        return [Problem("bites", f"The pick that bites ({bites:g} HRC) must be harder than the one that slides ({slides:g} HRC).")]
    return []


def _speed_reading(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if (whole.get("series_id") is None) == (whole.get("shot_id") is None):
        return [Problem("", "A speed belongs to a series or to a shot.")]
    if whole.get("value_m_s") is None and not whole.get("left_out_reason"):
        return [Problem("value", "Enter the speed, for example 52.6 m/s, or why there is none.")]
    return []


def _unique_name(field: str) -> Rule:
    def rule(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
        back = op.action == "unvoid"
        if op.action == "void" or (row is not None and field not in op.body and not back):
            return []
        table = TABLES[op.noun].__table__
        # The book's own `lower` on both sides, as in its index: it leaves É as it is, which Python’s doesn’t.
        same = select(table.c.id).where(
            func.lower(table.c[field]) == func.lower(str(whole[field])), table.c.id != op.record_id, table.c.voided_rev.is_(None)
        )
        if not session.execute(same).first():
            return []
        if back:
            return [Problem("reason", f"There is another “{whole[field]}” by now. Give that one another name, then take this one back.")]
        return [Problem(field, f"There is a “{whole[field]}” already. Enter another name.")]

    return rule


_THREE = ("bow_build_id", "arrow_build_id", "archer_id")


def _combination(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if op.action == "void":
        return []
    table, shots = speed.Combination.__table__, shot.Shot.__table__
    same = select(table.c.id).where(*(table.c[name] == whole[name] for name in _THREE), table.c.id != op.record_id)
    if session.execute(same).first():
        return [Problem("arrow_build", "This bow, arrow and archer are a combination already. Open that one.")]
    moved = row is not None and any(row[name] != whole[name] for name in _THREE)
    if row and moved and session.execute(select(shots.c.id).where(*(shots.c[name] == row[name] for name in _THREE)).limit(1)).first():
        return [Problem("arrow_build", "Shots were loosed with these three, so they stay a combination. Correct the shots.")]
    return []


def _photo(_: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if not whole.get("sha256"):
        return [Problem("", "A photo comes as a file, to an address of its own.")]
    if (whole.get("noun") is None) != (whole.get("record_id") is None):
        return [Problem("record", "Choose both: what it shows, and which one. Or neither, and it stays in the tray.")]
    if row is not None and "record" in op.body and "noun" not in op.body:
        return [Problem("noun", "Choose what it shows, then which one.")]
    return []


def _panel_face(_: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    if whole.get("corners") is None:
        return []
    problems = corners.problems(whole["corners"])
    for name, field in (("scale_m", "scale"), ("height_m", "height")):
        if whole.get(name) is None:
            problems.append(Problem(field, "Enter it as measured on the panel: without it the corners have no scale."))
    return problems


_RULES: Mapping[str, Rule] = MappingProxyType(
    {
        "photo": _photo,
        "film": film_problems,
        "film_mark": mark_problems,
        "panel_face": _panel_face,
        "shot": _shot,
        "shot_reading": _shot_reading,
        "second_reading": _second_reading,
        "trial": _trial,
        "prediction": _prediction,
        "claim": _claim,
        "plan": _plan,
        "hardness_reading": _hardness,
        "speed_reading": _speed_reading,
        "combination": _combination,
        **{noun: _unique_name(column) for noun, column in NAMES.items()},
    }
)
