"""`GET /metrics`: the owner's figures of this server, as Prometheus reads them."""

from collections import Counter

from fastapi import APIRouter, Request, Response

from proofyard.access.connections import Counts
from proofyard.access.gate import TheGate
from proofyard.access.seats import OwnerSeat, TheBook
from proofyard.live.metrics import MEDIA_TYPE, gauge, gauges, samples, written
from proofyard.records import devices, listing

router = APIRouter()


@router.get("/metrics", include_in_schema=False)
def metrics(request: Request, _: OwnerSeat, book: TheBook, gate: TheGate) -> Response:
    state = request.app.state
    counts: Counts = state.counts
    with book.read() as session:
        everyone = devices.devices(session)
        saved = listing.operations_kept(session)
    roles = Counter(one.role for one in everyone if one.role in ("owner", "archer", "viewer"))
    workers = state.page_workers
    files = [("book", book.path.stat().st_size), ("journal", book.journal_bytes())] if book.in_a_file else []
    families = [
        *samples(counts),
        gauge("proofyard_operations_in_the_book", "Operations that the book holds, of all time.", saved),
        gauges("proofyard_book_bytes", "Bytes of the book's file and of the journal beside it.", "file", files),
        gauges("proofyard_seats", "Phones and browsers that are in, by role.", "role", sorted(roles.items())),
        gauge("proofyard_connections", "Connections that are open now.", len(gate.connections)),
        gauge("proofyard_page_workers", "Processes that make long pages.", workers.made if workers else 0),
        gauge("proofyard_page_workers_busy", "Of them, those that make a page now.", workers.busy if workers else 0),
    ]
    return Response(written(families), media_type=MEDIA_TYPE)
