"""A day's shots for the tests of results and downloads: every way that a loose can end, through the one door.

    from tests.results_for_tests import book, filled, filled_once, loosed  # noqa: F401
    filled.shots["A7"]         # a shot's id by its label

Four head forms, three bows, two archers; plates, mail and scale; hits laid out so that most are fair. All invented.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from proofyard.records import devices
from proofyard.settings import BOOK_FILE
from proofyard.shots.loosed import Loosed, load_loosed
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.conftest import copied, opened

FORMS = ("needle", "short_bodkin", "leaf", "barbed")
BOWS = {"Elm bow": ("82 lbf", 60, 50.4), "Yew bow": ("112 lbf", 74, 51.3), "Ash bow": ("145 lbf", 88, 53.2)}
# One row of letters a form, three bows from weak to strong: outcome levels, "34" for 3 or 4.
OUTCOMES = {
    "needle": ("2 3 3 4", "3 4 3 4 4 4", "4 4 4 4 5"),
    "short_bodkin": ("1 2 2 3", "2 3 3 4 5", "3 4 5 5 4 5"),
    "leaf": ("2 2 3", "3 3 4", "3 34 4"),
    "barbed": ("1 1 2", "2 2 2 3 2", "2 3 3 2 3"),
}
HOSTILE = '=1+1,"quoted"\r\nnext line; <b>ü</b>'


@dataclass(frozen=True)
class Filled:
    trial: str
    other_trial: str
    panels: dict[str, kit.Panel]
    bows: dict[str, kit.Bow]
    arrows: dict[tuple[str, str], kit.Arrow]
    archers: dict[str, str]
    shots: dict[str, str]


@functools.cache
def _filled_in(folder: Path) -> tuple[Path, Filled]:
    with closing(opened(folder)) as storage:
        with storage.write() as session:
            devices.make_book(session)
        return folder / BOOK_FILE, fill(storage)


@pytest.fixture(scope="session")
def filled_once(tmp_path_factory: pytest.TempPathFactory, empty_book_file: Path) -> tuple[Path, Filled]:
    """The filled book's file and its ids, made once for all files that take this fixture in: it takes longer than most tests."""
    folder = tmp_path_factory.getbasetemp() / "filled-book"
    return _filled_in(folder if folder.exists() else copied(empty_book_file, folder))


@pytest.fixture
def filled(filled_once: tuple[Path, Filled]) -> Filled:
    return filled_once[1]


@pytest.fixture
def book(tmp_path: Path, filled_once: tuple[Path, Filled]) -> Iterator[Storage]:
    """A copy of the filled book for each test; it stands in the place of the empty one."""
    with closing(opened(copied(filled_once[0], tmp_path / "book"))) as storage:
        yield storage


@pytest.fixture
def loosed(book: Storage) -> Loosed:
    with book.read() as session:
        return load_loosed(session)


class _Range:
    """Shots and readings gathered, then stored in two commits."""

    def __init__(self, book: Storage) -> None:
        self.book = book
        self.loosed: list[tuple[str, dict[str, Any]]] = []
        self.readings: list[tuple[str, dict[str, Any]]] = []
        self.speeds: list[tuple[str, str]] = []

    def loose(
        self, shooting_end: str, bow: kit.Bow, arrow: kit.Arrow, archer: str, *, shot: Any = None, speed: str = "", **reading: Any
    ) -> str:
        label = f"A{len(self.loosed) + 1}"
        body = {
            "label": label,
            "shooting_end": shooting_end,
            "position": "1",
            "bow_build": bow.build,
            "arrow_build": arrow.build,
            "archer": archer,
            "purpose": "counted",
            "loosed_at": kit.BEGAN + len(self.loosed) * 60_000,
            **(shot or {}),
        }
        self.loosed.append((label, body))
        if reading:
            self.readings.append((label, {"hit": "on_panel", **reading}))
        if speed:
            self.speeds.append((label, speed))
        return label

    def store(self) -> dict[str, str]:
        ids = kit.put_all(self.book, [("shot", body) for _, body in self.loosed])
        shots = {label: made for (label, _), made in zip(self.loosed, ids, strict=True)}
        for label, body in self.readings:
            if body.get("may_be_shot"):
                body = {**body, "may_be_shot": shots[body["may_be_shot"]]}
            kit.put(self.book, "shot_reading", body, record_id=shots[label])
        for label, speed in self.speeds:
            kit.shot_speed(self.book, shots[label], speed)
        return shots


def fill(book: Storage) -> Filled:
    """The book, filled. Labels run A1, A2 …; the last ones hold the odd cases."""
    chronograph = kit.chronograph(book, "Chronograph C1", accuracy_ratio="1 %")
    scale = kit.scale(book, "Scale S2", accuracy="0.1 g")
    archers = {"Wren": kit.archer(book, "Wren"), "Tallow": kit.archer(book, "Tallow")}
    bows = {name: kit.bow(book, name, marked_weight=weight) for name, (weight, _, _) in BOWS.items()}
    arrows = {}
    for form in FORMS:
        for name, (_, mass, speed) in BOWS.items():
            made = kit.arrow(
                book, f"{form[0].upper()}{mass}", form=form, masses=(), head_more={"name": f"{form} {mass}"}, fletching="goose, 190 mm"
            )
            kit.mass_reading(book, made.build, f"{mass}.2 g", instrument=scale)
            kit.mass_reading(book, made.build, f"{mass}.1 g", instrument=scale)
            arrows[form, name] = made
            readings = (f"{speed - 0.3:.1f}", f"{speed:.1f}", f"{speed + 0.3:.1f}")
            kit.speeds(book, kit.Combination(bows[name].build, made.build, archers["Wren"]), *readings, instrument_id=chronograph)
    opened = kit.open_trial(book, "Which heads get behind 1.6 mm plate?", prediction="=cmd|calc, said Tallow", through="4")
    other = kit.open_trial(book, "What does mail over linen stop?")
    panels = {f"P{n}": kit.panel(book, f"P{n}", thickness="1.6 mm") for n in range(1, 6)}
    panels["M1"] = kit.panel(book, "M1", construction="mail")
    panels["L1"] = kit.panel(book, "L1", construction="scale")
    where = {
        name: kit.setup(
            book, (other if name == "M1" else opened).session, panel.build, distance="14 m", chronograph=chronograph, chronograph_at="2 m"
        )
        for name, panel in panels.items()
    }
    shooting = _Range(book)
    _plain_shots(book, shooting, where, bows, arrows, archers["Wren"])
    _odd_ones(book, shooting, where, bows, arrows, archers)
    shots = shooting.store()
    kit.void(book, "shot", shots["A72"], "wrong arrow picked, =2+2")
    return Filled(opened.trial, other.trial, panels, bows, arrows, archers, shots)


def _spots() -> list[tuple[str, str]]:
    """Places 65 mm apart on a panel of 300 by 400 mm, clear of its edges."""
    return [(f"{x} mm", f"{y} mm") for y in (-130, -65, 0, 65, 130) for x in (-98, -33, 33, 98)]


def _plain_shots(book: Storage, shooting: _Range, where: dict[str, str], bows: Any, arrows: Any, archer: str) -> None:
    spots = [(panel, *spot) for panel in ("P1", "P2", "P3") for spot in _spots()]
    for form in FORMS:
        for name, outcome_levels in zip(BOWS, OUTCOMES[form], strict=True):
            for outcome_level in outcome_levels.split():
                panel, x, y = spots.pop(0)
                shooting_end = kit.shooting_end(book, where[panel], begun_at=kit.BEGAN + len(shooting.loosed) * 60_000)
                more = {"outcome_low": outcome_level[0], "outcome_high": outcome_level[-1]}
                if outcome_level in "45":
                    more |= {
                        "depth": f"{10 + 7 * int(outcome_level) + len(spots) % 9} mm",
                        "depth_method": "mark_and_pull",
                        "reached": "garment",
                    }
                shooting.loose(shooting_end, bows[name], arrows[form, name], archer, x=x, y=y, entry="plate", place_known="yes", **more)


def _odd_ones(book: Storage, shooting: _Range, where: dict[str, str], bows: Any, arrows: Any, archers: dict[str, str]) -> None:
    """A53 and on: left out for one reason each, or hard to place."""
    minute = iter(range(200, 400))

    def shooting_end(panel: str) -> str:
        return kit.shooting_end(book, where[panel], begun_at=kit.BEGAN + next(minute) * 60_000)

    def loose(panel: str, form: str = "needle", bow: str = "Yew bow", by: str = "Wren", **more: Any) -> str:
        return shooting.loose(shooting_end(panel), bows[bow], arrows[form, bow], archers[by], **more)

    at = {"x": "0 mm", "y": "0 mm", "place_known": "yes"}
    plain = {"entry": "plate", "outcome_low": "4", "outcome_high": "4"}
    loose("P4", hit="partial", why="left edge")  # A53
    loose("P4", hit="missed", why="over the top")
    loose("P4", hit="missed", why="=HYPERLINK(1)")
    loose("P4", hit="spoiled", why="hit the cord")
    loose("P4", shot={"purpose": "sighter"}, hit="missed")
    loose("P4", shot={"purpose": "let_down"})
    loose("P4", shot={"purpose": "speed_only"}, speed="51.0")
    loose("P4", **at, **plain, depth="≥ 22 mm", damage=HOSTILE)  # A60: fair
    loose("P4", x="12 mm", y="0 mm", place_known="yes", **plain)  # A61: 12 mm from A60
    loose("P5", place_known="no", **plain)  # A62: place not known
    loose("P4", x="-98 mm", y="130 mm", place_known="yes", **plain, fair_overrule="fair", fair_reason="seen from both sides")
    loose("P4", x="98 mm", y="-130 mm", place_known="yes", entry="rivet", outcome_low="3")
    loose("L1", form="leaf", **at, entry="gap", outcome_low="5", depth="60 mm")
    loose("P4", by="Tallow", x="98 mm", y="130 mm", place_known="yes", **plain)  # A66: Tallow, no speeds
    loose("P4", shot={"short_draw": "yes"}, x="-98 mm", y="-130 mm", place_known="yes", **plain)  # A67: short, no speed
    loose(
        "P4",
        shot={"short_draw": "yes"},
        x="33 mm",
        y="-65 mm",
        place_known="yes",
        speed="44.1",
        entry="plate",
        outcome_low="2",
        outcome_high="2",
    )
    loose("M1", form="short_bodkin", **at, entry="broke_rings", outcome_low="4", head_fate=["curled", "loose"], shaft_fate=["cracked"])
    loose("M1", form="barbed", x="90 mm", y="100 mm", place_known="yes", entry="cant_tell", outcome_low="3")
    loose("P4", x="-33 mm", y="-65 mm", place_known="yes", hit="on_panel", entry="plate", rear_check="yes")  # A71: no outcome
    loose("P4", **at, **plain)  # A72: crossed out
    loose("P4", shot={"note": "-wind, gusty"})  # A73: unread
