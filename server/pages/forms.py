"""Forms made from the meanings of a table's columns: one declaration serves the form, its check and its errors.

A form names its fields as the notebook does. Every form carries the id of its operation, made when it was drawn, so
that a double tap or a lost reply is known by it again.
"""

import hashlib
import json
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from starlette.datastructures import FormData

from server import quantities
from server.access.seats import Seat
from server.pages.figures import read_back
from server.pages.shapes import FieldState, Option, Wrong
from server.records.apply import NotTaken, apply_all
from server.records.columns import Meaning, Noun, meanings
from server.records.devices import now_ms
from server.records.ids import is_id, new_id
from server.records.kit_facts import body_taken
from server.records.operations import Answer, Operation
from server.records.typed_values import HARDNESS_KINDS, Problem, kind_of, take
from server.storage import Storage

Options = Mapping[str, Sequence[tuple[str, str]]]


@dataclass(frozen=True)
class FormField:
    """What one control needs: see templates/forms/_fields.html, which prints a list of these."""

    name: str
    label: str
    control: str  # text, lines, number, choice, several, select, date, tick; heading: no control, a heading over the next
    state: FieldState = FieldState()
    hint: str = ""
    unit: str = ""
    unit_words: str = ""
    options: tuple[Option, ...] = ()
    required: bool = False
    shown_for: tuple[str, tuple[str, ...]] | None = None
    refresh: str = ""  # where the same fields come from anew, when others depend on this one
    refresh_words: str = "Show its fields"
    focus: bool = False


def heading(words: str) -> FormField:
    """A heading between the controls of a long form."""
    return FormField("", words, "heading")


_CONTROLS = {
    "words": "text",
    "lines": "lines",
    "quantity": "number",
    "choice": "choice",
    "several": "several",
    "link": "select",
    "whole": "number",
    "yes_no": "tick",
    "day": "date",
    "moment": "text",
}


def form_fields(
    table: type[Noun],
    names: Iterable[str] | None = None,
    *,
    typed: Mapping[str, Any] | None = None,
    problems: Sequence[Problem] = (),
    warnings: Sequence[Problem] = (),
    options: Options | None = None,
    prefix: str = "",
    whatever_is_chosen: bool = False,
) -> list[FormField]:
    """The controls for some fields of a table, in that order; None for all.

    names     a name that begins with # is a heading; a field that is asked for another answer only is left out, unless
              `whatever_is_chosen`
    typed     field name -> text as typed (or picked), kept as it was; what was read of it is said beside it
    options   field name -> (id, name) pairs, for fields that link to other records
    prefix    put before every control's name, where one form fills two records
    """
    known, typed = meanings(table), typed or {}
    taken = take(table, {name: value for name, value in typed.items() if name in known})
    warnings = [*warnings, *(one for one in taken.warnings if one not in warnings)]
    made = []
    for name in list(known) if names is None else names:
        if name.startswith("#"):
            made.append(heading(name.removeprefix("#").strip()))
            continue
        column, meaning = known[name]
        if not whatever_is_chosen and meaning.shown_for and str(typed.get(meaning.shown_for[0]) or "") not in meaning.shown_for[1]:
            continue
        full = prefix + name
        state = FieldState(
            typed=_shown(typed.get(name)),
            said=read_back(meaning, typed, name=name, value=taken.values.get(column)),
            error=" ".join(p.sentence for p in problems if p.field == name),
            warning=" ".join(p.sentence for p in warnings if p.field == name),
        )
        unit, unit_words = unit_of(meaning, typed)
        made.append(
            FormField(
                name=full, label=meaning.label, control=_CONTROLS[meaning.value], state=state, hint=meaning.hint, unit=unit,
                unit_words=unit_words, options=_options(meaning, name, options or {}), required=meaning.required,
                shown_for=meaning.shown_for,
            )
        )
    return made


def _shown(value: Any) -> Any:
    if isinstance(value, str) and value.startswith("["):
        try:
            return json.loads(value)
        except ValueError:
            return value
    return "" if value is None else value


def unit_of(meaning: Meaning, now: Mapping[str, Any]) -> tuple[str, str]:
    """The unit that a bare number takes in this field, and how it is said."""
    if meaning.value != "quantity":
        return "", ""
    kind = kind_of(meaning, now)
    if kind is None:
        return "", ""
    unit = HARDNESS_KINDS[kind] if kind in HARDNESS_KINDS else quantities.KINDS[kind].unit
    unit = "" if unit == "1" else unit
    return {"deg": "°"}.get(unit, unit), UNIT_WORDS.get(unit, f"in {unit}") if unit else ""


UNIT_WORDS = {
    "g": "in grams", "kg": "in kilograms", "mm": "in millimetres", "m": "in metres", "m/s": "in metres a second",
    "lbf": "in pounds of force", "in": "in inches", "°C": "in degrees Celsius", "%": "in percent", "hPa": "in hectopascals",
    "deg": "in degrees", "J": "in joules", "K": "in kelvins", "HRC": "in Rockwell C", "ms": "in milliseconds",
    "g/m²": "in grams a square metre", "g/m": "in grams a metre",
}  # fmt: skip


def _options(meaning: Meaning, name: str, options: Options) -> tuple[Option, ...]:
    if meaning.value == "link":
        return tuple(Option(value, words) for value, words in options.get(name, ()))
    glyphs = {"form": "head-{}", "outcome_low": "rung-{}", "outcome_high": "rung-{}"}
    glyph = glyphs.get(name, "")
    return tuple(Option(value, words, glyph.format(value)) for value, words in meaning.choices.items())


def wrongs(fields: Iterable[FormField], problems: Sequence[Problem] = (), *, label: str = "This form", at: str = "main") -> list[Wrong]:
    """The summary of errors: each wrong field, in the words that stand beside it, then what belongs to no field.

    at    the id of the control that this last leads to
    """
    listed = list(fields)
    said = [Wrong(one.name, one.label, one.state.error) for one in listed if one.state.error]
    shown = " ".join(one.message for one in said)
    loose = dict.fromkeys(p.sentence for p in problems if p.sentence not in shown)
    return said + [Wrong(at, label, sentence) for sentence in loose]


def body_of(form: FormData, table: type[Noun], names: Iterable[str] | None = None, *, prefix: str = "") -> dict[str, Any]:
    """What was posted for some fields of a table. A field that the form did not carry is left alone."""
    known = meanings(table)
    body: dict[str, Any] = {}
    for name in list(known) if names is None else names:
        meaning, full = known[name][1], prefix + name
        if meaning.value == "several":
            body[name] = [str(value) for value in form.getlist(full)]
        elif meaning.value == "yes_no":
            body[name] = "yes" if form.get(full) else "no"
        elif full in form:
            body[name] = str(form[full])
    return body


def shown_body(row: Noun) -> dict[str, Any]:
    """A record as a person typed it, to fill a form that corrects or copies it."""
    words = json.loads(row.typed)
    shown = {}
    for name, (column, meaning) in meanings(type(row)).items():
        value = getattr(row, column)
        if meaning.value == "quantity":
            shown[name] = words.get(name) if words.get(name) is not None else _number(value)
        elif meaning.value == "yes_no":
            shown[name] = "yes" if value else ""
        else:
            shown[name] = "" if value is None else value if isinstance(value, str) else str(value)
    return shown


def _number(value: float | None) -> str:
    # Only records that no person typed (an import) lack their words; their number is shown in SI.
    return "" if value is None else repr(value)


def operation_id(form: FormData) -> str:
    """The id of a form's operation, or a new one if the form did not carry a proper one."""
    given = str(form.get("operation", ""))
    return given if is_id(given) else new_id()


def nth_id(operation: str, n: int) -> str:
    """Further ids that follow from a form's own, so that the same form sent twice means the same records.

    They keep the moment of the form's own id and count on from it, so that records sort in the order of the form.
    """
    moment = uuid.UUID(operation).int >> 80
    tail = int.from_bytes(hashlib.sha256(f"{operation}/{n}".encode()).digest()[:8], "big") & ((1 << 62) - 1)
    return str(uuid.UUID(int=moment << 80 | 0x7 << 76 | (n & 0xFFF) << 64 | 0b10 << 62 | tail))


@dataclass
class FormOperations:
    """The operations of one form, in order; the form's own id makes theirs and those of new records."""

    seat: Seat
    operation: str
    operations: list[Operation] = field(default_factory=list)

    def new(self, noun: str, body: Mapping[str, Any]) -> str:
        """Make a record; returns its id."""
        record_id = nth_id(self.operation, 2 * len(self.operations))
        return self.put(noun, record_id, body)

    def put(
        self, noun: str, record_id: str, body: Mapping[str, Any], *, base_rev: int = 0, reason: str | None = None
    ) -> str:
        self._add("put", noun, record_id, body, base_rev, reason)
        return record_id

    def strike(self, noun: str, record_id: str, reason: str, *, back: bool = False) -> None:
        self._add("unstrike" if back else "strike", noun, record_id, {}, 0, reason)

    def _add(self, action: str, noun: str, record_id: str, body: Mapping[str, Any], base_rev: int, reason: str | None) -> None:
        assert self.seat.device_id is not None
        self.operations.append(
            Operation(
                op_id=nth_id(self.operation, 2 * len(self.operations) + 1), device_id=self.seat.device_id, action=action,
                noun=noun, record_id=record_id, base_rev=base_rev, body=body, reason=reason,
            )
        )

    def moment(self, storage: Storage) -> int:
        """Now, for the body of the next operation; the same moment again when the form is sent twice."""
        with storage.read() as session:
            before = body_taken(session, nth_id(self.operation, 2 * len(self.operations) + 1))
        return int(before.get("at") or now_ms())

    def problems_of(self, error: NotTaken) -> list[list[Problem]]:
        """What is wrong with each operation. That another one was refused is no fault of those that point to it."""
        refused = {answer.record_id for answer in error.answers if not answer.taken}
        return [
            [one for one in answer.problems if op.body.get(one.field) not in refused]
            for op, answer in zip(self.operations, error.answers, strict=True)
        ]

    def save(self, storage: Storage) -> list[Answer]:
        """All of it or nothing.

        Refuses
            NotTaken  with the problems, field by field
        """
        return apply_all(storage, self.operations)

    def try_to_save(self, storage: Storage) -> list[Problem]:
        """All of it; or nothing, and what is wrong."""
        try:
            self.save(storage)
        except NotTaken as error:
            return error.problems
        return []


__all__ = [
    "FormField", "FormOperations", "NotTaken", "body_of", "form_fields", "heading", "nth_id", "operation_id",
    "shown_body", "unit_of", "wrongs",
]  # fmt: skip
