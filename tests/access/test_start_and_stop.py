"""The app's beginning and end."""

import subprocess
import sys
from pathlib import Path

from proofyard.records import devices
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests.conftest import ADDRESS, House

REPOSITORY = Path(__file__).resolve().parents[2]


def test_stopping_writes_down_who_was_heard_and_closes_the_book(house: House, book: Storage) -> None:
    with TestClient(house.app, base_url=ADDRESS, headers={"Cookie": f"proofyard_seat_8014={house.tokens['archer']}"}) as client:
        assert client.get("/api/ping").json()["role"] == "archer"
    assert house.app.state.doorbell.closing
    with book.read() as session:
        wren = devices.device(session, house.device_ids["archer"])
    assert wren is not None and wren.heard_at is not None


def test_starting_waits_for_no_slow_library_and_the_warming_brings_it() -> None:
    code = (
        "import sys, proofyard.assembled\n"
        "there = [one for one in ('scipy', 'pint') if one in sys.modules]\n"
        "assert not there, f'loaded while somebody waits: {there}'\n"
        "proofyard.assembled.warm_up()\n"
        "assert {'scipy', 'pint'} <= sys.modules.keys()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=REPOSITORY, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
