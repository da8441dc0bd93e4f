"""What a shot did to the armour, in words."""

from proofyard.quantities import unit_for_reader, written
from proofyard.records.shot_facts import ShotFact

ON = {"plate": "the plate", "mail": "the mail", "textile": "the cloth"}


_DID = ("left no mark on {}", "marked {}", "dented {}", "opened {}", "put its point {}through {}", "put its head {}through {}")


def what_it_did(fact: ShotFact, *, reader: str) -> str:
    """The outcome as the end of a sentence."""
    if fact.hit is None:
        ended = {"let_down": "was let down", "speed_only": "was shot for its speed only"}
        return ended.get(fact.purpose, "is not read yet")
    if fact.hit != "on_panel":
        return {"missed": "missed", "partial": "clipped the panel’s edge", "spoiled": "was spoiled"}[fact.hit]
    if fact.outcome_low is None or fact.outcome_high is None:
        return "hit the panel, outcome not read yet"
    on = ON.get(fact.construction or "", "the armour")
    low, high = (_outcome_level_did(outcome_level, fact, on, reader) for outcome_level in (fact.outcome_low, fact.outcome_high))
    level = fact.outcome_low if low == high else f"{fact.outcome_low} or {fact.outcome_high}"
    return f"{low} ({level})" if low == high else f"{low} or {high} ({level})"


def _outcome_level_did(outcome_level: int, fact: ShotFact, on: str, reader: str) -> str:
    if outcome_level < 4:
        return _DID[outcome_level].format(on)
    deep = depth_words(fact, reader)
    return _DID[outcome_level].format(f"{deep} " if deep else "", on)


def depth_words(fact: ShotFact, reader: str) -> str:
    if fact.depth_m is None:
        return ""
    words = written(fact.depth_m, unit_for_reader("length", reader))
    return f"{words} or more" if fact.depth_bound == "at_least" else words
