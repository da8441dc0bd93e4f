"""What each shot was, worked out, is kept beside the book, so that a page of all shots need not work it out again.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(
        """
        CREATE TABLE cache_shot (
            shot_id TEXT NOT NULL,
            stale INTEGER NOT NULL,
            panel_build_id TEXT NOT NULL,
            arrow_build_id TEXT NOT NULL,
            combination_id TEXT NOT NULL,
            setup_id TEXT NOT NULL,
            session_id TEXT NOT NULL,
            trial_id TEXT NOT NULL,
            form TEXT,
            construction TEXT,
            thickness_m REAL,
            voided INTEGER NOT NULL,
            purpose TEXT NOT NULL,
            hit TEXT,
            outcome_low INTEGER,
            outcome_high INTEGER,
            basis TEXT NOT NULL,
            speed_m_s REAL,
            chronograph_j REAL,
            chronograph_u_j REAL,
            chronograph_dof REAL,
            chronograph_n INTEGER,
            target_j REAL,
            target_u_j REAL,
            target_dof REAL,
            target_n INTEGER,
            target_instrument_u_j REAL,
            target_combination_u_j REAL,
            target_shot_u_j REAL,
            drag_fitted INTEGER,
            fair_answer TEXT,
            fair_sort TEXT,
            fair TEXT,
            impact BLOB NOT NULL,
            PRIMARY KEY (shot_id)
        ) STRICT
        """
    )
    op.execute("CREATE TABLE cache_state (one INTEGER NOT NULL, as_of_seq INTEGER NOT NULL, form TEXT NOT NULL, PRIMARY KEY (one)) STRICT")
    op.execute("CREATE INDEX ix_cache_shot_panel_build_id ON cache_shot (panel_build_id)")
    op.execute("CREATE INDEX ix_cache_shot_arrow_build_id ON cache_shot (arrow_build_id)")
    op.execute("CREATE INDEX ix_cache_shot_stale ON cache_shot (stale) WHERE stale = 1")
