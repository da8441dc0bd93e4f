"""A trial's question may be a claim that shots can settle: its form and its parts. How it turned out is never stored.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(
        """
    CREATE TABLE claim (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        voided_rev INTEGER,
        typed TEXT NOT NULL,
        trial_id TEXT NOT NULL,
        claim_form TEXT NOT NULL,
        one_in INTEGER,
        heads TEXT,
        bow_id TEXT,
        energy_j REAL,
        construction TEXT,
        thickness_m REAL,
        stand_id TEXT,
        set_shots INTEGER,
        level TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(trial_id) REFERENCES trial (id),
        FOREIGN KEY(bow_id) REFERENCES bow (id),
        FOREIGN KEY(stand_id) REFERENCES stand (id)) STRICT
    """
    )
    op.execute("CREATE INDEX ix_claim_trial_id ON claim (trial_id)")
