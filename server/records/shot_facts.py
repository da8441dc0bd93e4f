"""Every shot with all that was seen of it, its kit and its place, in one statement: what findings work from."""

import json
from collections.abc import Iterable
from dataclasses import dataclass, fields
from typing import Any

from sqlalchemy import Select, select
from sqlmodel import Session

from server.records.archer import Archer
from server.records.arrow import Arrow, ArrowBuild, Head
from server.records.book import Device
from server.records.bow import Bow, BowBuild
from server.records.panel import Panel, PanelBuild
from server.records.shot import Shot, ShotReading
from server.records.speed import Pairing
from server.records.trial import Session as Day
from server.records.trial import Setup, Trial, Walk


@dataclass(frozen=True)
class ShotFact:
    """One loose as it was seen and typed: SI throughout, None where nothing was said. Nothing here is worked out."""

    shot_id: str
    label: str
    rev: int
    struck: bool
    position: int | None
    purpose: str
    short_draw: bool
    loosed_at: int | None
    note: str | None
    aim_id: str | None
    recorded_by: str | None
    recorder_letter: str | None
    walk_id: str
    walk_begun_at: int | None
    walk_number: int | None
    setup_id: str
    distance_m: float | None
    setup_angle_rad: float | None
    stand_id: str | None
    chronograph_id: str | None
    chronograph_at_m: float | None
    session_id: str
    day: str
    place: str | None
    air_temperature_k: float | None
    air_pressure_pa: float | None
    air_humidity_ratio: float | None
    trial_id: str
    question: str
    panel_build_id: str
    panel_build_number: int
    panel_id: str
    panel_name: str
    construction: str | None
    thickness_m: float | None
    panel_width_m: float | None
    panel_height_m: float | None
    panel_outline: str | None
    pairing_id: str
    bow_build_id: str
    bow_build_number: int
    bow_id: str
    bow_name: str
    marked_weight_n: float | None
    arrow_build_id: str
    arrow_build_number: int
    arrow_id: str
    arrow_tag: str
    fletching: str | None
    shaft_diameter_m: float | None
    head_id: str | None
    head_name: str | None
    form: str | None
    tip_to_widest_m: float | None
    head_section: str | None
    head_width_m: float | None
    head_thickness_m: float | None
    tip_flat_m: float | None
    tip_radius_m: float | None
    edge_length_m: float | None
    archer_id: str
    archer: str
    reading_rev: int | None
    hit: str | None
    why: str | None
    x_m: float | None
    y_m: float | None
    place_known: bool | None
    touched_first: str | None
    way_in: str | None
    layers: int | None
    plate: str | None
    angle_rad: float | None
    outcome_low: int | None
    outcome_high: int | None
    look_behind: bool
    depth_m: float | None
    depth_bound: str | None
    depth_method: str | None
    reached: str | None
    back_face_m: float | None
    arrow_did: str | None
    bounced_m: float | None
    head_fate: tuple[str, ...]
    shaft_fate: tuple[str, ...]
    damage: str | None
    may_be_shot_id: str | None
    certainty: str | None
    fair_overrule: str | None
    fair_reason: str | None
    reading_note: str | None

    @property
    def read(self) -> bool:
        """Whether somebody said how it ended. A shot that was let down has nothing to read."""
        return self.hit is not None


_COLUMNS: dict[str, Any] = {
    "shot_id": Shot.id, "label": Shot.label, "rev": Shot.rev, "struck": Shot.struck_rev, "position": Shot.position,
    "purpose": Shot.purpose, "short_draw": Shot.short_draw, "loosed_at": Shot.loosed_at, "note": Shot.note,
    "aim_id": Shot.aim_id, "recorded_by": Shot.recorded_by, "recorder_letter": Device.letter,
    "walk_id": Walk.id, "walk_begun_at": Walk.begun_at, "walk_number": Walk.number, "setup_id": Setup.id, "distance_m": Setup.distance_m,
    "setup_angle_rad": Setup.angle_rad, "stand_id": Setup.stand_id, "chronograph_id": Setup.chronograph_id,
    "chronograph_at_m": Setup.chronograph_at_m, "session_id": Day.id, "day": Day.day, "place": Day.place,
    "air_temperature_k": Day.temperature_k, "air_pressure_pa": Day.pressure_pa, "air_humidity_ratio": Day.humidity_ratio,
    "trial_id": Trial.id, "question": Trial.question, "panel_build_id": PanelBuild.id,
    "panel_build_number": PanelBuild.number, "panel_id": Panel.id, "panel_name": Panel.name,
    "construction": Panel.construction, "thickness_m": Panel.thickness_m, "panel_width_m": Panel.width_m,
    "panel_height_m": Panel.height_m, "panel_outline": Panel.outline, "pairing_id": Pairing.id, "bow_build_id": BowBuild.id,
    "bow_build_number": BowBuild.number, "bow_id": Bow.id, "bow_name": Bow.name, "marked_weight_n": Bow.marked_weight_n,
    "arrow_build_id": ArrowBuild.id, "arrow_build_number": ArrowBuild.number, "arrow_id": Arrow.id,
    "arrow_tag": Arrow.tag, "fletching": Arrow.fletching,
    "shaft_diameter_m": Arrow.diameter_m, "head_id": Head.id, "head_name": Head.name,
    "form": Head.form, "tip_to_widest_m": Head.tip_to_widest_m,
    "head_section": Head.section, "head_width_m": Head.width_m, "head_thickness_m": Head.thickness_m, "tip_flat_m": Head.tip_flat_m,
    "tip_radius_m": Head.tip_radius_m, "edge_length_m": Head.edge_length_m, "archer_id": Archer.id, "archer": Archer.call_name,
    "reading_rev": ShotReading.rev, "hit": ShotReading.hit, "why": ShotReading.why, "x_m": ShotReading.x_m,
    "y_m": ShotReading.y_m, "place_known": ShotReading.place_known, "touched_first": ShotReading.touched_first,
    "way_in": ShotReading.way_in, "layers": ShotReading.layers, "plate": ShotReading.plate, "angle_rad": ShotReading.angle_rad,
    "outcome_low": ShotReading.outcome_low, "outcome_high": ShotReading.outcome_high,
    "look_behind": ShotReading.look_behind, "depth_m": ShotReading.depth_m, "depth_bound": ShotReading.depth_bound,
    "depth_method": ShotReading.depth_method, "reached": ShotReading.reached, "back_face_m": ShotReading.back_face_m,
    "arrow_did": ShotReading.arrow_did, "bounced_m": ShotReading.bounced_m, "head_fate": ShotReading.head_fate,
    "shaft_fate": ShotReading.shaft_fate, "damage": ShotReading.damage, "may_be_shot_id": ShotReading.may_be_shot_id,
    "certainty": ShotReading.certainty, "fair_overrule": ShotReading.fair_overrule,
    "fair_reason": ShotReading.fair_reason, "reading_note": ShotReading.note,
}
_TRUTHS = ("struck", "short_draw", "look_behind")
_LISTS = ("head_fate", "shaft_fate")
_RUNGS = ("outcome_low", "outcome_high")
assert list(_COLUMNS) == [f.name for f in fields(ShotFact)]


def _query() -> Select[Any]:
    reading = (ShotReading.id == Shot.id) & ShotReading.struck_rev.is_(None)
    three = (
        (Pairing.bow_build_id == Shot.bow_build_id)
        & (Pairing.arrow_build_id == Shot.arrow_build_id)
        & (Pairing.archer_id == Shot.archer_id)
    )
    return (
        select(*(column.label(name) for name, column in _COLUMNS.items()))
        .select_from(Shot)
        .join(Walk, Walk.id == Shot.walk_id)
        .join(Setup, Setup.id == Walk.setup_id)
        .join(Day, Day.id == Setup.session_id)
        .join(Trial, Trial.id == Day.trial_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .join(Pairing, three)
        .join(BowBuild, BowBuild.id == Shot.bow_build_id)
        .join(Bow, Bow.id == BowBuild.bow_id)
        .join(ArrowBuild, ArrowBuild.id == Shot.arrow_build_id)
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .join(Archer, Archer.id == Shot.archer_id)
        .join(Head, Head.id == ArrowBuild.head_id, isouter=True)
        .join(Device, Device.id == Shot.recorded_by, isouter=True)
        .join(ShotReading, reading, isouter=True)
    )


def shot_facts(session: Session, *, struck: bool = False, **wanted: str | Iterable[str] | None) -> list[ShotFact]:
    """Shots in the order they were loosed, as far as that is known.

    wanted  names of ShotFact fields with the value, or the values, that they must have: `trial_id=…`, `form=[…]`;
            None asks for all
    """
    query = _query()
    if not struck:
        query = query.where(Shot.struck_rev.is_(None))
    for name, value in wanted.items():
        if value is not None:
            column = _COLUMNS[name]
            query = query.where(column == value if isinstance(value, str) else column.in_(list(value)))
    query = query.order_by(Day.day, Walk.begun_at, Walk.number, Walk.id, Shot.position, Shot.loosed_at, Shot.id)
    return [_fact(row) for row in session.execute(query).mappings()]


def _fact(row: Any) -> ShotFact:
    held = dict(row)
    for name in _TRUTHS:
        held[name] = bool(held[name])
    for name in _LISTS:
        held[name] = tuple(json.loads(held[name])) if held[name] else ()
    for name in _RUNGS:
        held[name] = None if held[name] is None else int(held[name])
    held["place_known"] = None if held["place_known"] is None else bool(held["place_known"])
    return ShotFact(**held)
