"""The book in PostgreSQL: opened, read and written through the same words as one in a file (server/proofyard/storage.py).

Several servers, on several machines, may have it open. Whoever writes takes one advisory lock a book from the first
statement to the commit, so that rules that look before they write hold, and the numbers of the notebook come to be seen in
their order: numbers of a sequence don't, and a phone that asks "since N" would never hear of a third of the changes.
"""

import contextlib
import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event, exc
from sqlalchemy.engine import URL, make_url
from sqlalchemy.pool import QueuePool
from sqlmodel import Session, create_engine

from proofyard.postgres.ear import THIS_CHANNEL, Ear
from proofyard.postgres.words import Compiler
from proofyard.storage import WAIT_FOR_LOCK_MS, BookBusy, BookDamaged, BookFull, BookReadOnly, Storage, StorageTrouble

READERS = 8  # that stay connected
READERS_OF_ONE = 2  # where a server has several books: the database takes so many connections in all
CONNECT_WITHIN_S = 10
_LOCK = "SELECT pg_advisory_xact_lock(hashtextextended('proofyard ' || current_schema(), 0))"
_RING = f"SELECT pg_notify({THIS_CHANNEL}, '')"
NO_NULS = "The text holds a character that PostgreSQL can’t keep (NUL). Nothing was saved. Take it out, then save again."


class BookFarAway(StorageTrouble):
    """The server of the database doesn't answer, or doesn't let us in."""

    retry_after_s = 5


class WrongAddress(StorageTrouble):
    """The setting can't be read, or what it needs is not installed."""


def url_of(address: str) -> URL:
    """The address that PROOFYARD_DATABASE gives.

    Refuses
        WrongAddress  it is none of PostgreSQL's, names no database, or psycopg is not installed
    """
    try:
        url = make_url(address)
    except (exc.ArgumentError, ValueError) as error:
        raise WrongAddress(f"PROOFYARD_DATABASE can’t be read. {EXAMPLE}") from error
    if url.drivername not in ("postgresql", "postgresql+psycopg"):
        raise WrongAddress(f"PROOFYARD_DATABASE begins with {url.drivername}://; only PostgreSQL is known there. {EXAMPLE}")
    if not url.database:
        raise WrongAddress(f"PROOFYARD_DATABASE names no database. {EXAMPLE}")
    try:
        import psycopg  # noqa: F401
    except ImportError as error:
        raise WrongAddress("A book in PostgreSQL needs the package psycopg: install proofyard[postgresql].") from error
    return url.set(drivername="postgresql+psycopg")


EXAMPLE = "Enter, for example, postgresql+psycopg://wren@localhost/proofyard, or leave it out to keep the book in a file."


def shown(url: URL) -> str:
    """The address without its password."""
    return url.render_as_string(hide_password=True)


def own_time_zone() -> str:
    """The name of this program's time zone as PostgreSQL takes it, so that a moment falls on the same day here and there."""
    if os.environ.get("TZ"):
        return os.environ["TZ"].removeprefix(":")
    with contextlib.suppress(OSError):
        link = os.path.realpath("/etc/localtime")
        if "zoneinfo/" in link:
            return link.partition("zoneinfo/")[2]
    hours, minutes = divmod(abs(time.timezone) // 60, 60)
    return f"<here>{'+' if time.timezone > 0 else '-'}{hours:02}:{minutes:02}"  # POSIX: west is plus


def engine_of(
    url: URL, *, read_only: bool, connections: int, overflow: int = 0, own_words: bool = True, asked_first: bool = True
) -> Engine:
    """An engine on the database; with `own_words` statements made for SQLite's meaning are put into PostgreSQL's.

    asked_first  whether a connection is asked if it is still there before it is used; otherwise whoever uses it minds that
    """
    engine = create_engine(
        url,
        poolclass=QueuePool,
        pool_size=connections,
        max_overflow=overflow,
        pool_pre_ping=asked_first,  # after a restart of the database the first statement asks for a new connection, instead of failing
        isolation_level="REPEATABLE READ" if read_only else "READ COMMITTED",
        connect_args={"connect_timeout": CONNECT_WITHIN_S, "application_name": "proofyard"},
    )
    if own_words:
        engine.dialect.statement_compiler = Compiler
    zone = own_time_zone()

    @event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: Any) -> None:
        before, connection.autocommit = connection.autocommit, True
        with connection.cursor() as cursor:
            cursor.execute("SELECT set_config('TimeZone', %s, false)", (zone,))
            cursor.execute(f"SET lock_timeout = {WAIT_FOR_LOCK_MS * 2}")
            cursor.execute("SET jit = off")  # it takes longer to begin than most of these statements run
            if read_only:
                cursor.execute("SET default_transaction_read_only = on")
        connection.autocommit = before

    return engine


def in_words(error: BaseException, *, act: str = "save") -> StorageTrouble | None:
    """The trouble behind an error of PostgreSQL's, if a person can do something about it, and then do `act` again."""
    code = getattr(getattr(error, "orig", error), "sqlstate", None) or ""
    said = str(error).lower()
    if code in ("55P03", "57014", "40001", "40P01"):
        return BookBusy(f"The book is still busy with an earlier save. Nothing was lost: {act} again in a moment.")
    if code == "53100" or "no space left" in said:
        return BookFull(f"There is no room left on the disk of the database. Nothing was saved. Make room, then {act} again.")
    if code in ("25006", "42501"):
        return BookReadOnly("The database lets nothing be written. Nothing was saved. Ask whoever looks after it for the rights.")
    if code.startswith("28") or "authentication failed" in said or "no password supplied" in said:
        return BookFarAway("The database doesn’t let this program in. Check the name and the password in PROOFYARD_DATABASE.")
    if code == "3D000" or ("connection failed" in said and "does not exist" in said and "database" in said):
        return BookFarAway("There is no such database. Make it with createdb, or correct PROOFYARD_DATABASE.")
    if code.startswith("XX"):
        return BookDamaged("The database is not whole. Stop, and restore the last backup of it.")
    if "nul (0x00)" in said:
        return BookReadOnly(NO_NULS)
    if code.startswith(("08", "57P", "53")) or type(getattr(error, "orig", error)).__name__ == "OperationalError":
        return BookFarAway(f"The database doesn’t answer. Nothing was saved. Check that it runs, then {act} again.")
    return None


def _trouble_behind(error: BaseException) -> StorageTrouble | None:
    seen: BaseException | None = error
    while isinstance(seen, Exception):
        trouble = in_words(seen)
        if trouble:
            return trouble
        seen = seen.__cause__ or seen.__context__
    return None


class PostgresBook(Storage):
    """One book in PostgreSQL, opened. Photos and automatic files lie in the folder of `path`, where no book's file is."""

    def __init__(self, path: Path, url: URL, *, writes: bool = True, readers: int = READERS) -> None:
        super()._begin(path, writes=writes)
        self.url = url
        self._ear: Ear | None = None
        self._writer = engine_of(url, read_only=False, connections=1, asked_first=False).execution_options(isolation_level="AUTOCOMMIT")
        self._readers = engine_of(url, read_only=True, connections=readers, overflow=20)

    @property
    def in_a_file(self) -> bool:
        return False

    @property
    def address(self) -> str:
        return self.url.render_as_string(hide_password=False)

    @property
    def called(self) -> str:
        return shown(self.url)

    def hear_others(self, ring: Callable[[], None]) -> None:
        if self._ear is None:
            self._ear = Ear(self.url, ring)

    def _trouble(self, error: BaseException) -> StorageTrouble | None:
        return _trouble_behind(error)

    @contextlib.contextmanager
    def _one_transaction(self) -> Iterator[Session]:
        with self._begun(f"BEGIN; {_LOCK}") as session:
            yield session
            self._committed(session, heard=True)

    @contextlib.contextmanager
    def aside(self, *, heard: bool) -> Iterator[Session]:
        """Beside the order of saves: without their lock, so no save of another server waits for it."""
        self._wait_for_turn()
        try:
            with self._begun("BEGIN") as session:
                yield session
                self._committed(session, heard=heard)
        except (exc.SQLAlchemyError, OSError) as error:
            raise self._trouble(error) or error from error
        finally:
            self._turn.release()

    @contextlib.contextmanager
    def _begun(self, first: str) -> Iterator[Session]:
        """A session in which `first` was said. The database is asked by it whether it is there, so a save begins with one way to it and
        back in place of four; if it was restarted since the last save, a new connection says it again."""
        with contextlib.ExitStack() as opened:
            for last in (False, True):
                connection = opened.enter_context(self._writer.connect())
                session = opened.enter_context(Session(connection, expire_on_commit=False))
                try:
                    session.connection().exec_driver_sql(first)
                    break
                except exc.DBAPIError as error:
                    opened.close()
                    if last or not error.connection_invalidated:
                        raise
            yield session

    @staticmethod
    def _committed(session: Session, *, heard: bool) -> None:
        """The other servers hear of it once it is committed; both are said on one way."""
        session.connection().exec_driver_sql(f"{_RING}; COMMIT" if heard else "COMMIT")
        session.commit()

    def _readers_delay_saves(self) -> bool:
        return False

    def journal_bytes(self) -> int:
        return 0  # PostgreSQL looks after its own

    def tidy(self) -> bool:
        return False

    def close(self) -> None:
        if self._ear is not None:
            self._ear.close()
        super().close()
