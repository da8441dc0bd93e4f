"""Panels gain what lace, rings and cloth weigh, rings counted on them, and how far every second row is shifted.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for column, sort in (
        ("row_shift_m", "REAL"),
        ("lace_each_m", "REAL"),
        ("lace_mass_kg_m", "REAL"),
        ("ring_mass_kg", "REAL"),
        ("rings_counted", "INTEGER"),
        ("cloth_layer_kg_m2", "REAL"),
    ):
        op.execute(f"ALTER TABLE panel ADD COLUMN {column} {sort}")
