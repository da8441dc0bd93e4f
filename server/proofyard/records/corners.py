"""The four corners that straighten a photo, as text: percent from the photo's left and from its top."""

import math

from proofyard.records.typed_values import Problem

NAMES = ("top left", "top right", "bottom right", "bottom left")
# A corner may lie beside the photo a little: the plate's own corner may be cut off.
LEAST, MOST = -50.0, 150.0

Corners = tuple[tuple[float, float], ...]


def read(text: str) -> Corners | None:
    """Four places, each a share of the photo's width and height; None if the text is no such thing.

    >>> read("10,20 90,20 90,80 10,80")
    ((0.1, 0.2), (0.9, 0.2), (0.9, 0.8), (0.1, 0.8))
    """
    pairs = text.split()
    if len(pairs) != 4:
        return None
    places = []
    for pair in pairs:
        try:
            x, y = (float(part) for part in pair.split(","))
        except ValueError:
            return None
        if not (LEAST <= x <= MOST and LEAST <= y <= MOST):  # a number that is none fails here too
            return None
        places.append((x / 100, y / 100))
    return tuple(places)


def text_of(numbers: list[float]) -> str:
    """Eight numbers, left and top of each corner in turn, as the text that is kept."""
    return " ".join(f"{x:g},{y:g}" for x, y in zip(numbers[::2], numbers[1::2], strict=True))


def problems(text: str) -> list[Problem]:
    """Why these four can't straighten a photo; nothing if they can."""
    places = read(text)
    if places is None:
        return [
            Problem("corners", f"“{text[:60]}” is not four corners. Type percent from left and top, for example 10,20 90,20 90,80 10,80.")
        ]
    for nth in range(4):
        if _turn(places[nth], places[(nth + 1) % 4], places[(nth + 2) % 4]) < 1e-4:
            return [
                Problem(
                    "corners",
                    "In this order the four make no frame. Give top left, top right, bottom right, bottom left, as the photo shows them.",
                )
            ]
    return []


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    """Twice the area of a, b, c; above 0 where they go round as a clock does (a photo's second axis points down)."""
    area = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
    return area if math.isfinite(area) else 0.0
