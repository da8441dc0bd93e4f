"""An answer as tables: the rules side by side, and what each bow would do."""

from dataclasses import dataclass

from server.findings.what_if.answer import Answer, BowRow
from server.findings.what_if.basis import Armour
from server.findings.what_if.rules import ChangeFound, RuleLine
from server.findings.what_if.words import joules, joules_range
from server.pages.figures import counted
from server.pages.shapes import Column
from server.quantities import figure, from_si, plainly, unit_for_reader


@dataclass(frozen=True)
class RuleTable:
    """`rows`: what the rule is and the name of its method, from, to, and what to mind."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, str, str, str], ...]


@dataclass(frozen=True)
class Shown:
    """One answer, ready for a template. `bows`: who, energy, verdict with what would be left."""

    answer: Answer
    rules: tuple[RuleTable, ...]
    bow_columns: tuple[Column, ...]
    bows: tuple[tuple[str, ...], ...]


def shown_of(answer: Answer, *, reader: str) -> Shown:
    """Tables in the reader's units."""
    found = ((answer.printed,) if answer.printed else ()) + answer.changes
    unit = unit_for_reader("energy", reader)
    return Shown(
        answer=answer,
        rules=tuple(_table(one, reader) for one in found if one.lines),
        bow_columns=(Column("Bow, archer"), Column(f"Energy, {unit}", True), Column("Of such shots")),
        bows=tuple(_bow(one, reader) for one in answer.rows),
    )


def armour_facts(armour: Armour, *, reader: str) -> list[tuple[str, str]]:
    """What is known of the armour as it is, in the order in which changes are asked."""
    thick = f"{figure(armour.thickness_m, 'thickness', reader)}, {armour.thickness_words}" if armour.thickness_m else ""
    return [
        ("Armour", f"{armour.panel.name}, {armour.made}"),
        ("Thickness now", thick or (armour.thickness_words if armour.plated else "")),
        ("Hardness now", armour.hardness_words or ("nobody tried it" if armour.plated else "")),
        ("Wire now", figure(armour.panel.ring_wire_m, "small_length", reader) if armour.panel.ring_wire_m else ""),
        ("Layers of cloth", str(armour.panel.cloth_layers or "")),
        ("Shot at an angle of", figure(armour.angle_rad, "angle", reader)),
        ("From", figure(armour.distance_m, "distance", reader) if armour.distance_m else ""),
    ]


def _table(one: ChangeFound, reader: str) -> RuleTable:
    in_joules = one.name == "printed"
    unit = unit_for_reader("energy", reader)
    if one.low is None or one.high is None:
        caption = f"{one.words}: no rule answers."
    elif in_joules:
        caption = f"{one.words.removesuffix(', in joules')}: {joules_range(one.low, one.high, reader=reader)} by printed rules."
    else:
        caption = f"{one.words}: {_times(one.low, one.high)} the energy."
    columns = (Column("Rule"), Column(f"Half get through, {unit}" if in_joules else "Times the energy", True), Column("Mind"))
    return RuleTable(caption, columns, tuple(_rule(line, in_joules, reader) for line in one.lines))


def _rule(line: RuleLine, in_joules: bool, reader: str) -> tuple[str, str, str, str]:
    if line.low is None or line.high is None:
        value = "no answer"
    elif in_joules:
        low, high = (f"{from_si(end, unit_for_reader('energy', reader)):.0f}" for end in (line.low, line.high))
        value = low if low == high else f"{low} to {high}"
    else:
        value = _times(line.low, line.high)
    return line.words, line.method, value, line.note


def _times(low: float, high: float) -> str:
    ends = [plainly(end, figures=2 if end < 1 else 3) for end in (low, high)]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def _bow(row: BowRow, reader: str) -> tuple[str, str, str]:
    unit = unit_for_reader("energy", reader)
    low, mean, high = (f"{from_si(end, unit):.0f}" for end in (row.low_j, row.mean_j, row.high_j))
    energy = mean if low == high else f"{mean} ({low} to {high})"
    who = f"{row.words}, {counted(row.shots, 'shot')}" if row.shots else row.words
    if row.left_j is None:
        return who, energy, row.verdict.words
    left = f"up to {joules(row.left_j[1], reader)}" if row.left_j[0] == 0 else joules_range(*row.left_j, reader=reader)
    return who, energy, f"{row.verdict.words}; one that gets through keeps {left}"
