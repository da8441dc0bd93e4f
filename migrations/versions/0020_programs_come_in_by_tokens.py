"""A device is a phone, or a program that the owner let in by a token.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE device ADD COLUMN kind TEXT NOT NULL DEFAULT 'phone'")
