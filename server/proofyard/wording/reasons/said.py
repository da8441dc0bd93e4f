"""A reason in words: the only place where a code with parts becomes a sentence.

One table of sentences for each folder that gives reasons (`physics.py`, `statistics.py`, …), joined here. A sentence is either a
text with its parts in braces, or a function of its parts for what a text can't do: plurals, lists, the reader's units (then it takes
`reader` too). A reason within a reason comes to it already said. Numbers come in SI, as the part's name says.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from functools import cache
from string import Formatter
from types import MappingProxyType

from proofyard.quantities.reason import Part, Reason
from proofyard.wording import fairness
from proofyard.wording.reasons import (
    address,
    another_bow,
    arrow_damage,
    asked,
    blunt,
    bow,
    claims,
    claims_of_energies,
    compare,
    day,
    fifty_percent,
    film,
    found,
    impact,
    measures,
    pairs,
    photos,
    physics,
    planning,
    pool,
    protection,
    report,
    results,
    session,
    shot,
    shots,
    speed_tools,
    speeds,
    statistics,
    trial,
    trial_comparison,
    what_if,
)

Sentence = str | Callable[..., str]

# a folder's answers have a table of their own beside these: add it here.
_FOLDERS = (
    physics,
    statistics,
    shots,
    impact,
    fairness,
    compare,
    pairs,
    fifty_percent,
    protection,
    arrow_damage,
    measures,
    planning,
    pool,
    results,
    trial_comparison,
    blunt,
    bow,
    day,
    film,
    photos,
    session,
    shot,
    speed_tools,
    speeds,
    trial,
    claims,
    claims_of_energies,
    what_if,
    another_bow,
    address,
    asked,
    found,
    report,
)
TABLES: tuple[Mapping[str, Sentence], ...] = tuple(folder.SENTENCES for folder in _FOLDERS)
SENTENCES: Mapping[str, Sentence] = MappingProxyType({code: one for table in TABLES for code, one in table.items()})


def said(reason: Reason | None, reader: str = "metric") -> str:
    """The reason in words, as they stand in the table: mostly without a capital and a full stop, to follow "because". Empty for None."""
    if reason is None:
        return ""
    parts = {name: _said_part(part, reader) for name, part in reason.items}
    made = SENTENCES[reason.code]
    if isinstance(made, str):
        return made.format(**parts)
    return made(**parts, **({"reader": reader} if "reader" in _takes(made) else {}))


def sentence(reason: Reason | None, reader: str = "metric") -> str:
    """The reason as a sentence of its own: a capital first, a full stop last."""
    words = said(reason, reader)
    return f"{words[:1].upper()}{words[1:]}" + ("" if not words or words.endswith((".", "?")) else ".")


def parts_of(sentence: Sentence) -> frozenset[str]:
    """The names of the parts that a sentence takes."""
    if isinstance(sentence, str):
        return frozenset(name for _, name, _, _ in Formatter().parse(sentence) if name)
    return _takes(sentence) - {"reader"}


def _said_part(part: Part, reader: str) -> object:
    if isinstance(part, Reason):
        return said(part, reader)
    if isinstance(part, tuple):
        return tuple(_said_part(one, reader) for one in part)
    return part


@cache
def _takes(sentence: Callable[..., str]) -> frozenset[str]:
    return frozenset(inspect.signature(sentence).parameters)
