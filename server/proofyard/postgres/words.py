"""What SQLite says and PostgreSQL says otherwise, in this one place, so that records and migrations are written once.

Statements are made for SQLite's meaning: here each part that PostgreSQL has no word for, or another meaning, is put into its own.

    whole numbers, figures      BIGINT and DOUBLE PRECISION: its INTEGER is too small for milliseconds, its REAL for a figure
    text                        COLLATE "C": sorts by code points and lowers a to z alone, as SQLite does, whatever the server's language
    nothing (NULL) in an order  first, as in SQLite; PostgreSQL puts it last
    LIKE                        minds no case; sums of whole numbers are whole
    GLOB, substr, json_array, json_group_array, group_concat, json, date(…), CAST(text AS INTEGER)    by name
"""

import re
from typing import Any

from sqlalchemy import REAL, Integer, LargeBinary, String, Text
from sqlalchemy.dialects.postgresql.base import PGCompiler
from sqlalchemy.dialects.postgresql.psycopg import PGCompiler_psycopg
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql import operators
from sqlalchemy.sql.elements import ColumnElement, UnaryExpression
from sqlalchemy.types import NullType


@compiles(Integer, "postgresql")
def _whole_number(*_: Any, **__: Any) -> str:
    return "BIGINT"


@compiles(REAL, "postgresql")
def _figure(*_: Any, **__: Any) -> str:
    return "DOUBLE PRECISION"


@compiles(Text, "postgresql")
def _text(*_: Any, **__: Any) -> str:
    return "TEXT"


@compiles(LargeBinary, "postgresql")
def _bytes(*_: Any, **__: Any) -> str:
    return "BYTEA"


class SaysItInPostgres(PGCompiler):
    """Statements as PostgreSQL takes them."""

    def order_by_clause(self, select: Any, **kw: Any) -> str:
        said = [self._with_nothing_first(select, one, **kw) for one in self._order_of(select)]
        said = [one for one in said if one]
        return f" ORDER BY {', '.join(said)}" if said else ""

    @staticmethod
    def _order_of(select: Any) -> tuple[Any, ...]:
        return tuple(select._order_by_clauses)

    def _with_nothing_first(self, select: Any, clause: Any, **kw: Any) -> str:
        said = self.process(clause, **kw)
        if not said or not _may_be_nothing(select, clause):
            return said
        down = isinstance(clause, UnaryExpression) and clause.modifier is operators.desc_op
        return f"{said} NULLS {'LAST' if down else 'FIRST'}"

    def visit_cast(self, cast: Any, **kw: Any) -> str:
        # What a function of SQLite's gives has no sort: it may be a text.
        if not (isinstance(cast.type, Integer) and isinstance(cast.clause.type, (String, NullType))):
            return str(super().visit_cast(cast, **kw))  # type: ignore[no-untyped-call]
        # SQLite reads the digits that a text begins with, 0 where there are none, and nothing in nothing. More than 18 would be no
        # number of its.
        said = self.process(cast.clause, **kw)
        digits = f"substring(({said})::text from '^ *[+-]?[0-9]{{1,18}}')"
        return f"coalesce({digits}, CASE WHEN {said} IS NOT NULL THEN '0' END)::bigint"

    def visit_like_op_binary(self, binary: Any, operator: Any, **kw: Any) -> str:
        return str(self.visit_ilike_op_binary(binary, operator, **kw))  # type: ignore[no-untyped-call]

    def visit_not_like_op_binary(self, binary: Any, operator: Any, **kw: Any) -> str:
        return str(self.visit_not_ilike_op_binary(binary, operator, **kw))  # type: ignore[no-untyped-call]

    def visit_substr_func(self, function: Any, **kw: Any) -> str:
        said, *places = (self.process(one, **kw) for one in function.clauses)
        return f"substr({', '.join([said, *(f'({place})::int4' for place in places)])})"  # it takes no BIGINT as a place

    def visit_sum_func(self, function: Any, **kw: Any) -> str:
        said = f"sum({self._said(function, **kw)})"
        return f"{said}::bigint" if isinstance(function.type, Integer) else said  # else a decimal, which JSON has no word for

    def visit_custom_op_binary(self, element: Any, operator: Any, **kw: Any) -> str:
        if operator.opstring != "GLOB":
            return str(super().visit_custom_op_binary(element, operator, **kw))  # type: ignore[no-untyped-call]
        left, right = (self.process(one, **kw) for one in (element.left, element.right))
        return f"{left} SIMILAR TO replace(replace({right}, '*', '%%'), '?', '_')"

    def visit_json_array_func(self, function: Any, **kw: Any) -> str:
        return f"json_build_array({self._said(function, **kw)})::text"

    def visit_json_group_array_func(self, function: Any, **kw: Any) -> str:
        return f"coalesce(json_agg({self._said(function, **kw)}), '[]')::text"

    def visit_group_concat_func(self, function: Any, **kw: Any) -> str:
        return f"string_agg({self._said(function, **kw)}, ',')"

    def visit_json_func(self, function: Any, **kw: Any) -> str:
        return f"({self._said(function, **kw)})::json"

    def visit_date_func(self, function: Any, **kw: Any) -> str:
        seconds = self.process(tuple(function.clauses)[0], **kw)
        # The session's time zone is that of the program: see server/proofyard/postgres/book.py.
        return f"to_char(to_timestamp({seconds}), 'YYYY-MM-DD')"

    def _said(self, function: Any, **kw: Any) -> str:
        return ", ".join(self.process(one, **kw) for one in function.clauses)


class Compiler(SaysItInPostgres, PGCompiler_psycopg):
    """The same for psycopg, which marks parameters in its own way."""


def _may_be_nothing(select: Any, clause: Any) -> bool:
    """Whether an ordered value may be NULL. A column that always holds something is left alone, so that its index serves;
    where several tables are joined, it may hold nothing all the same."""
    while isinstance(clause, UnaryExpression):
        if clause.modifier in (operators.nulls_first_op, operators.nulls_last_op):
            return False
        clause = clause.element
    always = isinstance(clause, ColumnElement) and getattr(clause, "nullable", True) is False
    return not (always and select.get_final_froms() == [getattr(clause, "table", None)])


_DDL = re.compile(r"\s*(CREATE TABLE|ALTER TABLE)\b", re.IGNORECASE)
_SORTS = {
    "INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT": "BIGINT NOT NULL PRIMARY KEY",  # `apply` gives the number, under its lock
    "INTEGER": "BIGINT",
    "REAL": "DOUBLE PRECISION",
    "BLOB": "BYTEA",
    "TEXT": 'TEXT COLLATE "C"',
}
_SORT = re.compile("|".join(rf"\b{re.escape(one)}\b" for one in _SORTS))
_STRICT = re.compile(r"\)\s*STRICT\s*$")
_COLUMNS_OF = re.compile(r"PRAGMA table_info\((\w+)\)")
# What migrations ask of SQLite's own list of what a book has.
_OURS = "schema = current_schema()"
_LISTS = {
    "SELECT name FROM sqlite_master WHERE type = 'table'": f"SELECT table_name FROM information_schema.tables WHERE table_{_OURS}",
    "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL": (
        "SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = current_schema() "
        "AND indexname NOT IN (SELECT conname FROM pg_constraint)"
    ),
}


def of_a_migration(statement: str) -> str:
    """One statement of a migration in PostgreSQL's words.

    >>> of_a_migration("CREATE TABLE a (id TEXT NOT NULL, mass_kg REAL, PRIMARY KEY (id)) STRICT")
    'CREATE TABLE a (id TEXT COLLATE "C" NOT NULL, mass_kg DOUBLE PRECISION, PRIMARY KEY (id))'
    >>> of_a_migration("UPDATE op SET noun = 'STRICT'")
    "UPDATE op SET noun = 'STRICT'"
    """
    listed = _LISTS.get(statement.strip())
    if listed:
        return listed
    columns = _COLUMNS_OF.fullmatch(statement.strip())
    if columns:
        where = f"table_schema = current_schema() AND table_name = '{columns[1]}'"
        return f"SELECT ordinal_position, column_name FROM information_schema.columns WHERE {where} ORDER BY ordinal_position"
    if not _DDL.match(statement):
        return statement
    return _STRICT.sub(")", _SORT.sub(lambda found: _SORTS[found[0]], statement))
