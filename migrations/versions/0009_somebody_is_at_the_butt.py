"""A phone says that somebody is at the butt, and when they are back: the other phones' lines show it meanwhile.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(
        """
    CREATE TABLE butt_visit (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        voided_rev INTEGER,
        typed TEXT NOT NULL,
        session_id TEXT NOT NULL,
        went_at INTEGER,
        back_at INTEGER,
        PRIMARY KEY (id),
        FOREIGN KEY(session_id) REFERENCES session (id)) STRICT
    """
    )
    op.execute("CREATE INDEX ix_butt_visit_session_id ON butt_visit (session_id)")
