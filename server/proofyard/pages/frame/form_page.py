"""The one form resource: a page describes its form, and here it is shown, taken, sent back with what is wrong, or saved.

A description (`Form`) is made of blocks: the fields of one record each, that is new or is corrected. `form_routes` gives
it its two routes. Whatever a form changes ends in `records.apply`: all of it or nothing. A refused form comes back with
422, the messages in a summary and by their fields, and everything as it was typed.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Annotated, Any, TypeVar

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from proofyard.access.seats import ArcherSeat, Seat, TheBook, needs
from proofyard.pages.frame.corrections import only_changed, shown_then, with_blank
from proofyard.pages.frame.forms import (
    FieldState,
    FormField,
    FormOperations,
    Options,
    Posted,
    Problems,
    Wrong,
    base_rev,
    body_of,
    form_fields,
    heading,
    nth_id,
    operation_id,
    posted,
    shown_body,
    wrongs,
)
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.records.columns import Noun, meanings
from proofyard.records.ids import new_id
from proofyard.records.listing import one
from proofyard.records.notebook import revisions_of
from proofyard.records.typed_values import Problem
from proofyard.storage import Storage

T = TypeVar("T", bound=Noun)
Bodies = Mapping[str, Mapping[str, Any]]  # key of a block -> field -> as typed
WORDS = "form layout__words"  # keeps the lines of a form short


@dataclass(frozen=True)
class Asked:
    """Who asks for a form, in which book, and what was posted: nothing while it is only shown."""

    request: Request
    seat: Seat
    book: Storage
    form: FormData = field(default_factory=FormData)

    @cached_property
    def operation(self) -> str:
        return operation_id(self.form)

    @property
    def reason(self) -> str:
        return str(self.form.get("reason", "")).strip()

    @property
    def reader(self) -> str:
        return frame_for(self.request, title="").reader

    def nth_id(self, n: int = 0) -> str:
        """The id of the record that the form's n-th operation makes."""
        return nth_id(self.operation, 2 * n)

    def operations(self) -> FormOperations:
        return FormOperations(self.seat, self.operation)

    def crossed_out(self, noun: str, record_id: str, *, name: str = "reason") -> FieldState:
        """Cross a record out, or take that back: either needs a reason. Gives it, with what is wrong if nothing was saved."""
        operations, reason = self.operations(), str(self.form.get(name, "")).strip()
        operations.void(noun, record_id, reason, back=self.form.get("back") == "yes")
        return self.saved(operations, reason)

    def saved(self, operations: FormOperations, reason: str) -> FieldState:
        """Save a form that asks for nothing but a reason. Gives it, with what is wrong if nothing was saved."""
        return FieldState(reason, error=" ".join(one.sentence for one in operations.try_to_save(self.book)))

    def found(self, table: type[T], record_id: str) -> T:
        """The record that an address names, or 404 in words."""
        with self.book.read() as session:
            row = one(session, table, record_id)
        if row is None:
            raise HTTPException(404, f"The book has no such {str(table.__tablename__).replace('_', ' ')}.")
        return row


@dataclass(frozen=True, kw_only=True)
class Block:
    """Some fields of one record in a form.

    row      the record that they correct; None makes a new one
    typed    what the boxes begin with, where that is not what the row says
    fixed    what a new record says besides, unasked
    blank    an answer that may be left out is picked from a list with an empty line
    whole    fields are asked whatever else is chosen
    fit      changes a control that the table alone would draw otherwise
    rev      the name under which the revision travels that the sender saw
    """

    table: type[Noun]
    names: Sequence[str]
    row: Noun | None = None
    typed: Mapping[str, Any] | None = None
    fixed: Mapping[str, Any] = field(default_factory=dict)
    options: Options = field(default_factory=dict)
    title: str = ""
    prefix: str = ""
    labels: Mapping[str, str] = field(default_factory=dict)
    hints: Mapping[str, str] = field(default_factory=dict)
    blank: bool = False
    whole: bool = False
    fit: Callable[[FormField], FormField] = lambda one: one
    rev: str = "base_rev"

    @property
    def noun(self) -> str:
        return str(self.table.__tablename__)

    @property
    def key(self) -> str:
        return self.prefix + self.noun

    @property
    def asked(self) -> list[str]:
        """The fields alone, without headings."""
        return [name for name in self.names if not name.startswith("#")]

    def begun(self) -> Mapping[str, Any]:
        if self.typed is not None:
            return self.typed
        return shown_body(self.row) if self.row is not None else {}

    def posted(self, form: FormData) -> dict[str, Any]:
        return body_of(form, self.table, self.asked, prefix=self.prefix)

    def controls(self, typed: Mapping[str, Any] | None = None, problems: Sequence[Problem] = ()) -> list[FormField]:
        """The controls: as they begin, or as they were `typed`, with what is wrong about that."""
        made = form_fields(
            self.table,
            self.names,
            typed={**self.fixed, **(self.begun() if typed is None else typed)},
            problems=problems,
            options=self.options,
            prefix=self.prefix,
            whatever_is_chosen=self.whole,
        )
        found = [heading(self.title)] if self.title else []
        for control in with_blank(made) if self.blank else made:
            name = control.name.removeprefix(self.prefix)
            found.append(self.fit(replace(control, label=self.labels.get(name, control.label), hint=self.hints.get(name, control.hint))))
        return found

    def keep(self, asked: Asked, operations: FormOperations, body: Mapping[str, Any], **more: Any) -> str:
        """Ask for what was said: a new record, or what was changed in the one that is corrected. Gives its id."""
        if self.row is None:
            return operations.new(self.noun, {**self.fixed, **self.filled(body), **more}, of=self.key)
        changed = self.changed(asked, body)
        if changed:
            rev = base_rev(asked.form, self.rev)
            operations.put(self.noun, self.row.id, changed, base_rev=rev, reason=asked.reason or None, of=self.key)
        return self.row.id

    def filled(self, body: Mapping[str, Any]) -> dict[str, Any]:
        """A new record says nothing of the boxes that stayed empty."""
        known = meanings(self.table)
        return {
            name: value
            for name, value in body.items()
            if str(value or "").strip() and not (value == "no" and known[name][1].value == "yes_no")
        }

    def changed(self, asked: Asked, body: Mapping[str, Any]) -> dict[str, Any]:
        """Only those fields that the person changed since the form was drawn."""
        if self.row is None:
            return only_changed(self.table, body, {})
        with asked.book.read() as session:
            lines = revisions_of(session, self.noun, self.row.id)
        return only_changed(self.table, body, shown_then(self.table, self.row, lines, base_rev=base_rev(asked.form, self.rev)))


@dataclass(frozen=True)
class Sent:
    """A form as it stands: what was sent of each block (nothing while it is only shown), and what is wrong with it."""

    bodies: Bodies = field(default_factory=dict)
    problems: Problems = field(default_factory=dict)

    def controls(self, block: Block) -> list[FormField]:
        return block.controls(self.bodies.get(block.key), self.problems.get(block.key, ()))

    def state(self, key: str, typed: str = "") -> FieldState:
        """The state of a control that a page draws by itself."""
        return FieldState(typed, error=" ".join(dict.fromkeys(one.sentence for one in self.problems.get(key, ()))))


def why_field(name: str = "reason", *, hint: str = "Optional. For example: typed 53 for 35.", label: str = "Why") -> FormField:
    """Why something is changed, in a few words."""
    return FormField(name, label, "text", hint=hint)


@dataclass(frozen=True, kw_only=True)
class Form:
    """A page with one form.

    back      where Cancel leads; `after`: where one goes once it is saved, else there too
    another   the words of a second key, which saves too and is sent as `another`
    unseen    what travels unseen, besides the revisions
    refreshes control -> what the key says that draws the fields again which depend on it
    why       the box that asks why, if one is asked
    own       what only this page's template shows
    apart     blocks that the template draws by itself, out of `own`
    label     what a problem of no field is called in the summary, and `at` which control it leads to: the first of its block
    check     what is wrong before anything is asked of the book, by the key of its block
    keep      asks for what the form says, instead of each block by itself
    sort      puts a problem to another control than that of its field
    arrange   the controls in another order, or with more between them
    named     a line of the summary under another name than its control has
    also      more lines of the summary, of controls that only the template draws
    """

    heading: str = ""
    lead: str = ""
    back: str = ""
    blocks: Sequence[Block] = ()
    apart: Sequence[Block] = ()
    after: str = ""
    action: str = ""
    save: str = "Save"
    another: str = ""
    nav: str = "kit"
    title: str = ""
    template: str = "forms/page.html"
    classes: str = "form"
    caution: str = ""
    unseen: Mapping[str, str] = field(default_factory=dict)
    refreshes: Mapping[str, str] = field(default_factory=dict)
    why: FormField | None = None
    own: Callable[[Sent], object] = lambda sent: None
    label: str = "This form"
    at: str = ""
    check: Callable[[Bodies], Problems] = lambda bodies: {}
    keep: Callable[[FormOperations, Bodies], object] | None = None
    sort: Callable[[Problems], Problems] = lambda problems: problems
    arrange: Callable[[list[FormField], Sent], list[FormField]] = lambda fields, sent: fields
    named: Callable[[Wrong], Wrong] = lambda one: one
    also: Callable[[Sent], Sequence[Wrong]] = lambda sent: ()

    def address(self, asked: Asked) -> str:
        return self.action or asked.request.url.path

    @property
    def all_blocks(self) -> list[Block]:
        return [*self.blocks, *self.apart]


@dataclass(frozen=True)
class FormPage:
    """What forms/page.html shows, and all that extend it."""

    heading: str
    lead: str
    action: str
    operation: str
    fields: Sequence[FormField]
    errors: Sequence[Wrong]
    save: str
    another: str
    back: str
    unseen: Mapping[str, str]
    caution: str
    classes: str
    own: Any


def form_page(asked: Asked, form: Form, sent: Sent | None = None) -> FormPage:
    """The form as it begins, or as it was `sent`, with what is wrong: for its own page, or for a page that holds more."""
    now = sent or Sent()
    # It stays the revision that its sender saw, so that what others said since is not taken for theirs.
    revs = {one.rev: str(base_rev(asked.form, one.rev) if sent else one.row.rev) for one in form.all_blocks if one.row is not None}
    fields = fields_of(asked, form, now)
    return FormPage(
        form.heading,
        form.lead,
        form.address(asked),
        # A form that is shown beside one that was sent is another one.
        asked.operation if sent else new_id(),
        fields,
        _summary(form, now, fields),
        form.save,
        form.another,
        form.back,
        {**revs, **form.unseen},
        form.caution,
        form.classes,
        form.own(now),
    )


def draw(asked: Asked, form: Form, sent: Sent | None = None) -> HTMLResponse:
    page = form_page(asked, form, sent)
    frame = frame_for(asked.request, title=form.title or form.heading, nav=form.nav, wrong=len(page.errors))
    return html(form.template, page, frame=frame, status=422 if page.errors else 200)


def fields_of(asked: Asked, form: Form, sent: Sent) -> list[FormField]:
    """The controls of a form as it stands."""
    fields = [control for block in form.blocks for control in sent.controls(block)]
    if form.why:
        said = " ".join(dict.fromkeys(one.sentence for some in sent.problems.values() for one in some if one.field == form.why.name))
        fields.append(replace(form.why, state=FieldState(str(asked.form.get(form.why.name, "")), error=said)))
    for nth, control in enumerate(fields):
        if control.name in form.refreshes:
            again = f"{form.address(asked)}/fields"
            fields[nth] = replace(control, refresh=again, refresh_words=form.refreshes[control.name])
    return form.arrange(fields, sent)


def _summary(form: Form, sent: Sent, fields: Sequence[FormField]) -> list[Wrong]:
    """Each wrong control, in the words that stand beside it, then what belongs to no control."""
    apart = [control for block in form.apart for control in sent.controls(block)] if sent.problems else []
    errors = [*(form.named(one) for one in wrongs([*fields, *apart])), *form.also(sent)]
    shown = " ".join(one.message for one in errors)
    first = {block.key: block.prefix + block.asked[0] for block in form.all_blocks if block.asked}
    loose = {one.sentence: key for key, some in sent.problems.items() for one in some if one.sentence not in shown}
    return errors + [Wrong(form.at or first.get(key, "main"), form.label, sentence) for sentence, key in loose.items()]


def tried(asked: Asked, form: Form) -> Sent:
    """Save what was posted; what was sent, and what is wrong if nothing was saved."""
    bodies = {block.key: block.posted(asked.form) for block in form.all_blocks}
    problems = form.check(bodies)
    if not problems:
        operations = asked.operations()
        if form.keep is not None:
            form.keep(operations, bodies)
        else:
            for block in form.all_blocks:
                block.keep(asked, operations, bodies[block.key])
        problems = form.sort(operations.refused_by(asked.book))
    return Sent(bodies, problems)


Describe = TypeVar("Describe", bound=Callable[..., Form])


@dataclass(frozen=True)
class Fields:
    fields: Sequence[FormField]


def form_routes(
    router: APIRouter, path: str, *, shown_to: str = "archer", fields: bool = False, most_fields: int = 500
) -> Callable[[Describe], Describe]:
    """GET shows the form that the function describes, POST takes it. It gets `Asked`, and the places of the path by name.

    fields   some fields depend on what is chosen in others: PATH/fields draws them again, and saves nothing
    """

    def add(describe: Describe) -> Describe:
        @router.get(path, response_class=HTMLResponse)
        def show(request: Request, seat: Annotated[Seat, Depends(needs(shown_to))], book: TheBook) -> Response:
            asked = Asked(request, seat, book)
            return draw(asked, describe(asked, **request.path_params))

        @router.post(path, response_class=HTMLResponse)
        def take(request: Request, seat: ArcherSeat, book: TheBook, form: Annotated[FormData, Depends(posted(most_fields))]) -> Response:
            asked = Asked(request, seat, book, form)
            described = describe(asked, **request.path_params)
            sent = tried(asked, described)
            return draw(asked, described, sent) if sent.problems else RedirectResponse(described.after or described.back, 303)

        def draw_again(request: Request, seat: ArcherSeat, book: TheBook, form: Posted) -> Response:
            asked = Asked(request, seat, book, form)
            described = describe(asked, **request.path_params)
            sent = Sent({block.key: block.posted(form) for block in described.all_blocks})
            if not wants_part(request):
                return draw(asked, described, sent)
            return part("forms/_fields.html", Fields(fields_of(asked, described, sent)), said="The fields fit what you chose.")

        if fields:
            router.post(f"{path}/fields", response_class=HTMLResponse)(draw_again)
        return describe

    return add
