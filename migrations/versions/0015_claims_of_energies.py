"""A claim may be about 50 % energies: which head needs less, above what half get through, what a thickness or a panel makes of it.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE claim ADD COLUMN head_form TEXT")
    op.execute("ALTER TABLE claim ADD COLUMN than_head TEXT")
    op.execute("ALTER TABLE claim ADD COLUMN fifty_percent_above_j REAL")
    op.execute("ALTER TABLE claim ADD COLUMN difference_ratio REAL")
    op.execute("ALTER TABLE claim ADD COLUMN than_thickness_m REAL")
    op.execute("ALTER TABLE claim ADD COLUMN panel_id TEXT REFERENCES panel (id)")
    op.execute("ALTER TABLE claim ADD COLUMN than_panel_id TEXT REFERENCES panel (id)")
    op.execute("ALTER TABLE claim ADD COLUMN spread_ratio REAL")
