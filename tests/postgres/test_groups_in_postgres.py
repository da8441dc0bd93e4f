"""Several groups in one PostgreSQL: each book a schema of its own, whose connections can read no other, whatever is said on them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import psycopg
import pytest
from proofyard import cli
from proofyard.groups.places import address_in, begin_group
from proofyard.groups.register import SCHEMA, Group, open_register
from proofyard.opening import open_book, the_book
from proofyard.postgres.book import engine_of, url_of
from proofyard.storage import StorageTrouble
from sqlalchemy import exc, text

from tests import kit_for_tests as kit
from tests.groups_for_tests import Served, served
from tests.postgres_for_tests import Server

pytestmark = pytest.mark.slow

KEEPER = "keeper"


@pytest.fixture(scope="module")
def address(postgres: Server) -> str:
    """A database of one who keeps a server: no superuser, but may make roles, and schemas in it."""
    postgres.say(f"CREATE ROLE {KEEPER} LOGIN CREATEROLE")
    made = url_of(postgres.new_database())
    postgres.say(f"ALTER DATABASE {made.database} OWNER TO {KEEPER}")
    return made.set(username=KEEPER).render_as_string(hide_password=False)


@pytest.fixture(scope="module")
def two(address: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The groups oak and elm, served, each with a yard in its book."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PROOFYARD_DATABASE", address)
        folder = tmp_path_factory.mktemp("groups")
        for name in ("oak", "elm"):
            assert cli.main(["group", "add", name, "--data", str(folder)]) == 0
        with served(folder) as server:
            for name in ("oak", "elm"):
                assert server.client().get(f"/g/{name}/join").status_code == 200
                kit.yard(server.book(name), question=f"Does {name} hold?")
            yield server


@pytest.fixture(autouse=True)
def set_address(monkeypatch: pytest.MonkeyPatch, address: str) -> None:
    monkeypatch.setenv("PROOFYARD_DATABASE", address)


def groups(folder: Path) -> dict[str, Group]:
    register = open_register(folder)
    try:
        return register.all()
    finally:
        register.close()


ANOTHERS = (
    "SELECT * FROM group_elm.trial",
    "SELECT question FROM group_elm.trial",
    "SELECT count(*) FROM group_elm.revision",
    "INSERT INTO group_elm.book SELECT * FROM group_oak.book",
    "UPDATE group_elm.trial SET question = 'ours'",
    "DELETE FROM group_elm.op",
    "DROP TABLE group_elm.shot CASCADE",
    "CREATE TABLE group_elm.mine (n int)",
    "DROP SCHEMA group_elm CASCADE",
    f"SELECT * FROM {SCHEMA}.server_group",
    f"UPDATE {SCHEMA}.server_group SET owner_link = NULL",
    "CREATE ROLE another",
    "COPY group_elm.trial TO STDOUT",
)
FIRST = ("SELECT 1", "RESET ROLE", "SET ROLE NONE", "SELECT set_config('role', 'none', false)", "SET search_path = group_elm, public")
TO_BE_ANOTHER = ("SET ROLE keeper", "SET ROLE postgres", "SET SESSION AUTHORIZATION keeper", "GRANT ALL ON SCHEMA group_elm TO PUBLIC")


def refused(connection: psycopg.Connection, statement: str) -> None:
    with pytest.raises((psycopg.errors.InsufficientPrivilege, psycopg.errors.InvalidParameterValue)):
        connection.execute(statement.encode())


@pytest.mark.parametrize("first", FIRST)
def test_on_a_groups_connection_nothing_reaches_another_groups_rows_whatever_is_said_before(two: Served, first: str) -> None:
    for engine in (two.book("oak")._readers, two.book("oak")._writer):
        with engine.connect() as held:
            raw = held.connection.dbapi_connection
            raw.rollback()
            raw.autocommit = True
            raw.execute("SET default_transaction_read_only = off")  # what keeps readers from writing isn't what is asked here
            role = raw.execute("SELECT current_user").fetchone()[0]
            assert role.endswith("_group_oak")
            raw.execute(first)
            for statement in ANOTHERS:
                refused(raw, statement)
            for statement in TO_BE_ANOTHER:
                refused(raw, statement)
            assert raw.execute("SELECT question FROM group_oak.trial").fetchall() == [("Does oak hold?",)]
            held.invalidate()


def test_where_the_role_may_not_log_in_the_servers_name_acts_as_it(two: Served) -> None:
    """The other way of connecting: RESET ROLE leads back to the group's role, since that was said while connecting."""
    group = replace(groups(two.folder)["oak"], role_password=None)
    url = url_of(address_in(cli_address(), group))
    assert url.username == KEEPER
    engine = engine_of(url, read_only=False, connections=1, own_words=False)
    with engine.connect() as connection:
        for first in ("SELECT 1", "RESET ROLE", "SET search_path = group_elm"):
            connection.execute(text(first))
            for statement in ("SELECT * FROM group_elm.trial", f"SELECT * FROM {SCHEMA}.server_group"):
                with pytest.raises(exc.ProgrammingError, match="permission denied"):
                    connection.execute(text(statement))
                connection.rollback()
    engine.dispose()


def cli_address() -> str:
    from proofyard.settings import database

    return database()


def test_the_password_of_a_role_stands_in_the_servers_rows_and_is_shown_nowhere(two: Served, capsys: pytest.CaptureFixture[str]) -> None:
    group = groups(two.folder)["oak"]
    assert group.role_password and group.role_password not in repr(group)
    assert cli.main(["group", "list", "--data", str(two.folder)]) == 0
    assert group.role_password not in capsys.readouterr().out
    owner = two.seated("oak", "owner")
    for page in ("/health", "/metrics", "/phones", "/download"):
        answer = owner.get(f"/g/oak{page}")
        assert answer.status_code == 200 and group.role_password not in answer.text and "keeper" not in answer.text


def test_a_shut_group_finds_its_book_again_and_a_role_of_somebody_elses_is_refused(two: Served, postgres: Server) -> None:
    register = open_register(two.folder)
    begin_group(register, two.folder, "ash")
    before = register.all()["ash"]
    register.shut("ash")
    begin_group(register, two.folder, "ash")
    assert register.all()["ash"] == replace(before, shut_at=None)
    taken = before.role_name.replace("_ash", "_yew")
    postgres.say(f'CREATE ROLE "{taken}"')
    with pytest.raises(StorageTrouble, match="has a role"):
        begin_group(register, two.folder, "yew")
    assert "yew" not in register.all()
    register.close()


def test_a_name_without_the_right_to_make_roles_is_told_what_is_wanted(
    postgres: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    postgres.say("CREATE ROLE plain LOGIN")
    made = url_of(postgres.new_database())
    postgres.say(f"ALTER DATABASE {made.database} OWNER TO plain")
    monkeypatch.setenv("PROOFYARD_DATABASE", made.set(username="plain").render_as_string())
    register = open_register(tmp_path)
    with pytest.raises(StorageTrouble, match="CREATEROLE"):
        begin_group(register, tmp_path, "oak")
    assert register.all() == {}
    register.close()


def test_a_book_of_a_folder_is_moved_into_a_group_by_the_address_that_list_prints(
    two: Served, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert cli.main(["group", "add", "fir", "--data", str(two.folder)]) == 0
    assert cli.main(["group", "list", "--data", str(two.folder)]) == 0
    line = next(line for line in capsys.readouterr().out.splitlines() if line.startswith("fir"))
    to = line.partition("open: ")[2].partition(", its photos")[0]
    with monkeypatch.context() as alone:
        alone.delenv("PROOFYARD_DATABASE")
        with closing(open_book(tmp_path)) as book:
            kit.trial(book, "Is it here now?")
        assert cli.main(["move", str(tmp_path), to, "--data", str(two.folder / "groups" / "fir")]) == 0
    two.look()
    assert two.client().get("/g/fir/join").status_code == 200
    assert "Is it here now?" in two.seated("fir", "viewer").get("/g/fir/trials").text


def test_a_save_in_one_group_wakes_that_groups_other_servers_and_nobody_elses(two: Served) -> None:
    import threading

    heard = {"oak": threading.Event(), "elm": threading.Event()}
    others = {}
    for name, group in groups(two.folder).items():
        if name in heard:
            others[name] = the_book(two.folder / "groups" / name, address=address_in(cli_address(), group))
            others[name].hear_others(heard[name].set)
    for one in heard.values():
        assert one.wait(10), "once, when it began to listen"
        one.clear()
    kit.trial(two.book("oak"), "Another?")
    assert heard["oak"].wait(10)
    assert not heard["elm"].wait(0.5)
    for book in others.values():
        book.close()
