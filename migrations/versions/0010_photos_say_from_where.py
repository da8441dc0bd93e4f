"""A photo says whether it shows its panel from the front, from behind, or close up.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE photo ADD COLUMN seen_from TEXT")
