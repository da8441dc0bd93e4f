"""A bow build's page: stored energy, what arrows of different mass get of it, speeds to expect, how it stood on its days."""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proofyard.access.seats import ArcherSeat, TheBook, ViewerSeat
from proofyard.answers.bow.page import BowFound, bow_found
from proofyard.pages.charts.files import Sheet, drawn_file, parted
from proofyard.pages.frame.form_page import Asked, Block, Bodies, Form, FormPage, Sent, form_page, tried
from proofyard.pages.frame.forms import FormField, Posted, Problems, Wrong, controls_of, query_of, wrongs
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.pages.kit.parts import PASTED, add_points, pasted_field, pasted_points
from proofyard.records.bow import DrawPoint
from proofyard.records.typed_values import Problem
from proofyard.shots.bow_speeds import ArrowWithBow
from proofyard.views.address import PAGE, Amount, AskedPage, Free, Reading

router = APIRouter()

A_PAGE = 100  # arrows: a row of the table is half a kilobyte
NOTHING_TYPED = "Nothing was typed yet. A line each, for example 28 in 95 lbf."
ARCHER = Free(name="archer", label="Archer")
MASS = Amount(name="mass", label="Mass of an arrow not shot yet", kind="arrow_mass", warns=True)
LINES_HINT = "A line each, draw then force, for example 28 in 95 lbf. Where the string rests the force is 0."


@dataclass(frozen=True)
class ArrowsShown:
    """One page of the arrows in its table, lightest first. address: of another."""

    rows: Sequence[ArrowWithBow]
    page: int
    pages: int
    asked: AskedPage

    @classmethod
    def of(cls, every: Sequence[ArrowWithBow], asked: AskedPage) -> "ArrowsShown":
        pages = max(1, -(-len(every) // A_PAGE))
        page = min(asked.page, pages)
        return cls(every[(page - 1) * A_PAGE : page * A_PAGE], page, pages, asked)


@dataclass(frozen=True)
class BowPage:
    """A build, and its two forms: points pasted, the mass of an arrow not shot yet."""

    found: BowFound
    reader: str
    arrows: ArrowsShown
    points: FormPage
    mass: FormField
    errors: Sequence[Wrong]
    may_change: bool
    most: int = A_PAGE


def _found(asked: Asked, build_id: str, reading: Reading) -> BowFound:
    archer, mass = reading.one(ARCHER), reading.one(MASS)
    with asked.book.read() as session:
        found = bow_found(session, build_id, reader=asked.reader, archer_id=archer or None, mass_kg=mass)
    if found is None:
        raise HTTPException(404, "The book has no such bow build.")
    return found


def _page(asked: Asked, found: BowFound, reading: Reading, *, sent: Sent | None = None) -> HTMLResponse:
    arrows = ArrowsShown.of(found.speeds.arrows, AskedPage(page=reading.one(PAGE), **reading.as_typed()))
    mass = controls_of(arrows.asked)[MASS.name]
    points = form_page(asked, _points(asked, found), sent)
    errors = [*points.errors, *wrongs([mass])]
    shown = BowPage(found, asked.reader, arrows, points, mass, errors, asked.seat.at_least("archer"))
    frame = frame_for(asked.request, title=found.name, nav="kit", wrong=len(errors))
    return html("bow/page.html", shown, frame=frame, status=422 if errors else 200)


def _points(asked: Asked, found: BowFound) -> Form:
    """Many points at once: all of them, or none with every fault said by its line."""
    block = Block(table=DrawPoint, names=("instrument",), options={"instrument": found.tools_to_pick})
    pasted = str(asked.form.get(PASTED, ""))

    def check(_: Bodies) -> Problems:
        problems = pasted_points(pasted)[1] if pasted.strip() else [Problem(PASTED, NOTHING_TYPED)]
        return {block.key: problems} if problems else {}

    def arrange(fields: list[FormField], sent: Sent) -> list[FormField]:
        problems = [one for one in sent.problems.get(block.key, ()) if one.field == PASTED]
        return [pasted_field(pasted, problems, label="Force and draw, pasted", hint=LINES_HINT), *fields]

    return Form(
        blocks=[block],
        at="main",
        check=check,
        keep=lambda operations, bodies: add_points(operations, found.build.id, pasted, bodies[block.key]),
        arrange=arrange,
    )


@router.get("/bows/{bow_build_id}", response_class=HTMLResponse)
def bow(request: Request, seat: ViewerSeat, storage: TheBook, bow_build_id: str) -> Response:
    """`?archer=` whose arrows, `?mass=` of an arrow to say the speed of."""
    asked, reading = Asked(request, seat, storage), Reading(query_of(request))
    return _page(asked, _found(asked, bow_build_id, reading), reading)


@router.get("/bows/{bow_build_id}/drawings/{drawing}", response_class=Response)
def bow_drawing(request: Request, seat: ViewerSeat, storage: TheBook, bow_build_id: str, drawing: str) -> Response:
    """What the bow stores, or the speeds of its arrows, as a file."""
    name, ending = parted(drawing)
    found = _found(Asked(request, seat, storage), bow_build_id, Reading(query_of(request)))
    figure = {"force-draw": found.force_draw, "speeds": found.speed_by_mass}.get(name)
    return drawn_file(request, Sheet(figure) if figure else None, name, ending)


@router.post("/bows/{bow_build_id}/points", response_class=HTMLResponse)
def paste_points(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, bow_build_id: str) -> Response:
    asked, reading = Asked(request, seat, storage, form), Reading(query_of(request))
    found = _found(asked, bow_build_id, reading)
    sent = tried(asked, _points(asked, found))
    return _page(asked, found, reading, sent=sent) if sent.problems else RedirectResponse(f"/bows/{bow_build_id}", 303)
