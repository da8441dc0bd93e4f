"""Every noun that `apply` takes, by the name that phones, forms and the notebook use."""

from collections.abc import Mapping
from types import MappingProxyType

from sqlalchemy import Index, func

from proofyard.records import archer, arrow, bow, claim, film, import_batch, instrument, panel, photo, plan, shot, speed, stand, trial
from proofyard.records.columns import Noun

_TABLES: tuple[type[Noun], ...] = (
    archer.Archer,
    instrument.Instrument,
    instrument.InstrumentCheck,
    instrument.Reading,
    instrument.HardnessReading,
    bow.Bow,
    bow.BowBuild,
    bow.DrawPoint,
    bow.BowCheck,
    arrow.Head,
    arrow.Arrow,
    arrow.ArrowBuild,
    arrow.ArrowCheck,
    speed.Combination,
    speed.SpeedSeries,
    speed.SpeedReading,
    panel.Panel,
    panel.PanelBuild,
    panel.PanelArea,
    panel.PanelFace,
    stand.Stand,
    stand.StandLayer,
    stand.BackingCheck,
    trial.Trial,
    trial.TrialUses,
    trial.Session,
    trial.CautionTick,
    trial.Setup,
    trial.ShootingEnd,
    trial.ButtVisit,
    trial.Incident,
    claim.Claim,
    plan.Prediction,
    plan.Plan,
    plan.PlannedShot,
    shot.Shot,
    shot.ShotReading,
    shot.SecondReading,
    photo.Photo,
    film.Film,
    film.FilmMark,
    import_batch.ImportBatch,
    import_batch.ImportedRecord,
)
TABLES: Mapping[str, type[Noun]] = MappingProxyType({str(table.__tablename__): table for table in _TABLES})

# What a person calls it by: one name stands once among those that are not crossed out, whatever its capitals. `rules` says so in
# words; these indexes hold it even against two who write at the same moment.
NAMES: Mapping[str, str] = MappingProxyType(
    {"archer": "call_name", "instrument": "name", "bow": "name", "head": "name", "arrow": "tag", "panel": "name", "stand": "name"}
)


def _stands_once(noun: str, column: str) -> Index:
    table = TABLES[noun].__table__
    alive = table.c.voided_rev.is_(None)
    return Index(f"uq_{noun}_{column}", func.lower(table.c[column]), unique=True, sqlite_where=alive, postgresql_where=alive)


STAND_ONCE = tuple(_stands_once(noun, column) for noun, column in NAMES.items())
