"""A store of the tests' own that speaks S3: a real server (SeaweedFS, one file), with objects on the disk and keys that it checks.

It is killed and started again where a test wants that, and what it had acknowledged is still there.
"""

from __future__ import annotations

import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from itertools import count
from pathlib import Path

HOST = "127.0.0.1"
KEY_ID, SECRET = "the-tests", "the-tests-own-secret"
START_WITHIN_S = 60.0
BUCKET = "photos-of-tests"
_NUMBERS = count(1)


def program() -> str | None:
    """The server's program: beside this Python, where a package put it, or in the path."""
    beside = Path(sys.executable).with_name("weed")
    return str(beside) if beside.exists() else shutil.which("weed")


def _free_ports(many: int) -> list[int]:
    """Ports that nobody has now, each with the one 10,000 above it, where the program speaks to itself."""
    found: list[int] = []
    while len(found) < many:
        with closing(socket.socket()) as one, closing(socket.socket()) as other:
            one.bind((HOST, 0))
            port = one.getsockname()[1]
            if port > 50_000 or port in found:
                continue
            with suppress(OSError):
                other.bind((HOST, port + 10_000))
                found.append(port)
    return found


class Store:
    """A running server. endpoint: what AWS_ENDPOINT_URL says of it."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._process: subprocess.Popen[bytes] | None = None
        self._ports = _free_ports(4)
        self.endpoint = f"http://{HOST}:{self._ports[3]}"
        (folder / "data").mkdir()
        rights = {"name": "tests", "credentials": [{"accessKey": KEY_ID, "secretKey": SECRET}], "actions": ["Read", "Write", "List"]}
        (folder / "keys.json").write_text(json.dumps({"identities": [rights]}))

    def start(self) -> None:
        master, volume, filer, s3 = self._ports
        ports = {"master.port": master, "volume.port": volume, "filer.port": filer, "s3.port": s3}
        off = ("master.telemetry=false", "s3.iam=false", "s3.autoCreateBucket=false", "s3.port.iceberg=0", "s3.port.lance=0")
        sizes = ("volume.max=40", "master.volumeSizeLimitMB=64")
        where = (f"dir={self._folder / 'data'}", f"ip={HOST}", f"ip.bind={HOST}", f"s3.config={self._folder / 'keys.json'}")
        said = [*where, *(f"{name}={port}" for name, port in ports.items()), *off, *sizes, "filer", "s3"]
        command = [str(program()), "-logtostderr=true", "server", *(f"-{one}" for one in said)]
        with open(self._folder / "log", "ab") as log:
            self._process = subprocess.Popen(command, stdout=log, stderr=log, cwd=self._folder)
        self._wait_until_it_takes()

    def _wait_until_it_takes(self) -> None:
        """The bucket, or its being there already, says that the filer answers; a first object, that all of it does."""
        until, why = time.monotonic() + START_WITHIN_S, ""
        while time.monotonic() < until:
            try:
                self._make_bucket()
                self._put_something()
                return
            except Exception as error:
                why = str(error)
                time.sleep(0.1)
        raise AssertionError(f"the store didn't start: {why} {(self._folder / 'log').read_text()[-2000:]}")

    def _put_something(self) -> None:
        from obstore.store import S3Store

        store = S3Store(
            BUCKET,
            endpoint=self.endpoint,
            access_key_id=KEY_ID,
            secret_access_key=SECRET,
            region="us-east-1",
            client_options={"allow_http": True},
            retry_config={"max_retries": 0},
        )
        store.put("one", b"1")

    def _make_bucket(self) -> None:
        request = urllib.request.Request(f"http://{HOST}:{self._ports[2]}/buckets/{BUCKET}/", method="POST")
        try:
            urllib.request.urlopen(request, timeout=5).close()
        except urllib.error.HTTPError as error:
            if error.code not in (409, 500):  # it is there already
                raise

    def kill(self) -> None:
        """As when its machine goes: nothing is finished."""
        assert self._process
        self._process.kill()
        self._process.wait()

    def new_place(self) -> str:
        """The address of a place that nobody has used: a prefix of the one bucket, since each further bucket takes room of its own."""
        return f"s3://{BUCKET}/{os.getpid()}-{next(_NUMBERS)}"

    def environment(self, *, endpoint: str = "", secret: str = SECRET) -> dict[str, str]:
        """What a server is told of it, beside PROOFYARD_PHOTOS."""
        return {"AWS_ACCESS_KEY_ID": KEY_ID, "AWS_SECRET_ACCESS_KEY": secret, "AWS_ENDPOINT_URL": endpoint or self.endpoint}


@contextmanager
def running_store() -> Iterator[Store]:
    folder = Path(tempfile.mkdtemp(prefix="s3-"))
    store = Store(folder)
    try:
        store.start()
        yield store
    finally:
        store.kill()
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def in_the_way(to: str, passes: Callable[[], bool]) -> Iterator[str]:
    """An endpoint through which all goes to another, a piece at a time, while `passes` says so; otherwise it waits, as on a bad line."""
    host, port = to.removeprefix("http://").split(":")
    ended, opened, carrying = threading.Event(), list[socket.socket](), list[threading.Thread]()

    def shut(*sockets: socket.socket) -> None:
        for one in sockets:
            with suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)

    def carry(source: socket.socket, target: socket.socket) -> None:
        with suppress(OSError):
            while piece := source.recv(65536):
                while not passes() and not ended.is_set():
                    time.sleep(0.02)
                target.sendall(piece)
        shut(source, target)

    def listen() -> None:
        with suppress(OSError):
            while True:
                here, _ = listener.accept()
                opened.append(here)
                if ended.is_set():
                    return
                there = socket.create_connection((host, int(port)))
                opened.append(there)
                for pair in ((here, there), (there, here)):
                    carrying.append(threading.Thread(target=carry, args=pair))
                    carrying[-1].start()

    with closing(socket.create_server((HOST, 0))) as listener:
        listening = threading.Thread(target=listen)
        listening.start()
        try:
            yield f"http://{HOST}:{listener.getsockname()[1]}"
        finally:
            ended.set()
            socket.create_connection(listener.getsockname()).close()  # whoever waits for one more hears that there is none
            listening.join()
            shut(*opened)
            for one in carrying:
                one.join()
            for each in opened:
                each.close()
