"""Words that are looked for, and the words that a shot is found by: its names, and all that was typed or picked of it."""

import re
import unicodedata
from collections.abc import Iterable

from proofyard.records.arrow import FORMS
from proofyard.records.panel import CONSTRUCTIONS
from proofyard.records.shot import ALL_ENTRIES, ARROW_DID, HEAD_FATES, HITS, PURPOSES, SHAFT_FATES
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import OUTCOMES

MOST_WORDS = 12  # of what somebody types; the rest of a longer text narrows nothing that a person would miss
_WORD = re.compile(r"\w+")


def plain(text: str) -> str:
    """Small letters without accents, as words are compared.

    >>> plain("Épée No. 3")
    'epee no. 3'
    """
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in apart if not unicodedata.combining(sign))


def words_in(text: str) -> tuple[str, ...]:
    """
    >>> words_in("Split plate, 1.6 mm (A40)")
    ('split', 'plate', '1', '6', 'mm', 'a40')
    """
    return tuple(_WORD.findall(plain(text)))


def names_of_shot(fact: ShotFact) -> tuple[str | None, ...]:
    """Who shot what at what, where and when."""
    return (fact.archer, fact.bow_name, f"arrow {fact.arrow_tag}", fact.head_name, fact.panel_name, fact.place, fact.day)


def said_of_shot(fact: ShotFact) -> tuple[str | None, ...]:
    """What it was, what became of it, and what people wrote about it. A choice that has a field stands behind that field's word."""
    return (
        FORMS.get(fact.form or ""),
        CONSTRUCTIONS.get(fact.construction or ""),
        None if fact.purpose == "counted" else PURPOSES[fact.purpose],
        "short draw" if fact.short_draw else None,
        HITS.get(fact.hit or "") if fact.hit != "on_panel" else None,
        *(OUTCOMES[str(level)] for level in _levels(fact)),
        ALL_ENTRIES.get(fact.entry or ""),
        ARROW_DID.get(fact.arrow_did or ""),
        *(f"head {HEAD_FATES[one]}" for one in fact.head_fate),
        *(f"shaft {SHAFT_FATES[one]}" for one in fact.shaft_fate),
        *written_of_shot(fact),
    )


def written_of_shot(fact: ShotFact) -> tuple[str | None, ...]:
    """What people wrote about it, as they wrote it."""
    return (fact.why, fact.damage, fact.fair_reason, fact.note, fact.reading_note)


def ended(fact: ShotFact) -> str:
    """How it ended, in a word or two."""
    if fact.purpose != "counted":
        return PURPOSES[fact.purpose]
    if fact.hit is None:
        return "Unread"
    return " or ".join(OUTCOMES[str(level)] for level in _levels(fact)) or HITS[fact.hit]


def _levels(fact: ShotFact) -> Iterable[int]:
    """Every level that it may have."""
    return range(fact.outcome_low, (fact.outcome_high or fact.outcome_low) + 1) if fact.outcome_low is not None else ()


def says_all(wanted: Iterable[str], fact: ShotFact) -> bool:
    """Whether a word of the shot begins with each of the wanted ones."""
    parts = (fact.label, *names_of_shot(fact), *said_of_shot(fact))
    words = words_in(" ".join(part for part in parts if part))
    return all(any(word.startswith(one) for word in words) for one in wanted)
