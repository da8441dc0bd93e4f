"""One row of a part in words: a reading, a check, a layer, a spot; and what readings say together."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard import quantities
from proofyard.pages.frame.figures import fact, spread_words, with_uncertainty
from proofyard.pages.kit.nouns import Part
from proofyard.quantities import bracket_from_picks
from proofyard.records.columns import Noun, meanings
from proofyard.records.instrument import HardnessReading
from proofyard.records.typed_values import unusual
from proofyard.shots.readings import Measured, too_few
from proofyard.wording.counts import counted
from proofyard.wording.reasons.said import said as reason_words


@dataclass(frozen=True)
class PartRow:
    """One row: its place in the order, what it is called by, all else that was said, and what is unusual about it."""

    mark: str
    words: str
    small: str
    warning: str
    href: str
    voided: bool
    left_out: bool


def part_rows(part: Part, rows: Sequence[Noun], reader: str, *, linked: Mapping[str, str], base: str) -> list[PartRow]:
    """The rows of a part in the order they were made. `base`: the address that a row's id is put behind."""
    return [_row(part, row, reader, linked=linked, mark=str(n), href=f"{base}/{row.id}" if base else "") for n, row in enumerate(rows, 1)]


def _row(part: Part, row: Noun, reader: str, *, linked: Mapping[str, str], mark: str, href: str) -> PartRow:
    known = meanings(part.table)
    words, more = row_words(part, row, reader, linked=linked)
    reason = getattr(row, "left_out_reason", None)
    said = [f"{known[name][1].label.lower()}: {text}" for name, text in more]
    if reason:
        said.insert(0, f"left out: {reason}")
    return PartRow(
        mark=mark,
        words=words,
        small="; ".join(said),
        warning=" ".join(one.sentence for one in unusual(row)),
        href=href,
        voided=row.voided_rev is not None,
        left_out=bool(reason),
    )


def row_words(part: Part, row: Noun, reader: str, *, linked: Mapping[str, str]) -> tuple[str, list[tuple[str, str]]]:
    """What a row is called by, and the other fields that were filled."""
    facts = [(name, fact(row, name, reader, linked=linked)) for name in part.asks]
    if isinstance(row, HardnessReading):
        rest = [(name, text) for name, text in facts if text and name in ("place", "instrument")]
        return hardness_words(row), rest
    filled = [(name, text) for name, text in facts if text]
    return (filled[0][1], filled[1:]) if filled else ("Nothing recorded", [])


def hardness_words(row: HardnessReading) -> str:
    """A value with its scale, or the bracket that the picks leave: "between 45 and 50 HRC"."""
    said = []
    if row.value is not None:
        typed = str(json.loads(row.typed).get("value") or "")
        # What stood behind the scale (180 HV10) is kept with the words, not with the number.
        read = quantities.read_hardness(typed, scale=row.scale)
        said.append(read.words if isinstance(read, quantities.Hardness) else f"{quantities.plainly(row.value)} {row.scale or ''}".strip())
    if not all(pick is None for pick in (row.slides_hrc, row.bites_hrc, row.sticks_hrc)):
        bracket = bracket_from_picks(slides=row.slides_hrc, bites=row.bites_hrc, sticks=row.sticks_hrc)
        said.append(bracket.words if isinstance(bracket, quantities.Bracket) else quantities.sentence(bracket))
    words = "; ".join(said) or "Nothing recorded"
    return words[:1].upper() + words[1:]


def summary_line(found: Measured, shown_as: str, reader: str) -> str:
    """Mean, uncertainty and number in one line: "72.40 g ± 0.06, 3 readings"."""
    if found.mean is None:
        return "not read yet"
    n = found.mean.n or 0
    return f"{with_uncertainty(found.mean, shown_as, reader)}, {counted(n, 'reading')}"


def summary_facts(found: Measured, shown_as: str, reader: str) -> list[tuple[str, str]]:
    """Mean, spread, n and the standard uncertainties, each with what it rests on."""
    if found.mean is None or found.readings is None:
        return []
    unit = quantities.unit_for_reader(shown_as, reader)

    def small(value: float | None) -> str:
        return "not known from one reading" if value is None else spread_words(value, unit)

    type_b = (
        f"{spread_words(found.type_b.standard_uncertainty, unit)}, {reason_words(found.type_b.source, reader)}"
        if found.type_b
        else "not known"
    )
    whole = found.mean.standard_uncertainty
    rows = [
        ("Mean", with_uncertainty(found.mean, shown_as, reader)),
        ("Readings", str(found.readings.n) + (f", and {len(found.left_out)} left out" if found.left_out else "")),
        ("Spread of single readings", small(found.readings.spread)),
        ("Standard uncertainty, type A", small(found.readings.standard_uncertainty_type_a)),
        ("Standard uncertainty, type B", type_b),
        ("Both together", f"not known: {reason_words(found.why_not, reader)}" if whole is None else spread_words(whole, unit)),
    ]
    few = too_few(found.readings.n)
    return [*rows, ("Few readings", reason_words(few))] if few else rows
