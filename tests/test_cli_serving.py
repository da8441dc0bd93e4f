"""`proofyard serve` as a process of its own: what it prints, who may open the link, how it stops."""

from __future__ import annotations

import contextlib
import os
import signal
import threading
import time
from pathlib import Path

import httpx
import pytest
from proofyard.settings import BOOK_FILE

from tests.conftest import copied
from tests.faults.a_real_server import ask_book, assert_whole, let_in, run, serving

pytestmark = [pytest.mark.slow, pytest.mark.skipif(os.name == "nt", reason="signals are another thing there")]


def test_the_server_says_where_the_book_is_and_its_link_works(tmp_path: Path) -> None:
    with serving(tmp_path) as server:
        said = "".join(server.said)
        assert f"The book: {tmp_path / BOOK_FILE}" in said
        assert "It works once" in said and "Ctrl+C stops the server." in said
        assert "Phones can’t reach it" in said  # it was told to listen to this laptop alone
        with server.client() as client:
            assert client.get(server.link.split(server.address.rsplit(":", 1)[1])[1]).status_code == 200
            assert client.get("/trials").status_code in (303, 401)


@pytest.mark.parametrize("number", [signal.SIGTERM, pytest.param(signal.SIGINT, marks=pytest.mark.slow)])
def test_it_stops_within_two_seconds_with_streams_open_and_leaves_a_whole_book(tmp_path: Path, number: signal.Signals) -> None:
    token = let_in(tmp_path, "viewer", "Pip")
    with serving(tmp_path) as server:
        heard: list[bytes] = []
        listeners = [threading.Thread(target=_listen, args=(server.client(token), heard), daemon=True) for _ in range(3)]
        for one in listeners:
            one.start()
        until = time.monotonic() + 10
        while len(heard) < 3 and time.monotonic() < until:
            time.sleep(0.02)
        assert len(heard) >= 3, "no stream opened, so this tests nothing"
        code, seconds = server.stop(number)
        assert code == 0
        assert seconds < 4, seconds  # about one; room for a machine that has other work
        for one in listeners:
            one.join(5)
            assert not one.is_alive()
    assert "Stopped. The book is closed." in "".join(server.said)
    assert "Traceback" not in "".join(server.said) and "Cancel" not in "".join(server.said)
    assert_whole(tmp_path / BOOK_FILE)
    assert not (tmp_path / f"{BOOK_FILE}-journal").exists()


def test_a_stop_that_cuts_long_pages_off_says_one_line_of_all_of_them(demo_book_file: Path, tmp_path: Path) -> None:
    folder = copied(demo_book_file, tmp_path / "yard")
    token = let_in(folder, "viewer", "Pip")
    with serving(folder) as server:
        asked = threading.Barrier(9)

        def ask() -> None:
            with server.client(token) as client, contextlib.suppress(httpx.HTTPError):
                asked.wait()
                client.get("/fifty-percent", timeout=20)

        readers = [threading.Thread(target=ask, daemon=True) for _ in range(8)]
        for one in readers:
            one.start()
        asked.wait()
        time.sleep(0.5)
        assert server.stop()[0] == 0
        for one in readers:
            one.join(5)
    said = "".join(server.said)
    assert "answers were out" in said, "no page was cut off, so this tests nothing"
    assert "Traceback" not in said and "Cancel" not in said and "is asked" not in said and said.count("Stopped before") == 1


def _listen(client: httpx.Client, heard: list[bytes]) -> None:
    with client, client.stream("GET", "/live") as stream:
        for piece in stream.iter_raw():
            heard.append(piece)


def test_a_second_server_on_the_same_book_says_who_has_it_and_the_first_goes_on(tmp_path: Path) -> None:
    with serving(tmp_path) as server:
        second = run("serve", "--data", tmp_path, "--host", "127.0.0.1", "--port", "0")
        assert (second.returncode, second.stdout) == (2, "")
        assert f"is open already, by process {server.process.pid}" in second.stderr
        assert len(second.stderr.strip().splitlines()) == 1
        with server.client() as client:
            assert client.get("/api/ping").status_code == 200
        copied = run("backup", tmp_path / "copy.db", "--data", tmp_path)
        assert copied.returncode == 0, copied.stderr


def test_the_example_is_served_and_served_again(tmp_path: Path) -> None:
    for _ in range(2):
        with serving(tmp_path, "--demo") as server:
            assert "Example data" in "".join(server.said)
            assert server.stop()[0] == 0
    assert ask_book(tmp_path / BOOK_FILE, "SELECT demo FROM book") == [(1,)]
    shots = ask_book(tmp_path / BOOK_FILE, "SELECT count(*) FROM shot")[0][0]
    assert isinstance(shots, int) and 120 <= shots <= 180
