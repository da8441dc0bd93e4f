"""Kept fits are numbered, so that a process finds those that came since it last looked. What was kept so far is worked out again.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0028"
down_revision = "0027"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("DROP TABLE cache_fit")
    op.execute(
        "CREATE TABLE cache_fit (name TEXT NOT NULL, number INTEGER NOT NULL, asked_on INTEGER NOT NULL, said TEXT NOT NULL, "
        "PRIMARY KEY (name)) STRICT"
    )
    op.execute("CREATE UNIQUE INDEX ix_cache_fit_number ON cache_fit (number)")
    op.execute("CREATE INDEX ix_cache_fit_asked_on ON cache_fit (asked_on)")
