"""shots.csv: one row a shot, unread and struck ones among them, every input and every figure that follows from it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from server.exchange.blow_columns import BLOW_COLUMNS, CAUTION, AskBlow, Blow, blow_of, caution_of
from server.exchange.columns_of_records import column_of
from server.exchange.csv_writing import Column, Table, Value, utc, yes_no
from server.exchange.fetched import Fetched
from server.findings.at_target import AtTarget
from server.findings.axes import default_place
from server.findings.head_measures import measures_of, sectional_density, shape_of_fact
from server.findings.left_out import REASONS, standing
from server.findings.listed_shots import FAIR_WORDS
from server.findings.loosed import LoosedShot
from server.findings.view_settings import ViewSettings
from server.quantities import Uncertain
from server.records.arrow import FORMS
from server.records.columns import Meaning, meanings
from server.records.instrument import Instrument
from server.records.panel import CONSTRUCTIONS, Panel, PanelArea
from server.records.shot import PURPOSES, ShotReading
from server.records.stand import Stand
from server.records.trial import RUNGS
from server.records.trial import Session as Day

WORDS = "Every shot, one row each: how it was loosed, what was read of it, what follows from that."


@dataclass(frozen=True)
class ShotRow:
    """One shot and the names of what its ids point to."""

    shot: LoosedShot
    fetched: Fetched
    day: Any
    stand: str | None
    chronograph: str | None
    aim: str | None
    may_be: str | None
    default_reason: str | None
    blow: Blow


Ask = Callable[[ShotRow], Value]


def _text(name: str, meaning: str, source: str, ask: Ask, *, values: str = "") -> tuple[Column, Ask]:
    return Column(name, meaning, "", source, values=values), ask


def _number(name: str, meaning: str, unit: str, source: str, ask: Ask) -> tuple[Column, Ask]:
    return Column(name, meaning, unit, source, number=True), ask


def _fact(name: str) -> Ask:
    return lambda row: getattr(row.shot.fact, name)


def _choices(choices: Mapping[str, str]) -> str:
    return "; ".join(f"{stored} = {shown}" for stored, shown in choices.items())


_IDENTITY = (
    _text("shot_label", "The shot’s label: the recording phone’s letter and its count", "given", _fact("label")),
    _text("struck", "Struck through: the entry was wrong, and stands here so that nothing is hidden", "typed", lambda r: yes_no(r.shot.fact.struck), values="yes; no"),
    _text("struck_reason", "Why it was struck through", "typed", lambda r: r.fetched.struck_because.get(("shot", r.shot.fact.shot_id)) if r.shot.fact.struck else None),
    _text("unread", "Loosed and not read yet; never counted in a share", "read", lambda r: yes_no(not r.shot.fact.read and r.shot.fact.purpose != "let_down"), values="yes; no"),
    _text("purpose", "What it was loosed for", "typed", _fact("purpose"), values=_choices(PURPOSES)),
    _text("counted_by_default", "Whether the results page counts it while no filter is set", "worked out", lambda r: yes_no(r.default_reason is None), values="yes; no"),
    _text("left_out_by_default_because", "Why that page leaves it out", "worked out", lambda r: r.default_reason, values=_choices({key: reason.words for key, reason in REASONS.items()} | {"struck": "Struck through"})),
    _text("loosed_at_utc", "Moment it was loosed, ISO 8601 in UTC, as the recording phone put it", "given", lambda r: utc(r.shot.fact.loosed_at)),
    _text("written_down_at_utc", "Moment the book first had it, by the book’s own clock", "given", lambda r: utc(r.fetched.written[r.shot.fact.shot_id].received) if r.shot.fact.shot_id in r.fetched.written else None),
    _number("clock_offset_ms", "The book’s clock less the phone’s, as the phone estimated it", "ms", "given", lambda r: getattr(r.fetched.written.get(r.shot.fact.shot_id), "clock_offset_ms", None)),
    _number("clock_error_ms", "How far that estimate may be off", "ms", "given", lambda r: getattr(r.fetched.written.get(r.shot.fact.shot_id), "clock_error_ms", None)),
    _text("reading_written_down_at_utc", "Moment the book first had a reading of it", "given", lambda r: utc(r.fetched.read_at[r.shot.fact.shot_id].received) if r.shot.fact.shot_id in r.fetched.read_at else None),
)  # fmt: skip

_WHERE = (
    _text("trial", "The trial’s question", "typed", _fact("question")),
    _text("session_day", "Day of the session, ISO 8601", "typed", _fact("day")),
    _text("session_place", "Where it was shot", "typed", _fact("place")),
    _number("air_temperature_k", "Air temperature of the session", "K", "typed", lambda r: getattr(r.day, "temperature_k", None)),
    _number("humidity_ratio", "Relative humidity of the session, 0 to 1", "1", "typed", lambda r: getattr(r.day, "humidity_ratio", None)),
    _number("air_pressure_pa", "Air pressure of the session", "Pa", "typed", lambda r: getattr(r.day, "pressure_pa", None)),
    _number("distance_m", "Distance, archer to panel", "m", "typed", _fact("distance_m")),
    _number("setup_angle_rad", "Angle of the panel off square to the line of flight", "rad", "typed", _fact("setup_angle_rad")),
    _text("stand", "The stand that held the panel", "typed", lambda r: r.stand),
    _text("chronograph", "The chronograph of the set-up", "typed", lambda r: r.chronograph),
    _number("chronograph_at_m", "Where the chronograph stood, from the bow", "m", "typed", _fact("chronograph_at_m")),
    _number("walk_position", "Place in the walk: first, second …; empty if nobody knows", "1", "typed", _fact("position")),
    _text("walk_begun_at_utc", "Moment the walk began", "given", lambda r: utc(r.shot.fact.walk_begun_at)),
)  # fmt: skip

_KIT = (
    _text("loosed_by", "Call name of the archer", "typed", _fact("archer")),
    _text("recorded_by_letter", "Letter of the phone that recorded it", "given", _fact("recorder_letter")),
    _text("short_draw", "The archer came short of full draw", "typed", lambda r: yes_no(r.shot.fact.short_draw), values="yes; no"),
    _text("bow", "The bow", "typed", _fact("bow_name")),
    _number("bow_build_number", "Which build of the bow", "1", "given", _fact("bow_build_number")),
    _number("bow_marked_weight_n", "Marked draw weight of the bow", "N", "typed", _fact("marked_weight_n")),
    _text("arrow", "Tag of the arrow", "typed", _fact("arrow_tag")),
    _number("arrow_build_number", "Which build of the arrow", "1", "given", _fact("arrow_build_number")),
    _text("fletching", "Its fletching", "typed", _fact("fletching")),
    _text("head", "The head on it", "typed", _fact("head_name")),
    _text("head_form", "Form of the head", "typed", _fact("form"), values=_choices(FORMS)),
    _number("shaft_diameter_m", "The shaft’s diameter at its thickest", "m", "typed", _fact("shaft_diameter_m")),
    _number("head_tip_to_widest_m", "From the head’s tip to where it is broadest", "m", "typed", _fact("tip_to_widest_m")),
    _text("panel", "The panel", "typed", _fact("panel_name")),
    _number("panel_build_number", "Which build of the panel", "1", "given", _fact("panel_build_number")),
    _text("construction", "How the panel is made", "typed", _fact("construction"), values=_choices(CONSTRUCTIONS)),
    _number("panel_thickness_m", "Thickness as sold; readings stand in readings.csv", "m", "typed", _fact("thickness_m")),
    _text("aimed_at", "The spot aimed at", "typed", lambda r: r.aim),
    _text("shot_note", "Note on the shot", "typed", _fact("note")),
)  # fmt: skip

# Of the reading, these need more than their own column; the rest follow from the table's meanings.
_OWN_WAY = ("outcome_low", "outcome_high", "may_be_shot", "fair_overrule", "fair_reason")


def _of_reading() -> tuple[tuple[Column, Ask], ...]:
    made = []
    for name, (column, meaning) in meanings(ShotReading).items():
        if name in _OWN_WAY:
            continue
        attribute = "reading_note" if column == "note" else column
        shown = {"note": "reading_note", "why": "hit_why"}.get(column, column)
        made.append((column_of(shown, column, meaning, source="read"), _reading_value(attribute, meaning)))
    return tuple(made)


def _reading_value(attribute: str, meaning: Meaning) -> Ask:
    if meaning.value == "several":
        return lambda row: ";".join(getattr(row.shot.fact, attribute)) or None
    if meaning.value == "yes_no":
        return lambda row: yes_no(getattr(row.shot.fact, attribute)) if row.shot.fact.reading_rev is not None else None
    return _fact(attribute)


def _rung(rung: int | None) -> str | None:
    return None if rung is None else RUNGS[str(rung)]


_OUTCOME = (
    _number("outcome_low", "What it did, the lower rung of the two it may be, judged at the rear face: 0 no mark to 5 head behind", "1", "read", _fact("outcome_low")),
    _number("outcome_high", "The higher rung; the same as the lower one where nothing is open", "1", "read", _fact("outcome_high")),
    _text("outcome_low_words", "The lower rung in words", "read", lambda r: _rung(r.shot.fact.outcome_low), values=_choices(RUNGS)),
    _text("outcome_high_words", "The higher rung in words", "read", lambda r: _rung(r.shot.fact.outcome_high), values=_choices(RUNGS)),
    _text("may_be_hit_of", "Label of the shot whose hit this may be instead", "read", lambda r: r.may_be),
)  # fmt: skip

_FAIR = (
    _text("fair", "Whether it may be counted as a hit on a fresh spot", "worked out", lambda r: r.shot.fair.answer if r.shot.fair else None, values=_choices(FAIR_WORDS)),
    _text("fair_because", "The reason, in words", "worked out", lambda r: r.shot.fair.reason if r.shot.fair else None),
    _text("fair_overruled", "An archer overruled what was worked out", "read", lambda r: yes_no(r.shot.fair.overruled) if r.shot.fair else None, values="yes; no"),
    _text("fair_worked_out", "What the rules gave, where that was overruled", "worked out", lambda r: r.shot.fair.worked_out if r.shot.fair else None),
    _text("fair_overrule_reason", "Why it was overruled", "typed", _fact("fair_reason")),
)  # fmt: skip


def _value(of: Callable[[LoosedShot], Uncertain | None]) -> Ask:
    return lambda row: found.value if (found := of(row.shot)) else None


def _doubt(of: Callable[[LoosedShot], Uncertain | None]) -> Ask:
    return lambda row: found.standard_uncertainty if (found := of(row.shot)) else None


def _count(of: Callable[[LoosedShot], Uncertain | None]) -> Ask:
    return lambda row: found.n if (found := of(row.shot)) else None


_U = "Standard uncertainty of that (GUM); empty where it can’t be told"
_FIGURES = (
    _number("arrow_mass_kg", "Mass of the whole arrow as built, mean of its readings", "kg", "worked out", _value(lambda s: s.impact.mass)),
    _number("arrow_mass_u_kg", _U, "kg", "worked out", _doubt(lambda s: s.impact.mass)),
    _number("arrow_mass_readings", "How many readings that is the mean of", "1", "worked out", _count(lambda s: s.impact.mass)),
    _number("speed_at_chronograph_m_s", "Speed at the chronograph", "m/s", "worked out", _value(lambda s: s.impact.speed)),
    _number("speed_at_chronograph_u_m_s", _U, "m/s", "worked out", _doubt(lambda s: s.impact.speed)),
    _number("speed_readings", "How many readings that is the mean of", "1", "worked out", _count(lambda s: s.impact.speed)),
    _text("speed_basis", "Where the speed comes from", "worked out", lambda r: r.shot.impact.basis, values="own = read on this shot; pairing = mean of the readings of this bow, arrow and archer; pooled = mean of like pairings; not_measured = none"),
    _number("energy_at_chronograph_j", "Kinetic energy at the chronograph, ½ m v²", "J", "worked out", _value(lambda s: s.impact.energy_at_chronograph_j)),
    _number("energy_at_chronograph_u_j", _U, "J", "worked out", _doubt(lambda s: s.impact.energy_at_chronograph_j)),
    _number("momentum_at_chronograph_kg_m_s", "Momentum at the chronograph, m v", "kg·m/s", "worked out", _value(lambda s: s.impact.momentum_kg_m_s)),
    _number("momentum_at_chronograph_u_kg_m_s", _U, "kg·m/s", "worked out", _doubt(lambda s: s.impact.momentum_kg_m_s)),
    _text("not_measured_because", "What is missing where there is no energy", "worked out", lambda r: r.shot.impact.why_not),
)  # fmt: skip

def _there(of: Callable[[AtTarget], Value]) -> Ask:
    """Of the figures at the target, where there are any."""
    return lambda row: None if (found := row.shot.impact.at_target) is None else of(found)


_AT_TARGET = (
    _number("speed_read_at_m", "Where along the flight the speed was read, from the bow; what was taken where nobody wrote it down", "m", "worked out", _there(lambda t: t.from_m.value)),
    _number("flown_m", "From there to the panel", "m", "worked out", _there(lambda t: t.flown_m)),
    _number("air_density_kg_m3", "Density of the air it flew through", "kg/m³", "worked out", _there(lambda t: t.air.density.value)),
    _number("air_density_u_kg_m3", _U, "kg/m³", "worked out", _there(lambda t: t.air.density.standard_uncertainty)),
    _text("air_basis", "Whether the weather was written down, or taken", "worked out", _there(lambda t: "written" if t.air.all_written else "taken"), values="written = temperature, pressure and humidity were written down; taken = one at least was not"),
    _number("drag_coefficient", "Drag coefficient on the shaft’s cross-section", "1", "worked out", _there(lambda t: t.drag.coefficient.value)),
    _number("drag_coefficient_u", _U, "1", "worked out", _there(lambda t: t.drag.coefficient.standard_uncertainty)),
    _text("drag_basis", "Whether this arrow’s own drag was measured", "worked out", _there(lambda t: "fitted" if t.drag.fitted else "default"), values="fitted = from its speeds at two distances; default = taken, with a wide range"),
    _number("speed_at_target_m_s", "Speed at the target", "m/s", "worked out", _there(lambda t: t.speed.value)),
    _number("speed_at_target_u_m_s", _U, "m/s", "worked out", _there(lambda t: t.speed.standard_uncertainty)),
    _number("energy_at_target_j", "Kinetic energy at the target", "J", "worked out", _there(lambda t: t.energy_j.value)),
    _number("energy_at_target_u_j", _U, "J", "worked out", _there(lambda t: t.energy_j.standard_uncertainty)),
    _number("energy_at_target_u_instruments_j", "The part of that uncertainty that all shots share", "J", "worked out", _there(lambda t: t.share_of("instrument"))),
    _number("energy_at_target_u_pairing_j", "The part that the shots of one bow, arrow and archer share", "J", "worked out", _there(lambda t: t.share_of("pairing"))),
    _number("energy_at_target_u_shot_j", "The part that is this shot’s alone", "J", "worked out", _there(lambda t: t.share_of("shot"))),
    _number("momentum_at_target_kg_m_s", "Momentum at the target", "kg·m/s", "worked out", _there(lambda t: t.momentum_kg_m_s.value)),
    _number("momentum_at_target_u_kg_m_s", _U, "kg·m/s", "worked out", _there(lambda t: t.momentum_kg_m_s.standard_uncertainty)),
    _number("time_of_flight_s", "How long it was under way from where its speed was read", "s", "worked out", _there(lambda t: t.time_s)),
    _number("drop_m", "How far it dropped below the line that it had there, if panel and bow stood at one height", "m", "worked out", _there(lambda t: t.drop_m)),
    _number("angle_of_fall_rad", "Angle from level at which it came down, if panel and bow stood at one height", "rad", "worked out", _there(lambda t: t.fall_angle_rad)),
    _text("no_target_because", "What is missing where there is no energy at the target", "worked out", lambda r: r.shot.impact.no_target or None),
)  # fmt: skip


def _measure(name: str, *, u: bool = False) -> Ask:
    def ask(row: ShotRow) -> Value:
        found: Uncertain | None = getattr(measures_of(shape_of_fact(row.shot.fact)), name).value
        return None if found is None else found.standard_uncertainty if u else found.value

    return ask


def _behind(row: ShotRow) -> Value:
    found = sectional_density(shape_of_fact(row.shot.fact), row.shot.impact.mass).value
    return found.value if found else None


_HEAD = (
    _number("tip_flat_m", "Width of the flat on the head’s tip", "m", "typed", _fact("tip_flat_m")),
    _number("tip_area_m2", "Area of the tip at first contact: of its flat, or of its rounding 0.1 mm in", "m²", "worked out", _measure("tip_area")),
    _number("tip_area_u_m2", _U, "m²", "worked out", _measure("tip_area", u=True)),
    _number("frontal_area_m2", "Area of the head at its broadest, from its section", "m²", "worked out", _measure("frontal_area")),
    _number("frontal_area_u_m2", _U, "m²", "worked out", _measure("frontal_area", u=True)),
    _number("cutting_edge_m", "Length of cutting edge, all together", "m", "worked out", _measure("edge")),
    _number("cutting_edge_u_m", _U, "m", "worked out", _measure("edge", u=True)),
    _number("wedge_angle_rad", "Whole angle at which the head opens, from tip to widest", "rad", "worked out", _measure("wedge")),
    _number("wedge_angle_u_rad", _U, "rad", "worked out", _measure("wedge", u=True)),
    _number("sectional_density_kg_m2", "Mass of the arrow over the head’s frontal area", "kg/m²", "worked out", _behind),
)  # fmt: skip

def _of_blow(ask: AskBlow) -> Ask:
    return lambda row: ask(row.blow)


_BLOW = (*((column, _of_blow(ask)) for column, ask in BLOW_COLUMNS), (CAUTION, lambda row: caution_of(row.shot, row.blow)))

_IDS = tuple(
    _text(name, f"Identifier of the {words}", "given", _fact(name))
    for name, words in {
        "shot_id": "shot", "walk_id": "walk", "setup_id": "set-up", "session_id": "session", "trial_id": "trial",
        "panel_id": "panel", "panel_build_id": "panel’s build", "bow_id": "bow", "bow_build_id": "bow’s build", "arrow_id": "arrow",
        "arrow_build_id": "arrow’s build", "head_id": "head", "archer_id": "archer", "pairing_id": "pairing (bow, arrow and archer)",
    }.items()
) + (
    _number("shot_rev", "Revision that the shot stands at", "1", "given", _fact("rev")),
    _number("reading_rev", "Revision that its reading stands at", "1", "given", _fact("reading_rev")),
)  # fmt: skip

_ALL: tuple[tuple[Column, Ask], ...] = (
    *_IDENTITY, *_WHERE, *_KIT, *_OUTCOME, *_of_reading(), *_FAIR, *_FIGURES, *_AT_TARGET, *_HEAD, *_BLOW, *_IDS,
)  # fmt: skip
COLUMNS = tuple(column for column, _ in _ALL)
TABLES = (Stand, Instrument, Panel, PanelArea, Day)  # whose rows it asks for, beside the shots


def shots_table(fetched: Fetched) -> Table:
    """All shots in the order they were loosed, struck ones at the end."""
    names = {table: {row.id: row.name for row in fetched.of(table)} for table in (Stand, Instrument)}
    stands, panels = fetched.by_id(Stand), fetched.by_id(Panel)
    areas, days = {row.id: row.name or row.sort for row in fetched.of(PanelArea)}, fetched.by_id(Day)
    every = (*fetched.loosed.shots, *fetched.loosed.struck)
    labels = {shot.fact.shot_id: shot.fact.label for shot in every}
    plain = ViewSettings(at=default_place(fetched.loosed.shots))
    rows = [
        ShotRow(
            shot=shot,
            fetched=fetched,
            day=days.get(shot.fact.session_id),
            stand=names[Stand].get(shot.fact.stand_id or ""),
            chronograph=names[Instrument].get(shot.fact.chronograph_id or ""),
            aim=areas.get(shot.fact.aim_id or ""),
            may_be=labels.get(shot.fact.may_be_shot_id or "", shot.fact.may_be_shot_id),
            default_reason="struck" if shot.fact.struck else standing(shot, plain),
            blow=blow_of(shot, panel=panels.get(shot.fact.panel_id), stand=stands.get(shot.fact.stand_id or "")),
        )
        for shot in every
    ]
    return Table("shots.csv", WORDS, COLUMNS, tuple(tuple(ask(row) for _, ask in _ALL) for row in rows))


