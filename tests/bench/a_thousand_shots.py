"""A trial of a thousand shots: statements a page, and how long energies take beside reading the same rows and no more.

    python -m tests.bench.a_thousand_shots [shots]

Half of the shots have a speed of their own, so half are worked out one by one. Times are processor times of this run,
each the least of three; the ratio to reading the rows is what may be compared between machines.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.answers.results.page import results_of
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.records.shot_facts import shot_facts
from proofyard.settings import Settings
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import load_loosed
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.bench.page_statements import ADDRESS, HOST, counted

PAGES = ("/results", "/results?at=target&axis=tip&rows=frontal_area", "/shots/{shot}", "/download/shots.csv")
FORMS = {
    "needle": {"section": "square", "width": "8 mm", "tip_flat": "0.5 mm"},
    "short_bodkin": {"section": "square", "width": "12 mm", "tip_flat": "0.8 mm"},
    "leaf": {"section": "flat", "width": "24 mm", "thickness": "3 mm", "tip_radius": "0.5 mm"},
}


@dataclass(frozen=True)
class Took:
    """One book: statements a page, and seconds: to read the rows, to work out every energy at the chronograph, at the target, to
    put the results page together from the beginning, fairness of every hit on the one panel included."""

    shots: int
    statements: dict[str, int]
    read_s: float
    near_s: float
    target_s: float
    results_s: float

    @property
    def near_ratio(self) -> float:
        return self.near_s / self.read_s

    @property
    def target_ratio(self) -> float:
        return self.target_s / self.read_s

    @property
    def results_ratio(self) -> float:
        return self.results_s / self.read_s


def fill(book: Storage, shots: int) -> str:
    """That many shots at one plate, by one archer, with three bows' worth of arrows; gives one shot's id."""
    yard = kit.yard(book)
    chrono, scale = kit.chronograph(book), kit.scale(book, accuracy="0.1 g")
    setup = kit.setup(book, yard.session, yard.panel.build, chronograph=chrono, chronograph_at="2 m", distance="14 m")
    arrows = []
    for form, head in FORMS.items():
        arrow = kit.arrow(book, masses=(), form=form, head_more=head, diameter="9.5 mm")
        kit.mass_reading(book, arrow.build, "72.4 g", instrument=scale)
        kit.speeds(book, kit.Combination(yard.bow.build, arrow.build, yard.archer), "52.4", "52.6", "52.9", instrument_id=chrono)
        arrows.append(arrow.build)
    shooting_end = kit.shooting_end(book, setup)
    bodies = [
        {
            "label": f"B{n}",
            "shooting_end": shooting_end,
            "position": str(n + 1),
            "bow_build": yard.bow.build,
            "arrow_build": arrows[n % 3],
            "archer": yard.archer,
            "purpose": "counted",
            "loosed_at": kit.BEGAN + n * 60_000,
        }
        for n in range(shots)
    ]
    ids = [made for some in _hundreds(bodies) for made in kit.put_all(book, [("shot", body) for body in some])]
    speeds = [{"shot": shot, "value": f"{50 + n % 50 / 10:.1f}", "method": "chronograph"} for n, shot in enumerate(ids) if n % 2]
    for some in _hundreds(speeds):
        kit.put_all(book, [("speed_reading", body) for body in some])
    for n, shot in enumerate(ids):
        place = {} if n % 10 == 9 else {"x": f"{n * 37 % 280 - 140} mm", "y": f"{n * 53 % 380 - 190} mm"}  # one in ten unplaced
        kit.reading(book, shot, outcome_low=str(n % 6), entry="plate", fair_overrule="fair", fair_reason="laid out for this count", **place)
    return ids[0]


def _hundreds(bodies: list[dict[str, object]]) -> list[list[dict[str, object]]]:
    return [bodies[start : start + 100] for start in range(0, len(bodies), 100)]


def _least(work: Callable[[], object], rounds: int = 3) -> float:
    took = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        took.append(time.process_time() - start)
    return max(min(took), 1e-6)


def measure(shots: int = 1000) -> Took:
    from proofyard.app import create_app

    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as place:
        folder = Path(place)
        with closing(open_book(folder)) as storage:
            shot, token = fill(storage, shots), new_token()
            with storage.write() as session:
                devices.make_book(session)
                devices.add_device(session, call_name="Laptop", role="owner", session_hash=hash_of(token))
            client = TestClient(create_app(storage, Settings(folder, HOST, 8014)), base_url=ADDRESS, headers={"Origin": ADDRESS})
            client.cookies.set(named(COOKIE, ADDRESS), token, domain=HOST)
            statements = {}
            for page in PAGES:
                client.get(page.format(shot=shot))  # what is kept in memory is kept from here on
                with counted(storage) as asked:
                    answer = client.get(page.format(shot=shot))
                assert answer.status_code == 200, (page, answer.status_code)
                statements[page] = len(asked)

            def read() -> None:
                with storage.read() as session:
                    shot_facts(session)

            def worked(place: str) -> None:
                with storage.read() as session:
                    facts, impacts = shot_facts(session), Impacts.load(session)
                assert all(impacts.of_shot(fact).energy_at(place) is not None for fact in facts)

            def results() -> None:
                with storage.read() as session:
                    loosed = load_loosed(session)
                assert results_of(loosed, {"at": ["target"]}).loosed == shots

            return Took(
                shots, statements, _least(read), _least(lambda: worked("chronograph")), _least(lambda: worked("target")), _least(results)
            )


if __name__ == "__main__":
    found = measure(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
    for page, count in found.statements.items():
        print(f"{count:4d}  {page}" + ("  <- look" if count > 12 else ""))
    print(
        f"{found.shots} shots: rows read in {1000 * found.read_s:.0f} ms; energies at the chronograph {found.near_ratio:.1f} times "
        f"that, at the target {found.target_ratio:.1f}, the whole results page {found.results_ratio:.1f}"
    )
    sys.exit(0)
