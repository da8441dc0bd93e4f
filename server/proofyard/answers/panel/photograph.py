"""A panel's photo brought onto its drawing: four corners and a measured frame say how the camera stood.

A flat face seen by a camera from anywhere is a projection of itself; four points with known places fix it, so every
other point of the flat face can be put where it belongs. What bulges towards the camera, a ridge or a rolled edge,
stays out of place by as much as it stands off the frame's plane.

Source
    R. Hartley, A. Zisserman, Multiple View Geometry in Computer Vision, 2nd ed. 2004, section 4.1 (from memory):
    eight equations, two a point, for the eight unknowns of the projection.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from proofyard.charts.panel_drawing import PanelPlan
from proofyard.records.corners import Corners, read
from proofyard.records.panel import Panel, PanelFace
from proofyard.records.photo import Photo
from proofyard.records.photo_facts import PhotoFact

LONG_SIDE = 1400  # points along the longer side of what is drawn
MARGIN = 0.06  # of the longer side, so that the panel's rim and what lies beside it can be seen

Point = tuple[float, float]


@dataclass(frozen=True)
class Area:
    """What of the panel's plane is drawn: metres from the panel's middle, and points of the photo made of it."""

    left_m: float
    top_m: float
    width_m: float
    height_m: float
    width: int
    height: int

    def place(self, x_m: float, y_m: float) -> Point:
        """Where a place on the panel lies in the photo."""
        return (x_m - self.left_m) * self.width / self.width_m, (self.top_m - y_m) * self.height / self.height_m


@dataclass(frozen=True)
class Photograph:
    """A straightened photo on a panel's drawing: its address, and where it lies in the drawing's own units."""

    photo_id: str
    href: str
    x: float
    y: float
    width: float
    height: float


def projection(points: Sequence[Point], onto: Sequence[Point]) -> tuple[float, ...]:
    """The eight numbers a to h that bring four points onto four others.

    x' = (a x + b y + c) / (g x + h y + 1),  y' = (d x + e y + f) / (g x + h y + 1)

    Refuses
        ValueError  three of the points in a line, so that nothing follows from them
    """
    rows, right = [], []
    for (x, y), (u, v) in zip(points, onto, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    try:
        found = np.linalg.solve(np.array(rows, float), np.array(right, float))
    except np.linalg.LinAlgError as error:
        raise ValueError("three of the four corners lie in a line") from error
    return tuple(float(one) for one in found)


def area_of(panel: Panel) -> Area | None:
    """The panel with a rim around it; None while its size is not in the book."""
    return area_of_size(panel.width_m, panel.height_m) if panel.width_m and panel.height_m else None


def area_of_size(width_m: float, height_m: float) -> Area:
    rim = MARGIN * max(width_m, height_m)
    wide, high = width_m + 2 * rim, height_m + 2 * rim
    a_metre = LONG_SIDE / max(wide, high)
    return Area(-wide / 2, high / 2, wide, high, max(1, round(wide * a_metre)), max(1, round(high * a_metre)))


def frame_places(face: PanelFace) -> tuple[Point, ...] | None:
    """Where the four corners lie on the panel, in metres from its middle; None while their distances are not given."""
    if not face.scale_m or not face.height_m:
        return None
    x, y, half, up = face.middle_x_m or 0.0, face.middle_y_m or 0.0, face.scale_m / 2, face.height_m / 2
    return (x - half, y + up), (x + half, y + up), (x + half, y - up), (x - half, y - up)


def straightening(face: PanelFace, photo: Photo, *, area: Area) -> tuple[float, ...] | None:
    """From a point of the straightened photo to the point of the photo that belongs there."""
    corners: Corners | None = read(face.corners or "")
    places = frame_places(face)
    if corners is None or places is None:
        return None
    on_photograph = [(x * photo.width, y * photo.height) for x, y in corners]
    return projection([area.place(*one) for one in places], on_photograph)


def on_the_drawing(facts: Sequence[PhotoFact], plan: PanelPlan | None) -> Photograph | None:
    """The newest photo of a panel's front that was given corners, where it lies on the drawing.

    A back is left away, since hits are told from the front.
    """
    fronts = [f for f in facts if f.face is not None and f.face.side == "front" and frame_places(f.face) is not None]
    if plan is None or not fronts:
        return None
    photo, face = fronts[-1].photo, fronts[-1].face
    area = area_of_size(plan.width_m, plan.height_m)
    x, y = plan.to_view(area.left_m, area.top_m)
    return Photograph(
        photo.id,
        f"/photos/{photo.id}/straight?rev={face.rev if face else 0}",
        round(x, 2),
        round(y, 2),
        round(area.width_m * plan.units_per_m, 2),
        round(area.height_m * plan.units_per_m, 2),
    )
