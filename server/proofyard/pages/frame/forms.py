"""Forms made from the meanings of a table's columns: one declaration serves the form, its check and its errors.

A form names its fields as the notebook does. Every form carries the id of its operation, made when it was drawn, so
that a double tap or a lost reply is known by it again.
"""

import json
from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Annotated, Any, NamedTuple

from fastapi import Depends, Request
from starlette.datastructures import FormData

from proofyard import quantities
from proofyard.access.seats import Seat
from proofyard.pages.frame.figures import read_back
from proofyard.quantities.reason import Reason
from proofyard.records.apply import NotTaken, apply_all
from proofyard.records.columns import Meaning, Noun, meanings, picked
from proofyard.records.devices import now_ms
from proofyard.records.ids import id_after, is_id, new_id
from proofyard.records.kit_facts import body_taken
from proofyard.records.operations import Answer, Operation
from proofyard.records.typed_values import FALSE_WORDS, HARDNESS_KINDS, Problem, kind_of, take
from proofyard.storage import Storage
from proofyard.views.address import AsTyped, Setting
from proofyard.wording.reasons.said import said as reason_words

# What the macros take: small shapes that a page fills and a template prints.

# What says no, in the words of a form, a phone or a file; None is nothing said.
NOT_TICKED = frozenset({"", "none", *FALSE_WORDS})


@dataclass(frozen=True)
class FieldState:
    """One control as it stands: what was typed, and what the book says about it."""

    typed: str | Sequence[str] = ""  # several where several are ticked
    said: str = ""
    warning: str = ""
    error: str = ""


class Option(NamedTuple):
    """One answer of a choice or a select."""

    value: str
    words: str
    glyph: str = ""
    need: bool = False
    disabled: bool = False
    unseen: str = ""


class Wrong(NamedTuple):
    """One line of the summary of errors: the id of the control, its label, the message as it stands beside it."""

    id: str
    label: str
    message: str


class Column(NamedTuple):
    """One heading of a table; numbers stand to the right, and their unit stands here."""

    words: str
    number: bool = False


@dataclass(frozen=True)
class Change:
    """One field of a revision: what it said, and what it says now."""

    label: str
    before: str = ""
    after: str = ""


def as_options(given: Iterable[object] | Mapping[str, str]) -> list[Option]:
    """Options from any of: a mapping value -> words, pairs, words alone, or Options."""
    if isinstance(given, Mapping):
        return [Option(str(value), str(words)) for value, words in given.items()]
    options = []
    for one in given:
        if isinstance(one, Option):
            options.append(one)
        elif isinstance(one, tuple):
            options.append(Option(str(one[0]), str(one[1]), *one[2:]))
        else:
            options.append(Option(str(one), str(one)))
    return options


def as_columns(given: Iterable["Column | str"], *numbers: int) -> list[Column]:
    """Columns from words alone, too: they stand as words do, but for those of `numbers`, counted from 0."""
    return [one if isinstance(one, Column) else Column(str(one), place in numbers) for place, one in enumerate(given)]


def chosen_values(chosen: object) -> frozenset[str]:
    """What is chosen, as the texts a form sends: one value, several, or nothing."""
    if chosen is None or chosen == "":
        return frozenset()
    if isinstance(chosen, (list, tuple, set, frozenset)):
        return frozenset(str(one) for one in chosen)
    return frozenset({str(chosen)})


def ticked(given: object) -> bool:
    """Whether a box of one yes or no stands ticked: "no" travels as a word, and is as empty as nothing."""
    return str(given).strip().lower() not in NOT_TICKED


def as_state(given: "FieldState | str | int | float | None") -> FieldState:
    """The state of a control; a plain text stands for "as typed", nothing for an empty control."""
    if isinstance(given, FieldState):
        return given
    return FieldState() if given is None else FieldState(typed=str(given))


Options = Mapping[str, Sequence[tuple[str, str]]]
Problems = Mapping[str, Sequence[Problem]]  # the part of a form -> what is wrong with it


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
    blank: str = "—"  # of a select: the words of the empty answer
    required: bool = False
    shown_for: tuple[str, tuple[str, ...]] | None = None
    refresh: str = ""  # where the same fields come from again, when others depend on this one
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
            typed=_shown(meaning, typed.get(name)),
            said=read_back(meaning, typed, name=name, value=taken.values.get(column)),
            error=" ".join(p.sentence for p in problems if p.field == name),
            warning=" ".join(p.sentence for p in warnings if p.field == name),
        )
        unit, unit_words = unit_of(meaning, typed)
        made.append(
            FormField(
                name=full,
                label=meaning.label,
                control=_CONTROLS[meaning.value],
                state=state,
                hint=meaning.hint,
                unit=unit,
                unit_words=unit_words,
                options=_options(meaning, name, options or {}),
                required=meaning.required,
                shown_for=meaning.shown_for,
            )
        )
    return made


def _shown(meaning: Meaning, value: Any) -> Any:
    if meaning.value == "yes_no":
        return "yes" if ticked(value) else ""
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
    "g": "in grams",
    "kg": "in kilograms",
    "mm": "in millimetres",
    "m": "in metres",
    "m/s": "in metres a second",
    "lbf": "in pounds of force",
    "in": "in inches",
    "°C": "in degrees Celsius",
    "%": "in percent",
    "hPa": "in hectopascals",
    "deg": "in degrees",
    "J": "in joules",
    "K": "in kelvins",
    "HRC": "in Rockwell C",
    "ms": "in milliseconds",
    "g/m²": "in grams a square metre",
    "g/m": "in grams a metre",
}


def _options(meaning: Meaning, name: str, options: Options) -> tuple[Option, ...]:
    if meaning.value == "link":
        return tuple(Option(value, words) for value, words in options.get(name, ()))
    glyphs = {"form": "head-{}", "outcome_low": "outcome-{}", "outcome_high": "outcome-{}"}
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
            body[name] = "yes" if ticked(form.get(full)) else "no"
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
        elif meaning.value == "several":
            shown[name] = picked(value)
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
    """Further ids that follow from a form's own, so that the same form sent twice means the same records."""
    return id_after(operation, n, n)


@dataclass
class FormOperations:
    """The operations of one form, in order; the form's own id makes theirs and those of new records.

    whose   for each the part of the form that it came from, so that what is wrong with it is said there
    """

    seat: Seat
    operation: str
    operations: list[Operation] = field(default_factory=list)
    whose: list[str] = field(default_factory=list)

    def new(self, noun: str, body: Mapping[str, Any], *, of: str = "") -> str:
        """Make a record; returns its id."""
        return self.put(noun, nth_id(self.operation, 2 * len(self.operations)), body, of=of)

    def put(self, noun: str, record_id: str, body: Mapping[str, Any], *, base_rev: int = 0, reason: str | None = None, of: str = "") -> str:
        self._add("put", noun, record_id, body, base_rev=base_rev, reason=reason, of=of)
        return record_id

    def void(self, noun: str, record_id: str, reason: str, *, back: bool = False, of: str = "") -> None:
        self._add("unvoid" if back else "void", noun, record_id, {}, reason=reason, of=of)

    def _add(self, action: str, noun: str, record_id: str, body: Mapping[str, Any], *, of: str, **more: Any) -> None:
        assert self.seat.device_id is not None
        op_id = nth_id(self.operation, 2 * len(self.operations) + 1)
        self.operations.append(Operation(op_id, self.seat.device_id, action, noun, record_id, body=body, **more))
        self.whose.append(of)

    def moment(self, storage: Storage) -> int:
        """Now, for the body of the next operation; the same moment again when the form is sent twice."""
        with storage.read() as session:
            before = body_taken(session, nth_id(self.operation, 2 * len(self.operations) + 1))
        return int(before.get("at") or now_ms())

    def save(self, storage: Storage) -> list[Answer]:
        """All of it or nothing.

        Refuses
            NotTaken  with the problems, field by field
        """
        return apply_all(storage, self.operations)

    def refused_by(self, storage: Storage) -> dict[str, list[Problem]]:
        """Save all of it; or nothing, and what is wrong with each part of the form.

        That another operation was refused is no fault of those that point to it, nor of what is read of the same shot.
        """
        found: dict[str, list[Problem]] = {}
        try:
            if self.operations:
                self.save(storage)
        except NotTaken as error:
            refused: dict[str, str] = {}
            for whose, op, answer in zip(self.whose, self.operations, error.answers, strict=True):
                mine = [
                    one
                    for one in answer.problems
                    if str(op.body.get(one.field)) not in refused and (one.field or refused.get(op.record_id, op.noun) == op.noun)
                ]
                if not answer.taken:
                    refused.setdefault(answer.record_id, op.noun)
                if mine:
                    found.setdefault(whose, []).extend(mine)
            return found or {"": error.problems}
        return found

    def try_to_save(self, storage: Storage) -> list[Problem]:
        """All of it; or nothing, and what is wrong."""
        return [one for some in self.refused_by(storage).values() for one in some]


# What a form posted, read before the route runs, so that the route itself may wait for the book in a thread.


def posted(most_fields: int = 500) -> Callable[[Request], Awaitable[FormData]]:
    async def read(request: Request) -> FormData:
        return await request.form(max_fields=most_fields, max_files=0)

    return read


Posted = Annotated[FormData, Depends(posted())]


def base_rev(form: FormData, name: str = "base_rev") -> int:
    """The revision that the person saw; 0 where the form does not say, which makes every change a second opinion."""
    text = str(form.get(name, ""))
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0


# The settings of a page: from its address, and into the controls of its form.


def query_of(request: Request) -> dict[str, list[str]]:
    """Field -> its values, in the order of the address."""
    found: dict[str, list[str]] = {}
    for name, value in request.query_params.multi_items():
        found.setdefault(name, []).append(value)
    return found


def asked_again(request: Request) -> str:
    """The address' query as it was asked, with its question mark, for what leads to the same view."""
    return f"?{request.url.query}" if request.url.query else ""


def controls_of(
    asked: AsTyped, problems: Mapping[str, str] | None = None, *, choices: Mapping[str, Mapping[str, str]] | None = None
) -> dict[str, FormField]:
    """The control of each setting, with what was typed and what is wrong with it; a template prints each with `control`.

    problems    where more turned out to be wrong than the address alone could tell
    choices     answers of a setting that were not known when the address was read
    """
    wrong, answers = asked.problems if problems is None else problems, choices or {}
    return {
        name: _control(setting.of(answers[name]) if name in answers else setting, asked, wrong.get(name, ""))
        for name, setting in asked.schema.items()
    }


# Answers that a select offers. A book of years has thousands of panels: a select of them all weighs more than the rest of its page.
MOST_OFFERED = 100


def _offered(setting: Setting[Any], typed: object) -> tuple[Mapping[str, str], str]:
    """The answers to show, and what is said of those that are not; what was picked always stands among them."""
    every = setting.choices
    if setting.control != "select" or len(every) <= MOST_OFFERED:
        return every, setting.hint
    offered = dict(islice(every.items(), MOST_OFFERED))
    if typed in every:
        offered[str(typed)] = every[str(typed)]
    return offered, f"{setting.hint} {MOST_OFFERED} of {len(every)} are listed. Any other is chosen from its own page.".strip()


def _control(setting: Setting[Any], asked: AsTyped, error: str) -> FormField:
    name = setting.name
    typed = asked.ticked[name] if name in asked.ticked else asked.typed[name]
    offered, hint = _offered(setting, typed)
    return FormField(
        name=name,
        label=setting.label,
        control=setting.control,
        state=FieldState(typed, error=error, warning=asked.warnings.get(name, "")),
        hint=hint,
        unit={"deg": "°", "1": ""}.get(setting.unit, setting.unit),
        unit_words=UNIT_WORDS.get(setting.unit, ""),
        options=tuple(Option(value, words, setting.glyphs.get(value, "")) for value, words in offered.items()),
        blank=setting.blank,
    )


def cell(one: object, reader: str = "metric") -> object:
    """What a cell of a table or a fact shows: a reason is said, a row of them each; a text stays as it is."""
    if isinstance(one, Reason):
        return reason_words(one, reader)
    return tuple(cell(each, reader) for each in one) if isinstance(one, tuple) else one
