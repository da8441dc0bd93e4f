"""A panel's photo: its four corners, by numbers or by taps, and the straightened photo that hits stand on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Response

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.panel.photograph import area_of, straightening
from proofyard.exchange.kept_photos import photos_of
from proofyard.exchange.straighten import straightened
from proofyard.pages.frame.form_page import WORDS, Asked, Block, Bodies, Form, Sent, form_routes
from proofyard.pages.frame.forms import FieldState, FormOperations, Wrong, base_rev, nth_id, shown_body
from proofyard.pages.photos.page import photo_answer, seen_photo
from proofyard.records import corners
from proofyard.records.listing import belonging, one
from proofyard.records.panel import Panel, PanelBuild, PanelFace
from proofyard.records.photo import Photo
from proofyard.records.typed_values import Problem
from proofyard.storage import Session, Storage
from proofyard.wording.panels import build_words

router = APIRouter()

FIELDS = ("side", "scale", "height", "middle_x", "middle_y")
SIDES = (("x", "left"), ("y", "top"))
LABELS = {f"{name.replace(' ', '-')}-{axis}": f"{name}, from the {side}" for name in corners.NAMES for axis, side in SIDES}
BOXES = tuple(LABELS)
LINES = tuple(range(10, 100, 10))


@dataclass(frozen=True)
class Box:
    """One of the eight boxes."""

    name: str
    label: str
    state: FieldState


@dataclass(frozen=True)
class CornersOwn:
    """outline: the four as they stand, as an SVG's points in percent of the width; high: the photo's height in those."""

    photo_id: str
    panel: str
    high: float
    outline: str
    boxes: Sequence[Box]
    lines: Sequence[int]
    size_known: bool


@dataclass(frozen=True)
class _Where:
    build: PanelBuild
    panel: Panel
    photo: Photo
    face: PanelFace | None


def _where(session: Session, build_id: str, photo_id: str) -> _Where:
    photo, build = one(session, Photo, photo_id), one(session, PanelBuild, build_id)
    panel = one(session, Panel, build.panel_id) if build else None
    if photo is None or build is None or panel is None or (photo.noun, photo.record_id) != ("panel_build", build_id):
        raise HTTPException(404, "This panel has no such photo.")
    return _Where(build, panel, photo, next(iter(belonging(session, PanelFace, "photo_id", photo_id)), None))


@form_routes(router, "/panels/{build_id}/photograph/{photo_id}")
def set_corners(asked: Asked, build_id: str, photo_id: str) -> Form:
    with asked.book.read() as session:
        where = _where(session, build_id, photo_id)
    face, panel = where.face, build_words(where.panel, where.build)
    block = Block(table=PanelFace, names=FIELDS, typed=shown_body(face) if face else {"side": "front", **_panel_size(where.panel)})
    boxes = {name: str(asked.form.get(name, "")) for name in BOXES}
    if asked.request.method != "POST" and face and face.corners:
        boxes = dict(zip(BOXES, _numbers(face), strict=True))

    def drawn(sent: Sent) -> list[Box]:
        by_field = {one.field: one.sentence for some in sent.problems.values() for one in some}
        return [Box(name, LABELS[name], FieldState(boxes[name], error=by_field.get(name, ""))) for name in BOXES]

    def own(sent: Sent) -> CornersOwn:
        size_known = area_of(where.panel) is not None
        return CornersOwn(photo_id, panel, _high(where.photo), _outline(boxes, where.photo), drawn(sent), LINES, size_known)

    def also(sent: Sent) -> list[Wrong]:
        whole = [one.sentence for some in sent.problems.values() for one in some if one.field == "corners"]
        return [
            *(Wrong(box.name, box.label.capitalize(), box.state.error) for box in drawn(sent) if box.state.error),
            *(Wrong(BOXES[0], "The four corners", sentence) for sentence in whole),
        ]

    def keep(operations: FormOperations, bodies: Bodies) -> None:
        places = corners.text_of([_number(boxes[name]) or 0.0 for name in BOXES])
        body = {**bodies[block.key], "panel_build": build_id, "photo": photo_id, "corners": places}
        # One record a photo: two who set its corners at once meet in it.
        operations.put("panel_face", face.id if face else nth_id(photo_id, 1), body, base_rev=base_rev(asked.form), of=block.key)

    return Form(
        heading=f"Photo of {panel}: four corners",
        lead="Find four corners of a frame that you have measured on the panel: its own corners, or four marks. "
        "Then say how far apart they are.",
        back=f"/panels/{build_id}",
        after=f"/panels/{build_id}#panel-photograph",
        blocks=[block],
        title=f"Photo of {panel}",
        template="photos/corners.html",
        classes=WORDS,
        unseen={"base_rev": str(base_rev(asked.form) if asked.request.method == "POST" else face.rev if face else 0)},
        label="This photo",
        at="main",
        own=own,
        also=also,
        check=lambda _: {block.key: problems} if (problems := _unread(boxes)) else {},
        keep=keep,
    )


def _unread(boxes: Mapping[str, str]) -> list[Problem]:
    return [
        Problem(
            name,
            f"“{text[:20]}” is not a share. Type percent, 0 to 100, for example 12.5."
            if text.strip()
            else "Type percent, for example 12.5.",
        )
        for name, text in boxes.items()
        if _number(text) is None
    ]


def _numbers(face: PanelFace) -> list[str]:
    return [part for pair in (face.corners or "").split() for part in pair.split(",")]


def _panel_size(panel: Panel) -> dict[str, str]:
    """The corners are most often the panel's own, so its size is proposed."""
    shown = shown_body(panel)
    return {"scale": str(shown["width"]), "height": str(shown["height"])}


def _high(photo: Photo) -> float:
    return round(100 * photo.height / photo.width, 2)


def _outline(boxes: Mapping[str, str], photo: Photo) -> str:
    """The corners as points of a drawing that is 100 wide; nothing while one is missing or can't be read."""
    read = [_number(boxes.get(name, "")) for name in BOXES]
    numbers = [one for one in read if one is not None]
    if len(numbers) < len(BOXES):
        return ""
    high = _high(photo) / 100
    return " ".join(f"{x:g},{y * high:g}" for x, y in zip(numbers[::2], numbers[1::2], strict=True))


def _number(text: str) -> float | None:
    try:
        value = float(text.strip().removesuffix("%").strip().replace(",", ".").replace("−", "-"))
    except ValueError:
        return None
    return value if corners.LEAST <= value <= corners.MOST else None


@router.get("/photos/{photo_id}/straight", include_in_schema=False)
def straight_photo(seat: ScopedViewerSeat, book: TheBook, photo_id: str) -> Response:
    photo = seen_photo(book, seat, photo_id)
    return photo_answer(lambda: _straight(book, photo), f"{photo_id}-straight")


def _straight(book: Storage, photo: Photo) -> bytes | None:
    with book.read() as session:
        face = next((f for f in belonging(session, PanelFace, "photo_id", photo.id) if f.corners), None)
        build = one(session, PanelBuild, face.panel_build_id) if face else None
        panel = one(session, Panel, build.panel_id) if build else None
    area = area_of(panel) if panel else None
    numbers = straightening(face, photo, area=area) if face and area else None
    if numbers is None or area is None:
        raise HTTPException(404, "This photo has no corners yet.")
    return straightened(photos_of(book), photo.id, numbers=numbers, size=(area.width, area.height))
