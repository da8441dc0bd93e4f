"""A panel's photograph brought onto its drawing: four corners and a measured frame say how the camera stood.

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

from server.charts.panel_drawing import PanelPlan, panel_plan
from server.records.corners import Corners, read
from server.records.panel import Panel, PanelFace
from server.records.picture import Picture
from server.records.picture_facts import faces_of
from server.records.trial_days import panels_of
from server.storage import Session

LONG_SIDE = 1400  # points along the longer side of what is drawn
MARGIN = 0.06  # of the longer side, so that the panel's rim and what lies beside it can be seen

Point = tuple[float, float]


@dataclass(frozen=True)
class Area:
    """What of the panel's plane is drawn: metres from the panel's middle, and points of the picture made of it."""

    left_m: float
    top_m: float
    width_m: float
    height_m: float
    width: int
    height: int

    def place(self, x_m: float, y_m: float) -> Point:
        """Where a place on the panel lies in the picture."""
        return (x_m - self.left_m) * self.width / self.width_m, (self.top_m - y_m) * self.height / self.height_m


@dataclass(frozen=True)
class Photograph:
    """A straightened photograph on a panel's drawing: its address, and where it lies in the drawing's own units."""

    picture_id: str
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
    if not panel.width_m or not panel.height_m:
        return None
    rim = MARGIN * max(panel.width_m, panel.height_m)
    wide, high = panel.width_m + 2 * rim, panel.height_m + 2 * rim
    a_metre = LONG_SIDE / max(wide, high)
    return Area(-wide / 2, high / 2, wide, high, max(1, round(wide * a_metre)), max(1, round(high * a_metre)))


def frame_places(face: PanelFace) -> tuple[Point, ...] | None:
    """Where the four corners lie on the panel, in metres from its middle; None while their distances are not given."""
    if not face.scale_m or not face.height_m:
        return None
    x, y, half, up = face.middle_x_m or 0.0, face.middle_y_m or 0.0, face.scale_m / 2, face.height_m / 2
    return (x - half, y + up), (x + half, y + up), (x + half, y - up), (x - half, y - up)


def straightening(face: PanelFace, picture: Picture, *, area: Area) -> tuple[float, ...] | None:
    """From a point of the straightened picture to the point of the photograph that belongs there."""
    corners: Corners | None = read(face.corners or "")
    places = frame_places(face)
    if corners is None or places is None:
        return None
    on_photograph = [(x * picture.width, y * picture.height) for x, y in corners]
    return projection([area.place(*one) for one in places], on_photograph)


def on_the_drawing(face: PanelFace, picture: Picture, *, panel: Panel) -> Photograph | None:
    """Where the photograph lies on the panel's drawing; None for a back, since hits are told from the front."""
    area = area_of(panel)
    if area is None or face.side != "front" or frame_places(face) is None or not panel.width_m or not panel.height_m:
        return None
    plan: PanelPlan = panel_plan(panel.width_m, panel.height_m)
    x, y = plan.to_view(area.left_m, area.top_m)
    return Photograph(
        picture.id, f"/pictures/{picture.id}/straight?rev={face.rev}", round(x, 2), round(y, 2), round(area.width_m * plan.units_per_m, 2),
        round(area.height_m * plan.units_per_m, 2),
    )  # fmt: skip


def photograph_of(session: Session, build_id: str) -> Photograph | None:
    """The newest photograph of a build's front that was given corners: two statements."""
    faces = [one for one in faces_of(session, build_id) if one.face.side == "front"]
    panels = panels_of(session, build_id) if faces else []
    return on_the_drawing(faces[0].face, faces[0].picture, panel=panels[0][1]) if panels else None
