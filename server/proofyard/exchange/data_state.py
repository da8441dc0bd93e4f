"""Which data something was made of: the book's last change, the checksum of a trial's shots, and what read them."""

import hashlib
from dataclasses import dataclass

from proofyard.exchange.csv_writing import csv_bytes
from proofyard.exchange.data_dictionary import FILES
from proofyard.exchange.fetched import Fetched
from proofyard.opening import newest_form
from proofyard.records.devices import the_book
from proofyard.records.notebook import latest_change
from proofyard.settings import program_version
from proofyard.storage import Storage

DATA = "shots.csv"


@dataclass(frozen=True)
class DataState:
    """change: number of the book's last change; sha256: of DATA with so many rows; form: of the book."""

    change: int
    changed_at: int | None
    sha256: str
    rows: int
    form: str
    program: str
    demo: bool


def data_of(fetched: Fetched) -> bytes:
    """The shots that were fetched, every input and every figure: the bytes that the checksum is of."""
    return b"".join(csv_bytes(FILES[DATA].make(fetched), "analysis"))


def state_of(book: Storage, fetched: Fetched) -> DataState:
    with book.read() as session:
        change, changed_at = latest_change(session)
        the = the_book(session)
    rows = len(fetched.loosed.shots) + len(fetched.loosed.voided)
    checksum = hashlib.sha256(data_of(fetched)).hexdigest()
    return DataState(change, changed_at, checksum, rows, newest_form(), program_version(), bool(the and the.demo))
