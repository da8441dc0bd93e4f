"""How a book in PostgreSQL stands: what is missing there that a file's own check would have looked at, or that only a database has."""

import time
from collections.abc import Iterator
from pathlib import Path

from proofyard.exchange.finding import OLD_BACKUP_S, Finding, size_in_words
from proofyard.opening import all_forms, form_of_the_book, newest_form, state_there
from proofyard.storage import StateThere, StorageTrouble
from proofyard.wording.postgres import BY_POSTGRES

A_SERVERS = 30  # connections that one server may want when many read


def checkup_there(folder: Path, address: str) -> tuple[list[Finding], list[tuple[str, str, int]]]:
    """What was found; and the photos (id, SHA-256, bytes) that the book names."""
    try:
        form, newest = form_of_the_book(folder, address=address), newest_form()
        if form is None:
            return [Finding("Book", "none yet in the database", "look", "It is made when you start the server.")], []
        if form not in all_forms():
            said = f"form {form} in PostgreSQL; this program knows {newest}"
            return [Finding("Book", said, "wrong", "Install the newer program. The book is left as it is.")], []
        if form != newest:
            said = f"form {form} in PostgreSQL; brought to {newest} at the next start, without a safe copy"
            return [Finding("Book", said, "look", "Back the database up with pg_dump, then start the server.")], []
        state = state_there(address)
    except StorageTrouble as trouble:
        return [Finding("Book", str(trouble), "wrong", "Without its database nothing can be read or saved.")], []
    return [Finding("Book", f"{size_in_words(state.bytes)} in PostgreSQL {state.version}, form {form}"), *_findings(state)], [*state.photos]


def _findings(state: StateThere) -> Iterator[Finding]:
    if state.surely:
        off = ", ".join(state.surely)
        advice = "An acknowledged shot may be lost when the power goes. Set them on in the database’s postgresql.conf."
        yield Finding("How a save reaches the disk", f"{off}: off", "wrong", advice)
    else:
        yield Finding("How a save reaches the disk", "fsync, full_page_writes and synchronous_commit are on")
    if state.encoding != "UTF8":
        yield Finding("Signs that it keeps", state.encoding, "wrong", "Move the book to a database made with createdb -E UTF8.")
    if state.broken_indexes:
        yield Finding("Is the book complete?", f"{state.broken_indexes} indexes are not valid", "wrong", "Run REINDEX on the database.")
    if not state.may_make:
        yield Finding("Rights", "no table can be made", "look", "The next version of this program may need it: grant CREATE on the schema.")
    if state.left < A_SERVERS:
        said, advice = f"{state.left} are still free", f"Each server may want {A_SERVERS}. Raise max_connections of the database."
        yield Finding("Connections", said, "look", advice)
    yield _archive(state)


def _archive(state: StateThere) -> Finding:
    """Dumps are kept where nobody here can see them, so without an archive it is a person's to know."""
    backups = BY_POSTGRES.removesuffix(" Nothing was written.")
    if not state.archives:
        return Finding(
            "Backups of the database", "no archive of its journal; whether dumps are made can’t be seen from here", "look", backups
        )
    if state.archive_fails:
        return Finding("Backups of the database", "the archive of its journal fails", "wrong", "Look at archive_command and its log.")
    if state.archived_at is None:
        return Finding("Backups of the database", "an archive of its journal is set up, and has nothing yet", "look", backups)
    when = time.strftime("%d %B %Y, %H:%M", time.localtime(state.archived_at))
    old = time.time() - state.archived_at > OLD_BACKUP_S
    return Finding("Backups of the database", f"journal archived, last {when}", "look" if old else "good", backups if old else "")
