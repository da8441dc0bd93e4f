"""A panel's face from the front, to scale, with its hits.

One scale serves both ways, so a hand's breadth is a hand's breadth up and across, and a tap can be turned back into
metres. Panel places are metres from the middle of its width and height: x to the right, y up, as seen from the front.
More hits than can be seen are drawn by squares of the panel (panel_crowd.py).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.figure import TEXT, Circle, Figure, Glyph, Group, Mark, Path, Rect, Text, tenth
from proofyard.charts.outcome_words import Hit
from proofyard.charts.panel_crowd import PanelCrowd
from proofyard.charts.panel_labels import SPOT_RADIUS, Marked, words_beside, words_of_spots
from proofyard.charts.panel_outline import OUTLINES, Outline
from proofyard.charts.panel_words import Here, hit_words, panel_words, where_text
from proofyard.charts.scale import nice_length, number_text
from proofyard.charts.text_room import Box, text_box
from proofyard.quantities import from_si, to_si, unit_for_reader, with_unit

WIDTH = 328.0
MARGIN_SIDE = 32.0
MARGIN_TOP = 14.0
MARGIN_BOTTOM = 36.0
HIGHEST_SHEET = 420.0
TILE = 22.0
TILE_LEAST = 10.0
HERE_TEXT = 17.0
RIVET_RADIUS = 4.0

NO_LEVEL = {"partial": "clipped", "unread": "unread"}


@dataclass(frozen=True)
class AimSpot:
    label: str
    x_m: float
    y_m: float


@dataclass(frozen=True)
class Features:
    """What is drawn on the face besides the hits. Rows of plates are counted from the top."""

    ridge: bool = False
    rolled_edge: bool = False
    rivets: tuple[tuple[float, float], ...] = ()
    aim_spots: tuple[AimSpot, ...] = ()
    rows_of_plates: int = 0
    plates_a_row: int = 0


@dataclass(frozen=True)
class PanelPlan:
    """The one scale: millimetre-true, the same across and up."""

    width_m: float
    height_m: float
    units_per_m: float
    middle_x: float
    middle_y: float
    view_width: float
    view_height: float

    def to_view(self, x_m: float, y_m: float) -> tuple[float, float]:
        return self.middle_x + x_m * self.units_per_m, self.middle_y - y_m * self.units_per_m


@dataclass(frozen=True)
class Face:
    """A panel without its hits, in the drawing's places. `rivets`: x and y; `spots`: what each is called, x and y; `scale`: what
    the bar says, its path, and where its words end."""

    plan: PanelPlan
    outline: str
    folds: str
    rivets: tuple[tuple[float, float], ...]
    spots: tuple[tuple[str, float, float], ...]
    scale: tuple[str, str, float, float]


def panel_plan(width_m: float, height_m: float) -> PanelPlan:
    """Fits the panel into the drawing's width, or into the greatest height when it is tall and narrow."""
    for name, size in (("width_m", width_m), ("height_m", height_m)):
        if not (math.isfinite(size) and size > 0):
            raise ValueError(f"{name} must be above 0, not {size}")
    units = min((WIDTH - 2 * MARGIN_SIDE) / width_m, HIGHEST_SHEET / height_m)
    sheet = height_m * units
    middle_y = MARGIN_TOP + sheet / 2
    return PanelPlan(width_m, height_m, units, WIDTH / 2, middle_y, WIDTH, round(MARGIN_TOP + sheet + MARGIN_BOTTOM, 1))


def panel_face(outline: str, *, width_m: float, height_m: float, features: Features = Features(), reader: str = "metric") -> Face:
    """Outline is "breastplate", "rectangle" or "disc"."""
    if outline not in OUTLINES:
        raise ValueError(f"no outline {outline!r}: there are {', '.join(OUTLINES)}")
    shape, plan = OUTLINES[outline], panel_plan(width_m, height_m)
    return Face(
        plan,
        _path(shape, plan),
        _folds(shape, plan, features),
        tuple(_placed(plan, *rivet) for rivet in features.rivets),
        tuple((spot.label, *_placed(plan, spot.x_m, spot.y_m)) for spot in features.aim_spots),
        _scale_bar(plan, reader),
    )


def draw_panel(
    name: str,
    outline: str,
    *,
    width_m: float,
    height_m: float,
    outcome_words: Sequence[str],
    features: Features = Features(),
    hits: Sequence[Hit] = (),
    here: Here | None = None,
    reader: str = "metric",
) -> Figure:
    """The whole drawing. Outline as in panel_face; `outcome_words` are the six outcome levels', 0 first. `data` carries the one
    scale, so that a script can turn a tap back into metres."""
    face = panel_face(outline, width_m=width_m, height_m=height_m, features=features, reader=reader)
    plan = face.plan
    ordered = sorted(hits, key=lambda hit: hit.order)
    cross, around_here = _here(here, plan) if here is not None else ([], [])
    soft = [*(_square(x, y, RIVET_RADIUS) for x, y in face.rivets), *(_square(x, y, SPOT_RADIUS) for _, x, y in face.spots)]
    crowd = PanelCrowd.of(ordered, width_m=width_m, outcome_words=outcome_words, reader=reader)
    drawn, names = _hits_and_spots(
        [] if crowd else ordered, face, OUTLINES[outline], outcome_words=outcome_words, hard=around_here, soft=soft, reader=reader
    )
    told = panel_words(ordered, here, outcome_words=outcome_words, reader=reader, crowd=crowd.words() if crowd else "")
    if crowd:
        drawn = crowd.drawn(lambda x_m, y_m: _inside(plan.to_view(x_m, y_m), plan))
    bar_words, bar, bar_x, bar_y = face.scale
    return Figure(
        title=f"{name}, from the front",
        words=told,
        width=plan.view_width,
        height=plan.view_height,
        marks=(
            Path(face.outline, "panel__sheet"),
            *((Path(face.folds, "panel__fold"),) if face.folds else ()),
            *(Circle(x, y, RIVET_RADIUS, "panel__rivet") for x, y in face.rivets),
            *(Group((Circle(x, y, SPOT_RADIUS), name), "panel__aim") for (_, x, y), name in zip(face.spots, names, strict=True)),
            Path(bar, "panel__scale"),
            Text(bar_words, bar_x, bar_y, anchor="end"),
            *drawn,
            *cross,
        ),
        columns=("Hits", "Where", "Outcome level") if crowd else ("Order", "Shot", "Where", "Outcome level"),
        rows=tuple(crowd.rows())
        if crowd
        else tuple((str(hit.order), hit.label, where_text(hit.x_m, hit.y_m, reader), hit.outcome(outcome_words)) for hit in ordered),
        key=crowd.said if crowd else "",
        look="panel",
        data=(("units-per-m", plan.units_per_m), ("middle-x", plan.middle_x), ("middle-y", plan.middle_y)),
    )


def small_panel(
    name: str,
    outline: str,
    *,
    width_m: float,
    height_m: float,
    outcome_words: Sequence[str],
    hits: Sequence[Hit] = (),
    reader: str = "metric",
) -> Figure:
    """The panel as a sign of itself: its outline and a tile at each hit, without a word; it leads nowhere by itself."""
    face = panel_face(outline, width_m=width_m, height_m=height_m)
    plan = face.plan
    placed = [hit for hit in sorted(hits, key=lambda hit: hit.order) if hit.x_m is not None and hit.y_m is not None]
    spots = [_inside(plan.to_view(hit.x_m or 0.0, hit.y_m or 0.0), plan) for hit in placed]
    crowd = PanelCrowd.of(placed, width_m=width_m, outcome_words=outcome_words, reader=reader)
    tiles = (
        [mark for one in crowd.drawn(lambda x_m, y_m: _inside(plan.to_view(x_m, y_m), plan)) for mark in one.marks]
        if crowd
        else [mark for n, hit in enumerate(placed) for mark in _tiles(hit, spots, n)[0]]
    )
    return Figure(
        title=name,
        words=panel_words(placed, None, outcome_words=outcome_words, reader=reader, crowd=crowd.words() if crowd else ""),
        width=plan.view_width,
        height=round(plan.view_height - MARGIN_BOTTOM + MARGIN_TOP, 1),
        marks=(Path(face.outline, "panel__sheet"), *tiles),
        look="panel",
    )


def _placed(plan: PanelPlan, x_m: float, y_m: float) -> tuple[float, float]:
    x, y = plan.to_view(x_m, y_m)
    return tenth(x), tenth(y)


def _at(plan: PanelPlan, x_of_one: float, y_of_one: float) -> str:
    """A place on the sheet of one, as a path writes it."""
    x, y = plan.to_view(x_of_one * plan.width_m, y_of_one * plan.height_m)
    return f"{x:.1f} {y:.1f}"


def _path(shape: Outline, plan: PanelPlan) -> str:
    pieces = [f"M{_at(plan, *shape.curves[0][0])}"]
    pieces += ["C" + " ".join(_at(plan, *point) for point in curve[1:]) for curve in shape.curves]
    return "".join(pieces) + "z"


def _folds(shape: Outline, plan: PanelPlan, features: Features) -> str:
    """Ridge, rolled edge and rows of plates as one path of thin lines, each cut off at the outline."""
    pieces = []
    if features.rolled_edge:
        chord = shape.chord(0.455)
        if chord is not None:
            pieces.append(f"M{_at(plan, chord[0], 0.455)}L{_at(plan, chord[1], 0.455)}")
    if features.ridge:
        pieces.append(f"M{_at(plan, 0.0, 0.49)}C{_at(plan, -0.015, 0.17)} {_at(plan, -0.015, -0.17)} {_at(plan, 0.0, -0.49)}")
    rows = features.rows_of_plates
    for row in range(1, rows):
        y = 0.5 - row / rows
        chord = shape.chord(y)
        if chord is not None:
            pieces.append(f"M{_at(plan, chord[0], y)}L{_at(plan, chord[1], y)}")
    if rows and features.plates_a_row > 1:
        pieces += [_plate_edges(shape, plan, row, rows=rows, plates=features.plates_a_row) for row in range(rows)]
    return "".join(pieces)


def _plate_edges(shape: Outline, plan: PanelPlan, row: int, *, rows: int, plates: int) -> str:
    """Upright edges of one row's plates; every second row is set off by half a plate."""
    top, bottom = 0.5 - row / rows, 0.5 - (row + 1) / rows
    middle = (top + bottom) / 2
    edges = []
    for plate in range(plates + 1):
        x = -0.5 + (plate + (0.5 if row % 2 else 0.0)) / plates
        if -0.499 < x < 0.499 and shape.holds(x, middle):
            # 0.9 of the row: the edge ends where the row below covers it.
            edges.append(f"M{_at(plan, x, middle + 0.45 / rows)}L{_at(plan, x, middle - 0.45 / rows)}")
    return "".join(edges)


def _scale_bar(plan: PanelPlan, reader: str) -> tuple[str, str, float, float]:
    unit = unit_for_reader("length", reader)
    length = nice_length(from_si(0.32 * (WIDTH - 2 * MARGIN_SIDE) / plan.units_per_m, unit))
    long = to_si(length, unit) * plan.units_per_m
    right, y = WIDTH - 18.0, plan.view_height - 16.0
    left = tenth(right - long)
    path = f"M{left} {y:.1f}h{long:.1f}M{left} {y - 5:.1f}v10M{left + long:.1f} {y - 5:.1f}v10"
    return with_unit(number_text(length, 0 if length >= 1 else 2), unit), path, left - 8.0, tenth(y) + 5.0


def _square(x: float, y: float, half: float) -> Box:
    return Box(x - half, y - half, x + half, y + half)


def _hits_and_spots(
    hits: Sequence[Hit], face: Face, shape: Outline, *, outcome_words: Sequence[str], hard: Sequence[Box], soft: Sequence[Box], reader: str
) -> tuple[list[Group], list[Text]]:
    """Each hit with a place: its tiles on the true spot, and beside them its order and label; and the names of the spots to aim at,
    which keep off the tiles first and, where a hit's words had no other room, off those."""
    plan = face.plan
    placed = [(hit, hit.x_m, hit.y_m) for hit in hits if hit.x_m is not None and hit.y_m is not None]
    spots = [_inside(plan.to_view(x_m, y_m), plan) for _, x_m, y_m in placed]
    tiles = [_tiles(hit, spots, place) for place, (hit, _, _) in enumerate(placed)]
    marked = [Marked(f"{hit.order} {hit.label}", box) for (hit, _, _), (_, box) in zip(placed, tiles, strict=True)]
    room = Box(2.0, 2.0, plan.view_width - 2.0, plan.view_height - MARGIN_BOTTOM + 4.0)
    boxes = [one.mark for one in marked]
    names = [box for _, box in words_of_spots(face.spots, room, taken=[*boxes, *hard])]
    labels = words_beside(marked, room, hard=[*hard, *names], soft=soft, look="panel__label")
    said = [text_box(one.text, one.x, one.y, size=TEXT, anchor=one.anchor, bold=True) for one in labels]
    drawn = []
    for (hit, x_m, y_m), (marks, _), label in zip(placed, tiles, labels, strict=True):
        off = "" if shape.holds(x_m / plan.width_m, y_m / plan.height_m) else ", beside the panel"
        drawn.append(Group((*marks, label), words=hit_words(hit, outcome_words, reader) + off, href=hit.href))
    return drawn, [text for text, _ in words_of_spots(face.spots, room, taken=[*boxes, *said, *hard])]


def _inside(place: tuple[float, float], plan: PanelPlan) -> tuple[float, float]:
    """A hit far beside the panel is drawn at the drawing's rim; its words still say where it was."""
    half = TILE / 2 + 2.0
    x = min(max(place[0], half), plan.view_width - half)
    return x, min(max(place[1], half), plan.view_height - MARGIN_BOTTOM)


def _tiles(hit: Hit, spots: Sequence[tuple[float, float]], place: int) -> tuple[list[Group], Box]:
    """The tile shrinks where hits lie close, rather than move: the spot is the fact, the tile only shows it. Dashed: one of
    several outcome levels, or none."""
    x, y = spots[place]
    near = min((max(abs(x - a), abs(y - b)) for n, (a, b) in enumerate(spots) if n != place), default=math.inf)
    size = tenth(min(TILE, max(TILE_LEAST, near - 1.0)))
    looks = [(f"outcome--{level}", f"outcome-{level}") for level in hit.levels] or [(f"panel__{NO_LEVEL[hit.glyph]}", hit.glyph)]
    look = "panel__tile" if len(hit.levels) == 1 else "panel__tile panel__tile--open"
    left, top = tenth(x - size * len(looks) / 2), tenth(y - size / 2)
    marks = [
        Group((Rect(at, top, size, size, look), Glyph(glyph, at + 2, top + 2, size - 4, size - 4, "panel__glyph")), around)
        for (around, glyph), at in zip(looks, (left + n * size for n in range(len(looks))), strict=True)
    ]
    return marks, Box(left, top, left + size * len(looks), top + size)


def _here(here: Here, plan: PanelPlan) -> tuple[list[Mark], list[Box]]:
    """A cross around the spot with its word, and what the hits' words keep off: the cross's two bars and that word."""
    x, y = (tenth(one) for one in _inside(plan.to_view(here.x_m, here.y_m), plan))
    path = f"M{x - 22:.1f} {y}h17M{x + 5:.1f} {y}h17M{x} {y - 22:.1f}v17M{x} {y + 5:.1f}v17"
    right = x + 60.0 < plan.view_width
    word = Text(here.label, x + (9 if right else -9), y - 9, "panel__now", "start" if right else "end")
    box = text_box(here.label, word.x, word.y, size=HERE_TEXT, anchor=word.anchor, bold=True)
    return [Path(path, "panel__here"), word], [Box(x - 22, y - 2, x + 22, y + 2), Box(x - 2, y - 22, x + 2, y + 22), box]
