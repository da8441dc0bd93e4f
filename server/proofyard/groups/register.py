"""The groups of a server, a row each, in a place of their own: a small file beside the books, or a schema of PostgreSQL's.

No group's book is named in another's, and no connection of a group's book can read these rows.

Errors
    NoGroup     no group has that name, or it is shut
    GroupThere  the name is taken
"""

import hmac
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType
from typing import Any

from sqlalchemy import (
    BigInteger,
    Column,
    Connection,
    Engine,
    LargeBinary,
    MetaData,
    Table,
    Text,
    create_engine,
    event,
    exc,
    insert,
    select,
    update,
)
from sqlalchemy import text as said
from sqlalchemy.pool import NullPool

from proofyard import book_file
from proofyard.groups.names import wrong_with
from proofyard.settings import database
from proofyard.storage import BookDamaged, BookNewer, StorageTrouble, in_words

FILE = "groups.db"
SCHEMA = "proofyard_groups"
FORM = 1
LINK_LASTS_MS = 7 * 24 * 3600 * 1000  # the owner of a group may live elsewhere and read mail on Sundays
WAIT_MS = 5000
NOWHERE: Mapping[str, str | None] = MappingProxyType({})

_TABLES = MetaData()
SERVER_GROUP = Table(
    "server_group",
    _TABLES,
    Column("name", Text, primary_key=True),
    Column("call_name", Text, nullable=False),
    Column("begun_at", BigInteger, nullable=False),
    Column("shut_at", BigInteger),
    Column("shown", BigInteger, nullable=False),
    Column("schema_name", Text),
    Column("role_name", Text),
    Column("role_password", Text),
    Column("owner_link", LargeBinary),
    Column("owner_link_until", BigInteger),
)
ABOUT = Table("register", _TABLES, Column("form", BigInteger, nullable=False), Column("address", Text, nullable=False))


class NoGroup(StorageTrouble):
    pass


class GroupThere(StorageTrouble):
    pass


@dataclass(frozen=True)
class Group:
    """One group of this server.

    call_name    what people call it; its name where nobody said
    begun_at     milliseconds since 1970; shut_at as well, None while it is open
    shown        whether the server's first page names it
    schema_name, role_name  of its book in PostgreSQL; None where books lie in files
    role_password  None where the database doesn't let the role log in by itself
    """

    name: str
    call_name: str
    begun_at: int
    shut_at: int | None = None
    shown: bool = False
    schema_name: str | None = None
    role_name: str | None = None
    role_password: str | None = field(default=None, repr=False)

    @property
    def is_open(self) -> bool:
        return self.shut_at is None


def _now_ms() -> int:
    return time.time_ns() // 1_000_000


def _hash_of(token: str) -> bytes:
    return sha256(b"group owner:" + token.encode("utf-8", "replace")).digest()


class Register:
    """The rows. Every method may be called from any thread, and from several programs at once."""

    def __init__(self, engine: Engine, *, what_is_wrong: Callable[[BaseException], StorageTrouble | None]) -> None:
        self._engine, self._what_is_wrong = engine, what_is_wrong
        with self._begun() as connection:
            if engine.dialect.name == "postgresql":
                connection.execute(said(f"SELECT pg_advisory_xact_lock(hashtextextended('{SCHEMA}', 0))"))
                if connection.execute(said(f"SELECT to_regnamespace('{SCHEMA}')")).scalar() is None:
                    connection.execute(said(f"CREATE SCHEMA {SCHEMA}"))
            _TABLES.create_all(connection)
            form = connection.execute(select(ABOUT.c.form)).scalar()
            if form is None:
                connection.execute(insert(ABOUT).values(form=FORM, address=""))
            elif form > FORM:
                raise BookNewer(f"The list of groups was written by a newer Proofyard (form {form}). Install the newer program.")

    def _begun(self) -> "_Begun":
        return _Begun(self._engine, self._what_is_wrong)

    def all(self) -> dict[str, Group]:
        """Every group, shut ones as well, by name; the first begun stands first."""
        with self._begun() as connection:
            rows = connection.execute(select(SERVER_GROUP).order_by(SERVER_GROUP.c.begun_at, SERVER_GROUP.c.name)).mappings().all()
        return {row["name"]: _group(row) for row in rows}

    def one(self, name: str) -> Group:
        """
        Refuses
            NoGroup  there is none, or it is shut
        """
        group = self.all().get(name)
        if group is None or not group.is_open:
            raise NoGroup(f"No group called “{name}” is open here. proofyard group list shows those that are.")
        return group

    def add(self, name: str, *, call_name: str = "", place: Mapping[str, str | None] = NOWHERE) -> Group:
        """A new row; one that was shut is opened again, with the book that it had.

        place  schema_name, role_name and role_password, where its book lies in PostgreSQL

        Refuses
            NoGroup     a name that can't stand in an address
            GroupThere  the name is taken
        """
        wrong = wrong_with(name)
        if wrong:
            raise NoGroup(wrong)
        with self._begun() as connection:
            there = connection.execute(select(SERVER_GROUP).where(SERVER_GROUP.c.name == name)).mappings().first()
            if there is not None and there["shut_at"] is None:
                raise GroupThere(f"There is a group called “{name}” already. Choose another name.")
            if there is not None:
                again = {"shut_at": None, "shown": 0, **({"call_name": call_name} if call_name else {})}
                connection.execute(update(SERVER_GROUP).where(SERVER_GROUP.c.name == name).values(again))
            else:
                row = {"name": name, "call_name": call_name or name, "begun_at": _now_ms(), "shown": 0}
                connection.execute(insert(SERVER_GROUP).values(row | dict(place)))
        return self.one(name)

    def shut(self, name: str) -> Group:
        """Nobody reaches it from now on; its book stays as it is.

        Refuses
            NoGroup  there is none, or it is shut already
        """
        return self._changed(name, shut_at=_now_ms(), shown=0, owner_link=None, owner_link_until=None)

    def show(self, name: str, *, shown: bool) -> Group:
        """Name it on the server's first page, or no longer."""
        return self._changed(name, shown=int(shown))

    def _changed(self, name: str, **values: Any) -> Group:
        group = self.one(name)
        with self._begun() as connection:
            connection.execute(update(SERVER_GROUP).where(SERVER_GROUP.c.name == name).values(values))
        return group

    # The one-time link that makes its opener the group's owner. It is made by one program and opened in another, so its hash is kept.

    def keep_link(self, name: str, token: str) -> None:
        """From now on this token opens the group to its owner, once; the one before is worth nothing."""
        self._changed(name, owner_link=_hash_of(token), owner_link_until=_now_ms() + LINK_LASTS_MS)

    def link_is_open(self, name: str, token: str) -> bool:
        """Whether this token would be taken. Looking doesn't use it up."""
        with self._begun() as connection:
            row = connection.execute(select(SERVER_GROUP).where(SERVER_GROUP.c.name == name)).mappings().first()
        if row is None or row["owner_link"] is None or (row["owner_link_until"] or 0) <= _now_ms():
            return False
        return hmac.compare_digest(bytes(row["owner_link"]), _hash_of(token))

    def use_link(self, name: str, token: str) -> bool:
        """Use it up. Of two that come at once one wins."""
        rows, given = SERVER_GROUP.c, _hash_of(token)
        mine = (rows.name == name) & (rows.owner_link == given) & (rows.owner_link_until > _now_ms()) & rows.shut_at.is_(None)
        with self._begun() as connection:
            return connection.execute(update(SERVER_GROUP).where(mine).values(owner_link=None, owner_link_until=None)).rowcount == 1

    # Where the server was reached last, so that a link which is made by another program leads there.

    def address(self) -> str:
        with self._begun() as connection:
            return str(connection.execute(select(ABOUT.c.address)).scalar() or "")

    def keep_address(self, address: str) -> None:
        with self._begun() as connection:
            connection.execute(update(ABOUT).values(address=address))

    def run(self, *statements: str) -> None:
        """Statements of PostgreSQL's that make or take away a group's place, in one transaction."""
        with self._begun() as connection:
            for one in statements:
                connection.execute(said(one))

    def close(self) -> None:
        self._engine.dispose()


class _Begun:
    """A transaction; what goes wrong in it is said in words."""

    def __init__(self, engine: Engine, what_is_wrong: Callable[[BaseException], StorageTrouble | None]) -> None:
        self._held, self._what_is_wrong = engine.begin(), what_is_wrong

    def __enter__(self) -> Connection:
        try:
            return self._held.__enter__()
        except (exc.SQLAlchemyError, OSError) as error:
            raise self._what_is_wrong(error) or error from error

    def __exit__(self, *how: Any) -> None:
        try:
            self._held.__exit__(*how)
        except exc.SQLAlchemyError as error:
            raise self._what_is_wrong(error) or error from error
        if isinstance(how[1], exc.SQLAlchemyError):
            raise self._what_is_wrong(how[1]) or how[1] from how[1]


def _group(row: Any) -> Group:
    said = {name: row[name] for name in ("name", "call_name", "begun_at", "shut_at", "schema_name", "role_name", "role_password")}
    return Group(**said, shown=bool(row["shown"]))


def open_register(folder: Path) -> Register:
    """The list of the groups whose books lie in this folder, or in the database that is set; made where there is none.

    Refuses
        StorageTrouble  it can't be read or written
    """
    if database():
        from proofyard.postgres.book import engine_of, url_of
        from proofyard.postgres.book import in_words as in_its_words

        there = engine_of(url_of(database()), read_only=False, connections=1, overflow=2, own_words=False)
        return Register(there.execution_options(schema_translate_map={None: SCHEMA}), what_is_wrong=in_its_words)
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    engine = create_engine(f"sqlite:///{folder / FILE}", module=book_file.library, poolclass=NullPool)

    @event.listens_for(engine, "connect")
    def _on_connect(connection: book_file.Connection, _record: object) -> None:
        connection.isolation_level = None
        connection.execute(f"PRAGMA busy_timeout={WAIT_MS}")
        connection.execute("PRAGMA synchronous=EXTRA")

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    return Register(engine, what_is_wrong=_wrong_with_the_file)


def _wrong_with_the_file(error: BaseException) -> StorageTrouble | None:
    found = in_words(error) if isinstance(error, Exception) else None
    return BookDamaged(f"The list of groups ({FILE}) is not whole. It was left as it is.") if isinstance(found, BookDamaged) else found
