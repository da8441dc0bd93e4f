"""The form of a book in PostgreSQL: which one it has, and how it is brought to another by the same migrations as a file."""

from pathlib import Path

from sqlalchemy import Connection, event, exc, text
from sqlalchemy.engine import URL

from proofyard.postgres.book import engine_of, in_words, shown
from proofyard.postgres.words import of_a_migration
from proofyard.storage import BookDamaged

_IS_THERE = text("SELECT to_regclass('alembic_version') IS NOT NULL")
_TABLES = text("SELECT table_name FROM information_schema.tables WHERE table_schema = current_schema()")
# One program migrates at a time; the others find it done.
_LOCK = text("SELECT pg_advisory_xact_lock(hashtextextended('proofyard ' || current_schema(), 0))")


def form_in(connection: Connection) -> str | None:
    """The number of the form that the book is in; None where there is none."""
    if not connection.execute(_IS_THERE).scalar():
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return str(found) if found else None


def form_of_postgres(url: URL) -> str | None:
    engine = engine_of(url, read_only=False, connections=1, own_words=False)
    try:
        with engine.begin() as connection:
            return form_in(connection)
    finally:
        engine.dispose()


def refuse_moved(url: URL) -> None:
    """No server opens a database that a move has not finished filling, that a book was moved away from, or that holds other things.

    Refuses
        BookDamaged  with what to do about it
    """
    engine = engine_of(url, read_only=False, connections=1, own_words=False)
    try:
        with engine.begin() as connection:
            there = set(connection.execute(_TABLES).scalars())
            place = connection.execute(text("SELECT place FROM moved_away")).scalar() if "moved_away" in there else ""
    except exc.SQLAlchemyError as error:
        raise in_words(error, act="start") or error from error
    finally:
        engine.dispose()
    if "moving" in there:
        raise BookDamaged(f"A book is only half moved into {shown(url)}. Run the same proofyard move again: it goes on where it stopped.")
    if "moved_away" in there:
        raise BookDamaged(f"The book that lay in {shown(url)} was moved away, to {place}. Leave PROOFYARD_DATABASE out and open it there.")
    if there and "alembic_version" not in there:
        raise BookDamaged(f"The database {shown(url)} holds other tables and no book. Make an empty one for it with createdb.")


def migrate(url: URL, migrations: Path, form: str) -> str | None:
    """Bring the book to this form, all of it or nothing; the form before. A server that starts at the same moment waits."""
    from alembic import command
    from alembic.config import Config

    engine = engine_of(url, read_only=False, connections=1, own_words=False)

    @event.listens_for(engine, "before_cursor_execute", retval=True)
    def _in_its_words(_c: object, _cursor: object, statement: str, given: object, _context: object, _many: bool) -> tuple[str, object]:
        return of_a_migration(statement), given

    config = Config()
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    try:
        with engine.begin() as connection:
            connection.execute(_LOCK)
            was = form_in(connection)
            if was != form:
                config.attributes["connection"] = connection
                command.upgrade(config, form)
            return was
    finally:
        engine.dispose()
