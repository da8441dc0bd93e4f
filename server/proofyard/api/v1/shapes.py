"""The shapes of answers, for the document that programs read: made from the columns of the files, so that both say the same."""

from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, create_model

from proofyard.api.v1.told import YES_NO, is_as_typed
from proofyard.exchange.csv_writing import SOURCES, Column


class Shape(BaseModel):
    """Nothing but what is named stands in an answer."""

    model_config = ConfigDict(extra="forbid")


class FieldTold(Shape):
    field: str = Field(description="The parameter, or the field of what was sent")
    sentence: str = Field(description="What is wrong with it, for a person")


class Problem(Shape):
    """Problem details as RFC 9457 has them."""

    type: str = Field(description="Always about:blank: the title is that of the status")
    title: str = Field(description="The status in words")
    status: int = Field(description="The status")
    code: str = Field(description="What is wrong, for a program, for example not_usable, no_token, too_often")
    detail: str = Field(description="What is wrong and what to do, for a person")
    fields: list[FieldTold] = Field(default=[], description="What is wrong, field by field")
    fault: str = Field(default="", description="Of a fault of ours: its code, which stands in the server’s log too")


class ReasonTold(Shape):
    """Why something is so, or can’t be told."""

    code: str = Field(description="For programs; it stays the same when the words change")
    parts: dict[str, Any] = Field(description="What the words are made of: counts, names, quantities in SI with the unit in the name")
    words: str = Field(description="For people")


def shape_of(name: str, words: str, columns: Iterable[Column], **more: Any) -> type[Shape]:
    """The shape of one row of a file; `more`: further fields, as pydantic takes them."""
    fields: dict[str, Any] = {column.name: (_type_of(column), Field(description=_words(column))) for column in columns}
    made: type[Shape] = create_model(name, __base__=Shape, __doc__=words, **(fields | more))
    return made


def list_of(name: str, key: str, one: type[Shape], words: str) -> type[Shape]:
    """The shape of a part of a list."""
    fields: dict[str, Any] = {
        key: (list[one], Field(description=words)),  # type: ignore[valid-type]
        "count": (int, Field(description="How many match in all")),
        "next": (str | None, Field(description="Where the next part is; null after the last")),
    }
    made: type[Shape] = create_model(name, __base__=Shape, __doc__=words, **fields)
    return made


def _type_of(column: Column) -> Any:
    if column.values == YES_NO:
        return bool | None
    if is_as_typed(column):
        return dict[str, Any] | None
    return float | None if column.number else str | None


def _words(column: Column) -> str:
    unit = f". Unit: {column.unit}" if column.unit else ""
    values = f". One of: {column.values}" if column.values and column.values != YES_NO else ""
    return f"{column.meaning}{unit}{values}. Source: {SOURCES[column.source]}"
