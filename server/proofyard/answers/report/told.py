"""What a reader of an experimental report must be told, and what of it this trial does not say: row by row, with where it is entered.

Source
    ISO/IEC 17025:2017, 7.8 (reports of results); JCGM 100:2008 (GUM), 7.2 (uncertainty); MIL-STD-662F, 2.2.2 and 6 (report of a
    ballistic limit): from memory. Outram 2005, EuroREA 2, and 2008, World Archaeology 40:1 (question, materials, methods, results
    of an experiment). The list as a whole is common practice put together, and no standard's own.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from proofyard.quantities.reason import Reason, because
from proofyard.records.arrow import Arrow, Head
from proofyard.records.bow import Bow, BowBuild, BowCheck
from proofyard.records.columns import Noun, meanings
from proofyard.records.instrument import HardnessReading, Instrument, Reading
from proofyard.records.listing import belonging, name_of
from proofyard.records.panel import Panel
from proofyard.records.photo import Photo
from proofyard.records.plan import Plan
from proofyard.records.shot import SecondReading
from proofyard.records.shot_facts import ShotFact
from proofyard.records.stand import Stand, StandLayer
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Trial
from proofyard.storage import Session
from proofyard.wording.report_rows import ROW_WORDS

NEEDED = ("Report", "Question and plan", "Days", "Bows", "Arrows", "Heads", "Panels", "Stand", "Instruments", "Shots")


@dataclass(frozen=True)
class Told:
    """One thing to tell.

    what     which, a key of ROW_WORDS
    lacking  the names of those of which it isn’t said, of so many
    href     where the first of them is entered
    """

    group: str
    what: str
    lacking: tuple[str, ...]
    of: int
    href: str

    @property
    def words(self) -> str:
        return ROW_WORDS[self.what]

    @property
    def status(self) -> str:
        return "told" if not self.lacking else "missing" if len(self.lacking) >= self.of else "partly"

    @property
    def how(self) -> Reason:
        return because("report_told", lacking=self.lacking, of=self.of)


@dataclass(frozen=True)
class Checklist:
    rows: tuple[Told, ...]

    @property
    def groups(self) -> tuple[tuple[str, tuple[Told, ...]], ...]:
        found = [(group, tuple(one for one in self.rows if one.group == group)) for group in NEEDED]
        return tuple((group, rows) for group, rows in found if rows)

    @property
    def lacking(self) -> tuple[Told, ...]:
        return tuple(one for one in self.rows if one.lacking)

    @property
    def lead(self) -> Reason:
        return because("report_checklist", of=len(self.rows), lacking=len(self.lacking))


# Group -> what to tell -> the fields that tell it, any one of them enough.
OF_KIT: Mapping[str, Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "bow": {"marked_weight": ("marked_weight",), "material": ("material",), "maker": ("maker",)},
        "arrow": {"shaft": ("material",), "diameter": ("diameter",), "fletching": ("fletching",)},
        "head": {
            "form": ("form",),
            "section": ("section",),
            "material": ("material",),
            "heat_treatment": ("heat_treatment",),
            "tip": ("tip_flat", "tip_radius"),
            "maker": ("maker",),
        },
        "panel": {
            "construction": ("construction",),
            "material": ("material",),
            "heat_treatment": ("heat_treatment",),
            "mass": ("mass",),
            "condition": ("condition",),
            "follows": ("made_after", "departures"),
        },
        "instrument": {"accuracy": ("accuracy", "accuracy_ratio"), "serial": ("serial",), "certificate": ("certificate", "due")},
    }
)
GROUP_OF = {"bow": "Bows", "arrow": "Arrows", "head": "Heads", "panel": "Panels", "instrument": "Instruments"}
OF_A_DAY = {"place": "place", "temperature": "temperature", "humidity": "humidity", "pressure": "pressure"}
OF_A_SHOT = {"hit_place": "x_m", "entry": "entry", "yaw": "yaw_rad"}


def checklist_of(session: Session, trial: Trial, facts: Sequence[ShotFact], *, instruments: Sequence[str], predicted: bool) -> Checklist:
    """Of one trial. facts: its shots that stand; instruments: ids of those that it was measured with; predicted: before the first shot."""
    loosed = [fact for fact in facts if fact.purpose != "let_down"]
    rows = [
        *_of_trial(session, trial, predicted=predicted),
        *_of_days(session, trial),
        *_of_kit(session, loosed, instruments),
        *_of_readings(session, loosed),
        *_of_stands(session, loosed),
        *_of_shots(session, loosed),
    ]
    return Checklist(tuple(sorted(rows, key=lambda one: NEEDED.index(one.group))))


def _one(group: str, what: str, said: object, href: str) -> Told:
    return Told(group, what, () if said else ("",), 1, href)


def _of_trial(session: Session, trial: Trial, *, predicted: bool) -> Iterator[Told]:
    here = f"/trials/{trial.id}"
    for what, name in (("author", "author"), ("report_number", "report_number"), ("licence", "licence")):
        yield _one("Report", what, getattr(trial, name), f"{here}/report/fields")
    plan, correct = "Question and plan", f"{here}/correct"
    yield _one(plan, "varied", trial.varied, correct)
    yield _one(plan, "held_fixed", trial.held_fixed, correct)
    yield _one(plan, "through", trial.through, correct)
    yield _one(plan, "enough", trial.enough or trial.stop_rule not in (None, "none"), correct)
    yield _one(plan, "expected", predicted, f"{here}/plan")
    yield _one(plan, "random_order", belonging(session, Plan, "trial_id", trial.id), f"{here}/plan")
    yield _one(plan, "departures", trial.departures, f"{here}/report/fields")


def _of_days(session: Session, trial: Trial) -> Iterator[Told]:
    days = belonging(session, Day, "trial_id", trial.id)
    for what, name in OF_A_DAY.items():
        lacking = [day for day in days if not _says(day, (name,))]
        yield _some("Days", what, lacking, days, lambda day: f"/sessions/{day.id}/correct")


def _says(row: Noun, names: Sequence[str]) -> bool:
    """Whether any of these fields is filled."""
    known = meanings(type(row))
    return any(getattr(row, known[name][0]) not in (None, "") for name in names)


def _some(group: str, what: str, lacking: Sequence[Any], every: Sequence[Any], where: Any) -> Told:
    return Told(group, what, tuple(name_of(row) for row in lacking), len(every), where(lacking[0]) if lacking else "")


def _rows(session: Session, table: type[Noun], ids: Any) -> Sequence[Any]:
    wanted = {one for one in ids if one}
    return belonging(session, table, "id", wanted, voided=True) if wanted else ()


def _of_kit(session: Session, facts: Sequence[ShotFact], instruments: Sequence[str]) -> Iterator[Told]:
    tables: tuple[tuple[str, type[Noun], set[str | None]], ...] = (
        ("bow", Bow, {fact.bow_id for fact in facts}),
        ("arrow", Arrow, {fact.arrow_id for fact in facts}),
        ("head", Head, {fact.head_id for fact in facts}),
        ("panel", Panel, {fact.panel_id for fact in facts}),
        ("instrument", Instrument, set(instruments)),
    )
    for noun, table, ids in tables:
        rows = _rows(session, table, ids)
        for what, names in OF_KIT[noun].items() if rows else ():
            lacking = [row for row in rows if not _says(row, names)]
            yield _some(GROUP_OF[noun], what, lacking, rows, lambda row, noun=noun: f"/kit/{noun}/{row.id}/correct")


def _of_readings(session: Session, facts: Sequence[ShotFact]) -> Iterator[Told]:
    """What is read with an instrument, of the builds that were shot."""
    arrows = {fact.arrow_build_id: (f"arrow {fact.arrow_tag}", f"/kit/arrow/{fact.arrow_id}") for fact in facts}
    panels = {fact.panel_build_id: (f"panel {fact.panel_name}", f"/kit/panel/{fact.panel_id}") for fact in facts}
    heads = {fact.head_id: (f"head {fact.head_name}", f"/kit/head/{fact.head_id}") for fact in facts if fact.head_id}
    bows = {fact.bow_build_id: (f"bow {fact.bow_name}", f"/kit/bow/{fact.bow_id}") for fact in facts}
    read = _read(session, [*arrows, *panels])
    hard = {row.record_id for row in belonging(session, HardnessReading, "record_id", [*panels, *heads]) if not row.left_out_reason}
    drawn = {row.bow_build_id for row in belonging(session, BowCheck, "bow_build_id", list(bows)) if row.weight_n}
    braced = {row.id for row in belonging(session, BowBuild, "id", list(bows)) if row.brace_height_m}
    yield _measured("Arrows", "mass_weighed", arrows, read["mass"])
    yield _measured("Arrows", "balance", arrows, read["balance"])
    yield _measured("Panels", "thickness_read", panels, read["thickness"])
    yield _measured("Panels", "hardness", panels, hard)
    yield _measured("Heads", "hardness", heads, hard)
    yield _measured("Bows", "weight_at_draw", bows, drawn)
    yield _measured("Bows", "brace_height", bows, braced)


def _read(session: Session, ids: Sequence[str]) -> Mapping[str, set[str]]:
    found: dict[str, set[str]] = {"mass": set(), "balance": set(), "thickness": set()}
    for row in belonging(session, Reading, "record_id", ids):
        if not row.left_out_reason:
            found.setdefault(row.measured, set()).add(row.record_id)
    return found


def _measured(group: str, what: str, every: Mapping[Any, tuple[str, str]], read: set[Any]) -> Told:
    lacking = [name for key, name in every.items() if key not in read]
    return Told(group, what, tuple(name for name, _ in lacking), len(every), lacking[0][1] if lacking else "")


def _of_stands(session: Session, facts: Sequence[ShotFact]) -> Iterator[Told]:
    stands = _rows(session, Stand, {fact.stand_id for fact in facts})
    none = [fact for fact in facts if not fact.stand_id]
    setup = f"/sessions/{none[0].session_id}" if none else ""
    yield Told("Stand", "stand", tuple(fact.label for fact in none), len(facts), setup)
    layers = belonging(session, StandLayer, "stand_id", [one.id for one in stands])
    garments = {one.stand_id for one in layers if one.role == "garment"}
    for what, lacking in (
        ("held", [one for one in stands if not one.held]),
        ("gap", [one for one in stands if one.gap_m is None]),
        ("garment", [one for one in stands if one.id not in garments and not one.layers_complete]),
    ):
        yield _some("Stand", what, lacking, stands, lambda row: f"/kit/stand/{row.id}/correct")


def _of_shots(session: Session, facts: Sequence[ShotFact]) -> Iterator[Told]:
    hits = [fact for fact in facts if fact.hit == "on_panel"]
    for what, every, lacking in (
        ("distance", facts, [fact for fact in facts if fact.distance_m is None]),
        ("angle", facts, [fact for fact in facts if fact.setup_angle_rad is None and fact.angle_rad is None]),
        *((what, hits, [fact for fact in hits if getattr(fact, name) in (None, "")]) for what, name in OF_A_SHOT.items()),
        ("read", facts, [fact for fact in facts if fact.unread]),
    ):
        yield Told(
            "Shots", what, tuple(fact.label for fact in lacking), len(every), f"/shots/{lacking[0].shot_id}/correct" if lacking else ""
        )
    again = {row.shot_id for row in belonging(session, SecondReading, "shot_id", [fact.shot_id for fact in hits])}
    first = f"/shots/{hits[0].shot_id}/read-again" if hits else ""
    yield _one("Shots", "second_reading", again, first)
    builds = {fact.panel_build_id: (f"panel {fact.panel_name}", f"/panels/{fact.panel_build_id}") for fact in facts}
    shown = {one.record_id for one in belonging(session, Photo, "record_id", list(builds))}
    yield _measured("Panels", "photo", builds, shown)
