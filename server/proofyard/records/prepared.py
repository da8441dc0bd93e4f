"""Statements that every save runs: put into a database's words once, then given to its driver as they are.

A save of a shot runs ten. Through the whole of SQLAlchemy they cost half of its processor time; its words and its errors are kept,
and what it does around each statement is left out. Not for statements whose values need a type's own hand, such as dates.
"""

from collections import namedtuple
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from operator import itemgetter
from typing import Any

from sqlalchemy import Connection, Executable, exc
from sqlalchemy.engine import Dialect
from sqlmodel import Session


class Prepared:
    """One statement with named values.

    columns  of an INSERT or UPDATE: those that are given; without them all that the statement itself names
    """

    def __init__(self, statement: Any, columns: Sequence[str] | None = None) -> None:
        self._statement, self._columns = statement, columns
        self._said: dict[str, tuple[str, Callable[[Mapping[str, Any]], Any], Mapping[str, Any]]] = {}
        names = statement.selected_columns.keys() if isinstance(statement, Executable) and statement.is_select else ()
        self._row: Any = namedtuple("Row", names, rename=True) if names else None

    def run(self, session: Session, given: Mapping[str, Any]) -> None:
        """Within the session's transaction. Refuses as the session's own `execute` does."""
        self._cursor(session, given).close()

    def first(self, session: Session, given: Mapping[str, Any]) -> Any:
        """The first row, its values by name; None if there is none."""
        cursor = self._cursor(session, given)
        row = cursor.fetchone()
        cursor.close()
        return None if row is None else self._row._make(row)

    def _cursor(self, session: Session, given: Mapping[str, Any]) -> Any:
        connection = _connection_of(session)
        dialect = connection.dialect
        said, in_order, fixed = self._said.get(dialect.name) or self._in_words_of(dialect)
        whole = {**fixed, **given} if fixed else given
        values = in_order(whole)
        cursor: Any = connection.connection.cursor()
        driver: Any = dialect.dbapi
        try:  # written out: a context manager around each statement took longer than some of them
            cursor.execute(said, values)
        except driver.Error as error:
            raise _in_its_words(dialect, said, values, error) from error
        return cursor

    def _in_words_of(self, dialect: Dialect) -> tuple[str, Callable[[Mapping[str, Any]], Any], Mapping[str, Any]]:
        compiled = self._statement.compile(dialect=dialect, column_keys=None if self._columns is None else list(self._columns))
        in_order = _by_place(tuple(compiled.positiontup or ())) if compiled.positional else _by_name
        fixed = {name: value for name, value in compiled.params.items() if value is not None}
        self._said[dialect.name] = said = (str(compiled), in_order, fixed)
        return said


def _by_name(given: Mapping[str, Any]) -> Any:
    return given


def _by_place(names: tuple[str, ...]) -> Callable[[Mapping[str, Any]], Any]:
    """What takes a statement's values in the order of its places."""
    if len(names) > 1:
        return itemgetter(*names)
    return lambda given: tuple(given[name] for name in names)


def _connection_of(session: Session) -> Connection:
    """A writer's session has one connection from its first statement to the commit: to ask for it each time took longer than most
    statements."""
    return session.bind if isinstance(session.bind, Connection) else session.connection()


def run_together(session: Session, asked: Sequence[tuple[Prepared, Mapping[str, Any]]]) -> None:
    """Several of which none waits for another: on one way to the database and back, where its driver can do that.

    Refuses as the session's own `execute` does, of the first that fails.
    """
    connection = _connection_of(session)
    pipeline = getattr(connection.connection.dbapi_connection, "pipeline", nullcontext)
    driver: Any = connection.dialect.dbapi
    try:
        with pipeline():
            for statement, given in asked:
                statement.run(session, given)
    except driver.Error as error:
        raise _in_its_words(connection.dialect, "several", {}, error) from error


def _in_its_words(dialect: Dialect, said: str, values: Any, error: Exception) -> BaseException:
    driver: Any = dialect.dbapi
    return exc.DBAPIError.instance(said, values, error, driver.Error, dialect=dialect)
