"""shots.csv: one row a shot, unread and crossed-out ones among them, every input and every figure that follows from it."""

import math
from collections.abc import Iterable, Sequence
from copy import copy

from proofyard.exchange.blunt_columns import BLUNT_COLUMNS, CAUTION, AskBlunt, blunt_of, caution_of
from proofyard.exchange.columns_of_records import column_of
from proofyard.exchange.csv_writing import Column, RowsInPassing, Table, Value, utc, yes_no
from proofyard.exchange.fetched import Fetched
from proofyard.exchange.kit_csv import areals_of
from proofyard.exchange.shots_csv_columns import NOT_READ, Ask, ShotRow, by_columns, choices_words, number_column, of_fact, text_column
from proofyard.exchange.shots_csv_facts import FAIRNESS, MATERIAL, hardness_by_piece
from proofyard.exchange.shots_csv_figures import AT_TARGET, FIGURES, HEAD
from proofyard.records.arrow import FORMS
from proofyard.records.columns import Meaning, meanings
from proofyard.records.instrument import HardnessReading, Instrument, Reading
from proofyard.records.panel import CONSTRUCTIONS, Panel, PanelArea, PanelBuild
from proofyard.records.shot import PURPOSES, ShotReading
from proofyard.records.shot_facts import LayerBehind
from proofyard.records.stand import Stand
from proofyard.records.trial import OUTCOMES
from proofyard.records.trial import Session as Day
from proofyard.shots.fair_figures import fair_figures
from proofyard.shots.fair_hits import FairMark
from proofyard.shots.loosed import LoosedShot
from proofyard.views.axes import default_place
from proofyard.views.counted import standing
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import ViewSettings
from proofyard.wording.fairness import FAIR_WORDS, UNNAMED
from proofyard.wording.left_out import REASONS
from proofyard.wording.reasons.said import said

WORDS = "Every shot, one row each: how it was shot, what was read, what is worked out from that."


_IDENTITY = (
    text_column("shot_label", "The shot’s label: the recording phone’s letter and its count", "given", of_fact("label")),
    text_column(
        "voided",
        "Crossed out: recorded in error, kept here so that nothing is hidden",
        "typed",
        lambda r: yes_no(r.shot.fact.voided),
        values="yes; no",
    ),
    text_column(
        "voided_reason",
        "Why it was crossed out",
        "typed",
        lambda r: r.fetched.voided_because.get(("shot", r.shot.fact.shot_id)) if r.shot.fact.voided else None,
    ),
    text_column(
        "unread",
        "Not read yet; never counted in a percentage",
        "read",
        lambda r: yes_no(not r.shot.fact.read and r.shot.fact.purpose != "let_down"),
        values="yes; no",
    ),
    text_column("purpose", "Purpose of the shot", "typed", of_fact("purpose"), values=choices_words(PURPOSES)),
    text_column(
        "counted_by_default",
        "Whether the results page counts it while no filter is set",
        "worked out",
        lambda r: yes_no(r.default_reason is None),
        values="yes; no",
    ),
    text_column(
        "left_out_by_default_because",
        "Why that page leaves it out",
        "worked out",
        lambda r: r.default_reason,
        values=choices_words({key: reason.words for key, reason in REASONS.items()} | {"voided": "Crossed out"}),
    ),
    text_column(
        "loosed_at_utc", "Moment of the shot, ISO 8601 in UTC, as the recording phone put it", "given", lambda r: utc(r.shot.fact.loosed_at)
    ),
    text_column(
        "written_down_at_utc",
        "Moment the book first had it, by the book’s own clock",
        "given",
        lambda r: utc(r.fetched.written[r.shot.fact.shot_id].received) if r.shot.fact.shot_id in r.fetched.written else None,
    ),
    number_column(
        "clock_offset_ms",
        "The book’s clock less the phone’s, as the phone estimated it",
        "ms",
        "given",
        lambda r: getattr(r.fetched.written.get(r.shot.fact.shot_id), "clock_offset_ms", None),
    ),
    number_column(
        "clock_error_ms",
        "Error of that estimate, at most",
        "ms",
        "given",
        lambda r: getattr(r.fetched.written.get(r.shot.fact.shot_id), "clock_error_ms", None),
    ),
    text_column(
        "reading_written_down_at_utc",
        "Moment the book first had a reading of it",
        "given",
        lambda r: utc(r.fetched.read_at[r.shot.fact.shot_id].received) if r.shot.fact.shot_id in r.fetched.read_at else None,
    ),
)


def _behind(role: str) -> tuple[tuple[Column, Ask], ...]:
    """What of the stand was behind the panel as its garment, or as its backing."""

    def layers(row: ShotRow) -> Sequence[LayerBehind]:
        return tuple(getattr(row.shot.fact.behind, role))

    def thickness_m(row: ShotRow) -> float | None:
        known = [one.thickness_m for one in layers(row)]
        return math.fsum(one for one in known if one is not None) if known and None not in known else None

    return (
        text_column(
            role,
            f"Material of the {role} behind the panel, without capitals; several layers from the front, “;” between; empty: none recorded",
            "typed",
            lambda r: "; ".join(one.material or "not recorded" for one in layers(r)) or None,
        ),
        number_column(f"{role}_thickness_m", "Its thickness, all its layers together", "m", "typed", thickness_m),
    )


_WHERE = (
    text_column("trial", "The trial’s question", "typed", of_fact("question")),
    text_column("session_day", "Day of the session, ISO 8601", "typed", of_fact("day")),
    text_column("session_place", "Where it was shot", "typed", of_fact("place")),
    number_column("air_temperature_k", "Air temperature of the session", "K", "typed", lambda r: getattr(r.day, "temperature_k", None)),
    number_column(
        "humidity_ratio", "Relative humidity of the session, 0 to 1", "1", "typed", lambda r: getattr(r.day, "humidity_ratio", None)
    ),
    number_column("air_pressure_pa", "Air pressure of the session", "Pa", "typed", lambda r: getattr(r.day, "pressure_pa", None)),
    number_column("distance_m", "Distance, archer to panel", "m", "typed", of_fact("distance_m")),
    number_column(
        "setup_angle_rad", "Angle of the panel from square to the line of flight; 0 = square on", "rad", "typed", of_fact("setup_angle_rad")
    ),
    text_column("stand", "The stand that held the panel", "typed", lambda r: r.stand),
    text_column("chronograph", "The chronograph of the set-up", "typed", lambda r: r.chronograph),
    number_column("chronograph_at_m", "Where the chronograph stood, from the bow", "m", "typed", of_fact("chronograph_at_m")),
    number_column("shooting_end_position", "Place in the end: first, second …; empty if nobody knows", "1", "typed", of_fact("position")),
    text_column("shooting_end_begun_at_utc", "Moment the end began", "given", lambda r: utc(r.shot.fact.shooting_end_begun_at)),
)

_KIT = (
    text_column("loosed_by", "Call name of the archer", "typed", of_fact("archer")),
    text_column("recorded_by_letter", "Letter of the phone that recorded it", "given", of_fact("recorder_letter")),
    text_column("short_draw", "The archer came short of full draw", "typed", lambda r: yes_no(r.shot.fact.short_draw), values="yes; no"),
    text_column("bow", "The bow", "typed", of_fact("bow_name")),
    number_column("bow_build_number", "Which build of the bow", "1", "given", of_fact("bow_build_number")),
    number_column("bow_marked_weight_n", "Marked draw weight of the bow", "N", "typed", of_fact("marked_weight_n")),
    text_column("arrow", "Tag of the arrow", "typed", of_fact("arrow_tag")),
    number_column("arrow_build_number", "Which build of the arrow", "1", "given", of_fact("arrow_build_number")),
    text_column("fletching", "Its fletching", "typed", of_fact("fletching")),
    text_column("head", "The head on it", "typed", of_fact("head_name")),
    text_column("head_form", "Form of the head", "typed", of_fact("form"), values=choices_words(FORMS)),
    number_column("shaft_diameter_m", "The shaft’s diameter at its thickest", "m", "typed", of_fact("shaft_diameter_m")),
    number_column("head_tip_to_widest_m", "From the head’s tip to where it is broadest", "m", "typed", of_fact("tip_to_widest_m")),
    text_column("panel", "The panel", "typed", of_fact("panel_name")),
    number_column("panel_build_number", "Which build of the panel", "1", "given", of_fact("panel_build_number")),
    text_column("construction", "How the panel is made", "typed", of_fact("construction"), values=choices_words(CONSTRUCTIONS)),
    number_column("panel_thickness_m", "Thickness nominal; readings stand in readings.csv", "m", "typed", of_fact("thickness_m")),
    *_behind("garment"),
    *_behind("backing"),
    text_column(
        "panel_type",
        "The panel type, in words: garment and backing are named where panels made so and so thick were not all shot with the same",
        "worked out",
        lambda r: panel_type_of(r.shot.fact)[1],
    ),
    text_column("panel_type_key", "The same as addresses have it", "worked out", lambda r: panel_type_of(r.shot.fact)[0]),
    text_column("aimed_at", "The spot aimed at", "typed", lambda r: r.aim),
    text_column("shot_note", "Note on the shot", "typed", of_fact("note")),
)

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
    return of_fact(attribute)


def _outcome_level(outcome_level: int | None) -> str | None:
    return None if outcome_level is None else OUTCOMES[str(outcome_level)]


_OUTCOME = (
    number_column(
        "outcome_low",
        "The lower of the two possible outcome levels, judged at the rear face: 0 no mark to 5 head through",
        "1",
        "read",
        of_fact("outcome_low"),
    ),
    number_column(
        "outcome_high",
        "The higher of the two possible outcome levels; the same as the lower where nothing is undecided",
        "1",
        "read",
        of_fact("outcome_high"),
    ),
    text_column(
        "outcome_low_words",
        "The lower outcome level in words",
        "read",
        lambda r: _outcome_level(r.shot.fact.outcome_low),
        values=choices_words(OUTCOMES),
    ),
    text_column(
        "outcome_high_words",
        "The higher outcome level in words",
        "read",
        lambda r: _outcome_level(r.shot.fact.outcome_high),
        values=choices_words(OUTCOMES),
    ),
    text_column("may_be_hit_of", "Label of the shot whose hit this possibly is instead", "read", lambda r: r.may_be),
)


def _worked_out(mark: FairMark | None) -> str | None:
    """ "not_fair: 10 mm from X2": the rules' own mark, where an archer overruled it."""
    if mark is None or mark.worked_out is None:
        return None
    return f"{mark.worked_out.answer}: {said(mark.worked_out.reason)}"


_FAIR = (
    text_column(
        "fair",
        "Whether it is a fair hit, on a fresh spot",
        "worked out",
        lambda r: r.shot.fair.answer if r.shot.fair else None,
        values=choices_words(FAIR_WORDS),
    ),
    text_column("fair_because", "The reason, in words", "worked out", lambda r: said(r.shot.fair.reason) if r.shot.fair else None),
    text_column(
        "fair_overruled",
        "An archer overruled what was worked out",
        "read",
        lambda r: yes_no(r.shot.fair.overruled) if r.shot.fair else None,
        values="yes; no",
    ),
    text_column("fair_worked_out", "What the rules gave, where that was overruled", "worked out", lambda r: _worked_out(r.shot.fair)),
    text_column("fair_overrule_reason", "Why it was overruled", "typed", of_fact("fair_reason")),
)


def _of_blunt(ask: AskBlunt) -> Ask:
    return lambda row: ask(row.blunt)


_BLUNT = (*((column, _of_blunt(ask)) for column, ask in BLUNT_COLUMNS), (CAUTION, lambda row: caution_of(row.shot, row.blunt)))

_IDS = tuple(
    text_column(name, f"Identifier of the {words}", "given", of_fact(name))
    for name, words in {
        "shot_id": "shot",
        "shooting_end_id": "shooting_end",
        "setup_id": "set-up",
        "session_id": "session",
        "trial_id": "trial",
        "panel_id": "panel",
        "panel_build_id": "panel’s build",
        "bow_id": "bow",
        "bow_build_id": "bow’s build",
        "arrow_id": "arrow",
        "arrow_build_id": "arrow’s build",
        "head_id": "head",
        "archer_id": "archer",
        "combination_id": "combination (bow, arrow and archer)",
    }.items()
) + (
    number_column("shot_rev", "Revision that the shot stands at", "1", "given", of_fact("rev")),
    number_column("reading_rev", "Revision that its reading stands at", "1", "given", of_fact("reading_rev")),
)

_ALL: tuple[tuple[Column, Ask], ...] = (
    *_IDENTITY,
    *_WHERE,
    *_KIT,
    *_OUTCOME,
    *_of_reading(),
    *_FAIR,
    *FAIRNESS,
    *MATERIAL,
    *FIGURES,
    *AT_TARGET,
    *HEAD,
    *_BLUNT,
    *_IDS,
)
COLUMNS = tuple(column for column, _ in _ALL)
TABLES = (Stand, Instrument, Panel, PanelBuild, PanelArea, Day, Reading, HardnessReading)  # whose rows it asks for, beside the shots


def shots_table(fetched: Fetched, shots: Sequence[LoosedShot] | None = None) -> Table:
    """All shots in the order they were loosed, crossed-out ones at the end; or those that are given, in their order."""
    names = {table: {row.id: row.name for row in fetched.of(table)} for table in (Stand, Instrument)}
    stands, panels = fetched.by_id(Stand), fetched.by_id(Panel)
    areas, days = {row.id: row.name or row.sort for row in fetched.of(PanelArea)}, fetched.by_id(Day)
    every = (*fetched.loosed.shots, *fetched.loosed.voided)
    labels = {shot.fact.shot_id: shot.fact.label for shot in every}
    plain = ViewSettings(at=default_place(fetched.loosed.shots))
    fairness, areals, hardness = (
        fair_figures(fetched.facts, fetched.trials),
        areals_of(fetched),
        hardness_by_piece(fetched.of(HardnessReading)),
    )

    def row_of(shot: LoosedShot) -> ShotRow:
        return ShotRow(
            shot=shot,
            fetched=fetched,
            day=days.get(shot.fact.session_id),
            stand=names[Stand].get(shot.fact.stand_id or ""),
            chronograph=names[Instrument].get(shot.fact.chronograph_id or ""),
            aim=areas.get(shot.fact.aim_id or ""),
            # One that has no label here is of another trial than this reader may see.
            may_be=labels.get(shot.fact.may_be_shot_id, UNNAMED) if shot.fact.may_be_shot_id else None,
            default_reason="voided" if shot.fact.voided else standing(shot, plain),
            blunt=blunt_of(shot, panel=panels.get(shot.fact.panel_id), stand=stands.get(shot.fact.stand_id or "")),
            fair_figures=fairness.get(shot.fact.shot_id),
            areal=areals.get(shot.fact.panel_build_id),
            panel_hardness=hardness.get(shot.fact.panel_build_id, NOT_READ),
            head_hardness=hardness.get(shot.fact.head_id or "", NOT_READ),
        )

    def some(shots: Sequence[LoosedShot]) -> Iterable[tuple[Value, ...]]:
        # Copies: what is worked out for a row goes with it, and isn't kept for all.
        return by_columns((ask for _, ask in _ALL), [row_of(copy(shot)) for shot in shots])

    return Table("shots.csv", WORDS, COLUMNS, RowsInPassing(every if shots is None else shots, some))
