"""The one file that holds the book: how it is opened, written to, and kept from harm.

Errors
    StorageTrouble
        BookBusy        another writer, or another server, has it
        BookFull        no room left on the disk
        BookReadOnly    the file or its folder can't be written
        BookNewer       made by a newer program than this
        BookDamaged     not a book, or not whole

Facts behind the choices: SQLite's pages on WAL (the WAL-reset bug, fixed in 3.51.3, 3.50.7 and 3.44.6) and on
`PRAGMA synchronous` (DELETE needs EXTRA for a commit to be durable when it returns).
"""

import contextlib
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event, exc
from sqlalchemy.pool import Pool, QueuePool
from sqlmodel import Session, create_engine

from proofyard import book_file

__all__ = ["Session", "Storage", "StorageTrouble"]  # findings name a Session without knowing what makes it

WAIT_FOR_LOCK_MS = 5000
JOURNAL_BYTES = 4_000_000  # the newer journal beside the book is cut to this once all of it is in the book
MOST_WAITING = 64  # savers in the queue; one more is told to come again


class StorageTrouble(Exception):
    """What went wrong with the file, in words for the person at the laptop."""

    retry_after_s: int | None = None


class BookBusy(StorageTrouble):
    retry_after_s = 2


class BookFull(StorageTrouble):
    retry_after_s = 30


class BookReadOnly(StorageTrouble):
    pass


class BookNewer(StorageTrouble):
    pass


class BookDamaged(StorageTrouble):
    pass


@dataclass(frozen=True)
class Durability:
    """How a commit reaches the disk: journal mode, synchronous level, and why these."""

    journal: str
    synchronous: str
    why: str


@dataclass(frozen=True)
class StateThere:
    """What a database that keeps a book says of itself.

    surely       what it would lose when its machine loses power: settings that are off, none if all is on
    left         connections that are still free; bytes: of the book with its indexes
    archived_at  when it last archived its journal, Unix seconds; None if it never did or does not
    photos       (id, SHA-256, bytes) of each
    """

    version: str
    encoding: str
    surely: tuple[str, ...]
    left: int
    bytes: int
    archives: bool
    archived_at: float | None
    archive_fails: bool
    may_make: bool
    broken_indexes: int
    photos: tuple[tuple[str, str, int], ...]


def durability_for(version: tuple[int, int, int]) -> Durability:
    """WAL where this SQLite has the WAL-reset fix, a rollback journal where it hasn't."""
    fixed = version >= (3, 51, 3) or (version[:2] == (3, 50) and version[2] >= 7) or (version[:2] == (3, 44) and version[2] >= 6)
    said = ".".join(map(str, version))
    if fixed:
        return Durability("WAL", "FULL", f"SQLite {said} has the fix of the WAL-reset bug")
    return Durability("DELETE", "EXTRA", f"SQLite {said} may have the WAL-reset bug, so the older journal is used")


def durability_here() -> Durability:
    return durability_for(book_file.VERSION_INFO)


def _pragmas(read_only: bool) -> list[str]:
    mode = durability_here()
    lines = [
        "PRAGMA foreign_keys=ON",
        f"PRAGMA busy_timeout={WAIT_FOR_LOCK_MS}",
        "PRAGMA trusted_schema=OFF",
        f"PRAGMA synchronous={mode.synchronous}",
        "PRAGMA fullfsync=ON",  # macOS: plain fsync does not empty the drive's own cache
        "PRAGMA checkpoint_fullfsync=ON",
    ]
    if read_only:
        return [*lines, "PRAGMA query_only=ON"]
    return [*lines, f"PRAGMA journal_mode={mode.journal}", f"PRAGMA journal_size_limit={JOURNAL_BYTES}"]


def _engine(path: Path, *, read_only: bool, connections: int) -> Engine:
    engine = create_engine(
        f"sqlite:///{path}",
        module=book_file.library,
        poolclass=QueuePool,
        pool_size=connections,
        max_overflow=0 if not read_only else 20,
        connect_args={"check_same_thread": False, "timeout": WAIT_FOR_LOCK_MS / 1000},
    )
    pragmas, begin = _pragmas(read_only), "BEGIN" if read_only else "BEGIN IMMEDIATE"

    @event.listens_for(engine, "connect")
    def _on_connect(connection: book_file.Connection, _record: Any) -> None:
        connection.isolation_level = None  # we say BEGIN ourselves: a late upgrade from read to write fails at once
        for line in pragmas:
            connection.execute(line)

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Any) -> None:
        connection.exec_driver_sql(begin)

    return engine


def in_words(error: Exception, *, act: str = "save") -> StorageTrouble | None:
    """The trouble behind a database error, if it is one that a person can do something about, and then do `act` again."""
    text = str(error).lower()
    if "disk is full" in text or "no space left" in text:
        return BookFull(f"There is no room left on the disk. Nothing was saved. Make room, then {act} again.")
    if "locked" in text or "busy" in text:
        return BookBusy(f"Another program holds the book. Nothing was saved. Close it, then {act} again.")
    if "readonly" in text or "unable to open" in text or "disk i/o error" in text:
        return BookReadOnly("The book’s file can’t be written. Nothing was saved. Check the folder’s rights and the disk.")
    if "malformed" in text or "not a database" in text:
        return BookDamaged("The book’s file is not whole. Stop, keep a copy, and restore the last backup.")
    return None


OWN_READERS = "The book is being read for other pages. Nothing was saved: try again in a moment."


def _trouble_behind(error: BaseException) -> StorageTrouble | None:
    """The trouble that an error began with: on a full disk SQLite ends the transaction itself, and what is seen last is
    a savepoint that is gone."""
    seen: BaseException | None = error
    while isinstance(seen, Exception):
        trouble = in_words(seen)
        if trouble:
            return trouble
        seen = seen.__cause__ or seen.__context__
    return None


class Storage:
    """One book, opened: many readers, one writer at a time."""

    def __init__(self, path: Path, *, writes: bool = True) -> None:
        """`writes`: False for a process that only reads; the one that writes has opened the book before."""
        self._begin(path, writes=writes)
        self._writer = _engine(path, read_only=False, connections=1)
        self._readers = _engine(path, read_only=True, connections=8)

    def _begin(self, path: Path, *, writes: bool) -> None:
        self.path = path
        self.photos_at = ""  # a store's address; empty: beside it, in its folder
        self._writes = writes
        self._turn = threading.Lock()
        self._waiting = 0
        self._after_commit: list[Callable[[], None]] = []
        self._reading = 0
        self._let_go: list[Pool] = []
        self._ended = False
        self.read_elsewhere: Callable[[], bool] = lambda: False  # whether another process of ours reads it now

    @property
    def in_a_file(self) -> bool:
        """Whether the book is a file of its own, which can be copied as one."""
        return True

    @property
    def address(self) -> str:
        """Of the database that keeps it, with its password; empty where a file does."""
        return ""

    @property
    def called(self) -> str:
        """Where the book is, for a person."""
        return str(self.path)

    def hear_others(self, ring: Callable[[], None]) -> None:
        """Call this after another server's commits, too; a book in a file has no other server."""

    def _trouble(self, error: BaseException) -> StorageTrouble | None:
        return _trouble_behind(error)

    def after_commit(self, listener: Callable[[], None]) -> None:
        """Call this after every commit, from the thread that committed."""
        self._after_commit.append(listener)

    @contextlib.contextmanager
    def read(self) -> Iterator[Session]:
        """A snapshot to read from. Keep it short: with a rollback journal a reader holds up the commit.

        Refuses
            StorageTrouble  another program holds the file, or it can't be read
        """
        self._reading += 1
        try:
            self._refuse_if_ended()
            with Session(self._readers, expire_on_commit=False) as session:
                yield session
        except exc.DBAPIError as error:
            trouble = self._trouble(error)
            if trouble:
                raise trouble from error
            raise
        finally:
            self._reading -= 1

    @contextlib.contextmanager
    def write(self, *, quietly: bool = False) -> Iterator[Session]:
        """The one writer's transaction: commits when the block ends, rolls back when it raises.

        `quietly`: nobody is told, since nothing that anybody said is changed

        Refuses
            StorageTrouble  with what to do about it; nothing was saved
        """
        if not self._writes:
            raise RuntimeError("This process may only read the book.")
        self._wait_for_turn()
        try:
            self._refuse_if_ended()
            with self._one_transaction() as session:
                yield session
        except (exc.SQLAlchemyError, OSError) as error:
            trouble = self._trouble(error)
            if isinstance(trouble, BookBusy) and self._readers_delay_saves() and (self._reading > 0 or self.read_elsewhere()):
                raise BookBusy(OWN_READERS) from error
            if trouble:
                raise trouble from error
            raise
        finally:
            self._turn.release()
        for listener in () if quietly else self._after_commit:
            listener()

    @contextlib.contextmanager
    def aside(self, *, heard: bool) -> Iterator[Session]:
        """A transaction for what is no part of the notebook; other servers are told of it if it is to be `heard`.

        Refuses
            StorageTrouble  as `write` does
        """
        with self.write() as session:
            yield session

    @contextlib.contextmanager
    def _one_transaction(self) -> Iterator[Session]:
        # The connection is held here, not by the session: after a full disk the session's own end fails at a savepoint
        # that SQLite has dropped, and would keep the only connection that may write.
        with self._writer.connect() as connection:
            raw: Any = connection.connection.dbapi_connection
            try:
                with Session(connection, expire_on_commit=False) as session:
                    session.connection()  # BEGIN IMMEDIATE now, not at the first write
                    yield session
                    session.commit()
            finally:
                # A COMMIT that a reader's lock stopped leaves its transaction open, and the pool takes it back as it is:
                # every later save would fail with "cannot start a transaction within a transaction".
                if raw.in_transaction:
                    raw.rollback()

    def _refuse_if_ended(self) -> None:
        if self._ended:
            raise BookBusy("The book was closed. Nothing was saved: try again in a moment.")

    def end(self, *, within_s: float) -> None:
        """Close it for good, in a program that goes on: nobody begins to read or save any more, and whoever does is waited for.

        Else a thread that comes late would open the file again, and somebody who put a backup in its place would find two programs at it.
        """
        self._ended = True
        until = time.monotonic() + within_s
        while self._reading > 0 and time.monotonic() < until:
            time.sleep(0.02)
        mine = self._turn.acquire(timeout=max(0.0, until - time.monotonic()))
        try:
            self.close()
        finally:
            if mine:
                self._turn.release()

    def _wait_for_turn(self) -> None:
        if self._waiting >= MOST_WAITING:
            raise BookBusy("Too many are saving at once. Nothing was lost: try again in a moment.")
        self._waiting += 1
        try:
            got = self._turn.acquire(timeout=WAIT_FOR_LOCK_MS / 1000 * 2)
        finally:
            self._waiting -= 1
        if not got:
            raise BookBusy("The book is still busy with an earlier save. Try again in a moment.")

    def _readers_delay_saves(self) -> bool:
        return durability_here().journal == "DELETE"

    def journal_bytes(self) -> int:
        """How big the newer journal beside the book is; 0 where there is none."""
        try:
            return self.path.with_name(self.path.name + "-wal").stat().st_size
        except FileNotFoundError:
            return 0

    def tidy(self) -> bool:
        """Bring all of the newer journal into the book's own file and empty it, if nobody saves or reads at this moment.

        Whether it is empty now. Waits for nobody: whoever saves comes first.
        """
        if not self.journal_bytes() or not self._turn.acquire(blocking=False):
            return False
        try:
            self._refuse_if_ended()
            with self._writer.connect() as connection:
                raw: Any = connection.connection.dbapi_connection
                raw.execute("PRAGMA busy_timeout=0")
                try:
                    raw.commit()  # a checkpoint stands outside of the transaction that the pool began
                    return bool(raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0] == 0)
                finally:
                    raw.execute(f"PRAGMA busy_timeout={WAIT_FOR_LOCK_MS}")
        except exc.SQLAlchemyError as error:
            raise _trouble_behind(error) or error from error
        finally:
            self._turn.release()

    def close(self) -> None:
        """Let go of the book's file; it opens again by itself. Who reads now keeps it, until this is called again."""
        for pool in self._let_go:
            pool.dispose()
        for engine in (self._readers, self._writer):  # the last to let go is the writer, who empties the journal
            if isinstance(engine.pool, QueuePool) and engine.pool.checkedout():
                # A connection in use goes back into the pool that nobody has any more, and stays open there.
                self._let_go.append(engine.pool)
            engine.dispose()
