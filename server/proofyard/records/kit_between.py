"""What a comparison of trials asks of the kit: builds with when they were made, how a stand is built, what was measured."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from sqlalchemy import Select, func, literal, null, select, union, union_all
from sqlmodel import Session

from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.book import Revision, revision_of
from proofyard.records.bow import Bow, BowBuild, BowCheck
from proofyard.records.instrument import HardnessReading
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.shot import Shot
from proofyard.records.stand import BackingCheck, Stand, StandLayer
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd, TrialUses


@dataclass(frozen=True)
class BuildMade:
    """A build of a panel, arrow or bow. `note`: a panel's note, an arrow's head, a bow's string; `at`: when the book took it."""

    noun: str
    build_id: str
    of_id: str
    name: str
    number: int
    work: str | None
    note: str | None
    brace_m: float | None
    retired: int
    at: int | None


def builds_made(session: Session, of_ids: Iterable[str]) -> list[BuildMade]:
    """Every build of these panels, arrows and bows, by thing and number, in one statement."""
    wanted = list(of_ids)
    sources: tuple[tuple[str, Any, Any, Any, Any, Any], ...] = (
        ("panel", PanelBuild, Panel, PanelBuild.panel_id, Panel.name, PanelBuild.note),
        ("bow", BowBuild, Bow, BowBuild.bow_id, Bow.name, BowBuild.string),
        ("arrow", ArrowBuild, Arrow, ArrowBuild.arrow_id, Arrow.tag, Head.name),
    )
    parts = []
    for noun, build, thing, link, name, note in sources:
        query = (
            select(
                literal(noun).label("noun"),
                build.id.label("build_id"),
                link.label("of_id"),
                name.label("name"),
                build.number.label("number"),
                build.work.label("work"),
                note.label("note"),
                (BowBuild.brace_height_m if noun == "bow" else null()).label("brace_m"),
                func.coalesce(thing.retired, 0).label("retired"),
                Revision.at.label("at"),
            )
            .join(thing, thing.id == link)
            .join(Revision, revision_of(f"{noun}_build", build.id), isouter=True)
            .where(build.voided_rev.is_(None), link.in_(wanted))
        )
        parts.append(query.join(Head, Head.id == ArrowBuild.head_id, isouter=True) if noun == "arrow" else query)
    both = union_all(*parts).subquery()
    rows = session.execute(select(both).order_by(both.c.noun.desc(), both.c.name, both.c.of_id, both.c.number))
    return [BuildMade(*row) for row in rows]


@dataclass(frozen=True)
class StandFact:
    """A stand with what lies behind the panel, from the front."""

    stand: Stand
    layers: tuple[StandLayer, ...]


def stands_built(session: Session, stand_ids: Iterable[str]) -> Mapping[str, StandFact]:
    """Stand id -> how it is built, in one statement."""
    rows = session.execute(
        select(Stand, StandLayer)
        .join(StandLayer, (StandLayer.stand_id == Stand.id) & StandLayer.voided_rev.is_(None), isouter=True)
        .where(Stand.id.in_(list(stand_ids)))
        .order_by(Stand.name, StandLayer.place)
    )
    found: dict[str, tuple[Stand, list[StandLayer]]] = {}
    for stand, layer in rows:
        held = found.setdefault(stand.id, (stand, []))
        held[1].extend([layer] if layer is not None else [])
    return {key: StandFact(stand, tuple(layers)) for key, (stand, layers) in found.items()}


@dataclass(frozen=True)
class BowWeighed:
    """A bow build as it was weighed on a day of shooting."""

    bow_build_id: str
    session_id: str
    weight_n: float


@dataclass(frozen=True)
class BackingChecked:
    stand_id: str
    at: int | None
    how: str | None
    found_m: float
    drop_mass_kg: float | None = None
    drop_height_m: float | None = None


@dataclass(frozen=True)
class Measured:
    """What was measured of heads, bows and backings. `hardness`: head id -> its readings, those left out among them."""

    hardness: Mapping[str, tuple[HardnessReading, ...]]
    bows: tuple[BowWeighed, ...]
    backings: tuple[BackingChecked, ...]


MEASURED_COLUMNS = ("what", "of_id", "on_id", "at", "a", "b", "c", "d", "words", "place", "left_out")


def _sources(*, head_ids: Iterable[str], session_ids: Iterable[str], stand_ids: Iterable[str]) -> tuple[tuple[tuple[Any, ...], Any], ...]:
    """What each kind of measurement says, in the same columns, and which rows of it."""
    reading, bow, backing = HardnessReading, BowCheck, BackingCheck
    none = null()
    return (
        (
            (
                literal("head"),
                reading.record_id,
                none,
                reading.at,
                reading.slides_hrc,
                reading.bites_hrc,
                reading.sticks_hrc,
                reading.value,
                reading.scale,
                reading.place,
                reading.left_out_reason,
            ),
            (reading.noun == "head") & reading.record_id.in_(list(head_ids)) & reading.voided_rev.is_(None),
        ),
        (
            (literal("bow"), bow.bow_build_id, bow.session_id, bow.at, bow.weight_n, bow.draw_m, none, none, bow.part, none, none),
            bow.session_id.in_(list(session_ids)) & bow.voided_rev.is_(None) & bow.weight_n.is_not(None),
        ),
        (
            (
                literal("backing"),
                backing.stand_id,
                none,
                backing.at,
                backing.found_m,
                backing.temperature_k,
                backing.drop_mass_kg,
                backing.drop_height_m,
                backing.how,
                none,
                none,
            ),
            backing.stand_id.in_(list(stand_ids)) & backing.voided_rev.is_(None) & backing.found_m.is_not(None),
        ),
    )


def measured_between(session: Session, *, head_ids: Iterable[str], session_ids: Iterable[str], stand_ids: Iterable[str]) -> Measured:
    """Hardness of heads, bows weighed on these days, checks of these stands' backing, in one statement."""
    sources = _sources(head_ids=head_ids, session_ids=session_ids, stand_ids=stand_ids)
    parts = [select(*(one.label(name) for one, name in zip(row, MEASURED_COLUMNS, strict=True))).where(which) for row, which in sources]
    both = union_all(*parts).subquery()
    hardness: dict[str, list[HardnessReading]] = {}
    bows, backings = [], []
    for what, of_id, on_id, at, a, b, c, d, words, place, left_out in session.execute(select(both).order_by(both.c.at)):
        if what == "head":
            one = HardnessReading(
                id="", rev=0, slides_hrc=a, bites_hrc=b, sticks_hrc=c, value=d, scale=words, place=place, left_out_reason=left_out
            )
            hardness.setdefault(of_id, []).append(one)
        elif what == "bow":
            bows.append(BowWeighed(of_id, on_id, a))
        else:
            backings.append(BackingChecked(of_id, at, words, a, drop_mass_kg=c, drop_height_m=d))
    return Measured({key: tuple(rows) for key, rows in hardness.items()}, tuple(bows), tuple(backings))


@dataclass(frozen=True)
class TrialKit:
    """One thing of a trial, by noun and name. `meant`: written down beforehand for it; else it was shot, or set up."""

    trial_id: str
    noun: str
    record_id: str
    name: str
    meant: int


def kit_of_trials(session: Session, trial_ids: Iterable[str]) -> list[TrialKit]:
    """Panels, stands, bows and arrows that these trials used or are meant to use, in one statement."""
    wanted = list(trial_ids)
    shot = Shot.voided_rev.is_(None)
    parts = [
        _set_up("panel", Panel).join(PanelBuild, PanelBuild.id == Setup.panel_build_id).join(Panel, Panel.id == PanelBuild.panel_id),
        _set_up("stand", Stand).join(Stand, Stand.id == Setup.stand_id),
        _shot("bow", Bow).join(BowBuild, BowBuild.id == Shot.bow_build_id).join(Bow, Bow.id == BowBuild.bow_id).where(shot),
        _shot("arrow", Arrow)
        .join(ArrowBuild, ArrowBuild.id == Shot.arrow_build_id)
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .where(shot),
    ]
    parts = [one.where(Day.trial_id.in_(wanted), Day.voided_rev.is_(None)) for one in parts]
    for noun, table in THINGS.items():
        meant = select(*_columns(TrialUses.trial_id, noun, table, meant=1)).join(table, table.id == TrialUses.record_id)
        parts.append(meant.where(TrialUses.noun == noun, TrialUses.trial_id.in_(wanted), TrialUses.voided_rev.is_(None)))
    both = union(*parts).subquery()
    rows = session.execute(select(both).order_by(both.c.trial_id, both.c.noun, both.c.name))
    return [TrialKit(*row) for row in rows]


THINGS: Mapping[str, Any] = MappingProxyType({"panel": Panel, "arrow": Arrow, "bow": Bow, "stand": Stand})


def _columns(trial_id: Any, noun: str, table: Any, *, meant: int) -> tuple[Any, ...]:
    name = table.tag if table is Arrow else table.name
    return (
        trial_id.label("trial_id"),
        literal(noun).label("noun"),
        table.id.label("record_id"),
        name.label("name"),
        literal(meant).label("meant"),
    )


def _set_up(noun: str, table: Any) -> Select[Any]:
    query = select(*_columns(Day.trial_id, noun, table, meant=0)).select_from(Setup).join(Day, Day.id == Setup.session_id)
    return query.where(Setup.voided_rev.is_(None))


def _shot(noun: str, table: Any) -> Select[Any]:
    query = (
        select(*_columns(Day.trial_id, noun, table, meant=0)).select_from(Shot).join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
    )
    return query.join(Setup, Setup.id == ShootingEnd.setup_id).join(Day, Day.id == Setup.session_id)
