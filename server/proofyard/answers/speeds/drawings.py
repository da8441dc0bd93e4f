"""Speeds in the order they were shot: of one combination over all its readings, and of one day's shots, bow by bow."""

from collections.abc import Sequence

from proofyard.charts.figure import Figure
from proofyard.charts.speeds_in_order import SpeedLine, SpeedMark, SpeedStrip, speeds_in_order
from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import because
from proofyard.records.shot_facts import ShotFact
from proofyard.records.speed_facts import SpeedFact
from proofyard.shots.combination_speeds import CombinationFound
from proofyard.wording.reasons.said import said


def left_out_because(fact: SpeedFact, *, further: bool = False) -> str:
    """Why a reading is in no mean; empty for one that is."""
    if fact.left_out_reason:
        return fact.left_out_reason
    if fact.short_draw:
        return said(because("speed_short_draw"))
    return said(because("speed_read_further")) if further else ""


def combination_speeds_drawn(found: CombinationFound, *, name: str, reader: str) -> Figure | None:
    """Series and shots together. None without a speed.

    A series has no clock, only a day; what is known of all readings is when each was first written down.
    """
    further = {fact.reading_id for fact in found.speed.further}
    labels = {
        fact.reading_id: said(because("label_in_series", series=n, reading=place))
        for n, one in enumerate(reversed(found.series), 1)
        for place, fact in enumerate(one.facts, 1)
    }
    labels |= {fact.reading_id: said(because("label_on_shot", reading=n)) for n, fact in enumerate(found.on_shots, 1)}
    facts = sorted(
        (f for f in (*(f for one in found.series for f in one.facts), *found.on_shots) if f.value_m_s is not None),
        key=lambda f: f.reading_id,
    )
    marks = [
        SpeedMark(
            n,
            labels[fact.reading_id],
            fact.value_m_s or 0.0,
            left_out_because(fact, further=fact.reading_id in further),
            f"/shots/{fact.shot_id}" if fact.shot_id else "",
        )
        for n, fact in enumerate(facts, 1)
    ]
    if not marks:
        return None
    return speeds_in_order(
        name,
        [SpeedStrip("", [SpeedLine("", marks)])],
        unit=unit_for_reader("speed", reader),
        order_words=said(because("speeds_as_written")),
    )


def day_speeds_drawn(speeds: Sequence[SpeedFact], facts: Sequence[ShotFact], *, name: str, reader: str) -> Figure | None:
    """A day's shots in order, a strip a bow and archer, a line an arrow. `speeds`: read on them; None without one."""
    standing = {fact.shot_id: fact for fact in facts if not fact.voided}
    read: dict[str, list[SpeedFact]] = {}
    for one in speeds:
        if one.shot_id and one.value_m_s is not None:
            read.setdefault(one.shot_id, []).append(one)
    strips: dict[str, dict[str, list[SpeedMark]]] = {}
    order = 0
    for shot_id, fact in standing.items():
        for one in read.get(shot_id, ()):
            order += 1
            mark = SpeedMark(order, fact.label, one.value_m_s or 0.0, left_out_because(one), f"/shots/{shot_id}")
            bow = strips.setdefault(f"{_numbered(fact.bow_name, fact.bow_build_number)}, {fact.archer}", {})
            bow.setdefault(_numbered(fact.arrow_tag, fact.arrow_build_number), []).append(mark)
    if not order:
        return None
    shown = [
        SpeedStrip(words, [SpeedLine(f"arrow {arrow}", marks, name=_short(arrow)) for arrow, marks in lines.items()])
        for words, lines in strips.items()
    ]
    return speeds_in_order(name, shown, unit=unit_for_reader("speed", reader), names_words=said(because("speeds_named")))


def _short(arrow: str) -> str:
    """ "7", or "7 (2)" for its second build: all that there is room for beside a line."""
    tag, _, build = arrow.partition(", build ")
    return f"{tag} ({build})" if build else tag


def _numbered(name: str, build: int) -> str:
    return name if build == 1 else f"{name}, build {build}"
