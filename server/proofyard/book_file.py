"""The one way to the book's file: which SQLite opens it, and how it is opened to write, to copy and to look.

Two SQLite libraries in one program that hold one file at once take each other's locks away (SQLite, "How To Corrupt An
SQLite Database File", 2.2.1), so no other module here imports one. The only exception reads a stranger's file, a copy of
its own, before it is anybody's book: server/proofyard/exchange/restore.py.
"""

import os
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import sqlite3

    library = sqlite3  # for others to take from here
else:
    try:
        from pysqlite3 import dbapi2 as library  # brings a newer SQLite than most systems have: one with the WAL-reset fix
    except ImportError:
        import sqlite3 as library

Connection = library.Connection
Error = library.Error
VERSION: str = library.sqlite_version
VERSION_INFO: tuple[int, int, int] = library.sqlite_version_info

MODULES = ("sqlalchemy", "sqlite3", "pysqlite3")  # whose exceptions tell of the book's file


def tells_of_the_file(error: BaseException) -> bool:
    """Whether a fault came from the database and not from our own code."""
    return type(error).__module__.startswith(MODULES)


def connect(path: Path, *, wait_s: float = 5.0) -> Connection:
    """A connection to a file that is there, to write. What a killed program left half written is made good first.

    It says its own BEGIN; without one each statement stands for itself.
    """
    return library.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=wait_s, isolation_level=None)


def make(path: Path) -> Connection:
    """A connection to a file that may be new."""
    return library.connect(path, isolation_level=None)


def look(path: Path, *, wait_s: float = 5.0) -> Connection:
    """A connection that changes nothing in the book and leaves nothing beside it.

    Where it may be written it is opened to write, and told not to: only such a connection takes away the two files that
    the newer journal needs while it is open, and makes good what a killed program left. Elsewhere it is read as it lies,
    unless somebody is writing it.
    """
    if os.access(path, os.W_OK) and os.access(path.absolute().parent, os.W_OK):
        connection = connect(path, wait_s=wait_s)
    elif any(other.exists() for other in beside(path)):
        connection = library.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=wait_s, isolation_level=None)
    else:
        connection = as_it_lies(path)
    connection.execute("PRAGMA trusted_schema=OFF")
    connection.execute("PRAGMA query_only=ON")
    return connection


def as_it_lies(path: Path) -> Connection:
    """A connection to a file that nobody writes: nothing beside it is read or made, nothing in it can be changed."""
    return library.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True, isolation_level=None)


def beside(book: Path) -> list[Path]:
    """The files that SQLite keeps beside a book; whoever moves a book must not leave them lying."""
    return [book.with_name(book.name + tail) for tail in ("-journal", "-wal", "-shm")]


def passing() -> Connection:
    """A database of this process alone, for what can be worked out again: SQLite takes it away with the connection."""
    return library.connect("", check_same_thread=False, isolation_level=None)
