"""A hit may be read again by a second person, on their own: a record beside the first reading, never in its place.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(
        """
    CREATE TABLE second_reading (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        shot_id TEXT NOT NULL,
        read_by_id TEXT NOT NULL,
        outcome_low TEXT NOT NULL,
        outcome_high TEXT,
        depth_m REAL,
        depth_bound TEXT,
        way_in TEXT,
        note TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(shot_id) REFERENCES shot (id),
        FOREIGN KEY(read_by_id) REFERENCES archer (id)) STRICT
    """
    )
    op.execute("CREATE INDEX ix_second_reading_shot_id ON second_reading (shot_id)")
