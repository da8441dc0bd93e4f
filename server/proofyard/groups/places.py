"""Where a group's book lies, and how a place for a new one is made.

In files: a folder of its own. In PostgreSQL: a schema of its own, owned by a role of its own that may touch nothing else. Connections of
a group's book are that role's: it logs in with a password of its own, which stands in the server's rows alone, so nothing that is said on
such a connection, by whatever fault of the program, reaches another group's table. Where the database doesn't let the role log in (where it
tells names by the system's accounts, for instance), the server's own name logs in and acts as the role from the first statement on: then
a statement that names another's table is refused all the same, but two of them, of which the first changes the role, would not be.
Automatic files lie in the group's folder either way; photos as well, or in the store that is set, below a prefix of the group's own.
"""

import secrets
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import exc

from proofyard.groups.names import in_database, path_of_group, wrong_with
from proofyard.groups.register import Group, GroupThere, NoGroup, Register
from proofyard.settings import database, photos_setting
from proofyard.storage import StorageTrouble

FOLDER = "groups"
NO_RIGHT, ROLE_THERE = "42501", "42710"  # SQLSTATE insufficient_privilege, duplicate_object
NOT_ALLOWED = (
    "The database doesn’t let this program make a group’s role and schema. Whoever looks after it allows that, by ALTER ROLE … CREATEROLE "
    "and GRANT CREATE ON DATABASE."
)
MOST_IN_NAME = 63  # PostgreSQL cuts a longer name without a word


@dataclass(frozen=True)
class Place:
    """One group's book.

    folder    of its own: the book's file, if it is in one, its photos, copies and the packages of others
    database  the address of its schema, as its role; empty where it lies in a file
    path      what all of it stands below
    photos    the store that keeps its photos, below a prefix of its own; empty where they lie in the folder
    """

    name: str
    folder: Path
    database: str
    path: str
    photos: str = ""


def folder_of(folder: Path, name: str) -> Path:
    """The folder of a group, below that of all."""
    return folder / FOLDER / name


def photos_of_group(name: str) -> str:
    """The store of a group's photos, below its own part of the server's; empty where none is set."""
    at = photos_setting()
    return f"{at}/g/{name}" if at else ""


def place_of(group: Group, folder: Path, *, kept_in: str, below: str = "") -> Place:
    """`kept_in`: the address of the server's database; empty where books lie in files."""
    address = address_in(kept_in, group) if kept_in else ""
    return Place(group.name, folder_of(folder, group.name), address, path_of_group(group.name, below=below), photos_of_group(group.name))


def address_in(server: str, group: Group) -> str:
    """The address of a group's book within the database that the server was told.

    Refuses
        NoGroup  the group was begun where books lie in files
    """
    from proofyard.postgres.book import url_of

    if group.schema_name is None or group.role_name is None:
        raise NoGroup(f"The book of “{group.name}” has no place in this database.")
    url = url_of(server)
    before = url.query.get("options", "")
    options = [*([before] if isinstance(before, str) and before else []), f"-csearch_path={group.schema_name}"]
    if group.role_password is None:
        options.append(f"-crole={group.role_name}")
    else:
        url = url.set(username=group.role_name, password=group.role_password)
    return url.update_query_dict({"options": " ".join(options)}).render_as_string(hide_password=False)


def begin_group(register: Register, folder: Path, name: str, *, call_name: str = "") -> Group:
    """A new group, and the place for its book; one that was shut finds its book again.

    Refuses
        NoGroup, GroupThere  the name
        StorageTrouble       the folder can't be made, or the database doesn't let this be done
    """
    before = register.all().get(name)
    wrong = wrong_with(name)
    if wrong or (before and before.is_open):
        raise NoGroup(wrong) if wrong else GroupThere(f"There is a group called “{name}” already. Choose another name.")
    try:
        folder_of(folder, name).mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise StorageTrouble(f"The folder {folder_of(folder, name)} can’t be made ({error.strerror}).") from error
    if not database():
        return register.add(name, call_name=call_name)
    schema, role = f"group_{in_database(name)}", f"{_database_name()}_group_{in_database(name)}"
    place: dict[str, str | None] = {"schema_name": schema, "role_name": role, "role_password": None}
    if before is None:
        place["role_password"] = _make_schema(register, schema, role)
    return register.add(name, call_name=call_name, place=place)


def _database_name() -> str:
    """Roles are those of all databases of a PostgreSQL server, so a group's carries its database's name."""
    from proofyard.postgres.book import url_of

    said = "".join(sign if sign.isalnum() and sign.isascii() else "_" for sign in (url_of(database()).database or "").lower())
    return said[: MOST_IN_NAME - len("_group_") - 30] or "proofyard"


def _make_schema(register: Register, schema: str, role: str) -> str | None:
    """Make both; the role's password, if the database lets it log in with one."""
    password = secrets.token_urlsafe(24)
    try:
        register.run(
            f"CREATE ROLE \"{role}\" LOGIN PASSWORD '{password}' NOSUPERUSER NOCREATEDB NOCREATEROLE NOINHERIT",
            f'GRANT "{role}" TO CURRENT_USER',
            f'CREATE SCHEMA "{schema}" AUTHORIZATION "{role}"',
            f'REVOKE ALL ON SCHEMA "{schema}" FROM PUBLIC',
        )
    except Exception as error:
        code = getattr(getattr(error.__cause__ or error, "orig", None), "sqlstate", "")
        if code in (NO_RIGHT, ROLE_THERE):
            raise StorageTrouble(
                NOT_ALLOWED if code == NO_RIGHT else f"The database has a role “{role}” already. Choose another name."
            ) from error
        raise
    if _may_log_in(role, password):
        return password
    register.run(f'ALTER ROLE "{role}" NOLOGIN PASSWORD NULL')
    return None


def _may_log_in(role: str, password: str) -> bool:
    from proofyard.postgres.book import engine_of, url_of

    url = url_of(database()).set(username=role, password=password)
    engine = engine_of(url, read_only=True, connections=1, own_words=False)
    try:
        with engine.connect():
            return True
    except exc.SQLAlchemyError:
        return False
    finally:
        engine.dispose()
