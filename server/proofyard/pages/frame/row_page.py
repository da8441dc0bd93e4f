"""One row looked at again: corrected, left out with a reason and taken back, crossed out; and what it said before."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proofyard.access.seats import ArcherSeat, TheBook
from proofyard.pages.frame.form_page import Asked, Block, Form, draw, form_routes, why_field
from proofyard.pages.frame.forms import FieldState, FormField, Options, Posted, Wrong
from proofyard.records.columns import Noun
from proofyard.records.ids import new_id
from proofyard.records.notebook import revisions_of
from proofyard.wording.revisions import Told, told

# Two forms stand on this page, so the second one's fields are told apart.
VOID = "void-"


@dataclass(frozen=True)
class RowOwn:
    """Beside the form that corrects: the form that crosses out, and what the row said before.

    elsewhere   address and words: where it is better put right
    """

    voided: bool
    void_operation: str
    void_field: FormField
    revisions: Sequence[Told]
    elsewhere: tuple[str, str] | None


@dataclass(frozen=True)
class Row:
    """What a page says of its row; `linked`: id -> what the records are called that its history names."""

    row: Noun
    names: Sequence[str]
    heading: str
    lead: str
    address: str
    back: str
    options: Options
    linked: Mapping[str, str]
    fixed: Mapping[str, str] = field(default_factory=dict)
    elsewhere: tuple[str, str] | None = None


def row_routes(router: APIRouter, path: str) -> Callable[[Callable[..., Row]], Callable[..., Row]]:
    """GET shows the row that the function describes, POST corrects it, POST PATH/cross-out crosses it out or restores it."""

    def add(describe: Callable[..., Row]) -> Callable[..., Row]:
        @form_routes(router, path)
        def correct(asked: Asked, **places: str) -> Form:
            return _form(asked, describe(asked, **places), FieldState())

        @router.post(f"{path}/cross-out", response_class=HTMLResponse)
        def void(request: Request, seat: ArcherSeat, book: TheBook, form: Posted) -> Response:
            asked = Asked(request, seat, book, form)
            row = describe(asked, **request.path_params)
            said = asked.crossed_out(str(row.row.__tablename__), row.row.id, name=f"{VOID}reason")
            return draw(asked, _form(Asked(request, seat, book), row, said)) if said.error else RedirectResponse(row.back, 303)

        return describe

    return add


def _form(asked: Asked, row: Row, void: FieldState) -> Form:
    block = Block(table=type(row.row), names=row.names, row=row.row, options=row.options, fixed=row.fixed)
    with asked.book.read() as session:
        revisions = told(revisions_of(session, block.noun, row.row.id), row.linked, asked.reader)
    box = replace(why_field(f"{VOID}reason", hint="A few words, for example: typed twice."), state=void)
    own = RowOwn(row.row.voided_rev is not None, new_id(), box, revisions, row.elsewhere)
    return Form(
        heading=row.heading,
        lead=row.lead,
        back=row.back,
        blocks=[block],
        action=row.address,
        template="kit/row.html",
        why=why_field(),
        at="main",
        own=lambda sent: own,
        also=lambda sent: [Wrong(box.name, box.label, void.error)] if void.error else [],
    )
