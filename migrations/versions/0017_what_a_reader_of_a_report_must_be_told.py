"""What a reader of a report must be told and the book had no place for: author, number, departures from the plan, licence of a trial;
yaw of a hit; heat treatment and condition; serial number, certificate and due date of an instrument; whether a stand's layers are all.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE trial ADD COLUMN author TEXT")
    op.execute("ALTER TABLE trial ADD COLUMN report_number TEXT")
    op.execute("ALTER TABLE trial ADD COLUMN departures TEXT")
    op.execute("ALTER TABLE trial ADD COLUMN licence TEXT")
    op.execute("ALTER TABLE shot_reading ADD COLUMN yaw_rad REAL")
    op.execute("ALTER TABLE head ADD COLUMN heat_treatment TEXT")
    op.execute("ALTER TABLE panel ADD COLUMN heat_treatment TEXT")
    op.execute("ALTER TABLE panel ADD COLUMN condition TEXT")
    op.execute("ALTER TABLE instrument ADD COLUMN serial TEXT")
    op.execute("ALTER TABLE instrument ADD COLUMN certificate TEXT")
    op.execute("ALTER TABLE instrument ADD COLUMN due TEXT")
    op.execute("ALTER TABLE stand ADD COLUMN layers_complete INTEGER")
