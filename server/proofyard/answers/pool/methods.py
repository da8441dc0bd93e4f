"""How each group did it, term by term: what a reader must know before the groups' figures are read together."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities import in_readers
from proofyard.records.instrument import SORTS, HardnessReading, Instrument
from proofyard.records.trial import NEXT_SHOT_RULES, Trial
from proofyard.shots.loosed import LoosedShot
from proofyard.shots.rule_words import rule_lines
from proofyard.views.panel_type import backing_of, garment_of
from proofyard.wording.counts import counted
from proofyard.wording.group_methods import METHOD_TERMS

NOT_RECORDED, NO_SHOTS = "not recorded", "no shots"


@dataclass(frozen=True)
class OfGroup:
    """What of one group's book its methods are told by."""

    shots: Sequence[LoosedShot]
    trials: Mapping[str, Trial]
    instruments: Mapping[str, Instrument]
    hardness: Sequence[HardnessReading]


@dataclass(frozen=True)
class MethodRow:
    """One term, and each group's words for it, in the groups' order. differs: whether groups that shot are not all the same."""

    term: str
    words: tuple[str, ...]

    @property
    def differs(self) -> bool:
        return len(set(self.words) - {NO_SHOTS}) > 1


def method_rows(groups: Sequence[OfGroup], *, reader: str) -> tuple[MethodRow, ...]:
    """A row for each term of `TERMS`."""
    return tuple(
        MethodRow(METHOD_TERMS[key], tuple(told(one, reader) if one.shots else NO_SHOTS for one in groups)) for key, told in TERMS.items()
    )


def _listed(words: Sequence[str], most: int = 4) -> str:
    """Those that were found, the most common first."""
    found = [one for one, _ in Counter(words).most_common()]
    return ", ".join(found[:most]) + (f" and {len(found) - most} more" if len(found) > most else "") if found else NOT_RECORDED


def _measure(value: float | None, kind: str, reader: str) -> str:
    return NOT_RECORDED if value is None else in_readers(value, kind, reader)


def _between(values: Sequence[float | None], kind: str, reader: str) -> str:
    known = [one for one in values if one is not None]
    if not known:
        return NOT_RECORDED
    ends = dict.fromkeys(in_readers(end, kind, reader) for end in (min(known), max(known)))
    return " to ".join(ends)


def _distance(one: OfGroup, reader: str) -> str:
    return _listed([_measure(shot.fact.distance_m, "distance", reader) for shot in one.shots])


def _thickness(one: OfGroup, reader: str) -> str:
    return _between([shot.fact.thickness_m for shot in one.shots], "thickness", reader)


def _head_width(one: OfGroup, reader: str) -> str:
    return _between([shot.fact.head_width_m for shot in one.shots], "length", reader)


def _angle(one: OfGroup, reader: str) -> str:
    return _listed([_measure(shot.fact.setup_angle_rad, "angle", reader) for shot in one.shots])


def _behind(one: OfGroup, reader: str) -> str:
    return _listed([f"{garment_of(shot.fact)[1]}, {backing_of(shot.fact)[1]}".lower() for shot in one.shots])


def _speed(one: OfGroup, reader: str) -> str:
    sorts = {key: SORTS.get(tool.sort or "", "Other") for key, tool in one.instruments.items()}
    return _listed([sorts.get(shot.fact.chronograph_id or "", "not at the line") for shot in one.shots])


def _hardness(one: OfGroup, reader: str) -> str:
    builds, heads = ({getattr(shot.fact, name) for shot in one.shots} for name in ("panel_build_id", "head_id"))
    return "; ".join(
        f"{words}: {_listed([_how_hard(row) for row in one.hardness if row.record_id in ids])}"
        for words, ids in (("panels", builds), ("heads", heads))
    )


def _how_hard(row: HardnessReading) -> str:
    return "tester" if row.value is not None else "picks"


def _fair(one: OfGroup, reader: str) -> str:
    trials = {shot.fact.trial_id: shot.fact.construction for shot in one.shots}
    return _listed([line.words for key, made in trials.items() for line in rule_lines(one.trials.get(key), [made], reader=reader)], 2)


def _order(one: OfGroup, reader: str) -> str:
    rules = [shot.fact.next_shot_rule or "none" for shot in one.shots]
    return _listed([NEXT_SHOT_RULES[rule].partition(":")[0].lower() for rule in rules])


def _how_many(one: OfGroup, reader: str) -> str:
    facts = [shot.fact for shot in one.shots]
    counts = [len({fact.panel_id for fact in facts}), len({fact.arrow_id for fact in facts}), len({fact.bow_id for fact in facts})]
    days = len({fact.day for fact in facts})
    names = ("panel", "arrow", "bow")
    words = [counted(count, name) for count, name in zip(counts, names, strict=True)]
    return ", ".join([*words, counted(days, "day")])


TERMS: Mapping[str, Callable[[OfGroup, str], str]] = MappingProxyType(
    {
        "distance": _distance,
        "thickness": _thickness,
        "head_width": _head_width,
        "angle": _angle,
        "behind": _behind,
        "speed": _speed,
        "hardness": _hardness,
        "fair": _fair,
        "order": _order,
        "how_many": _how_many,
    }
)
