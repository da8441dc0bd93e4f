"""A check of a backing says what was let fall, how wide it is, from how high and how often: one figure means something only with them.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE backing_check ADD COLUMN drop_mass_kg REAL")
    op.execute("ALTER TABLE backing_check ADD COLUMN drop_across_m REAL")
    op.execute("ALTER TABLE backing_check ADD COLUMN drop_height_m REAL")
    op.execute("ALTER TABLE backing_check ADD COLUMN drops INTEGER")
