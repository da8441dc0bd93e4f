"""One column of a package's table: what it holds, how that is written as text, and how Table Schema describes it.

Made from the meanings that the columns of the book declare, so that the form, the check, the file and its schema say the same.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from proofyard.exchange.columns_of_records import si_unit
from proofyard.exchange.csv_writing import utc_text
from proofyard.quantities import KINDS
from proofyard.records.columns import Meaning, Noun, meanings
from proofyard.records.trial import OUTCOMES

MOMENT_FORM = "%Y-%m-%dT%H:%M:%S.%fZ"
UUID_FORM = "^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$"
LIST_MARK = ";"
_ORDERED = (OUTCOMES,)
_UNITS_OF_KINDS = {"pick_hardness": "HRC", "hardness_value": ""}
_TYPES = {
    "words": "string",
    "lines": "string",
    "choice": "string",
    "several": "list",
    "link": "string",
    "quantity": "number",
    "whole": "integer",
    "yes_no": "boolean",
    "day": "date",
    "moment": "datetime",
}


@dataclass(frozen=True)
class Field:
    """One column of a table.

    type        as Table Schema calls it: string, number, integer, boolean, date, datetime, list, object
    noun        the record that an id names; noun_in: the column that says which noun's
    unit_in     the column that says what the quantity is, and so its unit: value -> unit
    source      a key of csv_writing.SOURCES
    categories  stored word -> word shown; ordered: from the least to the greatest; closed: nothing else may stand in it
    """

    name: str
    type: str
    title: str
    source: str
    words: str = ""
    unit: str = ""
    unit_in: tuple[str, Mapping[str, str]] | None = None
    required: bool = False
    least: float | None = None
    most: float | None = None
    longest: int | None = None
    is_id: bool = False
    categories: Mapping[str, str] = field(default_factory=dict)
    ordered: bool = False
    closed: bool = False
    noun: str | None = None
    noun_in: str | None = None

    def schema(self) -> dict[str, Any]:
        """As Table Schema 2 has it. What it has no word for stands under `proofyard`, what it allows (unit) beside it."""
        said: dict[str, Any] = {"name": self.name, "type": self.type, "title": self.title}
        if self.words:
            said["description"] = self.words
        if self.type == "datetime":
            said["format"] = MOMENT_FORM
        if self.type == "boolean":
            said |= {"trueValues": ["TRUE"], "falseValues": ["FALSE"]}
        if self.type == "list":
            said["delimiter"] = LIST_MARK
        if self.unit:
            said["unit"] = self.unit
        if self.unit_in:
            said["unitFrom"] = {"field": self.unit_in[0], "units": dict(self.unit_in[1])}
        if self.categories:
            said["categories"] = [{"value": value, "label": label} for value, label in self.categories.items()]
        if self.ordered:
            said["categoriesOrdered"] = True
        said["source"] = self.source
        if self.noun_in:
            said["nounFrom"] = self.noun_in
        return said | ({"constraints": constraints} if (constraints := self._constraints()) else {})

    def _constraints(self) -> dict[str, Any]:
        said: dict[str, Any] = {"required": True} if self.required else {}
        if self.is_id:
            said["pattern"] = UUID_FORM
        if self.closed:
            said["enum"] = list(self.categories)
        for name, limit in (("minimum", self.least), ("maximum", self.most), ("maxLength", self.longest)):
            if limit is not None:
                said[name] = limit
        return said


def of_meaning(column: str, meaning: Meaning, table: type[Noun], *, source: str) -> Field:
    """The package's column of one column of the book."""
    known = meanings(table)
    unit, least, most, unit_in = "", None, None, None
    if meaning.value == "quantity":
        unit, least, most, unit_in = _quantity(column, meaning)
    elif meaning.value == "whole":
        unit, least = "1", 0
    noun_in = "noun" if meaning.value == "link" and meaning.noun is None and "noun" in known else None
    return Field(
        name=column,
        type=_TYPES[meaning.value],
        title=meaning.label,
        source=source,
        words=meaning.hint if meaning.value != "quantity" else "",
        unit=unit,
        unit_in=unit_in,
        required=meaning.required,
        least=least,
        most=most,
        longest=meaning.limit if meaning.value in ("words", "lines") else None,
        is_id=meaning.value == "link",
        categories=meaning.choices,
        ordered=meaning.choices in _ORDERED,
        closed=meaning.value == "choice",
        noun=meaning.noun,
        noun_in=noun_in,
    )


def _quantity(column: str, meaning: Meaning) -> tuple[str, float | None, float | None, tuple[str, Mapping[str, str]] | None]:
    """Its SI unit and what is possible, or what says its unit."""
    if isinstance(meaning.kind, tuple):
        other, kinds = meaning.kind
        return "", None, None, (other, {value: KINDS[kind].si_unit for value, kind in kinds.items()})
    kind = KINDS.get(meaning.kind or "")
    if kind is None:
        return _UNITS_OF_KINDS.get(meaning.kind or "", si_unit(column)), None, None, None
    return si_unit(column) or kind.si_unit, *kind.possible, None


# --- values as text, and back

Text = Callable[[Any], str]


def moment_of(text: str) -> int:
    """Milliseconds since 1970.

    Refuses
        ValueError  not a moment in UTC to the millisecond
    """
    found = datetime.strptime(text, MOMENT_FORM).replace(tzinfo=UTC)
    milliseconds = round((found - datetime(1970, 1, 1, tzinfo=UTC)).total_seconds() * 1000)
    if milliseconds < 0 or utc_text(milliseconds) != text:
        raise ValueError(text)
    return milliseconds


def truth_text(truth: Any) -> str:
    """TRUE and FALSE: base R takes only these for logical, pandas takes them too."""
    return "TRUE" if truth else "FALSE"


_WRITERS: Mapping[str, Text] = {
    "string": str,
    "date": str,
    "number": lambda value: repr(float(value)),
    "integer": lambda value: str(int(value)),
    "boolean": truth_text,
    "datetime": utc_text,
    "list": lambda stored: LIST_MARK.join(json.loads(stored)),
    "object": lambda value: json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")),
}


def writer_of(one: Field) -> Text:
    """How a value of the book is written in this column; what is not known, None, is an empty cell and comes to no writer."""
    return _WRITERS[one.type]
