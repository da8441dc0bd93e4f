"""The hits on a panel, and the same in words: for who can't see the drawing, and for who would rather read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.figure import many
from proofyard.charts.outcome_words import Hit
from proofyard.quantities import hand_length, unit_for_reader


@dataclass(frozen=True)
class Here:
    """The spot that is being placed now."""

    label: str
    x_m: float
    y_m: float


def where_text(x_m: float | None, y_m: float | None, reader: str = "metric") -> str:
    """ "52 mm right, 42 mm up" from the middle, in whole millimetres or tenths of an inch: a finger is no finer."""
    if x_m is None or y_m is None:
        return "place not known"
    least = 0.0005 if unit_for_reader("length", reader) == "mm" else 0.00127
    sides = ((x_m, "right", "left"), (y_m, "up", "down"))
    parts = [f"{hand_length(abs(at), reader)} {more if at > 0 else less}" for at, more, less in sides if abs(at) >= least]
    return ", ".join(parts).replace("\N{NO-BREAK SPACE}", " ") or "in the middle"


def hit_words(hit: Hit, outcome_words: Sequence[str], reader: str) -> str:
    return f"{hit.order} {hit.label}: {hit.outcome(outcome_words)}, {where_text(hit.x_m, hit.y_m, reader)}"


def panel_words(hits: Sequence[Hit], here: Here | None, *, outcome_words: Sequence[str], reader: str = "metric", crowd: str = "") -> str:
    """crowd: what is said of hits that are too many to be told one by one."""
    if crowd:
        said = crowd
    elif not hits:
        said = "No hits yet."
    else:
        order = ", in order" if len(hits) > 1 else ""
        said = (
            f"{many(len(hits), 'hit')}{order}, from the middle. " + "; ".join(hit_words(hit, outcome_words, reader) for hit in hits) + "."
        )
    if here is not None:
        said += f" {here.label} is marked {where_text(here.x_m, here.y_m, reader)}."
    return said
