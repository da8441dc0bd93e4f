"""The hits on a panel, and the same in words: for who can't see the drawing, and for who would rather read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Hit:
    """A hit as read: both rungs None while nobody has read it, or where it `clipped` the edge and has none; both places
    None while nobody knows where.
    """

    order: int
    label: str
    x_m: float | None
    y_m: float | None
    rung_low: int | None
    rung_high: int | None
    href: str = ""
    clipped: bool = False


@dataclass(frozen=True)
class Here:
    """The spot that is being placed now."""

    label: str
    x_m: float
    y_m: float


def where_text(x_m: float | None, y_m: float | None) -> str:
    """ "52 mm right, 42 mm up" from the middle, in whole millimetres: a finger is no finer."""
    if x_m is None or y_m is None:
        return "place not known"
    across, up = round(1000 * x_m), round(1000 * y_m)
    parts = []
    if across:
        parts.append(f"{abs(across)} mm {'right' if across > 0 else 'left'}")
    if up:
        parts.append(f"{abs(up)} mm {'up' if up > 0 else 'down'}")
    return ", ".join(parts) or "in the middle"


def rung_text(hit: Hit, rung_words: Sequence[str]) -> str:
    if hit.rung_low is None or hit.rung_high is None:
        return "clipped the edge, no rung" if hit.clipped else "not read yet"
    low, high = rung_words[hit.rung_low].lower(), rung_words[hit.rung_high].lower()
    if hit.rung_low == hit.rung_high:
        return low
    return f"{low} {'or' if hit.rung_high - hit.rung_low == 1 else 'to'} {high}"


def hit_words(hit: Hit, rung_words: Sequence[str]) -> str:
    return f"{hit.order} {hit.label}: {rung_text(hit, rung_words)}, {where_text(hit.x_m, hit.y_m)}"


def panel_words(hits: Sequence[Hit], here: Here | None, *, rung_words: Sequence[str]) -> str:
    if not hits:
        said = "No hits yet."
    else:
        many = "1 hit" if len(hits) == 1 else f"{len(hits)} hits, in order"
        said = f"{many}, from the middle. " + "; ".join(hit_words(hit, rung_words) for hit in hits) + "."
    if here is not None:
        said += f" {here.label} is marked {where_text(here.x_m, here.y_m)}."
    return said
