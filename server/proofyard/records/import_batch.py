"""What came in from a spreadsheet: one batch, and which records it made, so that it can be crossed out as one."""

from sqlalchemy import UniqueConstraint, select
from sqlmodel import Session

from proofyard.records.columns import Noun, choice, lines, link, record_ref, whole, words

HOLDS = {"shot": "Shots", "arrow": "Arrows", "bow": "Bows", "panel": "Panels"}
MADE = {
    "trial": "Trial",
    "session": "Session",
    "setup": "Set-up",
    "shooting_end": "End",
    "shot": "Shot",
    "shot_reading": "Reading of a shot",
    "speed_reading": "Speed reading",
    "archer": "Archer",
    "bow": "Bow",
    "bow_build": "Bow build",
    "head": "Head",
    "arrow": "Arrow",
    "arrow_build": "Arrow build",
    "panel": "Panel",
    "panel_build": "Panel build",
    "reading": "Reading",
}


class ImportBatch(Noun, table=True):
    """One bringing in. The file itself is not kept.

    headings  fingerprint of the sheet's headings, by which the answers are found again for the next sheet like it
    answers   what each column was said to be, as JSON
    """

    __tablename__ = "import_batch"
    __table_args__ = ({"sqlite_strict": True},)
    file_name: str = words("File", required=True, limit=120)
    sheet: str | None = words("Sheet", limit=120)
    holds: str = choice("What the sheet holds", HOLDS, required=True)
    rows_taken: int = whole("Rows brought in", required=True)
    headings: str | None = words("Fingerprint of the headings", limit=64)
    answers: str | None = lines("What each column is", limit=60_000)


class ImportedRecord(Noun, table=True):
    """One record that a batch made, and the row of the sheet that it came from: the first of them, where several say the same."""

    __tablename__ = "imported_record"
    __table_args__ = (UniqueConstraint("noun", "record_id", name="uq_imported_record"), {"sqlite_strict": True})
    import_batch_id: str = link("Batch", "import_batch", required=True)
    noun: str = choice("What", MADE, required=True)
    record_id: str = record_ref("Which one", required=True, index=False)
    sheet_row: int | None = whole("Row of the sheet")


def batch_of(session: Session, noun: str, record_id: str) -> ImportBatch | None:
    """The batch that a record came in with, if it came in with one."""
    query = select(ImportBatch).join(ImportedRecord, ImportedRecord.import_batch_id == ImportBatch.id)
    return session.execute(query.where(ImportedRecord.noun == noun, ImportedRecord.record_id == record_id)).scalar()
