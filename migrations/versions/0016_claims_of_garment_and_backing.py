"""A claim may be about what lies behind a panel: that one stand, with its garment and its backing, makes a difference to another.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE claim ADD COLUMN than_stand_id TEXT REFERENCES stand (id)")
