"""What records are called, many nouns in one statement: for lists that speak of whatever was changed."""

from collections.abc import Iterable
from types import MappingProxyType
from typing import Any

from sqlalchemy import Select, String, cast, func, literal, select, union_all
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.book import Device
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.claim import Claim
from proofyard.records.film import Film, FilmMark
from proofyard.records.import_batch import ImportBatch, ImportedRecord
from proofyard.records.instrument import Instrument
from proofyard.records.panel import Panel, PanelArea, PanelBuild
from proofyard.records.plan import Plan, PlannedShot, Prediction
from proofyard.records.shot import SecondReading, Shot
from proofyard.records.speed import Combination, SpeedReading, SpeedSeries
from proofyard.records.stand import Stand
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd, Trial

# Well under SQLite's own limit on the terms of one statement.
MOST_IDS = 400


def _build(table: Any, whole: Any, link: Any, name: Any) -> Select[Any]:
    words = name + literal(", build ") + cast(table.number, String)
    return select(table.id, words).join(whole, whole.id == link)


def _of_setup(table: Any, setup_id: Any) -> Select[Any]:
    query = select(table.id, Panel.name + literal(", ") + Day.day)
    query = query if table is Setup else query.join(Setup, Setup.id == setup_id)
    return (
        query.join(Day, Day.id == Setup.session_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
    )


# "Corbel 145, arrow 9, Tallow"
_COMBINATION = Bow.name + literal(", arrow ") + Arrow.tag + literal(", ") + Archer.call_name


def _with_combination(query: Select[Any]) -> Select[Any]:
    """The bow, arrow and archer beside what has a combination; nothing where it has none."""
    return (
        query.outerjoin(BowBuild, BowBuild.id == Combination.bow_build_id)
        .outerjoin(Bow, Bow.id == BowBuild.bow_id)
        .outerjoin(ArrowBuild, ArrowBuild.id == Combination.arrow_build_id)
        .outerjoin(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .outerjoin(Archer, Archer.id == Combination.archer_id)
    )


def _of_speed_reading() -> Select[Any]:
    """Its shot's label; of a reading that was taken without one, the combination."""
    query = select(SpeedReading.id, func.coalesce(Shot.label, _COMBINATION)).outerjoin(Shot, Shot.id == SpeedReading.shot_id)
    query = query.outerjoin(SpeedSeries, SpeedSeries.id == SpeedReading.series_id)
    return _with_combination(query.outerjoin(Combination, Combination.id == SpeedSeries.combination_id))


_QUERIES = MappingProxyType(
    {
        "archer": (Archer, select(Archer.id, Archer.call_name)),
        "device": (Device, select(Device.id, Device.call_name)),
        "instrument": (Instrument, select(Instrument.id, Instrument.name)),
        "bow": (Bow, select(Bow.id, Bow.name)),
        "bow_build": (BowBuild, _build(BowBuild, Bow, BowBuild.bow_id, Bow.name)),
        "head": (Head, select(Head.id, Head.name)),
        "arrow": (Arrow, select(Arrow.id, literal("Arrow ") + Arrow.tag)),
        "arrow_build": (ArrowBuild, _build(ArrowBuild, Arrow, ArrowBuild.arrow_id, literal("Arrow ") + Arrow.tag)),
        "panel": (Panel, select(Panel.id, Panel.name)),
        "panel_build": (PanelBuild, _build(PanelBuild, Panel, PanelBuild.panel_id, Panel.name)),
        "panel_area": (PanelArea, select(PanelArea.id, func.coalesce(PanelArea.name, PanelArea.sort))),
        "stand": (Stand, select(Stand.id, Stand.name)),
        "trial": (Trial, select(Trial.id, Trial.question)),
        "session": (Day, select(Day.id, Day.day + literal(" ") + func.coalesce(Day.place, ""))),
        "setup": (Setup, _of_setup(Setup, None)),
        "shooting_end": (ShootingEnd, _of_setup(ShootingEnd, ShootingEnd.setup_id)),
        "plan": (Plan, select(Plan.id, literal("Plan with seed ") + cast(Plan.seed, String))),
        "planned_shot": (PlannedShot, select(PlannedShot.id, literal("Planned shot ") + cast(PlannedShot.place, String))),
        "claim": (Claim, select(Claim.id, Trial.question).join(Trial, Trial.id == Claim.trial_id)),
        "prediction": (Prediction, select(Prediction.id, Archer.call_name).join(Archer, Archer.id == Prediction.archer_id)),
        "film": (Film, select(Film.id, Film.camera)),
        "film_mark": (FilmMark, select(FilmMark.id, Film.camera).join(Film, Film.id == FilmMark.film_id)),
        "import_batch": (ImportBatch, select(ImportBatch.id, ImportBatch.file_name)),
        "imported_record": (
            ImportedRecord,
            select(ImportedRecord.id, ImportBatch.file_name).join(ImportBatch, ImportBatch.id == ImportedRecord.import_batch_id),
        ),
        "shot": (Shot, select(Shot.id, Shot.label)),
        "shot_reading": (Shot, select(Shot.id, Shot.label)),
        "second_reading": (SecondReading, select(SecondReading.id, Shot.label).join(Shot, Shot.id == SecondReading.shot_id)),
        "combination": (Combination, _with_combination(select(Combination.id, _COMBINATION).select_from(Combination))),
        "speed_series": (
            SpeedSeries,
            _with_combination(select(SpeedSeries.id, _COMBINATION).join(Combination, Combination.id == SpeedSeries.combination_id)),
        ),
        "speed_reading": (SpeedReading, _of_speed_reading()),
    }
)


def names_of(session: Session, wanted: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Id -> what the record is called by, for (noun, id) pairs; those without a name of their own are left out."""
    by_noun: dict[str, set[str]] = {}
    for noun, record_id in list(dict.fromkeys(wanted))[:MOST_IDS]:
        if noun in _QUERIES:
            by_noun.setdefault(noun, set()).add(record_id)
    queries = [_QUERIES[noun][1].where(_QUERIES[noun][0].id.in_(sorted(ids))) for noun, ids in sorted(by_noun.items())]
    if not queries:
        return {}
    return {row[0]: row[1].strip() for row in session.execute(union_all(*queries)) if row[1]}
