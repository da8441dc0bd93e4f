"""A layer behind the panel says what a square metre of it weighs: a garment is carried as the armour is.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0014"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE stand_layer ADD COLUMN areal_kg_m2 REAL")
