"""Every shot with all that was seen of it, its kit and its place, in one statement: what findings work from."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any, NamedTuple

from sqlalchemy import Select, and_, case, func, null, or_, select, union
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.book import Device
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.columns import picked
from proofyard.records.listing import held
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.speed import Combination
from proofyard.records.stand import Stand, StandLayer
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd, Trial


class LayerBehind(NamedTuple):
    """A layer of the stand: what it is of, without capitals so that two ways of typing one cloth are one; "" and None where not said."""

    material: str
    thickness_m: float | None


class Behind(NamedTuple):
    """What lay behind a panel, from the front; none where none is recorded.

    garment_differs, backing_differs  whether panels made so and so thick hang before more than one sort of them in this book
    """

    garment: tuple[LayerBehind, ...] = ()
    backing: tuple[LayerBehind, ...] = ()
    garment_differs: bool = False
    backing_differs: bool = False


@dataclass(frozen=True, slots=True)
class ShotFact:
    """One loose as it was seen and typed: SI throughout, None where nothing was said. Nothing here is worked out."""

    shot_id: str
    label: str
    rev: int
    voided: bool
    position: int | None
    purpose: str
    short_draw: bool
    loosed_at: int | None
    note: str | None
    aim_id: str | None
    recorded_by: str | None
    recorder_letter: str | None
    shooting_end_id: str
    shooting_end_begun_at: int | None
    shooting_end_number: int | None
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
    combination_id: str
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
    entry: str | None
    layers: int | None
    plate: str | None
    angle_rad: float | None
    yaw_rad: float | None
    outcome_low: int | None
    outcome_high: int | None
    rear_check: bool
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
    next_shot_rule: str | None = None
    behind: Behind = Behind()

    @property
    def read(self) -> bool:
        """Whether somebody said how it ended. A shot that was let down has nothing to read."""
        return self.hit is not None

    @property
    def unread(self) -> bool:
        """Whether a hand is still wanted: somebody has to go and look."""
        return not self.voided and self.hit is None and self.purpose not in ("let_down", "speed_only")


# Roles of a layer that make it another panel type; a witness only tells how far the tip came.
_ROLES = ("garment", "backing")


def _layers() -> Any:
    """Each stand with its layers before and behind the panel, from the front, each role as one text."""
    in_order = (
        select(
            StandLayer.stand_id,
            StandLayer.role,
            func.json_array(func.lower(func.trim(func.coalesce(StandLayer.material, ""))), StandLayer.thickness_m).label("layer"),
        )
        .where(StandLayer.voided_rev.is_(None), StandLayer.role.in_(_ROLES))
        .order_by(StandLayer.stand_id, StandLayer.place, StandLayer.id)
        .subquery()
    )
    texts = [func.group_concat(in_order.c.layer).filter(in_order.c.role == role).label(role) for role in _ROLES]
    return select(in_order.c.stand_id, *texts).group_by(in_order.c.stand_id).subquery("layers")


def _differ() -> Any:
    """Constructions and thicknesses, each with whether its panels hang before more than one garment, and more than one backing."""
    layers = _layers()
    texts = {role: func.coalesce(layers.c[role], "") for role in _ROLES}
    differ = [(func.min(one) != func.max(one)).label(f"{role}_differs") for role, one in texts.items()]
    query = select(Panel.construction, Panel.thickness_m, *differ).select_from(Setup).where(Setup.voided_rev.is_(None))
    query = query.join(PanelBuild, PanelBuild.id == Setup.panel_build_id).join(Panel, Panel.id == PanelBuild.panel_id)
    query = query.join(layers, layers.c.stand_id == Setup.stand_id, isouter=True)
    return query.group_by(Panel.construction, Panel.thickness_m).subquery("differ")


def _differ_of(*wanted: Any) -> Any:
    """The same of the panels that these shots met, whatever else is in the book.

    What lay behind one of them is known from the shots themselves. So only set-ups on stands with something else are looked at, and
    only until one holds a panel made like theirs: to look at every set-up of such panels took 50 ms in a book of 10^5 shots.
    """
    layers = _layers()
    low, high = ({role: f(func.coalesce(layers.c[role], "")) for role in _ROLES} for f in (func.min, func.max))
    sides = [one[role].label(f"{role}_{name}") for role in _ROLES for name, one in (("low", low), ("high", high))]
    met = _places([Panel.construction, Panel.thickness_m, *sides]).join(layers, layers.c.stand_id == Setup.stand_id, isouter=True)
    types = met.where(Setup.voided_rev.is_(None), *wanted).group_by(Panel.construction, Panel.thickness_m).subquery("types")
    hung = select(Setup.id).join(PanelBuild, PanelBuild.id == Setup.panel_build_id).join(Panel, Panel.id == PanelBuild.panel_id)
    hung = hung.where(Setup.voided_rev.is_(None), _made_alike(types)).correlate(types)
    differ = []
    for role in _ROLES:
        known, elsewhere = types.c[f"{role}_low"], _layers()
        on = select(Stand.id).join(elsewhere, elsewhere.c.stand_id == Stand.id, isouter=True)
        other = hung.where(Setup.stand_id.in_(on.where(func.coalesce(elsewhere.c[role], "") != known).correlate(types)))
        on_none = and_(known != "", hung.where(Setup.stand_id.is_(None)).exists())
        differ.append(or_(known != types.c[f"{role}_high"], other.exists(), on_none).label(f"{role}_differs"))
    return select(types.c.construction, types.c.thickness_m, *differ).subquery("differ")


def _made_alike(types: Any) -> Any:
    alike = Panel.construction.is_not_distinct_from(types.c.construction)
    return alike & Panel.thickness_m.is_not_distinct_from(types.c.thickness_m)


_COLUMNS: dict[str, Any] = {
    "shot_id": Shot.id,
    "label": Shot.label,
    "rev": Shot.rev,
    "voided": Shot.voided_rev,
    "position": Shot.position,
    "purpose": Shot.purpose,
    "short_draw": Shot.short_draw,
    "loosed_at": Shot.loosed_at,
    "note": Shot.note,
    "aim_id": Shot.aim_id,
    "recorded_by": Shot.recorded_by,
    "recorder_letter": Device.letter,
    "shooting_end_id": ShootingEnd.id,
    "shooting_end_begun_at": ShootingEnd.begun_at,
    "shooting_end_number": ShootingEnd.number,
    "setup_id": Setup.id,
    "distance_m": Setup.distance_m,
    "setup_angle_rad": Setup.angle_rad,
    "stand_id": Setup.stand_id,
    "chronograph_id": Setup.chronograph_id,
    "chronograph_at_m": Setup.chronograph_at_m,
    "session_id": Day.id,
    "day": Day.day,
    "place": Day.place,
    "air_temperature_k": Day.temperature_k,
    "air_pressure_pa": Day.pressure_pa,
    "air_humidity_ratio": Day.humidity_ratio,
    "trial_id": Trial.id,
    "question": Trial.question,
    "panel_build_id": PanelBuild.id,
    "panel_build_number": PanelBuild.number,
    "panel_id": Panel.id,
    "panel_name": Panel.name,
    "construction": Panel.construction,
    "thickness_m": Panel.thickness_m,
    "panel_width_m": Panel.width_m,
    "panel_height_m": Panel.height_m,
    "panel_outline": Panel.outline,
    "combination_id": Combination.id,
    "bow_build_id": BowBuild.id,
    "bow_build_number": BowBuild.number,
    "bow_id": Bow.id,
    "bow_name": Bow.name,
    "marked_weight_n": Bow.marked_weight_n,
    "arrow_build_id": ArrowBuild.id,
    "arrow_build_number": ArrowBuild.number,
    "arrow_id": Arrow.id,
    "arrow_tag": Arrow.tag,
    "fletching": Arrow.fletching,
    "shaft_diameter_m": Arrow.diameter_m,
    "head_id": Head.id,
    "head_name": Head.name,
    "form": Head.form,
    "tip_to_widest_m": Head.tip_to_widest_m,
    "head_section": Head.section,
    "head_width_m": Head.width_m,
    "head_thickness_m": Head.thickness_m,
    "tip_flat_m": Head.tip_flat_m,
    "tip_radius_m": Head.tip_radius_m,
    "edge_length_m": Head.edge_length_m,
    "archer_id": Archer.id,
    "archer": Archer.call_name,
    "reading_rev": ShotReading.rev,
    "hit": ShotReading.hit,
    "why": ShotReading.why,
    "x_m": ShotReading.x_m,
    "y_m": ShotReading.y_m,
    "place_known": ShotReading.place_known,
    "touched_first": ShotReading.touched_first,
    "entry": ShotReading.entry,
    "layers": ShotReading.layers,
    "plate": ShotReading.plate,
    "angle_rad": ShotReading.angle_rad,
    "yaw_rad": ShotReading.yaw_rad,
    "outcome_low": ShotReading.outcome_low,
    "outcome_high": ShotReading.outcome_high,
    "rear_check": ShotReading.rear_check,
    "depth_m": ShotReading.depth_m,
    "depth_bound": ShotReading.depth_bound,
    "depth_method": ShotReading.depth_method,
    "reached": ShotReading.reached,
    "back_face_m": ShotReading.back_face_m,
    "arrow_did": ShotReading.arrow_did,
    "bounced_m": ShotReading.bounced_m,
    "head_fate": ShotReading.head_fate,
    "shaft_fate": ShotReading.shaft_fate,
    "damage": ShotReading.damage,
    "may_be_shot_id": ShotReading.may_be_shot_id,
    "certainty": ShotReading.certainty,
    "fair_overrule": ShotReading.fair_overrule,
    "fair_reason": ShotReading.fair_reason,
    "reading_note": ShotReading.note,
    "next_shot_rule": Trial.next_shot_rule,
    "behind": None,  # of a query inside: each statement brings its own
}
_TRUTHS = ("voided", "short_draw", "rear_check")
_LISTS = ("head_fate", "shaft_fate")
_ORDER: tuple[Any, ...] = (Day.day, ShootingEnd.begun_at, ShootingEnd.number, ShootingEnd.id, Shot.position, Shot.loosed_at, Shot.id)
_OUTCOME_LEVELS = ("outcome_low", "outcome_high")
_NAMES = tuple(_COLUMNS)
assert list(_NAMES) == [f.name for f in fields(ShotFact)]
_SETTERS = tuple(getattr(ShotFact, name).__set__ for name in _NAMES)


def _places(columns: Sequence[Any]) -> Select[Any]:
    """From each shot to where it was shot and with what."""
    three = (
        (Combination.bow_build_id == Shot.bow_build_id)
        & (Combination.arrow_build_id == Shot.arrow_build_id)
        & (Combination.archer_id == Shot.archer_id)
    )
    return (
        select(*columns)
        .select_from(Shot)
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(Day, Day.id == Setup.session_id)
        .join(Trial, Trial.id == Day.trial_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .join(Combination, three)
        .join(BowBuild, BowBuild.id == Shot.bow_build_id)
        .join(Bow, Bow.id == BowBuild.bow_id)
        .join(ArrowBuild, ArrowBuild.id == Shot.arrow_build_id)
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .join(Archer, Archer.id == Shot.archer_id)
        .join(Head, Head.id == ArrowBuild.head_id, isouter=True)
        .join(Device, Device.id == Shot.recorded_by, isouter=True)
        .join(ShotReading, (ShotReading.id == Shot.id) & ShotReading.voided_rev.is_(None), isouter=True)
    )


def _query(*wanted: Any, behind: bool = True) -> Select[Any]:
    """wanted: what the shots must meet. What lay behind, if it is asked for, is then looked up for panels made like theirs alone."""
    if not behind:
        return _places([column.label(name) for name, column in {**_COLUMNS, "behind": null()}.items()]).where(*wanted).order_by(*_ORDER)
    layers, differ = _layers(), _differ_of(*wanted) if wanted else _differ()
    # One text for all of it: a column more costs every shot of a large book more than reading it does.
    lists = [func.json("[" + func.coalesce(layers.c[role], "") + "]") for role in _ROLES]
    told = case((Setup.voided_rev.is_(None), func.json_array(*lists, *(differ.c[f"{role}_differs"] for role in _ROLES))))
    columns = {**_COLUMNS, "behind": told}
    query = _places([column.label(name) for name, column in columns.items()])
    query = query.join(layers, layers.c.stand_id == Setup.stand_id, isouter=True).join(differ, _made_alike(differ), isouter=True)
    return query.where(*wanted).order_by(*_ORDER)


def shot_facts(session: Session, *, voided: bool = False, **wanted: str | Iterable[str] | Iterable[int] | None) -> list[ShotFact]:
    """Shots in the order they were loosed, as far as that is known.

    wanted  names of ShotFact fields with the value, or the values, that they must have: `trial_id=…`, `form=[…]`;
            None asks for all
    """
    return _facts(session, voided=voided, **wanted) if wanted else held(("facts", voided), lambda: _facts(session, voided=voided))


def _facts(session: Session, *, voided: bool, **wanted: str | Iterable[str] | Iterable[int] | None) -> list[ShotFact]:
    asked = [
        _COLUMNS[name] == value if isinstance(value, str) else _COLUMNS[name].in_(list(value))
        for name, value in wanted.items()
        if value is not None
    ]
    query = _query(*asked)
    shared = _Shared()
    return [_fact(row, shared) for row in session.execute(query if voided else query.where(Shot.voided_rev.is_(None)))]


def types_that_differ(session: Session) -> frozenset[tuple[str | None, float | None, bool, bool]]:
    """Each construction and thickness, with whether its panels hang before more than one garment, and more than one backing."""
    differ = _differ()
    return frozenset((made, thick, bool(garment), bool(backing)) for made, thick, garment, backing in session.execute(select(differ)))


def in_order_loosed(fact: ShotFact) -> tuple[tuple[bool, Any], ...]:
    """What shots are put in order by, as the statements here do: what nobody said comes first."""
    by = (fact.day, fact.shooting_end_begun_at, fact.shooting_end_number, fact.shooting_end_id, fact.position, fact.loosed_at)
    return (*((one is not None, one) for one in by), (True, fact.shot_id))


def facts_for_fairness(
    session: Session,
    panel_build_ids: Iterable[str] = (),
    *,
    arrow_id: str | None = None,
    trial_id: str | Iterable[str] | None = None,
    behind: bool = True,
) -> list[ShotFact]:
    """All that says whether hits at these panel builds were fair, crossed-out ones too, in one statement.

    An arrow may have been hurt at any other panel, and which of two ends came first is told by the whole of both. So
    beside every shot at these builds: every flight of the arrow builds that were shot there, with all of its end.
    With an arrow: the builds are those that it was shot at. With a trial, or several: those that their shots were shot at.
    behind: whether to say what lay behind the panels, which takes a look at every set-up of panels made alike.
    """
    builds: Any = list(panel_build_ids)
    if arrow_id is not None or trial_id is not None:
        builds = (
            select(Setup.panel_build_id)
            .join(ShootingEnd, ShootingEnd.setup_id == Setup.id)
            .join(Shot, Shot.shooting_end_id == ShootingEnd.id)
        )
        if trial_id is not None:
            builds = builds.join(Day, Day.id == Setup.session_id).where(
                Day.trial_id.in_([trial_id] if isinstance(trial_id, str) else list(trial_id))
            )
        else:
            builds = builds.join(ArrowBuild, ArrowBuild.id == Shot.arrow_build_id).where(ArrowBuild.arrow_id == arrow_id)
    # Found by two ways that indexes lead along. Asked for as one or the other, every shot of the book would be looked at.
    ends = select(ShootingEnd.id).join(Setup, Setup.id == ShootingEnd.setup_id).where(Setup.panel_build_id.in_(builds))
    at_builds = select(Shot.arrow_build_id).where(Shot.shooting_end_id.in_(ends))
    flights = select(Shot.shooting_end_id).where(Shot.arrow_build_id.in_(at_builds))
    query = _query(Shot.shooting_end_id.in_(union(ends, flights)), behind=behind)
    shared = _Shared()
    return [_fact(row, shared) for row in session.execute(query)]


class _Shared(dict[str | float, Any]):
    """Each text and figure once: what shots of one arrow, panel or day say alike takes half of their memory otherwise."""

    def __missing__(self, value: str | float) -> str | float:
        self[value] = value
        return value


def _fact(row: Any, shared: _Shared) -> ShotFact:
    # Neither whole numbers, nor 0 and -0: an equal one of another kind is written otherwise.
    alike = [shared[value] if type(value) is str or (type(value) is float and value % 1) else value for value in row]
    held = dict(zip(_NAMES, alike, strict=True))
    for name in _TRUTHS:
        held[name] = bool(held[name])
    for name in _LISTS:
        held[name] = _picked_of(held[name]) if held[name] else ()
    for name in _OUTCOME_LEVELS:
        held[name] = None if held[name] is None else int(held[name])
    held["behind"] = _behind_of(held["behind"])
    held["place_known"] = None if held["place_known"] is None else bool(held["place_known"])
    # Its own way of being made looks each field up by its name first, which takes as long as reading it from the book.
    fact = object.__new__(ShotFact)
    for put, value in zip(_SETTERS, held.values(), strict=True):
        put(fact, value)
    return fact


@lru_cache(maxsize=256)
def _picked_of(stored: str) -> tuple[str, ...]:
    """Few are met, and most shots of a large book say one of them."""
    return tuple(picked(stored))


@lru_cache(maxsize=256)
def _behind_of(text: str | None) -> Behind:
    """`[[["quilted linen",0.009]],[["clay",0.09]],1,0]`: garment, backing, and whether each differs. None: a set-up crossed out."""
    if text is None:
        return Behind()
    garment, backing, *differs = json.loads(text)
    layers = [tuple(LayerBehind(material.lower(), thickness_m) for material, thickness_m in some) for some in (garment, backing)]
    return Behind(layers[0], layers[1], *map(bool, differs))
