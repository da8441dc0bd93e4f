"""The invented demo, served for real, and every page of it: what a test of all pages ends through.

    with demo_yard(folder) as yard:
        for address in yard.pages(): ...

The pages follow from the app's own routes, so a new route is walked through without anybody thinking of it. A route with
a parameter that nobody here knows how to fill fails.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import product
from pathlib import Path

import httpx
from fastapi.routing import iter_route_contexts
from playwright.sync_api import Browser, BrowserContext
from proofyard.access.seats import COOKIE, named
from proofyard.opening import open_book
from proofyard.pages.kit.nouns import KIT, Part
from proofyard.pages.results.page import WAYS
from proofyard.records import nouns
from proofyard.records.book import Device
from proofyard.records.photo import Photo
from proofyard.settings import BOOK_FILE, data_folder
from proofyard.storage import Session
from sqlalchemy import select

from seed_demo import fill
from tests.browser.real_server import RealServer
from tests.demo_for_tests import called
from tests.other_books_for_tests import beside_the_demo

# Read by scripts, or answered by a file: no page for a person. The last three are drawn only of what a form says.
NO_PAGES = (
    "/static/",
    "/api/",
    "/live",
    "/sync-card/codes",
    "/download/{name}",
    "/download/package.zip",
    "/planted",
    "/blunt/drawings/",
    "/what-if/drawings/",
    "/another-bow/drawings/",
    "/bring-in/sheet/",  # these two of a sheet that somebody brings: tests/pages/test_bring_in_page.py
    "/bring-in/batches/",
    "/pool/",
    "/https/",  # what a phone is to trust, as a file: tests/test_certify.py
)
# A photo whose corners are set, as a file: nobody set those of the demo's; a report, which a browser puts away.
NO_PAGE_AT_ITS_END = ("/straight", "/report.html")
PATIENCE_S = 20.0  # on a machine that runs other tests as well; how fast a page answers is measured elsewhere
# Routes whose pages differ so much from noun to noun that one stands for no other.
EACH = ("/kit/{noun}/new", "/kit/{noun}/{record_id}", "/results/{way}")


@dataclass(frozen=True)
class DemoYard:
    """The served demo. `ids`: the values that a parameter of a path may take, by its name. `called`: ids by what a person calls them."""

    server: RealServer
    ids: Mapping[str, list[str]]
    kit: list[dict[str, str]]
    called: Mapping[str, str]
    tokens: dict[str, str] = field(default_factory=dict)
    walked: dict[bool, dict[str, str]] = field(default_factory=dict)

    @property
    def address(self) -> str:
        return self.server.address

    @property
    def cookie(self) -> str:
        return named(COOKIE, self.address.removeprefix("http://"))

    def token(self, role: str) -> str:
        if role not in self.tokens:
            self.tokens[role] = self.server.let_in(f"A {role}", role)
        return self.tokens[role]

    def context(
        self, chromium: Browser, role: str = "owner", *, width: int = 360, height: int = 740, script: bool = True
    ) -> BrowserContext:
        """A browser of its own; a stranger's has no cookie."""
        context = chromium.new_context(viewport={"width": width, "height": height}, java_script_enabled=script)
        context.set_default_timeout(8000)
        if role != "stranger":
            context.add_cookies([{"name": self.cookie, "value": self.token(role), "url": self.address}])
        return context

    def pages(self, *, one_a_route: bool = False) -> list[str]:
        """Every address that answers the owner with a page: one or more of each route, or it isn't known how to fill it."""
        return list(self.texts(one_a_route=one_a_route))

    def texts(self, *, one_a_route: bool = False) -> dict[str, str]:
        """The same, and what each said when it was found."""
        routes = {str(route.path) for route in iter_route_contexts(self.server.app.routes) if "GET" in (route.methods or ())}
        if one_a_route in self.walked:
            return self.walked[one_a_route]
        found: dict[str, str] = {}
        cookies = {self.cookie: self.token("owner")}
        with httpx.Client(base_url=self.address, cookies=cookies, trust_env=False, timeout=PATIENCE_S) as client:
            for path in sorted(one for one in routes if not one.startswith(NO_PAGES) and not one.endswith(NO_PAGE_AT_ITS_END)):
                answers: dict[str, httpx.Response] = {}
                for address in self._filled(path):
                    answers[address] = client.get(address)
                    if one_a_route and path not in EACH and _is_page(answers[address]):
                        break  # a route is asked no further than its first page
                assert any(one.status_code in (200, 303) for one in answers.values()), f"{path}: {list(answers)} answer with no page"
                found |= {address: one.text for address, one in answers.items() if _is_page(one)}
        self.walked[one_a_route] = found
        return found

    def _filled(self, path: str) -> list[str]:
        if path.startswith("/kit/{noun}"):
            found = [path.format_map(one) for one in self.kit if set(re.findall(r"{(\w+)}", path)) <= set(one)]
            found = [one for one in found if "None" not in one]
            return list(dict.fromkeys(found))
        names = re.findall(r"{(\w+)}", path)
        unknown = set(names) - set(self.ids)
        assert not unknown, f"{path}: how is {unknown} filled? Say it in ids_of()"
        return [path.format_map(dict(zip(names, some, strict=True))) for some in product(*(self.ids[name] for name in names))]


def _is_page(answer: httpx.Response) -> bool:
    """What a browser shows: not a file that it puts away, such as a report."""
    if answer.status_code != 200 or "attachment" in answer.headers.get("content-disposition", ""):
        return False
    return answer.headers["content-type"].startswith("text/html") and "<!doctype html>" in answer.text[:20]


@contextlib.contextmanager
def demo_yard(folder: Path) -> Iterator[DemoYard]:
    """Serve the demo book of this folder; a folder without one gets it first."""
    if not (folder / BOOK_FILE).exists():
        folder.mkdir(exist_ok=True)
        with contextlib.closing(open_book(folder)) as storage:
            fill(storage)
    theirs = beside_the_demo(folder)
    server = RealServer(folder)
    server.start()
    try:
        server.let_in("Wren")
        with server.book.read() as session:
            ids, kit, by_name = ids_of(session), kit_of(session), called(session)
        token = server.app.state.gate.owner_link().rsplit("/", 1)[1]
        ids |= {"their_book": [theirs["other book"]], "their_trial": [theirs["trial of it"]], "token": [token]}
        yield DemoYard(server, ids, kit, {**by_name, **theirs})
    finally:
        server.stop()


def first_of(session: Session, noun: str, *, most: int = 1) -> list[str]:
    table = nouns.TABLES[noun]
    return list(session.execute(select(table.id).where(table.voided_rev.is_(None)).order_by(table.id).limit(most)).scalars())


def ids_of(session: Session) -> dict[str, list[str]]:
    """What stands in for each parameter. A set-up goes with its session, a series with its combination, a photo with its panel."""
    setup = session.execute(select(nouns.TABLES["setup"]).order_by(nouns.TABLES["setup"].id)).scalars().first()
    series = session.execute(select(nouns.TABLES["speed_series"]).order_by(nouns.TABLES["speed_series"].id)).scalars().first()
    reading = session.execute(
        select(nouns.TABLES["shot_reading"].id).where(nouns.TABLES["shot_reading"].outcome_low.is_not(None)).limit(1)
    ).scalar_one()
    photo = session.execute(select(Photo).where(Photo.noun == "panel_build").order_by(Photo.id)).scalars().first()
    devices = select(Device.id).where(Device.role == "archer")
    own = {
        "trial_id": first_of(session, "trial", most=3)[-1:],
        "session_id": [setup.session_id],
        "setup_id": [setup.id],
        "shot_id": [reading],
        "build_id": [*first_of(session, "panel_build"), photo.record_id],  # the first has the hits that drawings need
        "photo_id": [photo.id, *first_of(session, "photo")],  # the other is of a shot
        "combination_id": [series.combination_id],
        "what": ["series"],
        "tool": ["frames", "sound"],
        "record_id": [series.id],
        "series_id": [series.id],
        "device_id": [session.execute(devices.limit(1)).scalar_one()],
        "way": list(WAYS),
        "card": ["lower-third.svg", "card.svg"],
        "film_file": ["captions.vtt", "timeline.otio"],
    }
    own["drawing"] = ["speeds.svg", "order.svg", "shares.svg", "mass.svg", "tip.svg", "short_bodkin.svg", "short_bodkin-plate-1_2.svg"]
    own |= {"topic": ["flight"], "method": ["kinetic_energy_j"], "columns": ["shots-target"]}  # the others are alike, and many
    own["name"] = sorted(one.stem for one in (data_folder("static") / "guide").glob("*.md"))
    return {f"{noun}_id": first_of(session, noun) for noun in nouns.TABLES} | own


def kit_of(session: Session) -> list[dict[str, str]]:
    """One record of every noun of kit, and one entry of each of its parts where the demo has any."""
    found = []
    for noun, kind in KIT.items():
        record = (first_of(session, noun) or ["None"])[0]
        build = None
        if kind.build is not None:
            link = getattr(kind.build, f"{noun}_id")
            build = session.execute(select(kind.build.id).where(link == record)).scalars().first()
        found.append({"noun": noun, "record_id": record})
        for part in kind.parts:
            owner = build if part.of_build else record
            found.append({"noun": noun, "record_id": record, "key": part.key, "row_id": _entry(session, part, owner)})
    return found


def _entry(session: Session, part: Part, owner: str | None) -> str:
    link = part.link if hasattr(part.table, part.link) else f"{part.link}_id"
    asked = select(part.table.id).where(getattr(part.table, link) == owner)
    if part.measured:
        asked = asked.where(part.table.measured == part.measured)
    return str(session.execute(asked).scalars().first())
