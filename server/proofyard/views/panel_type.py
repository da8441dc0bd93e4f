"""What makes two panels the same to a comparison: how they are made, how thick they were sold as, and what lay behind them.

Garment and backing are part of a panel type always; its key and its words name them only where panels made so and so thick
hung before more than one sort of them in this book. What all of them share need not be said.
"""

import re
import zlib
from collections.abc import Collection, Sequence
from functools import lru_cache

from proofyard.quantities import plainly, with_unit
from proofyard.records.panel import CONSTRUCTIONS
from proofyard.records.shot_facts import LayerBehind, ShotFact
from proofyard.shots.loosed import LoosedShot

NOT_RECORDED = "not_recorded"
_LONGEST_KEY = 40
_ALL = ("panel_alone", "garment", "backing")
Named = tuple[str, str]


def panel_type_of(fact: ShotFact) -> Named:
    """Its key, as addresses have it, and its words: "1.6 mm one-piece plate", with what lay behind where that differs."""
    return panel_type_in(fact, _ALL)


def panel_type_in(fact: ShotFact, parts: Collection[str]) -> Named:
    """Its panel type as far as these parts go: panel_alone, garment, backing. Key and words are empty where they say nothing."""
    return _panel_type(
        panel_alone_of(fact) if "panel_alone" in parts else ("", ""),
        fact.behind.garment if fact.behind.garment_differs and "garment" in parts else None,
        fact.behind.backing if fact.behind.backing_differs and "backing" in parts else None,
    )


def panel_types_of(shots: Sequence[LoosedShot]) -> list[Named]:
    """The panel type of each."""
    told: dict[tuple[str | None, float | None, int], Named] = {}
    found = []
    for shot in shots:
        key = by_type(shot.fact)
        named = told.get(key)
        if named is None:
            named = told[key] = panel_type_of(shot.fact)
        found.append(named)
    return found


def by_type(fact: ShotFact) -> tuple[str | None, float | None, int]:
    """All that a panel type is told by, as a key that holds while these shots do."""
    return fact.construction, fact.thickness_m, id(fact.behind)


def panel_alone_of(fact: ShotFact) -> Named:
    """The panel by itself: how it is made, and its nominal thickness."""
    return _armour(fact.construction or NOT_RECORDED, fact.thickness_m)


def garment_of(fact: ShotFact) -> Named:
    """The garment behind the panel, all its layers together."""
    return _layers(fact.behind.garment, "garment")


def backing_of(fact: ShotFact) -> Named:
    """The backing behind the panel, all its layers together."""
    return _layers(fact.behind.backing, "backing")


@lru_cache(maxsize=256)
def _armour(made: str, thickness_m: float | None) -> Named:
    words = CONSTRUCTIONS.get(made, "Construction not recorded").lower()
    if not thickness_m:
        return made, words
    thickness = plainly(thickness_m * 1000)
    return f"{made}-{thickness}", f"{with_unit(thickness, 'mm')} {words}"


@lru_cache(maxsize=1024)
def _panel_type(alone: Named, garment: tuple[LayerBehind, ...] | None, backing: tuple[LayerBehind, ...] | None) -> Named:
    parts = [alone] if alone[0] else []
    if garment is not None:
        key, words = _layers(garment, "garment")
        parts.append((f"over-{key}", f"over {words}" if garment else "with no garment recorded"))
    if backing is not None:
        key, words = _layers(backing, "backing")
        parts.append((f"before-{key}", f"in front of {words}" if backing else "with no backing recorded"))
    return "-".join(key for key, _ in parts), " ".join(words for _, words in parts)


@lru_cache(maxsize=256)
def _layers(layers: tuple[LayerBehind, ...], role: str) -> Named:
    if not layers:
        return NOT_RECORDED, f"No {role} recorded"
    words = " and ".join(_layer(one, role) for one in layers)
    key = re.sub(r"\W+", "_", words).strip("_")
    # Two long ones may begin alike, so a cut key ends in a checksum of the whole.
    return (key if len(key) <= _LONGEST_KEY else f"{key[:_LONGEST_KEY]}_{zlib.crc32(words.encode()):08x}"), words


def _layer(one: LayerBehind, role: str) -> str:
    material = " ".join(one.material.split()) or f"a {role}"
    return f"{with_unit(plainly(one.thickness_m * 1000), 'mm')} {material}" if one.thickness_m else material


def target_words(facts: Sequence[ShotFact]) -> str:
    """What was shot at, as far as one name covers it: "1.6 mm one-piece plate", "mail", "these panels"."""
    sorts = {panel_type_of(fact)[1] for fact in facts}
    made = {fact.construction for fact in facts}
    if len(made) > 1:
        return "these panels"
    only = made.pop()
    if only not in CONSTRUCTIONS or only == "other":
        return "the panel"
    return sorts.pop() if len(sorts) == 1 else CONSTRUCTIONS[only].lower()
