"""live.js, keep_typing.js and told.js in a real browser, with the real htmx, under the content policy."""

import asyncio
import socket
import threading
import time
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
import uvicorn
from fastapi import FastAPI, Request
from fastapi.responses import HTMLResponse, Response, StreamingResponse
from playwright.sync_api import Browser, Page, expect
from proofyard.pages.frame.assets import assets_router
from proofyard.pages.frame.rendering import Frame, assets, environment

POLICY = "default-src 'self'"
REGION = """<section id="try-shots" hx-get="/region" hx-trigger="proofyard:changed from:body" hx-swap="outerHTML">
<p id="count">{{ shots }} shots</p>
{{ field("note", "Note", kind="text") }}
{{ field("loosed", "Ticked", kind="tick") }}
</section>"""
OTHER = """<section id="try-other" hx-get="/other" hx-trigger="proofyard:changed from:body" hx-swap="outerHTML">
<p id="other-count">{{ shots }} in all</p></section>"""
FORM = """{% call form("/save", target="#try-form", id="try-form") %}{{ field("mass", "Mass", state) }}
{{ button("Save") }}{% endcall %}"""
WHOLE = """{% extends "base.html" %}{% block main %}<h1>Shots</h1>""" + REGION + OTHER + FORM + "{% endblock %}"


@dataclass
class Yard:
    """A server with one number that changes, and a bell to ring."""

    shots: int = 1
    fails: bool = False
    streams: list[asyncio.Queue[str]] = field(default_factory=list)
    opened: int = 0
    address: str = ""
    loop: asyncio.AbstractEventLoop | None = None

    def shoot(self) -> None:
        self.shots += 1
        assert self.loop is not None
        for queue in list(self.streams):
            self.loop.call_soon_threadsafe(queue.put_nowait, f"id: {self.shots}\ndata: {{}}\n\n")


def an_app(yard: Yard) -> FastAPI:
    app = FastAPI()
    app.include_router(assets_router(assets()))
    env = environment()

    def answer(source: str, **names: Any) -> HTMLResponse:
        text = env.from_string(source).render(shots=yard.shots, **names)
        return HTMLResponse(text, headers={"Content-Security-Policy": POLICY})

    @app.get("/")
    async def page() -> HTMLResponse:
        return answer(WHOLE, frame=Frame("Try", role="owner", live=True), state="")

    @app.get("/region")
    async def region() -> Response:
        return answer(REGION)

    @app.get("/other")
    async def other() -> Response:
        return answer(OTHER)

    @app.post("/save")
    async def save(request: Request) -> Response:
        if yard.fails:
            return HTMLResponse("no", 500)
        form = await request.form()
        text = env.from_string(FORM).render(state=str(form["mass"]))
        return HTMLResponse(text, headers={"HX-Trigger": '{"proofyard:said": "Mass saved"}'})

    @app.get("/live")
    async def live() -> StreamingResponse:
        yard.opened += 1
        yard.loop = asyncio.get_running_loop()
        queue: asyncio.Queue[str] = asyncio.Queue()
        yard.streams.append(queue)

        async def told() -> AsyncIterator[str]:
            try:
                yield ": hello\n\n"
                while True:
                    yield await queue.get()
            finally:
                yard.streams.remove(queue)

        return StreamingResponse(told(), media_type="text/event-stream")

    return app


@pytest.fixture
def yard() -> Iterator[Yard]:
    made = Yard()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    config = uvicorn.Config(an_app(made), port=port, log_level="error", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    end = time.monotonic() + 10
    while not server.started and time.monotonic() < end:
        time.sleep(0.02)
    made.address = f"http://127.0.0.1:{port}/"
    yield made
    server.should_exit = True
    thread.join(10)


@pytest.fixture
def page(chromium: Browser, yard: Yard) -> Iterator[Page]:
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    made = context.new_page()
    errors: list[str] = []
    made.on("pageerror", lambda error: errors.append(str(error)))
    made.on("console", lambda said: errors.append(said.text) if "Content Security" in said.text else None)
    made.goto(yard.address)
    wait_for(lambda: len(yard.streams) == 1)
    yield made
    assert errors == []
    context.close()


def wait_for(what: Any) -> None:
    end = time.monotonic() + 10
    while not what():
        assert time.monotonic() < end, "it did not happen within 10 s"
        time.sleep(0.02)


def test_a_new_shot_appears_by_itself_within_two_seconds(yard: Yard, page: Page) -> None:
    yard.shoot()
    expect(page.locator("#count")).to_have_text("2 shots", timeout=2000)


def test_a_new_shot_takes_nothing_from_who_is_typing(yard: Yard, page: Page) -> None:
    page.locator("#note").fill("the head is lo")
    yard.shoot()
    expect(page.locator("#other-count")).to_have_text("2 in all")  # a part nobody types in goes on
    expect(page.get_by_role("link", name="1 new: show")).to_be_visible()
    expect(page.locator("#count")).to_have_text("1 shots")
    page.keyboard.type("ose")
    expect(page.locator("#note")).to_have_value("the head is loose")


def test_what_is_held_back_is_counted_and_shown_with_the_typing_put_back(yard: Yard, page: Page) -> None:
    page.locator("#note").fill("loose")
    page.locator("label", has_text="Ticked").click()
    yard.shoot()
    expect(page.get_by_role("link", name="1 new: show")).to_be_visible()
    yard.shoot()
    page.get_by_role("link", name="2 new: show").click()
    expect(page.locator("#count")).to_have_text("3 shots")
    expect(page.locator("#note")).to_have_value("loose")
    expect(page.locator("#loosed")).to_be_checked()
    expect(page.get_by_role("link", name="new: show")).to_have_count(0)


def test_left_with_nothing_typed_what_was_held_back_shows_by_itself(yard: Yard, page: Page) -> None:
    page.locator("#note").focus()
    yard.shoot()
    expect(page.get_by_role("link", name="1 new: show")).to_be_visible()
    page.locator("#mass").focus()
    expect(page.locator("#count")).to_have_text("2 shots")


def test_a_burst_of_shots_is_one_fetch(yard: Yard, page: Page) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if request.url.endswith("/region") else None)
    for _ in range(5):
        yard.shoot()
    expect(page.locator("#count")).to_have_text("6 shots")
    page.wait_for_timeout(600)
    assert len(asked) == 1


def test_a_saved_form_is_said_aloud(page: Page) -> None:
    page.locator("#mass").fill("72.4 g")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#told")).to_have_text("Mass saved")
    expect(page.locator("#mass")).to_have_value("72.4 g")


def test_a_failure_shows_and_the_typing_stays(yard: Yard, page: Page) -> None:
    notice = page.locator("#oops-unheard")
    expect(notice).to_be_hidden()
    yard.fails = True
    page.locator("#mass").fill("72.4 g")
    page.get_by_role("button", name="Save").click()
    expect(notice).to_contain_text("The laptop answered, but could not do that.")
    expect(page.locator("#mass")).to_have_value("72.4 g")
    yard.fails = False
    page.get_by_role("button", name="Save").click()
    expect(notice).to_be_hidden()


def test_no_answer_at_all_says_so(page: Page) -> None:
    page.context.set_offline(True)
    page.locator("#mass").fill("72.4 g")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#oops-unheard")).to_contain_text("The laptop didn’t answer.")


def hide(page: Page, hidden: bool) -> None:
    """Headless pages are never hidden, so the page is told that it is."""
    page.evaluate(
        """(hidden) => {
            Object.defineProperty(document, "hidden", { value: hidden, configurable: true });
            document.dispatchEvent(new Event("visibilitychange"));
        }""",
        hidden,
    )


def test_a_hidden_page_holds_no_stream_and_looks_again_when_it_is_seen(yard: Yard, page: Page) -> None:
    hide(page, True)
    wait_for(lambda: yard.streams == [])
    yard.shots = 7
    hide(page, False)
    expect(page.locator("#count")).to_have_text("7 shots")
    wait_for(lambda: len(yard.streams) == 1)


def test_a_silent_line_is_opened_again_and_the_page_looks(chromium: Browser, yard: Yard) -> None:
    context = chromium.new_context()
    page = context.new_page()
    page.clock.install()
    page.goto(yard.address)
    wait_for(lambda: len(yard.streams) == 1)
    page.clock.run_for(1000)
    yard.shots = 5  # happened, but nobody rang
    page.clock.run_for(36_000)
    wait_for(lambda: yard.opened >= 2)
    page.clock.run_for(1000)
    expect(page.locator("#count")).to_have_text("5 shots")
    context.close()
