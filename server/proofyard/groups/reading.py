"""The app of the processes that make long pages, on a server that has several groups: each page is made of the book that came with it."""

from collections import OrderedDict
from dataclasses import replace

from fastapi import FastAPI
from starlette.types import Receive, Scope, Send

from proofyard.assembled import app_that_reads
from proofyard.groups.places import Place
from proofyard.live.page_workers import GROUP
from proofyard.settings import Settings
from proofyard.warm_up import warm_up

MOST_APPS = 8  # each a megabyte or two


class AppsThatRead:
    """An app a group, made when its first page is asked for.

    No book stays open between two pages: a group that is shut, closed or restored meanwhile finds nobody who holds its file.
    """

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._apps: OrderedDict[tuple[Place, bool], FastAPI] = OrderedDict()
        self.state = State(self)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        place, demo = scope[GROUP].place, scope[GROUP].demo
        app = self._app_of(place, demo=demo)
        try:
            await app(scope, receive, send)
        finally:
            app.state.storage.close()  # it opens again by itself

    def _app_of(self, place: Place, *, demo: bool) -> FastAPI:
        key = (place, demo)
        if key not in self._apps:
            settings = settings_of(place, self._settings)
            self._apps[key] = app_that_reads(settings.book, settings, demo=demo)
            if len(self._apps) > MOST_APPS:
                self._apps.popitem(last=False)
        self._apps.move_to_end(key)
        return self._apps[key]


class State:
    """What a worker's process asks of its app beside pages."""

    def __init__(self, apps: AppsThatRead) -> None:
        self.storage = self
        self._apps = apps

    def warm_up(self) -> None:
        warm_up()

    def close(self) -> None:
        """No book is open between two pages."""


def settings_of(place: Place, server: Settings) -> Settings:
    """What the app of a group is told: as the server was, but for its own place."""
    return replace(
        server,
        folder=place.folder,
        served_from=server.folder,
        database=place.database,
        photos=place.photos,
        path=place.path,
        group=place.name,
        also_to=server.also_to / place.name if server.also_to else None,
        demo=False,
    )
