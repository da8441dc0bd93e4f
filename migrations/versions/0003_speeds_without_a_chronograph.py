"""A speed reading may say its own uncertainty and what it was worked out from: frames counted, or sound.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE speed_reading ADD COLUMN uncertainty_m_s REAL")
    op.execute("ALTER TABLE speed_reading ADD COLUMN inputs TEXT")
