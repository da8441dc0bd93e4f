"""Every noun that `apply` takes, by the name that phones, forms and the notebook use."""

from types import MappingProxyType

from server.records import archer, arrow, bow, instrument, panel, picture, plan, shot, speed, stand, trial
from server.records.columns import Noun

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
    speed.Pairing,
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
    trial.Walk,
    trial.Incident,
    plan.Prediction,
    plan.Plan,
    plan.PlannedShot,
    shot.Shot,
    shot.ShotReading,
    shot.SecondReading,
    picture.Picture,
)
TABLES = MappingProxyType({table.__tablename__: table for table in _TABLES})
