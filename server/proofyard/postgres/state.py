"""How a database keeps what it is given, as it says itself: what `proofyard check` tells of a book in PostgreSQL."""

from sqlalchemy import text
from sqlalchemy.engine import URL

from proofyard.postgres.book import engine_of
from proofyard.storage import StateThere

_ASKED = text("""SELECT current_setting('server_version') AS version, current_setting('server_encoding') AS encoding,
    current_setting('fsync') AS fsync, current_setting('full_page_writes') AS full_pages,
    current_setting('synchronous_commit') AS synchronous, current_setting('archive_mode') AS archive,
    current_setting('max_connections')::int - current_setting('superuser_reserved_connections')::int AS most,
    (SELECT count(*) FROM pg_stat_activity WHERE backend_type = 'client backend') AS connected,
    (SELECT sum(pg_total_relation_size(c.oid)) FROM pg_class c
        WHERE c.relnamespace = current_schema()::regnamespace AND c.relkind = 'r') AS bytes,
    (SELECT extract(epoch FROM last_archived_time) FROM pg_stat_archiver) AS archived_at,
    (SELECT last_failed_time > coalesce(last_archived_time, '-infinity') FROM pg_stat_archiver) AS archive_fails,
    has_schema_privilege(current_schema(), 'CREATE') AS may_make,
    (SELECT count(*) FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid
        WHERE c.relnamespace = current_schema()::regnamespace AND NOT i.indisvalid) AS broken_indexes""")
_PHOTOS = text("SELECT id, sha256, bytes FROM photo ORDER BY id")


def state_of(url: URL) -> StateThere:
    """Ask a database that holds a book. Refuses as every statement does."""
    engine = engine_of(url, read_only=True, connections=1, own_words=False)
    try:
        with engine.begin() as connection:
            said = connection.execute(_ASKED).one()
            photos = tuple((str(one), str(sha256), int(size)) for one, sha256, size in connection.execute(_PHOTOS))
    finally:
        engine.dispose()
    settings = (("fsync", said.fsync), ("full_page_writes", said.full_pages), ("synchronous_commit", said.synchronous))
    archives = said.archive != "off"
    return StateThere(
        said.version.split()[0],
        said.encoding,
        tuple(name for name, value in settings if value == "off"),
        int(said.most - said.connected),
        int(said.bytes or 0),
        archives,
        float(said.archived_at) if archives and said.archived_at is not None else None,
        bool(archives and said.archive_fails),
        bool(said.may_make),
        int(said.broken_indexes),
        photos,
    )
