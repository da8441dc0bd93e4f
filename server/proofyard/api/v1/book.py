"""The book itself, and who asks: the first thing that a program looks at."""

from typing import Any

from fastapi import Request, Response
from pydantic import Field

from proofyard.access.problem import INTERFACE
from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.api.v1.asked import outside, query_of
from proofyard.api.v1.documented import routes, told
from proofyard.api.v1.shapes import Shape
from proofyard.api.v1.told import answered
from proofyard.records import devices, notebook
from proofyard.records.operations import OP_VERSION

router = routes("book")


class Book(Shape):
    """The book, and what this token may."""

    book_id: str = Field(description="Identifier of the book")
    epoch: str = Field(description="Another one after a backup was restored: ask everything again")
    change: int = Field(description="The number of the last change: as long as it stays, so does every answer")
    demo: bool = Field(description="Everything in it is invented")
    operation_form: int = Field(description="The form in which operations are sent: op_v")
    may_log: bool = Field(description="Whether this token may send operations")
    letter: str | None = Field(description="The letter with which labels of shots begin that this program logs")
    call_name: str = Field(description="What the owner calls this program")
    trial_id: str | None = Field(description="The one trial that may be seen; null: all")
    document: str = Field(description="Where this interface is described (OpenAPI)")


@router.get("", **told(Book, listed=False))
def the_book(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """The book, and what this token may

    Ask this first: it says whether the book has changed since.
    """

    def make() -> dict[str, Any]:
        query_of(request, known=(), paged=False)
        with book.read() as session:
            row = devices.the_book(session)
            seq = notebook.latest_seq(session)
        assert row is not None
        return {
            "book_id": row.book_id,
            "epoch": row.epoch,
            "change": seq,
            "demo": bool(row.demo),
            "operation_form": OP_VERSION,
            "may_log": seat.at_least("archer"),
            "letter": seat.letter,
            "call_name": seat.call_name,
            "trial_id": seat.trial_id,
            "document": outside(request, f"{INTERFACE}/openapi.json"),
        }

    return answered(request, seat, book, make)
