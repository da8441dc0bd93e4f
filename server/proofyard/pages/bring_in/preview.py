"""The preview of a sheet: what each column is, what is asked of all rows, each row with a trouble, what would be made."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.access.seats import Seat
from proofyard.exchange.bring_in.batch import Ready, Source
from proofyard.exchange.bring_in.guess import Guess, guesses, known_words
from proofyard.exchange.bring_in.held import Chosen
from proofyard.exchange.bring_in.said import Said, Trouble, answers_of, fingerprint
from proofyard.exchange.bring_in.said_words import choices_of
from proofyard.exchange.bring_in.table import WHY, Table, heading_row, table_of
from proofyard.exchange.bring_in.targets import Target, targets_of
from proofyard.pages.bring_in.said import ColumnShown, columns_shown, guesses_of, said_posted, with_kept
from proofyard.pages.frame.forms import FieldState, Posted, Wrong
from proofyard.records.import_batch import HOLDS
from proofyard.records.import_facts import answers_kept
from proofyard.records.listing import all_of
from proofyard.records.speed import METHODS
from proofyard.records.trial import Trial
from proofyard.storage import Session, Storage
from proofyard.wording.counts import counted

SHOWN_ROWS, SHOWN_TROUBLES, SHOWN_BESIDE = 10, 25, 20
NAMES_LISTED = 12
MADE_NAMES = {"archer": ("archer", "call_name"), "bow": ("bow", "name"), "arrow": ("arrow", "tag"), "panel": ("panel", "name")}
MEND = "Mend the cells, or leave the rows out; then bring it in."


@dataclass(frozen=True)
class Looked:
    """A sheet as it is looked at now: which sheet and heading row, its table, what was said. `fresh`: nothing was said of it yet."""

    chosen: Chosen
    sheet: int
    table: Table
    said: Said
    columns: tuple[Guess, ...]
    kept: bool
    fresh: bool

    def source(self, seat: Seat) -> Source:
        assert seat.device_id is not None
        return Source(self.chosen.file_name, self.chosen.sheets[self.sheet].name, seat.device_id, seat.letter or "")


@dataclass(frozen=True)
class CellShown:
    name: str
    label: str
    state: FieldState


@dataclass(frozen=True)
class RowShown:
    """A row with a trouble: its cells to mend, what is wrong with it as a whole, whether it is left out."""

    number: int
    says: str
    cells: Sequence[CellShown]
    problem: str


@dataclass(frozen=True)
class Preview:
    """All that the preview shows."""

    held_id: str
    heading: str
    lead: str
    kept: bool
    errors: Sequence[Wrong]
    sheets: Sequence[tuple[str, str]]
    sheet: str
    heading_row: str
    drawn: str
    columns: Sequence[ColumnShown]
    for_all: Sequence[CellShown]
    shots: bool
    trials: Sequence[tuple[str, str]]
    said: Said
    question: FieldState
    methods: Sequence[tuple[str, str]]
    has_speed: bool
    troubles: Sequence[RowShown]
    more_troubles: int
    left_out: Sequence[tuple[str, str]]
    mended: Sequence[tuple[str, str]]
    row_columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    rows_taken: int
    beside: Sequence[Sequence[str]]
    second: str
    made: Sequence[tuple[str, str]]
    act: str


def looked_at(book: Storage, chosen: Chosen, form: Posted | None) -> Looked:
    """The sheet with guesses, with what was kept, or with what was posted of it."""
    sheet = _number(form, "sheet", len(chosen.sheets)) if form is not None else 0
    words, held = known_words(chosen.holds), chosen.sheets[sheet]
    at = heading_row(held, words)
    drawn = str(form.get("drawn", "")) if form is not None else ""
    if form is not None and drawn.partition("|")[0] == str(sheet):
        at = max(0, _number(form, "heading", len(held.rows) + 1) - 1)
    table = table_of(held, at, words)
    if form is not None and drawn == f"{sheet}|{at}":
        said = said_posted(form, table, chosen.holds)
        return Looked(chosen, sheet, table, said, guesses_of(said.answers, table, chosen.holds), False, False)
    guessed = guesses(table, chosen.holds)
    with book.read() as session:
        kept = answers_of(answers_kept(session, chosen.holds, fingerprint(table)) or "")
    columns = with_kept(guessed, kept, chosen.holds) if kept else guessed
    question = f"What did the shots of {chosen.file_name} show?" if chosen.holds == "shot" else ""
    return Looked(
        chosen, sheet, table, Said(chosen.holds, tuple(one.answer for one in columns), question=question), columns, bool(kept), True
    )


def _number(form: Posted, name: str, most: int) -> int:
    text = str(form.get(name, ""))
    return min(int(text), most - 1) if text.isascii() and text.isdigit() and len(text) < 7 else 0


def preview_of(session: Session, looked: Looked, ready: Ready, also: Sequence[Trouble], *, held_id: str, tell: bool) -> Preview:
    """The page. `also`: what the book itself would refuse; `tell`: somebody pressed to bring it in, and it stayed out."""
    said, table, holds = looked.said, looked.table, looked.chosen.holds
    troubles = _troubles(looked, ready, also)
    open_trials = [(one.id, one.question) for one in all_of(session, Trial) if one.state == "open"]
    no_question = holds == "shot" and not said.trial and not said.question
    question = FieldState(said.question, error=ready.refused if tell and no_question else "")
    wrong = _errors(ready, troubles, question, tell=tell, leave=said.leave_wrong)
    taken = [(at, targets_of(holds)[one.target]) for at, one in enumerate(said.answers) if one.target in targets_of(holds)]
    left = len(ready.rows) - len({one.row for one in also if one.row})
    return Preview(
        held_id,
        f"{HOLDS[holds]} from {looked.chosen.file_name}",
        _lead(looked, left, len(troubles)),
        looked.kept,
        wrong,
        [(str(at), one.name or f"Sheet {at + 1}") for at, one in enumerate(looked.chosen.sheets)],
        str(looked.sheet),
        str(table.heading_row),
        f"{looked.sheet}|{table.heading_row - 1}",
        columns_shown(table, holds, looked.columns),
        _for_all(said, holds),
        holds == "shot",
        open_trials,
        said,
        question,
        list(METHODS.items()),
        any(target.key == "speed" for _, target in taken),
        troubles[:SHOWN_TROUBLES],
        max(0, len(troubles) - SHOWN_TROUBLES),
        [(str(number), f"Row {number}") for number in sorted(said.left_out)],
        [
            (f"cell-{row}-{at}", text)
            for (row, at), text in said.mended.items()
            if row not in {one.number for one in troubles[:SHOWN_TROUBLES]}
        ],
        ["Row", *(target.label for _, target in taken)],
        [[str(row.number), *(_as_read(target, row.values.get(target.key, "")) for _, target in taken)] for row in ready.rows[:SHOWN_ROWS]],
        left,
        [
            [f"Row {one.number}", WHY[one.why_not], " · ".join(cell for cell in one.cells if cell)[:120]]
            for one in table.beside[:SHOWN_BESIDE]
        ],
        ", ".join(table.second),
        _facts(ready),
        f"Bring in {counted(left, 'row')}" if left else "Bring in",
    )


def _lead(looked: Looked, taken: int, wrong: int) -> str:
    columns = sum(bool(one.target) for one in looked.said.answers)
    lead = f"{columns} of {counted(len(looked.table.headings), 'column')} would be taken, and {counted(taken, 'row')}."
    return f"{lead} {counted(wrong, 'row')} can’t be read yet." if wrong else f"{lead} Nothing is in the book yet."


def _errors(ready: Ready, troubles: Sequence[RowShown], question: FieldState, *, tell: bool, leave: bool) -> list[Wrong]:
    if not tell:
        return []
    made = [Wrong("question", "The question", question.error)] if question.error else []
    if troubles and not leave:
        first = troubles[0]
        made.append(Wrong(first.cells[0].name if first.cells else "leave_wrong", f"{counted(len(troubles), 'row')} with a trouble", MEND))
    if ready.refused and not question.error:
        made.append(Wrong("main", "This sheet", ready.refused))
    return made or [Wrong("main", "This sheet", MEND)]


def _troubles(looked: Looked, ready: Ready, also: Sequence[Trouble]) -> list[RowShown]:
    by_row: dict[int, list[Trouble]] = {row.number: list(row.troubles) for row in ready.wrong}
    for one in also:
        if one.row:
            by_row.setdefault(one.row, []).append(one)
    lines = {line.number: line for line in looked.table.lines}
    made = []
    for number in sorted(by_row):
        cells = []
        for at in sorted({one.column for one in by_row[number] if one.column is not None}):
            text = looked.said.mended.get((number, at), lines[number].cells[at])
            error = " ".join(one.sentence for one in by_row[number] if one.column == at)
            cells.append(CellShown(f"cell-{number}-{at}", looked.table.headings[at].shown, FieldState(text, error=error)))
        whole = " ".join(one.sentence for one in by_row[number] if one.column is None)
        says = " · ".join(cell for cell in lines[number].cells if cell)[:160]
        made.append(RowShown(number, says, cells, whole))
    return made


def _for_all(said: Said, holds: str) -> list[CellShown]:
    """What every row must have and no column says; and what was said of all rows before."""
    there = {one.target for one in said.answers}
    asked = [one for one in targets_of(holds).values() if (one.needed and one.key not in there) or one.key in said.all_rows]
    also = ("distance", "head_form") if holds == "shot" else ()
    asked += [targets_of(holds)[key] for key in also if key not in there and key not in said.all_rows]
    return [
        CellShown(f"all-{one.key}", one.label, FieldState(said.all_rows.get(one.key, "")))
        for one in asked
        if one.key not in ("name", "tag")
    ]


def _as_read(target: Target, text: str) -> str:
    return choices_of(target).get(text, text) if target.value == "choice" else text


def _facts(ready: Ready) -> list[tuple[str, str]]:
    """New kit and kit that the book has, by name."""
    new: dict[str, list[str]] = {}
    for one in ready.making.made:
        if one.noun in MADE_NAMES:
            new.setdefault(one.noun, []).append(str(one.body.get(MADE_NAMES[one.noun][1], "")))
    shots = sum(one.noun == "shot" for one in ready.making.made)
    made = [("Shots", str(shots))] if shots else []
    made += [(counted(len(names), f"new {noun}"), _listed(names)) for noun, names in new.items()]
    return made + [(f"In the book already: {noun}", _listed(list(names))) for noun, names in ready.making.known.items()]


def _listed(names: Sequence[str]) -> str:
    more = len(names) - NAMES_LISTED
    return ", ".join(names[:NAMES_LISTED]) + (f" and {more} more" if more > 0 else "")
