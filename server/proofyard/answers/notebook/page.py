"""The notebook: who changed what, newest first, a page at a time; and what two people said differently, on top."""

from dataclasses import dataclass

from proofyard.records.notebook import lately
from proofyard.records.nouns import TABLES
from proofyard.records.range_facts import two_said
from proofyard.storage import Session
from proofyard.wording.revisions import ClashTold, Told, clashes_told, told_with_names

A_PAGE = 20  # about five screens of a phone


@dataclass(frozen=True)
class NotebookRead:
    """`older`: the number to ask for the page before this one; None on the last."""

    lines: tuple[Told, ...]
    clashes: tuple[ClashTold, ...]
    older: int | None


def read_notebook(session: Session, *, reader: str, before: int | None = None) -> NotebookRead:
    """Four statements. A page asked for by number shows no clashes: they stand on the first."""
    lines = lately(session, before=before, most=A_PAGE + 1)
    clashes = two_said(session, [str(noun) for noun in TABLES]) if before is None else []
    shown = lines[:A_PAGE]
    return NotebookRead(
        lines=told_with_names(session, shown, reader=reader),
        clashes=clashes_told(session, clashes, reader) if clashes else (),
        older=shown[-1].seq if len(lines) > A_PAGE else None,
    )
