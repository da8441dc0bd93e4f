"""The record that an address names."""

from typing import TypeVar

from fastapi import HTTPException

from server.records.columns import Noun
from server.records.listing import one
from server.storage import Storage

T = TypeVar("T", bound=Noun)


def found(book: Storage, table: type[T], record_id: str) -> T:
    """It, or 404 in words."""
    with book.read() as session:
        row = one(session, table, record_id)
    if row is None:
        raise HTTPException(404, f"The book has no such {str(table.__tablename__).replace('_', ' ')}.")
    return row
