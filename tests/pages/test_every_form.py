"""Every form of the app, sent with one mistake: all else that comes back is what was sent. Nothing typed is lost.

The forms are found on the pages that the app's own routes give, with the invented demo in them; so a new form is sent
without anybody thinking of it. What the demo lacks (a clash, a photo, a phone at the door) is put beside it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import httpx
import pytest
from fastapi.routing import iter_route_contexts
from proofyard.records.book import Device
from sqlalchemy import select

from tests import kit_for_tests as kit
from tests.browser.demo_yard import DemoYard, demo_yard
from tests.conftest import copied
from tests.pages.whole_forms import Form, Pairs, filled, forms_on, lost, mistakes, with_mistake

pytestmark = pytest.mark.slow

# Sent at last, in this order: after these the record, or who looks, is no longer what it was.
ENDS = ("rebuild", "clashes", "state", "answer", "cross-out", "retire", "remove", "leave")
# Nothing typed in these can be wrong.
NO_MISTAKE = {
    "post /theme": "keys",
    "post /units": "keys",
    "get /methods": "a filter takes any text",
    "get /find": "a search takes any text",
    "get /methods/flight": "a filter takes any text",
    "get /download/dictionary": "a filter takes any text",
    "get /download/dictionary/shots-target": "a filter takes any text",
    "post /leave": "one key",
    "post /publish/preview": "words of any kind; a region that is left out is refused: tests/pages/test_publish_page.py",
    "post /owner/TOKEN": "one key",
    "post /trials/ID/plan/skip": "one key",
    "post /other-books/ID/remove": "one key",
    "post /programs/ID/remove": "one key",
    "post /trials/ID/claim/cross-out": "a reason as long as it likes; without one it is refused: tests/pages/test_claims_page.py",
    "post /sessions/ID/cautions": "ticks that may be left",
    "post /shots/ID/clashes/ID": "two keys",
    "post /notebook/clashes/ID": "two keys",
}
# One key that stands only where many ask; the forms of a phone’s script; fields drawn again, sent by their own test.
NO_FORM = {
    "/phones/refuse-all",
    "/publish",  # the second key of the form above
    "/bring-in/sheet/{held_id}",  # of a sheet that was sent: tests/pages/test_bring_in_hostile_rows.py
    "/bring-in/batches/{batch_id}/cross-out",  # the same: tests/pages/test_bring_in_page.py
    "/api/ops",
    "/api/v1/operations",
    "/api/holds",
    "/api/sound-levels",
    "/api/faults",
    "/kit/{noun}/new/fields",
    "/kit/{noun}/{record_id}/correct/fields",
    "/trials/{trial_id}/claim/fields",
}
SHOWN = "/parts"  # every part of a page, to be looked at: its forms are sent nowhere


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[DemoYard]:
    with demo_yard(copied(demo_book_file, tmp_path_factory.mktemp("demo") / "book")) as served:
        book, shot = served.server.book, served.ids["shot_id"][0]
        kit.put(book, "shot", {"note": "loosed late"}, record_id=shot, base_rev=kit.row(book, "shot", shot).rev)
        assert kit.ask(book, "shot", {"note": "[1]"}, record_id=shot, base_rev=1).clashes
        with httpx.Client(base_url=served.address, headers={"Origin": served.address}, trust_env=False) as stranger:
            assert stranger.post("/join", data={"call_name": "Bo"}).status_code == 303
        with book.read() as session:
            asking = session.execute(select(Device.id).where(Device.role == "asking")).scalars().all()
            owner = session.execute(select(Device.id).where(Device.role == "owner")).scalars().first()
        served.server.app.state.gate.programs.let_in("A notebook", "read", days=3, by=owner)
        kit.photo(book)
        photo = kit.photo(book, "panel_build", served.ids["build_id"][0], colour="white")
        yield replace(served, ids={**served.ids, "photo_id": [photo], "device_id": [*asking, *served.ids["device_id"]]})


@dataclass(frozen=True)
class Place:
    """A form and the page that it stands on."""

    page: str
    form: Form

    @property
    def route(self) -> str:
        return f"{self.form.method} {_route(self.form.action)}"

    @property
    def turn(self) -> int:
        return max((ENDS.index(word) + 1 for word in ENDS if word in self.route.split("/")), default=0)


def _route(action: str) -> str:
    return re.sub("(?<=^/owner/).*", "TOKEN", re.sub(r"[0-9a-f]{8}-[0-9a-f-]{27}", "ID", urlsplit(action).path))


@pytest.fixture(scope="module")
def client(yard: DemoYard) -> Iterator[httpx.Client]:
    cookies, headers = {yard.cookie: yard.token("owner")}, {"Origin": yard.address}
    with httpx.Client(base_url=yard.address, cookies=cookies, headers=headers, trust_env=False, timeout=60) as made:
        yield made


@pytest.fixture(scope="module")
def places(yard: DemoYard) -> list[Place]:
    """One of each form: by where it is sent to, and what stands in it."""
    found: dict[object, Place] = {}
    for address, text in yard.texts().items():
        for form in forms_on(text) if address != SHOWN else ():
            place = Place(address, form)
            found.setdefault((place.route, tuple(re.sub("[0-9a-f]{8}-[0-9a-f-]{27}", "ID", name) for name in form.controls)), place)
    return sorted(found.values(), key=lambda one: one.turn)


@dataclass(frozen=True)
class Sent:
    """A form that was sent with one mistake: what went out, and what came back."""

    mistake: str
    pairs: Pairs
    answer: httpx.Response


def send(client: httpx.Client, action: str, pairs: Pairs, *, method: str = "post") -> httpx.Response:
    if method == "get":
        return client.get(urlsplit(action).path, params=httpx.QueryParams(pairs))
    return client.post(action, content=urlencode(pairs), headers={"Content-Type": "application/x-www-form-urlencoded"})


def refused(answer: httpx.Response) -> bool:
    return answer.status_code == 422 or (answer.status_code == 200 and "aria-invalid" in answer.text)


def refusals(client: httpx.Client, place: Place, *, flipped: bool, most: int) -> Iterator[Sent]:
    """The form as it stands on its page now, sent with one mistake after another, until some were refused."""
    tried = 0
    for name, wrong in mistakes(place.form):
        form = same_form(client.get(place.page).text, place.form)
        if form is None or tried == most:
            return
        pairs = with_mistake(filled(form, flipped=flipped), name, wrong)
        answer = send(client, form.action, pairs, method=form.method)
        assert answer.status_code < 500, f"{place.route}: {name}={wrong[:20]!r} is a fault of ours"
        if refused(answer):
            tried += 1
            yield Sent(name, pairs, answer)


def same_form(page: str, wanted: Form) -> Form | None:
    return next((one for one in forms_on(page) if (one.method, one.action) == (wanted.method, wanted.action)), None)


# One mistake in each form of every third route, filled otherwise than its page fills it; with --long of every route, two of each, as its
# page fills it too.
@pytest.mark.parametrize(("most", "every"), [(1, 3), *(pytest.param(most, 1, marks=pytest.mark.long) for most in (1, 2))])
def test_whatever_one_mistake_is_in_a_form_all_else_comes_back_as_it_was_sent(
    client: httpx.Client, places: list[Place], most: int, every: int
) -> None:
    routes = sorted({place.route for place in places})[::every]
    some = [place for place in places if place.route in routes]
    faults, never = [], set(routes)
    for place in some:
        ways = (True, False) if most > 1 or place.turn else (True,)  # what ends something is kept as it stood, to be refused
        sent = [one for flipped in ways for one in refusals(client, place, flipped=flipped, most=most)]
        if sent:
            never.discard(place.route)
        for one in sent:
            back, said = same_form(one.answer.text, place.form), f"{place.route} with a wrong {one.mistake}"
            faults += (
                [f"{said}: {line}" for line in lost(one.pairs, back, but={"operation", one.mistake})]
                if back
                else [f"{said}: it did not come back"]
            )
    assert not faults, "\n".join(dict.fromkeys(faults))
    assert never == set(NO_MISTAKE) & set(routes), "these were never refused, so nothing is known of them"


# Every form with nothing, and every third field's name alone in one form that has it; with --long every name in each.
@pytest.mark.parametrize(("in_each", "every"), [(False, 3), *(pytest.param(each, 1, marks=pytest.mark.long) for each in (False, True))])
def test_a_form_that_lacks_nearly_everything_is_a_refusal_and_no_fault_of_ours(
    client: httpx.Client, places: list[Place], in_each: bool, every: int
) -> None:
    faults: list[str] = []
    alone: dict[tuple[str, str], Place] = {}
    sent: set[str] = set()
    for place in places:
        if place.form.method == "post" and place.turn < ENDS.index("cross-out"):
            names = [name for name, one in place.form.controls.items() if one.kind != "file" and (in_each or name not in sent)]
            sent |= set(names)
            alone |= {(place.route, name): place for name in ("", *names[::every])}
    for (route, name), place in alone.items():
        answer = send(client, place.form.action, [(name, "x")] if name else [])
        faults += [f"{route} with {name or 'nothing'} alone: {answer.status_code}"] if answer.status_code >= 500 else []
    assert not faults, "\n".join(faults)


def test_fields_drawn_again_keep_what_was_typed(client: httpx.Client, places: list[Place]) -> None:
    faults = []
    kept = [place for place in places if place.form.again]
    assert kept
    for place in kept:
        pairs = filled(place.form, flipped=True)
        back = same_form(send(client, place.form.again, pairs).text, place.form)
        assert back is not None, place.form.again
        faults += [
            f"{place.form.again}: {line}" for line in lost([pair for pair in pairs if pair[0] in back.controls], back, but={"operation"})
        ]
    assert not faults, "\n".join(faults)


def test_every_route_that_takes_a_form_was_sent_one(yard: DemoYard, places: list[Place]) -> None:
    posts = {str(route.path) for route in iter_route_contexts(yard.server.app.routes) if "POST" in (route.methods or ())}
    actions = {urlsplit(one.form.action).path for one in places} | {"/join"}
    missed = {path for path in posts if not any(re.fullmatch(re.sub(r"{\w+}", "[^/]+", path), action) for action in actions)}
    assert missed == NO_FORM


def test_a_name_that_is_refused_at_the_door_stays_as_typed(yard: DemoYard) -> None:
    with httpx.Client(base_url=yard.address, headers={"Origin": yard.address}, trust_env=False) as stranger:
        (form,) = [one for one in forms_on(stranger.get("/join").text) if one.action == "/join"]
        sent = send(
            stranger, "/join", [*((name, value) for name, value in form.sends() if name != "call_name"), ("call_name", "[1] " * 15)]
        )
        assert sent.status_code == 422
        back = same_form(sent.text, form)
        assert back is not None and back.controls["call_name"].picked == ["[1] " * 15]
