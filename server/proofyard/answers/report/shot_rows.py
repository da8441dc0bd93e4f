"""Every shot of a trial as a row of a report's table: those that are counted, those that are not and why, those crossed out."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities import from_si, plainly, unit_for_reader
from proofyard.records.arrow import FORMS
from proofyard.records.shot import ALL_ENTRIES, HITS
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.loosed import LoosedShot
from proofyard.views.axes import default_place
from proofyard.views.cells import deep
from proofyard.views.counted import standing
from proofyard.views.settings import ViewSettings
from proofyard.wording.fairness import FAIR_WORDS
from proofyard.wording.figures import bare
from proofyard.wording.left_out import REASONS
from proofyard.wording.reasons.said import said
from proofyard.wording.when import clock_words, day_words


@dataclass(frozen=True)
class ReportRow:
    """One shot. The units of place, energy, angle and depth stand in the table's heading.

    counted  it is in the shares; count: why it is not, or why its hit is fair
    """

    shot_id: str
    label: str
    when: str
    who: str
    arrow: str
    panel: str
    place: str
    energy: str
    angle: str
    yaw: str
    outcome_low: int | None
    outcome_high: int | None
    ended: str
    depth: str
    count: str
    counted: bool
    voided: bool


@dataclass(frozen=True)
class ReportTable:
    """The rows day by day, in the order they were loosed; at: where their energies hold ("target"); units as they are headed."""

    days: tuple[tuple[str, tuple[ReportRow, ...]], ...]
    at: str
    length_unit: str
    energy_unit: str

    @property
    def yaw_known(self) -> bool:
        """Whether it was read of any shot: few films show it."""
        return any(row.yaw for _, rows in self.days for row in rows)


def report_table(shots: Sequence[LoosedShot], *, reader: str) -> ReportTable:
    """All of these, crossed-out ones among them."""
    in_order = sorted(shots, key=lambda shot: (shot.fact.day, shot.fact.loosed_at or 0))
    at = default_place([shot for shot in shots if not shot.fact.voided])
    days: dict[str, list[ReportRow]] = {}
    for shot in in_order:
        days.setdefault(shot.fact.day, []).append(_row(shot, at=at, reader=reader))
    return ReportTable(
        tuple((day_words(day), tuple(rows)) for day, rows in days.items()),
        at,
        "in" if reader == "archery" else "mm",
        unit_for_reader("energy", reader),
    )


def _row(shot: LoosedShot, *, at: str, reader: str) -> ReportRow:
    fact = shot.fact
    why = None if fact.voided else standing(shot, ViewSettings(at=at))
    return ReportRow(
        shot_id=fact.shot_id,
        label=fact.label,
        when="" if fact.loosed_at is None else clock_words(fact.loosed_at),
        who=f"{fact.archer}, {fact.bow_name}{', short draw' if fact.short_draw else ''}",
        arrow=f"{fact.arrow_tag}, {FORMS.get(fact.form or '', 'head not recorded').lower()}",
        panel=f"{fact.panel_name}{f' build {fact.panel_build_number}' if fact.panel_build_number > 1 else ''}",
        place=_place(fact, reader),
        energy=bare(shot.impact.energy_at(at), "energy", reader),
        angle=_degrees(fact.angle_rad if fact.angle_rad is not None else fact.setup_angle_rad),
        yaw=_degrees(fact.yaw_rad),
        outcome_low=fact.outcome_low,
        outcome_high=fact.outcome_high,
        ended=_ended(fact),
        depth=_depth(fact, reader),
        count=_count(shot, why, reader),
        counted=why is None and not fact.voided,
        voided=fact.voided,
    )


def _place(fact: ShotFact, reader: str) -> str:
    if fact.x_m is None or fact.y_m is None:
        return ""
    unit = "in" if reader == "archery" else "mm"
    return ", ".join(plainly(from_si(one, unit), figures=3 if unit == "mm" else 2) for one in (fact.x_m, fact.y_m))


def _degrees(angle_rad: float | None) -> str:
    return "" if angle_rad is None else plainly(round(from_si(angle_rad, "deg")), figures=2)


def _depth(fact: ShotFact, reader: str) -> str:
    if not fact.depth_m:
        return ""
    at_least = "≥ " if fact.depth_bound == "at_least" else ""
    return at_least + deep(fact.depth_m, "in" if reader == "archery" else "mm")


def _ended(fact: ShotFact) -> str:
    """What a tile can't say: where it went in, or why there is no outcome level."""
    if fact.hit not in (None, "on_panel"):
        return HITS[fact.hit] + (f": {fact.why.strip().rstrip('.')}" if fact.why else "")
    return ALL_ENTRIES.get(fact.entry or "", "").lower() if fact.hit else ""


def _count(shot: LoosedShot, why: str | None, reader: str) -> str:
    if shot.fact.voided:
        return "crossed out"
    if why is not None and why not in ("not_fair", "not_known"):
        return REASONS[why].words.lower()
    if shot.fair is None:
        return "counted"
    return f"{FAIR_WORDS[shot.fair.answer]}: {said(shot.fair.reason, reader)}"
