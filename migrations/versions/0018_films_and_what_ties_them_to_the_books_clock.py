"""A session has films, and what was seen in them that ties a camera's time to the book's. A film is a name here, never a file.

Written out by hand and never changed again.
"""

from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(
        """
    CREATE TABLE film (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        voided_rev INTEGER,
        typed TEXT NOT NULL,
        session_id TEXT NOT NULL,
        camera TEXT NOT NULL,
        files TEXT NOT NULL,
        frame_rate TEXT NOT NULL,
        timing TEXT NOT NULL,
        filmed_rate_hz REAL,
        first_timecode TEXT,
        note TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(session_id) REFERENCES session (id)) STRICT
    """
    )
    op.execute("CREATE INDEX ix_film_session_id ON film (session_id)")
    op.execute(
        """
    CREATE TABLE film_mark (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        voided_rev INTEGER,
        typed TEXT NOT NULL,
        film_id TEXT NOT NULL,
        seen TEXT NOT NULL,
        file INTEGER,
        seen_at TEXT NOT NULL,
        card TEXT,
        card_read TEXT,
        card_at INTEGER,
        shot_id TEXT,
        note TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(film_id) REFERENCES film (id),
        FOREIGN KEY(shot_id) REFERENCES shot (id)) STRICT
    """
    )
    op.execute("CREATE INDEX ix_film_mark_film_id ON film_mark (film_id)")
    op.execute("CREATE INDEX ix_film_mark_shot_id ON film_mark (shot_id)")
    op.execute("ALTER TABLE speed_reading ADD COLUMN film_id TEXT REFERENCES film (id)")
    op.execute("CREATE INDEX ix_speed_reading_film_id ON speed_reading (film_id)")
