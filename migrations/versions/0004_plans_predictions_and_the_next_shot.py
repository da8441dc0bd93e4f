"""Predictions by archer, plans with their shots in order, and how a trial chooses its next shot and when it stops.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(
        """
    CREATE TABLE prediction (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        trial_id TEXT NOT NULL,
        archer_id TEXT NOT NULL,
        says TEXT NOT NULL,
        share_ratio REAL,
        half_energy_j REAL,
        PRIMARY KEY (id),
        FOREIGN KEY(trial_id) REFERENCES trial (id),
        FOREIGN KEY(archer_id) REFERENCES archer (id)) STRICT
    """
    )
    op.execute("CREATE INDEX ix_prediction_trial_id ON prediction (trial_id)")
    op.execute(
        """
    CREATE TABLE plan (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        trial_id TEXT NOT NULL,
        panel_build_id TEXT NOT NULL,
        bow_build_id TEXT,
        mixed TEXT NOT NULL,
        rounds INTEGER NOT NULL,
        group_m REAL,
        seed INTEGER NOT NULL,
        note TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(trial_id) REFERENCES trial (id),
        FOREIGN KEY(panel_build_id) REFERENCES panel_build (id),
        FOREIGN KEY(bow_build_id) REFERENCES bow_build (id)) STRICT
    """
    )
    op.execute("CREATE INDEX ix_plan_trial_id ON plan (trial_id)")
    op.execute(
        """
    CREATE TABLE planned_shot (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        plan_id TEXT NOT NULL,
        place INTEGER NOT NULL,
        block INTEGER,
        archer_id TEXT,
        bow_build_id TEXT,
        arrow_build_id TEXT NOT NULL,
        aim_x_m REAL,
        aim_y_m REAL,
        aim_name TEXT,
        skipped INTEGER,
        PRIMARY KEY (id),
        CONSTRAINT uq_planned_shot UNIQUE (plan_id, place),
        FOREIGN KEY(plan_id) REFERENCES plan (id),
        FOREIGN KEY(archer_id) REFERENCES archer (id),
        FOREIGN KEY(bow_build_id) REFERENCES bow_build (id),
        FOREIGN KEY(arrow_build_id) REFERENCES arrow_build (id)) STRICT
    """
    )
    op.execute("ALTER TABLE shot ADD COLUMN planned_shot_id TEXT REFERENCES planned_shot (id)")
    for column, sort in (
        ("next_shot_rule", "TEXT"),
        ("start_energy_j", "REAL"),
        ("next_step_percent", "INTEGER"),
        ("bow_change_costs", "INTEGER"),
        ("stop_rule", "TEXT"),
        ("stop_shots", "INTEGER"),
        ("stop_width_percent", "INTEGER"),
        ("stopped_because", "TEXT"),
    ):
        op.execute(f"ALTER TABLE trial ADD COLUMN {column} {sort}")
