"""What people write for a choice: their words -> the book's. Common practice, no source; what fits two is left to the person."""

import re
from collections.abc import Mapping
from types import MappingProxyType

from proofyard.exchange.bring_in.targets import Target
from proofyard.records.search_words import plain
from proofyard.records.shot import HITS

_OUTCOMES = {
    "0": "no mark, nothing, none, no damage, no effect, clean bounce",
    "1": "marked, mark, scratch, scratched, scuff",
    "2": "dented, dent, dents, bent, deformed, bulge",
    "3": "opened, open, split, cracked, torn, crack, hole no tip",
    "missed": "miss",
    "4": "point through, tip through, tip, partial, partial penetration",
    "5": "head through, full, full penetration, complete, complete penetration, clean through, passed through, pass through",
}
_HITS = {
    "on_panel": "on the panel, hit, yes, y, on target, x",
    "partial": "edge, clipped, edge hit, clipped the edge",
    "missed": "miss, missed, no, n, off target",
    "spoiled": "spoiled, spoilt, void, not valid, discounted",
}
_FORMS = {
    "needle": "needle, long needle, needle bodkin, long bodkin, type 7, lm7, long needle bodkin",
    "short_bodkin": "short, short bodkin, plate cutter, type 9, type 10, lm9, lm10, bodkin short, stubby bodkin",
    "leaf": "leaf, leaf shaped, leaf blade",
    "lozenge": "lozenge, diamond",
    "barbed": "barbed, broadhead, barbed broadhead, swallowtail, type 16, lm16, type 15",
    "chisel": "chisel, chisel edged",
    "crescent": "crescent, forker, half moon, forked",
    "blunt": "blunt, blunts",
}
_CONSTRUCTIONS = {
    "plate": "plate, steel plate, breastplate, breast plate, sheet, sheet steel, mild steel, cuirass, one piece plate, flat plate",
    "lamellar": "lamellar, lamellae, lamella",
    "scale": "scale, scales, scale armour",
    "brigandine": "brigandine, brig",
    "coat_of_plates": "coat of plates, cop",
    "mail": "mail, maille, chainmail, chain mail, chain, riveted mail",
    "textile": "textile, gambeson, jack, aketon, linen, padded, padded jack, arming coat, quilted, cloth",
}
_BOWS = {
    "self": "self, self bow, selfbow",
    "laminated": "laminated, laminate, lam, backed",
    "composite": "composite, horn, horn bow, hornbow",
    "crossbow": "crossbow, arbalest",
}
_JOINTS = {
    "riveted": "riveted, all riveted, rivet",
    "half_riveted": "half riveted, riveted and solid",
    "welded": "welded",
    "butted": "butted, butt",
}
_PROFILES = {
    "parallel": "parallel, straight, cylindrical",
    "bobtailed": "bobtailed, bobtail, tapered, taper",
    "barrelled": "barrelled, barreled",
    "chested": "chested, breasted",
}
WORDS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "outcome_low": _OUTCOMES,
        "hit": _HITS,
        "form": _FORMS,
        "construction": _CONSTRUCTIONS,
        "sort": _BOWS,
        "ring_joint": _JOINTS,
        "profile": _PROFILES,
    }
)
_ENDING = re.compile(r"\s*\(\d\)$")


def plain_words(text: str) -> str:
    """Small letters, no signs, one space between words.

    >>> plain_words("Chain-mail (riveted)")
    'chain mail riveted'
    """
    return " ".join(re.findall(r"\w+", plain(text)))


# Levels of the outcome, or no and yes: the column decides, since "1" for "it went through" must not become "Marked (1)".
YES_AND_NO = ("0", "1")
# A column of outcomes also says which shots have none.
NO_OUTCOME = ("missed", "partial", "spoiled")


def choices_of(target: Target) -> Mapping[str, str]:
    """Stored word -> shown word of everything that a value of this column can mean."""
    assert target.meaning is not None
    also = {word: HITS[word] for word in NO_OUTCOME} if target.key == "outcome" else {}
    return {**target.meaning.choices, **also}


def choice_said(target: Target, text: str) -> str | None:
    """The stored word of a choice that somebody wrote in their own; None where it is none of them or could be two."""
    wanted = plain_words(text)
    if target.key == "outcome" and wanted in YES_AND_NO:
        return None
    for stored, shown in choices_of(target).items():
        if wanted in (plain_words(stored), plain_words(shown), plain_words(_ENDING.sub("", shown))):
            return stored
    for stored, said in WORDS.get(target.field, {}).items():
        if wanted in (one.strip() for one in said.split(",")):
            return stored
    return None
