"""What came in from a spreadsheet is a batch, and each record of it says so.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(
        """
    CREATE TABLE import_batch (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        voided_rev INTEGER,
        typed TEXT NOT NULL,
        file_name TEXT NOT NULL,
        sheet TEXT,
        holds TEXT NOT NULL,
        rows_taken INTEGER NOT NULL,
        headings TEXT,
        answers TEXT,
        PRIMARY KEY (id)) STRICT
    """
    )
    op.execute(
        """
    CREATE TABLE imported_record (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        voided_rev INTEGER,
        typed TEXT NOT NULL,
        import_batch_id TEXT NOT NULL,
        noun TEXT NOT NULL,
        record_id TEXT NOT NULL,
        sheet_row INTEGER,
        PRIMARY KEY (id),
        CONSTRAINT uq_imported_record UNIQUE (noun, record_id),
        FOREIGN KEY(import_batch_id) REFERENCES import_batch (id)) STRICT
    """
    )
    op.execute("CREATE INDEX ix_imported_record_import_batch_id ON imported_record (import_batch_id)")
