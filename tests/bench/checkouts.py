"""This checkout and another one of the same program, perhaps with other names for its package, columns and addresses.

Names that changed are asked of the other checkout itself or, for addresses, told on the command line (`/now=/before`).
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.bench.multiplied import multiply
from tests.faults.a_real_server import REPOSITORY, ask_book, environment

PREPARE = """
import importlib, json, sys
from pathlib import Path
open_book = importlib.import_module(sys.argv[1] + ".opening").open_book
OP_VERSION = importlib.import_module(sys.argv[1] + ".records.operations").OP_VERSION
from tests import kit_for_tests as kit
from tests.faults.a_real_server import let_in
folder = Path(sys.argv[2])
tokens = [let_in(folder, "archer", "Wren"), let_in(folder, "archer", "Tallow"), let_in(folder, "owner", "Laptop")]
storage = open_book(folder)
yard = kit.yard(storage)
storage.close()
names = {name: one for name, one in vars(yard).items() if isinstance(one, str)}
names |= {"op_v": OP_VERSION}  # each version takes operations of its own form
print(json.dumps(names | {"tokens": tokens, "bow_build": yard.bow.build, "arrow_build": yard.arrow.build}))
"""
# Each page three times in one process with nobody else there, after one round that isn't counted since much is loaded in
# it. A page of so many seconds that this weighs little is made once.
COST = """
import importlib, json, sys, time
from pathlib import Path
package, folder, token, paths = sys.argv[1], Path(sys.argv[2]), sys.argv[3], json.loads(sys.argv[4])
from starlette.testclient import TestClient
names = ("opening", "assembled", "settings", "access.seats")
opening, assembled, settings, sessions = (importlib.import_module(f"{package}.{name}") for name in names)
if not hasattr(sessions, "named"):  # an older version, where cookies had a file of their own
    sessions = importlib.import_module(f"{package}.access.sessions")
address = "http://127.0.0.1:8014"
storage = opening.open_book(folder)
app = assembled.create_app(storage, settings.Settings(folder, "127.0.0.1", 8014))
client = TestClient(app, base_url=address, headers={"Origin": address})
client.cookies.set(sessions.named(sessions.COOKIE, address), token, domain="127.0.0.1")
took = {}
for turn in range(4):
    for path in paths:
        if sum(took.get(path, [])) > 3:
            continue
        began = time.process_time()
        assert client.get(path).status_code == 200, path
        spent = time.process_time() - began
        if turn or spent > 3:
            took.setdefault(path, []).append(spent)
storage.close()
print(json.dumps({path: sorted(some)[len(some) // 2] for path, some in took.items()}))
"""


@dataclass(frozen=True)
class Checkout:
    """folder: where it lies; renamed: addresses of pages, today's to its own."""

    folder: Path = REPOSITORY
    renamed: Mapping[str, str] = field(default_factory=dict)

    @property
    def words(self) -> str:
        return "this version" if self.folder == REPOSITORY else "the other checkout"

    @property
    def package(self) -> str:
        return "proofyard" if (self.folder / "server" / "proofyard").is_dir() else "server"

    @property
    def python(self) -> str:
        return sys.executable if self.folder == REPOSITORY else str(self.folder / ".venv" / "bin" / "python")

    @property
    def environment(self) -> dict[str, str]:
        return environment() | {"PYTHONPATH": str(self.folder)}

    def line(self, *words: str) -> list[str]:
        return [self.python, "-m", f"{self.package}.cli", *words]

    def run(self, *words: str) -> str:
        done = subprocess.run([*words], cwd=self.folder, env=self.environment, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def make_book(self, folder: Path, shots: int) -> dict[str, Any]:
        """A book of that checkout's own form, what savers need, and where the heavy pages stand."""
        self.run(*self.line("demo", "--data", str(folder)))
        made: dict[str, Any] = json.loads(self.run(self.python, "-c", PREPARE, self.package, str(folder)).splitlines()[-1])
        book = folder / "proofyard.db"
        # The shot's column and the table that lead to its set-up, by whatever name.
        linked = {str(row[2]): str(row[3]) for row in ask_book(book, "PRAGMA foreign_key_list(shot)")}
        end = next(one for one in linked if any(row[2] == "setup" for row in ask_book(book, f"PRAGMA foreign_key_list({one})")))
        # The most shot-at trial of the demo itself: a copy of it is as good as any.
        trial, panel = ask_book(
            book,
            f"SELECT session.trial_id, setup.panel_build_id FROM shot JOIN {end} ON {end}.id = shot.{linked[end]} "
            "JOIN setup ON setup.id = setup_id JOIN session ON session.id = session_id GROUP BY 1 ORDER BY count(*) DESC LIMIT 1",
        )[0]
        return made | {"end": linked[end].removesuffix("_id"), "shots": multiply(book, shots), "trial": trial, "panel": panel}

    def address(self, page: str, made: Mapping[str, Any]) -> str:
        """A page's address there; `page` as it stands today, with {trial} and {panel} in it."""
        for now, before in self.renamed.items():
            page = page.replace(now, before)
        return page.format(**made)

    def costs(self, folder: Path, made: Mapping[str, Any], pages: tuple[str, ...]) -> dict[str, float]:
        """Seconds of processor of each page, made in one process that nobody else asks."""
        addresses = {page: self.address(page, made) for page in pages}
        said = self.run(self.python, "-c", COST, self.package, str(folder), made["tokens"][2], json.dumps(list(addresses.values())))
        took = json.loads(said.splitlines()[-1])
        return {page: took[address] for page, address in addresses.items()}
