"""What was fitted to shots (curves, 50 % energies, pairs compared) is kept beside the book, so that no process need work it out again.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0027"
down_revision = "0026"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(
        "CREATE TABLE cache_fit (name TEXT NOT NULL, number INTEGER NOT NULL, asked_on INTEGER NOT NULL, said TEXT NOT NULL, "
        "PRIMARY KEY (name)) STRICT"
    )
    op.execute("CREATE UNIQUE INDEX ix_cache_fit_number ON cache_fit (number)")
    op.execute("CREATE INDEX ix_cache_fit_asked_on ON cache_fit (asked_on)")
