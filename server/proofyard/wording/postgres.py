"""What is said of a book that lies in PostgreSQL, where a book in a file would be copied as one."""

BY_POSTGRES = (
    "This book lies in PostgreSQL, which makes its own backups: pg_dump for one file, or continuous archiving. "
    "Copy the folder of --data as well: photos lie there, unless PROOFYARD_PHOTOS says where. Nothing was written."
)
RESTORED_BY_POSTGRES = (
    "This book lies in PostgreSQL: restore it with pg_restore into an empty database. For a copy in a file, leave PROOFYARD_DATABASE "
    "out and name a folder with --data. Nothing was changed."
)
