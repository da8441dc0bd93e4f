"""The way of five requests through the code: how many of our files and functions each enters, and how often it changes file.

    python -m tests.bench.walks                       this checkout
    python -m tests.bench.walks --beside ../before    and another one, perhaps with other names for its package and columns

Whoever reads the code to follow one request opens so many files and turns so many pages. Each walk is asked twice of an
app with three shots in its book; the second time counts, when everything is loaded.
"""

from __future__ import annotations

import argparse
import json
import tempfile
from dataclasses import dataclass
from pathlib import Path

from tests.bench.checkouts import Checkout

WALKS = {
    "tap": "a phone’s tap to the book",
    "results": "the book to a number on the results page",
    "weight": "a typed weight",
    "band": "a typed energy band",
    "next": "the next shot",
}
CHILD = """
import importlib, json, os, sys, threading
from pathlib import Path
package, folder = sys.argv[1], Path(sys.argv[2])
from starlette.testclient import TestClient
from tests import kit_for_tests as kit
names = ("opening", "assembled", "settings", "access.seats", "records.devices", "records.ids", "records.operations")
opening, assembled, settings, sessions, devices, ids, operations = (importlib.import_module(f"{package}.{name}") for name in names)
if not hasattr(sessions, "new_token"):  # an older version, where cookies had a file of their own
    sessions = importlib.import_module(f"{package}.access.sessions")
home = os.path.dirname(sys.modules[package].__file__) + os.sep
seen = [None]  # what is noted now; threads are made by the first request of a sort, so they are followed from the start

def called(frame, event, _):
    now, name = seen[0], frame.f_code.co_filename
    if now is None or event != "call" or not name.startswith(home):
        return
    here = name.removeprefix(home)
    now["files"].add(here)
    if not frame.f_code.co_name.startswith("<"):
        now["functions"].add((here, frame.f_code.co_name, frame.f_code.co_firstlineno))
    now["moves"] += bool(now["last"]) and now["last"] != here
    now["last"] = here

threading.setprofile(called)
sys.setprofile(called)
address, token = "http://127.0.0.1:8014", sessions.new_token()
storage = opening.open_book(folder)
with storage.write() as session:
    devices.make_book(session)
    devices.add_device(session, call_name="Laptop", role="owner", session_hash=sessions.hash_of(token))
yard = kit.yard(storage)
three = next(one for one in (getattr(yard, "combination", None), getattr(yard, "pairing", None)) if one)
end = next(name for name in ("shooting_end", "walk") if hasattr(yard, name))
kit.speeds(storage, three, "52.4", "52.6", "52.9")
kit.put(storage, "trial", {"next_shot_rule": "up_and_down"}, record_id=yard.trial, base_rev=1)
for n, outcome in enumerate("245"):
    kit.read_shot(storage, yard, outcome_low=outcome, x=f"{60 * (n - 1)} mm", y="0 mm")

def loosed():
    body = {"label": f"B{next(nth)}", end: getattr(yard, end), "bow_build": yard.bow.build, "arrow_build": yard.arrow.build,
            "archer": yard.archer, "purpose": "counted", "loosed_at": kit.BEGAN}
    one = {"op_id": ids.new_id(), "action": "put", "noun": "shot", "record_id": ids.new_id(), "base_rev": 0, "body": body}
    return client.post("/api/ops", json={"op_v": operations.OP_VERSION, "boot": "run-1", "ops": [one]})

def weighed():
    body = {"name": f"Bow {next(nth)}", "sort": "self", "marked_weight": "95 lbf", "op_id": ids.new_id()}
    return client.post("/kit/bow/new", data=body)

import itertools
nth = itertools.count(1)
asked = {
    "tap": loosed,
    "results": lambda: client.get("/results"),
    "weight": weighed,
    "band": lambda: client.get("/results?edges=60,+80,+105"),
    "next": lambda: client.get(f"/trials/{yard.trial}/next"),
}
app = assembled.create_app(storage, settings.Settings(folder, "127.0.0.1", 8014))
client = TestClient(app, base_url=address, headers={"Origin": address}, follow_redirects=False)
client.cookies.set(sessions.named(sessions.COOKIE, address), token, domain="127.0.0.1")
# A page that goes to a process of its own is made in this one here, where it can be followed.
workers = sys.modules.get(f"{package}.live.page_workers")
if workers is not None:
    import re
    workers.LONG = re.compile("(?!)")

told = {}
for walk in ("results", "band", "next", "weight", "tap"):
    asked[walk]()
    seen[0] = now = {"files": set(), "functions": set(), "moves": 0, "last": ""}
    status = asked[walk]().status_code
    seen[0] = None
    assert status in (200, 303), (walk, status)
    told[walk] = [sorted(now["files"]), len(now["functions"]), now["moves"]]
storage.close()
print(json.dumps(told))
"""


@dataclass(frozen=True)
class Walk:
    """files: those of ours that the request entered, by path within the package; moves: calls that change the file."""

    files: tuple[str, ...]
    functions: int
    moves: int

    @property
    def words(self) -> str:
        return f"{len(self.files)} files, {self.functions} functions, {self.moves} moves"


def measure(checkout: Checkout | None = None) -> dict[str, Walk]:
    """Every walk of a checkout, this one by itself."""
    checkout = checkout or Checkout()
    with tempfile.TemporaryDirectory() as folder:
        said = checkout.run(checkout.python, "-c", CHILD, checkout.package, folder)
    return {key: Walk(tuple(files), functions, moves) for key, (files, functions, moves) in json.loads(said.splitlines()[-1]).items()}


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--beside", type=Path, help="another checkout of the program, with a .venv of its own")
    asked.add_argument("--files", action="store_true", help="print the files of each walk")
    given = asked.parse_args()
    checkouts = [Checkout(), *([Checkout(given.beside.resolve())] if given.beside else [])]
    for checkout in checkouts:
        found = measure(checkout)
        for key, words in WALKS.items():
            print(f"{checkout.words}, {words}: {found[key].words}")
            for name in found[key].files if given.files else ():
                print(f"    {name}")


if __name__ == "__main__":
    main()
