"""Pictures of shots, arrows and panels; what straightens a panel's photograph; which walk of the day a walk is.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(
        """
    CREATE TABLE picture (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        noun TEXT,
        record_id TEXT,
        taken_at INTEGER,
        note TEXT,
        sent_sha256 TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        media TEXT NOT NULL,
        width INTEGER NOT NULL,
        height INTEGER NOT NULL,
        bytes INTEGER NOT NULL,
        PRIMARY KEY (id)) STRICT
    """
    )
    op.execute("CREATE INDEX ix_picture_record_id ON picture (record_id)")
    op.execute("ALTER TABLE panel_face ADD COLUMN corners TEXT")
    op.execute("ALTER TABLE panel_face ADD COLUMN height_m REAL")
    op.execute("ALTER TABLE panel_face ADD COLUMN middle_x_m REAL")
    op.execute("ALTER TABLE panel_face ADD COLUMN middle_y_m REAL")
    op.execute("ALTER TABLE walk ADD COLUMN number INTEGER")
