"""A panel's face from the front, to scale, with its hits.

One scale serves both ways, so a hand's breadth is a hand's breadth up and across, and a tap can be turned back into
metres. Panel places are metres from the middle of its width and height: x to the right, y up, as seen from the front.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.panel_labels import Marked, anchors_beside
from server.charts.panel_outline import OUTLINES, Outline
from server.charts.panel_words import Here, Hit, hit_words, panel_words, rung_text, where_text
from server.charts.scale import nice_length, number_text
from server.charts.text_room import Box, text_box

WIDTH = 328.0
MARGIN_SIDE = 32.0
MARGIN_TOP = 14.0
MARGIN_BOTTOM = 36.0
HIGHEST_SHEET = 420.0
TILE = 22.0
TILE_LEAST = 10.0
TEXT = 13.5
HERE_TEXT = 17.0


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

    def to_panel(self, x: float, y: float) -> tuple[float, float]:
        return (x - self.middle_x) / self.units_per_m, (self.middle_y - y) / self.units_per_m


@dataclass(frozen=True)
class Tile:
    x: float
    y: float
    size: float
    rung: int | None


@dataclass(frozen=True)
class DrawnHit:
    """Tiles stand on the true spot. `dashed`: one of several rungs, or not read yet."""

    order: int
    label: str
    href: str
    tiles: tuple[Tile, ...]
    dashed: bool
    text: str
    text_x: float
    text_y: float
    anchor: str
    clear: bool
    off_panel: bool
    words: str
    clipped: bool = False


@dataclass(frozen=True)
class DrawnSpot:
    label: str
    x: float
    y: float
    radius: float


@dataclass(frozen=True)
class DrawnHere:
    label: str
    path: str
    x: float
    y: float
    text_x: float
    text_y: float
    anchor: str

    def boxes(self) -> tuple[Box, ...]:
        """What the hits' words keep off: the cross's two bars and its own word."""
        x, y = self.x, self.y
        word = text_box(self.label, self.text_x, self.text_y, size=HERE_TEXT, anchor=self.anchor, bold=True)
        return (Box(x - 22, y - 2, x + 22, y + 2), Box(x - 2, y - 22, x + 2, y + 22), word)


@dataclass(frozen=True)
class PanelDrawing:
    plan: PanelPlan
    width: float
    height: float
    outline: str
    folds: str
    rivets: tuple[tuple[float, float], ...]
    rivet_radius: float
    aim_spots: tuple[DrawnSpot, ...]
    scale_bar: str
    scale_text: str
    scale_text_x: float
    scale_text_y: float
    hits: tuple[DrawnHit, ...]
    here: DrawnHere | None
    title: str
    words: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def panel_plan(width_m: float, height_m: float) -> PanelPlan:
    """Fits the panel into the picture's width, or into the greatest height when it is tall and narrow."""
    for name, size in (("width_m", width_m), ("height_m", height_m)):
        if not (math.isfinite(size) and size > 0):
            raise ValueError(f"{name} must be above 0, not {size}")
    units = min((WIDTH - 2 * MARGIN_SIDE) / width_m, HIGHEST_SHEET / height_m)
    sheet = height_m * units
    middle_y = MARGIN_TOP + sheet / 2
    return PanelPlan(width_m, height_m, units, WIDTH / 2, middle_y, WIDTH, round(MARGIN_TOP + sheet + MARGIN_BOTTOM, 1))


def draw_panel(
    name: str,
    outline: str,
    *,
    width_m: float,
    height_m: float,
    rung_words: Sequence[str],
    features: Features = Features(),
    hits: Sequence[Hit] = (),
    here: Here | None = None,
) -> PanelDrawing:
    """The whole picture. Outline is "breastplate", "rectangle" or "disc"; `rung_words` are the six rungs', 0 first."""
    if outline not in OUTLINES:
        raise ValueError(f"no outline {outline!r}: there are {', '.join(OUTLINES)}")
    shape = OUTLINES[outline]
    plan = panel_plan(width_m, height_m)
    ordered = sorted(hits, key=lambda hit: hit.order)
    bar_mm, bar_path, bar_left, bar_y = _scale_bar(plan)
    rivets = tuple(_rounded(plan.to_view(*rivet)) for rivet in features.rivets)
    around_here = _drawn_here(here, plan) if here is not None else None
    spots = tuple(
        DrawnSpot(spot.label, *_rounded(plan.to_view(spot.x_m, spot.y_m)), 9.0) for spot in features.aim_spots
    )
    soft = [*(_square(x, y, 4.0) for x, y in rivets), *(_square(spot.x, spot.y, spot.radius) for spot in spots)]
    hard = around_here.boxes() if around_here is not None else ()
    drawn = _drawn_hits(ordered, plan, shape, rung_words=rung_words, hard=hard, soft=soft)
    return PanelDrawing(
        plan=plan,
        width=plan.view_width,
        height=plan.view_height,
        outline=_path(shape, plan),
        folds=_folds(shape, plan, features),
        rivets=rivets,
        rivet_radius=4.0,
        aim_spots=spots,
        scale_bar=bar_path,
        scale_text=f"{bar_mm}\N{NO-BREAK SPACE}mm",
        scale_text_x=bar_left - 8.0,
        scale_text_y=bar_y + 5.0,
        hits=drawn,
        here=around_here,
        title=f"{name}, from the front",
        words=panel_words(ordered, here, rung_words=rung_words),
        columns=("Order", "Shot", "Where", "Rung"),
        rows=tuple(
            (str(hit.order), hit.label, where_text(hit.x_m, hit.y_m), rung_text(hit, rung_words)) for hit in ordered
        ),
    )


def _rounded(place: tuple[float, float]) -> tuple[float, float]:
    return round(place[0], 1), round(place[1], 1)


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
        pieces.append(
            f"M{_at(plan, 0.0, 0.49)}C{_at(plan, -0.015, 0.17)} {_at(plan, -0.015, -0.17)} {_at(plan, 0.0, -0.49)}"
        )
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


def _scale_bar(plan: PanelPlan) -> tuple[str, str, float, float]:
    length_mm = nice_length(1000 * 0.32 * (WIDTH - 2 * MARGIN_SIDE) / plan.units_per_m)
    long = length_mm / 1000 * plan.units_per_m
    right, y = WIDTH - 18.0, plan.view_height - 16.0
    left = round(right - long, 1)
    path = f"M{left} {y:.1f}h{long:.1f}M{left} {y - 5:.1f}v10M{left + long:.1f} {y - 5:.1f}v10"
    return number_text(length_mm, 0 if length_mm >= 1 else 2), path, left, round(y, 1)


def _square(x: float, y: float, half: float) -> Box:
    return Box(x - half, y - half, x + half, y + half)


def _drawn_hits(
    hits: Sequence[Hit],
    plan: PanelPlan,
    shape: Outline,
    *,
    rung_words: Sequence[str],
    hard: Sequence[Box],
    soft: Sequence[Box],
) -> tuple[DrawnHit, ...]:
    placed = [hit for hit in hits if hit.x_m is not None and hit.y_m is not None]
    spots = [_inside(plan.to_view(hit.x_m or 0.0, hit.y_m or 0.0), plan) for hit in placed]
    tiles = [_tiles(hit, spots, place) for place, hit in enumerate(placed)]
    marked = [Marked(f"{hit.order} {hit.label}", _box(tile)) for hit, tile in zip(placed, tiles, strict=True)]
    room = Box(2.0, 2.0, plan.view_width - 2.0, plan.view_height - MARGIN_BOTTOM + 4.0)
    anchors = anchors_beside(marked, room, size=TEXT, hard=hard, soft=soft)
    drawn = []
    for hit, tile, mark, anchor in zip(placed, tiles, marked, anchors, strict=True):
        off = not shape.holds((hit.x_m or 0.0) / plan.width_m, (hit.y_m or 0.0) / plan.height_m)
        drawn.append(
            DrawnHit(
                order=hit.order,
                label=hit.label,
                href=hit.href,
                tiles=tile,
                dashed=hit.rung_low is None or hit.rung_low != hit.rung_high,
                text=mark.text,
                text_x=anchor.x,
                text_y=anchor.y,
                anchor=anchor.anchor,
                clear=anchor.clear,
                off_panel=off,
                words=hit_words(hit, rung_words) + (", beside the panel" if off else ""),
                clipped=hit.clipped,
            )
        )
    return tuple(drawn)


def _inside(place: tuple[float, float], plan: PanelPlan) -> tuple[float, float]:
    """A hit far beside the panel is drawn at the picture's rim; its words still say where it was."""
    half = TILE / 2 + 2.0
    x = min(max(place[0], half), plan.view_width - half)
    return x, min(max(place[1], half), plan.view_height - MARGIN_BOTTOM)


def _tiles(hit: Hit, spots: Sequence[tuple[float, float]], place: int) -> tuple[Tile, ...]:
    """The tile shrinks where hits lie close, rather than move: the spot is the fact, the tile only shows it."""
    x, y = spots[place]
    near = min((max(abs(x - a), abs(y - b)) for n, (a, b) in enumerate(spots) if n != place), default=math.inf)
    size = round(min(TILE, max(TILE_LEAST, near - 1.0)), 1)
    if hit.rung_low is None or hit.rung_high is None:
        rungs: tuple[int | None, ...] = (None,)
    else:
        rungs = tuple(range(hit.rung_low, hit.rung_high + 1))
    left = x - size * len(rungs) / 2
    return tuple(Tile(round(left + n * size, 1), round(y - size / 2, 1), size, rung) for n, rung in enumerate(rungs))


def _box(tiles: Sequence[Tile]) -> Box:
    first, last = tiles[0], tiles[-1]
    return Box(first.x, first.y, last.x + last.size, last.y + last.size)


def _drawn_here(here: Here, plan: PanelPlan) -> DrawnHere:
    x, y = _rounded(_inside(plan.to_view(here.x_m, here.y_m), plan))
    path = f"M{x - 22:.1f} {y}h17M{x + 5:.1f} {y}h17M{x} {y - 22:.1f}v17M{x} {y + 5:.1f}v17"
    right = x + 60.0 < plan.view_width
    return DrawnHere(
        here.label, path, x, y, round(x + (9 if right else -9), 1), round(y - 9, 1), "start" if right else "end"
    )
