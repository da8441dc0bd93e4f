"""A viewer who was let in to one trial, walked through everything that it can reach, on the demo.

Every GET of the app is asked with every id that the book has, every link of every page that opens is followed, and
nothing that answers may hold a word of another trial: no label, id, question or address.
"""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import unescape
from itertools import islice, product
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from fastapi.routing import iter_route_contexts
from proofyard.access.seats import hash_of, new_token
from proofyard.app import create_app
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.bow import BowBuild
from proofyard.records.instrument import Instrument
from proofyard.records.panel import Panel, PanelArea, PanelBuild
from proofyard.records.photo import Photo
from proofyard.records.shot import Shot
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.records.speed import Combination
from proofyard.records.stand import Stand
from proofyard.records.trial import Session, Setup, ShootingEnd, Trial
from proofyard.settings import Settings
from proofyard.storage import Storage
from python_calamine import CalamineWorkbook
from sqlmodel import select
from starlette.testclient import TestClient

from tests.conftest import HOST, PORT, House, copied, house_of

MOST_A_ROUTE = 40  # of each route so many ids: all that a page can link to come besides
MOST_IN_ALL = 1500
EXAMPLES = ("/parts", "/methods", "/guide/")  # the same in every book: what they name is invented, whatever the book has
LINK = re.compile(r'(?:href|src|hx-get|data-live)="(/[^"#]*)')
IDS: dict[str, Any] = {
    "trial_id": Trial,
    "session_id": Session,
    "shot_id": Shot,
    "build_id": PanelBuild,
    "arrow_id": Arrow,
    "bow_build_id": BowBuild,
    "combination_id": Combination,
    "photo_id": Photo,
    "setup_id": Setup,
    "record_id": Arrow,
}
NAMES = {
    "drawing": ("outcomes.svg", "shares.svg", "outcomes.svg", "depth.svg", "order.svg", "hits.svg", "panel.svg", "speeds.svg", "curve.svg"),
    "name": (
        "shots.csv",
        "kit.csv",
        "speeds.csv",
        "second-readings.csv",
        "second_readings.csv",
        "all.zip",
        "what-if",
        "blunt",
        "worked-shot",
    ),
    "noun": ("bow", "arrow", "head", "panel"),
    "tool": ("sound", "frames"),
}


@dataclass
class Walked:
    """What one viewer of one trial was shown: address -> text, and what each address answered."""

    secrets: dict[str, re.Pattern[str]]
    own: list[ShotFact]
    shown: dict[str, str] = field(default_factory=dict)
    statuses: dict[str, int] = field(default_factory=dict)


@pytest.fixture(scope="module")
def demo_house(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[House]:
    folder = copied(demo_book_file, tmp_path_factory.mktemp("scoped") / "demo")
    storage = open_book(folder)
    settings = Settings(folder=folder, host=HOST, port=PORT)
    house = House(create_app(storage, settings), storage, settings, {}, {})
    house.app.state.doorbell.closing = True  # so that a stream answers at once, and ends
    yield house
    storage.close()


def trials_of(house: House) -> list[str]:
    with house.storage.read() as session:
        return sorted({fact.trial_id for fact in shot_facts(session)})


def secrets_of(house: House, trial_id: str) -> tuple[dict[str, re.Pattern[str]], list[ShotFact]]:
    """What no page may show: everything that names another trial, its days, ends and shots."""
    with house.storage.read() as session:
        facts = shot_facts(session)
        others = [fact for fact in facts if fact.trial_id != trial_id]
        own = [fact for fact in facts if fact.trial_id == trial_id]
        days = session.exec(select(Session)).all()
        setups = session.exec(select(Setup)).all()
        shooting_ends = session.exec(select(ShootingEnd)).all()
        questions = [one for one in session.exec(select(Trial)).all() if one.id != trial_id]
        other_days = {one.id for one in days if one.trial_id != trial_id}
        other_setups = {one.id for one in setups if one.session_id in other_days}
        other_shots = {one.shot_id for one in others}
        ids = {one.id for one in questions} | other_days | other_setups | other_shots
        ids |= {one.id for one in shooting_ends if one.setup_id in other_setups}
        kit = {one.name for table in (Head, Panel, Instrument, Stand) for one in session.exec(select(table)).all()}
        kit |= {one.tag for one in session.exec(select(Arrow)).all()}
        kit |= {one.name for one in session.exec(select(PanelArea)).all() if one.name}
    # A head or a spot to aim at may be called B1 as a shot is; where it is, the word tells nothing.
    labels = {one.label for one in others} - {one.label for one in own} - kit
    assert len(labels) > 20 and len(ids) > 100, "the demo no longer has three trials to tell apart"
    every = {
        "an id": re.compile("|".join(sorted(ids))),
        "a question": re.compile("|".join(re.escape(one.question) for one in questions)),
        # A label stands as a word of its own; within an id, a class or a colour it means nothing.
        "a label": re.compile(r"(?<![\w#/.-])(?:" + "|".join(sorted(labels)) + r")(?![\w-])"),
    }
    return every, own


def addresses(house: House) -> Iterator[str]:
    """Every GET of the app, with every id and name that could stand in it."""
    with house.storage.read() as session:
        ids = {name: [one.id for one in session.exec(select(table)).all()] for name, table in IDS.items()}
        ids["record_id"] += [one.id for one in session.exec(select(ArrowBuild)).all()]
    for route in iter_route_contexts(house.app.routes):
        names = re.findall(r"{(\w+)}", route.path)
        if "GET" not in (route.methods or ()) or route.path.startswith("/static"):
            continue
        choices = [ids.get(name) or NAMES.get(name, ("none",)) for name in names]
        for picked in islice(product(*choices), MOST_A_ROUTE):
            path = route.path
            for name, value in zip(names, picked, strict=True):
                path = path.replace("{" + name + "}", value)
            yield path


def everything_within_reach(house: House, trial_id: str) -> Walked:
    token = new_token()
    with house.storage.write() as session:
        devices.add_device(session, call_name="Pip", role="viewer", session_hash=hash_of(token), trial_id=trial_id)
    house.tokens["scoped"] = token
    client = house.client("scoped", raise_server_exceptions=False)
    walked = Walked(*secrets_of(house, trial_id))
    waiting = list(addresses(house))
    while waiting and len(walked.statuses) < MOST_IN_ALL:
        path = waiting.pop()
        if path in walked.statuses or path.startswith("/static"):
            continue
        waiting += look_at(client, path, walked)
    return walked


def look_at(client: TestClient, path: str, walked: Walked) -> list[str]:
    """Ask one address; the further ones that its page leads to."""
    answer = client.get(path)
    walked.statuses[path] = answer.status_code
    if (
        path.startswith(EXAMPLES)
        or answer.status_code != 200
        or answer.headers.get("content-type", "").startswith(("image/jpeg", "image/png"))
    ):
        return []
    walked.shown[path] = _read(answer.content, answer.headers.get("content-type", "")) or answer.text
    found = {unescape(one) for one in LINK.findall(answer.text)} if "html" in answer.headers.get("content-type", "") else set()
    # Of many views of the same results a few stand for all: their number has no end.
    views = sorted(one for one in found if urlsplit(one).query)
    return [one for one in found if not urlsplit(one).query] + views[:8]


def _read(content: bytes, kind: str) -> str:
    """What is packed, as somebody reads it who opens it; a package is held to this by tests of its own."""
    if "spreadsheetml" in kind:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        return "\n".join(str(row) for row in book.get_sheet_by_index(0).to_python())
    return " " if "zip" in kind else ""


# With examples out of the invented demo, the same for every book.
THE_PROGRAMS_OWN = ("/download/glossary.csv", "/api/v1/openapi.json")


def leaks_of(walked: Walked) -> list[str]:
    found = []
    for path, text in walked.shown.items():
        if path.startswith(THE_PROGRAMS_OWN):
            continue
        # What the viewer itself asked for stands in its own page as the way back.
        said = unescape(re.sub(r"<style.*?</style>", "", text, flags=re.S)).replace(path, "")
        for what, pattern in walked.secrets.items():
            told = pattern.search(said)
            if told:
                found.append(f"{path}: {what} of another trial, …{said[max(0, told.start() - 60) : told.end() + 30]!r}")
    return found


@pytest.mark.long
@pytest.mark.parametrize("number", [0, 1, 2])
def test_a_viewer_of_one_trial_meets_nothing_of_another_wherever_it_goes(demo_house: House, number: int) -> None:
    walked = everything_within_reach(demo_house, trials_of(demo_house)[number])
    assert [path for path, status in walked.statuses.items() if status >= 500 and path != "/live"] == []
    assert len(walked.shown) > 60, "the walk reached little"
    assert any(path.startswith("/arrows/") for path in walked.shown) and any(path.startswith("/panels/") for path in walked.shown)
    assert leaks_of(walked) == []


def test_the_pages_of_arrows_and_days_name_no_shot_of_another_trial(demo_house: House) -> None:
    for trial_id in trials_of(demo_house):
        token = new_token()
        with demo_house.storage.write() as session:
            devices.add_device(session, call_name="Pip", role="viewer", session_hash=hash_of(token), trial_id=trial_id)
        demo_house.tokens["one trial"] = token
        client = demo_house.client("one trial")
        walked = Walked(*secrets_of(demo_house, trial_id))
        for arrow_id in {fact.arrow_id for fact in walked.own}:
            look_at(client, f"/arrows/{arrow_id}", walked)
        for day in {fact.session_id for fact in walked.own}:
            look_at(client, f"/sessions/{day}/day", walked)
        assert walked.shown
        assert leaks_of(walked) == []


@pytest.mark.parametrize("path", THE_PROGRAMS_OWN)
def test_what_the_program_says_of_itself_is_the_same_for_every_book(demo_book: Storage, house: House, path: str) -> None:
    demo, empty = (one.client("viewer").get(path) for one in (house_of(demo_book), house))
    assert demo.status_code == empty.status_code == 200 and demo.content == empty.content
