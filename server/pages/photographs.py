"""A panel's photograph: its four corners, by numbers or by taps, and the straightened picture that hits stand on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, ScopedViewerSeat, TheBook
from server.exchange.picture_files import PictureFolder
from server.exchange.straighten import straightened
from server.findings.panel_hits import build_words
from server.findings.photograph import area_of, straightening
from server.pages.forms import (
    FormField,
    FormOperations,
    body_of,
    form_fields,
    nth_id,
    operation_id,
    shown_body,
)
from server.pages.pictures import picture_answer, seen_picture
from server.pages.posted import Posted, base_rev
from server.pages.rendering import frame_for, html
from server.pages.shapes import FieldState, Wrong
from server.records import corners
from server.records.ids import new_id
from server.records.listing import belonging, one
from server.records.panel import Panel, PanelBuild, PanelFace
from server.records.picture import Picture
from server.records.typed_values import Problem
from server.storage import Session, Storage

router = APIRouter()

FIELDS = ("side", "scale", "height", "middle_x", "middle_y")
BOXES = tuple(f"{name.replace(' ', '-')}-{axis}" for name in corners.NAMES for axis in ("x", "y"))
LINES = tuple(range(10, 100, 10))


@dataclass(frozen=True)
class Box:
    """One of the eight boxes."""

    name: str
    label: str
    state: FieldState


@dataclass(frozen=True)
class CornersPage:
    """outline: the four as they stand, as an SVG's points in percent of the width; high: the picture's height in those."""

    picture_id: str
    build_id: str
    panel: str
    high: float
    outline: str
    boxes: Sequence[Box]
    fields: Sequence[FormField]
    lines: Sequence[int]
    operation: str
    base_rev: int
    size_known: bool
    errors: Sequence[Wrong]


@dataclass(frozen=True)
class _Where:
    build: PanelBuild
    panel: Panel
    picture: Picture
    face: PanelFace | None


def _where(session: Session, build_id: str, picture_id: str) -> _Where:
    picture, build = one(session, Picture, picture_id), one(session, PanelBuild, build_id)
    panel = one(session, Panel, build.panel_id) if build else None
    if picture is None or build is None or panel is None or (picture.noun, picture.record_id) != ("panel_build", build_id):
        raise HTTPException(404, "This panel has no such picture.")
    return _Where(build, panel, picture, next(iter(belonging(session, PanelFace, "picture_id", picture_id)), None))


@router.get("/panels/{build_id}/photograph/{picture_id}", response_class=HTMLResponse)
def set_corners(request: Request, seat: ArcherSeat, book: TheBook, build_id: str, picture_id: str) -> Response:
    with book.read() as session:
        where = _where(session, build_id, picture_id)
    boxes = dict(zip(BOXES, _numbers(where.face), strict=True)) if where.face and where.face.corners else {}
    typed = shown_body(where.face) if where.face else {"side": "front", **_panel_size(where.panel)}
    return _page(request, where, boxes, typed)


def _numbers(face: PanelFace) -> list[str]:
    return [part for pair in (face.corners or "").split() for part in pair.split(",")]


def _panel_size(panel: Panel) -> dict[str, str]:
    """The corners are most often the panel's own, so its size is proposed."""
    shown = shown_body(panel)
    return {"scale": str(shown["width"]), "height": str(shown["height"])}


def _page(request: Request, where: _Where, boxes: Mapping[str, str], typed: Mapping[str, Any], *, problems: Sequence[Problem] = ()) -> Response:
    by_field = {problem.field: problem.sentence for problem in problems}
    fields = form_fields(PanelFace, FIELDS, typed=typed, problems=problems)
    labels = {name: f"{corner}, from the {side}" for corner, sides in _corners() for name, side in sides}
    states = [Box(name, labels[name], FieldState(boxes.get(name, ""), error=by_field.get(name, ""))) for name in BOXES]
    errors = [Wrong(box.name, box.label.capitalize(), box.state.error) for box in states if box.state.error]
    errors += [Wrong(BOXES[0], "The four corners", by_field["corners"])] if "corners" in by_field else []
    errors += [Wrong(one.name, one.label, one.state.error) for one in fields if one.state.error]
    known = {box.name for box in states} | {one.name for one in fields} | {"corners"}
    errors += [Wrong("main", "This photograph", problem.sentence) for problem in problems if problem.field not in known]
    page = CornersPage(
        picture_id=where.picture.id, build_id=where.build.id, panel=build_words(where.panel, where.build), high=_high(where.picture),
        outline=_outline(boxes, where.picture), boxes=states, fields=fields, lines=LINES, operation=new_id(), base_rev=where.face.rev if where.face else 0,
        size_known=area_of(where.panel) is not None, errors=errors,
    )  # fmt: skip
    frame = frame_for(request, title=f"Photograph of {page.panel}", nav="kit", wrong=bool(errors))
    return html("pictures/corners.html", page, frame=frame, status=422 if errors else 200)


def _corners() -> list[tuple[str, tuple[tuple[str, str], tuple[str, str]]]]:
    return [(name, ((f"{name.replace(' ', '-')}-x", "left"), (f"{name.replace(' ', '-')}-y", "top"))) for name in corners.NAMES]


def _high(picture: Picture) -> float:
    return round(100 * picture.height / picture.width, 2)


def _outline(boxes: Mapping[str, str], picture: Picture) -> str:
    """The corners as points of a drawing that is 100 wide; nothing while one is missing or can't be read."""
    read = [_number(boxes.get(name, "")) for name in BOXES]
    numbers = [one for one in read if one is not None]
    if len(numbers) < len(BOXES):
        return ""
    high = _high(picture) / 100
    return " ".join(f"{x:g},{y * high:g}" for x, y in zip(numbers[::2], numbers[1::2], strict=True))


def _number(text: str) -> float | None:
    try:
        value = float(text.strip().removesuffix("%").strip().replace(",", ".").replace("−", "-"))
    except ValueError:
        return None
    return value if corners.LEAST <= value <= corners.MOST else None


@router.post("/panels/{build_id}/photograph/{picture_id}", response_class=HTMLResponse)
def take_corners(request: Request, seat: ArcherSeat, book: TheBook, build_id: str, picture_id: str, form: Posted) -> Response:
    with book.read() as session:
        where = _where(session, build_id, picture_id)
    boxes = {name: str(form.get(name, "")) for name in BOXES}
    body = body_of(form, PanelFace, FIELDS)
    problems = [
        Problem(name, f"“{text[:20]}” is not a share. Type percent, 0 to 100, for example 12.5." if text.strip() else "Type percent, for example 12.5.")
        for name, text in boxes.items()
        if _number(text) is None
    ]
    if problems:
        return _page(request, where, boxes, body, problems=problems)
    body |= {"panel_build": build_id, "picture": picture_id, "corners": corners.text_of([_number(boxes[name]) or 0.0 for name in BOXES])}
    operations = FormOperations(seat, operation_id(form))
    # One record a photograph: two who set its corners at once meet in it.
    face_id = where.face.id if where.face else nth_id(picture_id, 1)
    operations.put("panel_face", face_id, body, base_rev=base_rev(form))
    if refused := operations.try_to_save(book):
        return _page(request, where, boxes, body, problems=refused)
    return RedirectResponse(f"/panels/{build_id}#panel-photograph", 303)


@router.get("/pictures/{picture_id}/straight", include_in_schema=False)
def straight_picture(seat: ScopedViewerSeat, book: TheBook, picture_id: str) -> Response:
    picture = seen_picture(book, seat, picture_id)
    return picture_answer(_straight(book, picture), f"{picture_id}-straight")


def _straight(book: Storage, picture: Picture) -> bytes | None:
    with book.read() as session:
        face = next((f for f in belonging(session, PanelFace, "picture_id", picture.id) if f.corners), None)
        build = one(session, PanelBuild, face.panel_build_id) if face else None
        panel = one(session, Panel, build.panel_id) if build else None
    area = area_of(panel) if panel else None
    numbers = straightening(face, picture, area=area) if face and area else None
    if numbers is None or area is None:
        raise HTTPException(404, "This picture has no corners yet.")
    return straightened(PictureFolder(book.path.parent), picture.id, numbers=numbers, size=(area.width, area.height))
