"""The command: a sheet looked at as its page does, and brought in where its page would have nothing to ask."""

from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from proofyard.exchange.bring_in.batch import Ready, Source, bring_in, made_ready, tried
from proofyard.exchange.bring_in.held import Chosen
from proofyard.exchange.bring_in.reading import read_sheets
from proofyard.exchange.bring_in.sheet import MOST_FILE_BYTES, TOO_BIG, NotRead, Sheet
from proofyard.exchange.export import readable
from proofyard.opening import HeldFolder, open_book
from proofyard.pages.bring_in.preview import Looked, Preview, looked_at, preview_of
from proofyard.pages.bring_in.said import ColumnShown, columns_shown
from proofyard.records import devices
from proofyard.records.ids import new_id
from proofyard.settings import BOOK_FILE
from proofyard.storage import Session

NOBODY = "Nobody has opened this book as its owner yet, and a batch is written by its owner."
USE_PAGE = "Nothing was brought in. Start the server and open its page Bring in: there each of these can be answered."
SAY_YES = "Nothing was changed. To bring it in, run the same command with --yes."
DONE = "It is in the book as one batch, which its page crosses out as one."


@dataclass(frozen=True)
class Found:
    """What is said of a sheet. `good`: nothing stands in its way, or it is in the book."""

    lines: tuple[str, ...]
    good: bool


def bring_in_by_command(folder: Path, file: Path, holds: str, *, yes: bool) -> Found:
    """Look at a sheet, the first that its file has; with `yes` write all rows as one batch, or nothing.

    holds  what it holds, a key of HOLDS
    Refuses
        StorageTrouble  no book, or one that a server has open
    """
    readable(folder / BOOK_FILE)
    try:
        chosen = Chosen(file.name, holds, _sheets(file))
    except NotRead as why:
        return Found((f"! {why}",), good=False)
    with HeldFolder(folder), closing(open_book(folder)) as book:
        looked, batch_id = looked_at(book, chosen, None), new_id()
        with book.read() as session:
            source = _source(session, looked)
            ready = made_ready(session, looked.table, looked.said, source, batch_id)
        also = tried(book, ready) if source.device_id else []  # the book takes nothing from nobody
        with book.read() as session:
            shown = preview_of(session, looked, ready, also, held_id=batch_id, tell=False)
        open_questions = [*_open(looked, ready, shown), *([] if source.device_id else [NOBODY])]
        lines = [*_told(shown, columns_shown(looked.table, holds, looked.columns)), *(f"! {one}" for one in open_questions)]
        if open_questions:
            return Found((*lines, USE_PAGE), good=False)
        if not yes:
            return Found((*lines, SAY_YES), good=True)
        refused = bring_in(book, ready)
    if refused:
        return Found((*lines, *(f"! Row {one.row}: {one.sentence}" for one in refused), USE_PAGE), good=False)
    return Found((*lines, DONE), good=True)


def _sheets(file: Path) -> tuple[Sheet, ...]:
    try:
        if file.stat().st_size > MOST_FILE_BYTES:
            raise NotRead(TOO_BIG)
        content = file.read_bytes()
    except OSError as error:
        raise NotRead(f"{file} can’t be read ({error.strerror}).") from error
    return read_sheets(content)


def _source(session: Session, looked: Looked) -> Source:
    """By the owner's own browser on this laptop, as on the page; by nobody where there was none yet."""
    owner = next((one for one in devices.devices(session) if one.role == "owner"), None)
    sheet = looked.chosen.sheets[looked.sheet].name
    return Source(looked.chosen.file_name, sheet, owner.id if owner else "", (owner.letter or "") if owner else "")


def _open(looked: Looked, ready: Ready, shown: Preview) -> list[str]:
    """What only a person can answer: rows with a trouble, columns that were guessed without being sure, more than one sheet."""
    made = [ready.refused] if ready.refused else []
    if not looked.kept:
        unsure = [one.heading for one in shown.columns if one.taken and not one.sure]
        made += [f"Not sure what “{one}” is." for one in unsure]
    if len(looked.chosen.sheets) > 1:
        made.append(f"The file has {len(looked.chosen.sheets)} sheets, and only the first was looked at.")
    if shown.troubles:
        made.append("Rows with a trouble stay out until they are mended.")
    return made


def _told(shown: Preview, columns: list[ColumnShown]) -> list[str]:
    kept = " Read as the same headings were the last time." if shown.kept else ""
    lines = [f"{shown.heading}, headings in row {shown.heading_row}.", f"{shown.lead}{kept}"]
    lines += [f"  {one.heading}: {_is(one)}. {one.samples}" for one in columns]
    lines += [f"  {label}: {words}" for label, words in shown.made]
    lines += [f"  {where} is not taken: {why}. {says}" for where, why, says in shown.beside]
    for row in shown.troubles:
        said = [*(f"{cell.label}: {cell.state.error}" for cell in row.cells), *([row.problem] if row.problem else [])]
        lines += [f"! Row {row.number}: {one}" for one in said]
    return [*lines, f"! And {shown.more_troubles} more rows with a trouble."] if shown.more_troubles else lines


def _is(column: ColumnShown) -> str:
    first = column.controls[0]
    return dict(first.options).get(str(first.state.typed), "not taken")
