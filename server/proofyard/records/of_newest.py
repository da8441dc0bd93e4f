"""A column of the row that holds the highest, or the lowest, of a group.

SQLite gives that row's when a bare column stands beside max() or min() (its documentation of bare columns in aggregates);
PostgreSQL refuses one, and is asked in its own words.
"""

from typing import Any

from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.functions import FunctionElement


class OfHighest(FunctionElement[Any]):
    """`OfHighest(words, at)` in a statement that is grouped and asks for max(at) too: the words of the newest row."""

    inherit_cache = True
    down = True

    def __init__(self, shown: Any, by: Any) -> None:
        super().__init__(shown, by)
        self.type = tuple(self.clauses)[0].type


class OfLowest(OfHighest):
    """The same with min(at): of the oldest row."""

    inherit_cache = True
    down = False


@compiles(OfHighest)
@compiles(OfLowest)
def _bare(element: OfHighest, compiler: Any, **kw: Any) -> str:
    return str(compiler.process(tuple(element.clauses)[0], **kw))


@compiles(OfHighest, "postgresql")
@compiles(OfLowest, "postgresql")
def _first_in_order(element: OfHighest, compiler: Any, **kw: Any) -> str:
    shown, by = (compiler.process(one, **kw) for one in element.clauses)
    return f"(array_agg({shown} ORDER BY {by} {'DESC NULLS LAST' if element.down else 'ASC NULLS LAST'}))[1]"
