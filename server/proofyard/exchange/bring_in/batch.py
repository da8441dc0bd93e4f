"""A sheet with its answers as one batch: tried without leaving a trace, then written, all of it or nothing; and crossed out as one."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.exchange.bring_in.kit_rows import make_arrow, make_bow, make_panel
from proofyard.exchange.bring_in.making import Made, Making
from proofyard.exchange.bring_in.said import RowRead, Said, Trouble, answers_json, fingerprint, read_row
from proofyard.exchange.bring_in.shot_rows import ShotsTo, make_shot
from proofyard.exchange.bring_in.table import Table
from proofyard.records.apply import NotTaken, apply, apply_all
from proofyard.records.ids import new_id
from proofyard.records.import_facts import MadeFact, known_kit, made_by, used_elsewhere, voided_with
from proofyard.records.operations import Answer, Operation
from proofyard.records.range_facts import where_it_stands
from proofyard.records.typed_values import Problem
from proofyard.storage import Session, Storage

MOST_ROWS = 2_000  # one batch is one commit of 5 to 15 s, and phones that save wait for it
MOST_TRIED = 2_000  # operations; a longer sheet is held against the book only when it is brought in, as each look would take as long
TOO_MANY = f"A batch takes {MOST_ROWS:,} rows at most: phones that save have to wait for it. Bring the sheet in in parts."
NO_ROW = "No row is left to bring in."
NO_QUESTION = "Enter the question that these shots were to answer, or choose a trial."
_KIT = {"arrow": make_arrow, "bow": make_bow, "panel": make_panel}


@dataclass(frozen=True)
class Source:
    """What is brought in, by whom: names of file and sheet, the device, its letter."""

    file_name: str
    sheet: str
    device_id: str
    letter: str


@dataclass(frozen=True)
class Ready:
    """Everything read: rows that are taken, rows with a trouble, the operations, what of the kit is new and what was there."""

    rows: tuple[RowRead, ...]
    wrong: tuple[RowRead, ...]
    left_out: int
    operations: tuple[Operation, ...]
    rows_of: tuple[int, ...]
    making: Making
    refused: str = ""

    @property
    def troubles(self) -> list[Trouble]:
        return [one for row in self.wrong for one in row.troubles]


def made_ready(session: Session, table: Table, said: Said, source: Source, batch_id: str) -> Ready:
    """The whole sheet as operations; nothing is asked of the book but what it has."""
    making = Making(known_kit(session))
    lines = [line for line in table.lines if line.number not in said.left_out]
    if len(lines) > MOST_ROWS:
        return Ready((), (), 0, (), (), making, TOO_MANY)
    head = RowRead(0)
    trial = said.trial
    if said.holds == "shot" and not trial:
        trial = making.put("trial", {"question": said.question, "state": "open"}, head)
    letter = source.letter or "A"
    label = where_it_stands(session, source.device_id, letter).highest_label
    note = f"Brought in from {source.file_name}."
    to, places = ShotsTo(trial, note, letter, label, said.in_order, said.method), dict[str, int]()
    rows = []
    for line in lines:
        row = read_row(table, said, line)
        mark, label = making.mark(), to.label
        if said.holds == "shot":
            make_shot(making, row, to, places)
        elif not row.troubles:
            _KIT[said.holds](making, row)
        if row.troubles:  # nothing of it counts: what it alone would have made is taken back
            making.back_to(mark)
            to.label = label
        rows.append(row)
    if said.holds == "shot" and not said.trial:
        making.made.append(Made("trial", trial, {"state": "closed"}, 0, base_rev=1))
    wrong = tuple(row for row in rows if row.troubles)
    good = tuple(row for row in rows if not row.troubles)
    refused = NO_ROW if not good else NO_QUESTION if head.troubles else ""
    operations, rows_of = _operations(making.made, table, said, source, batch_id=batch_id, rows=len(good))
    return Ready(good, wrong, len(table.lines) - len(lines), operations, rows_of, making, refused)


def _operations(
    made: Sequence[Made], table: Table, said: Said, source: Source, *, batch_id: str, rows: int
) -> tuple[tuple[Operation, ...], tuple[int, ...]]:
    batch = {"file_name": source.file_name[:120], "sheet": source.sheet[:120], "holds": said.holds, "rows_taken": str(rows)}
    kept = {"headings": fingerprint(table), "answers": answers_json(said.answers)}
    operations, rows_of = [_put(source, "import_batch", batch_id, {**batch, **kept})], [0]
    for one in made:
        operations.append(_put(source, one.noun, one.record_id, one.body, base_rev=one.base_rev))
        rows_of.append(one.row)
        if not one.base_rev:
            link = {"import_batch": batch_id, "noun": one.noun, "record": one.record_id, **({"sheet_row": str(one.row)} if one.row else {})}
            operations.append(_put(source, "imported_record", new_id(), link))
            rows_of.append(one.row)
    return tuple(operations), tuple(rows_of)


def _put(source: Source, noun: str, record_id: str, body: dict[str, str] | object, *, base_rev: int = 0) -> Operation:
    assert isinstance(body, dict)
    return Operation(new_id(), source.device_id, "put", noun, record_id, base_rev=base_rev, body=body)


class _OnlyTried(Exception):
    """Ends a transaction that was never to be kept."""


def tried(book: Storage, ready: Ready) -> list[Trouble]:
    """What the book would refuse of it; nothing of a long sheet. Nothing is kept, whatever it says."""
    if ready.refused or len(ready.operations) > MOST_TRIED:
        return []
    answers: list[Answer] = []
    try:
        with book.write() as session:
            answers = [apply(session, op) for op in ready.operations]
            raise _OnlyTried
    except _OnlyTried:
        return _refused(ready, answers)


def bring_in(book: Storage, ready: Ready) -> list[Trouble]:
    """Write it, all or nothing; what stands in the way, if nothing was written."""
    try:
        apply_all(book, ready.operations)
    except NotTaken as error:
        return _refused(ready, error.answers)
    return []


def _refused(ready: Ready, answers: Sequence[Answer]) -> list[Trouble]:
    """The first refusal of each row. That another record was refused, on which it stands, is no fault of its own."""
    fallen = set[str]()
    found: dict[int, Trouble] = {}
    for op, row, answer in zip(ready.operations, ready.rows_of, answers, strict=True):
        if answer.taken:
            continue
        own = [one for one in answer.problems if str(op.body.get(one.field)) not in fallen]
        fallen.add(op.record_id)
        if own and row not in found:
            found[row] = Trouble(row, None, " ".join(one.sentence for one in own))
    return list(found.values())


# --- crossing a batch out, and taking that back


@dataclass(frozen=True)
class Crossing:
    """What crossing out would do: what goes, what stays since something else uses it."""

    goes: tuple[MadeFact, ...]
    stays: tuple[MadeFact, ...]


def crossing(session: Session, batch_id: str) -> Crossing:
    made = [one for one in made_by(session, batch_id) if not one.voided]
    used = used_elsewhere(session, made)
    goes = tuple(one for one in reversed(made) if (one.noun, one.record_id) not in used)
    return Crossing(goes, tuple(one for one in made if (one.noun, one.record_id) in used))


def crossed_out(book: Storage, batch_id: str, *, device_id: str, reason: str, back: bool = False) -> list[Problem]:
    """Cross out a batch and all that came with it, or take that back: one transaction, a reason for either."""
    action = "unvoid" if back else "void"
    with book.read() as session:
        if back:
            made = made_by(session, batch_id)
            which: Sequence[MadeFact] = voided_with(session, batch_id, made)
        else:
            which = crossing(session, batch_id).goes
    pairs = [*((one.noun, one.record_id) for one in which), ("import_batch", batch_id)]
    operations = [Operation(new_id(), device_id, action, noun, record_id, reason=reason) for noun, record_id in pairs]
    try:
        apply_all(book, operations)
    except NotTaken as error:
        return [Problem("reason", sentence) for sentence in dict.fromkeys(one.sentence for one in error.problems)]
    return []
