"""What a process remembers of a book's shots is, after any change, what working all of them out gives; only what was touched is fetched."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from proofyard.records.listing import cache_and_latest
from proofyard.records.nouns import TABLES
from proofyard.shots import remembered
from proofyard.shots.cache import fill
from proofyard.shots.loosed import load_loosed
from proofyard.storage import Storage
from sqlalchemy import text

from tests.bench.kept_shots import one_saved
from tests.shots.test_cache import CHANGES, change, cross_out, plainly, told

# What no figure rests on, and shots are told by all the same.
NAMES: tuple[tuple[str, dict[str, str | list[str]]], ...] = (
    ("archer", {"call_name": "Renamed"}),
    ("trial", {"question": "Asked otherwise?"}),
    ("panel", {"name": "PX"}),
    ("head", {"name": "HX"}),
    ("shot", {"note": "a gust"}),
    ("shot_reading", {"note": "seen twice"}),
    ("setup", {"stand": ""}),
    ("stand_layer", {"material": "another cloth"}),
)
OFTEN = ("shot", "shot_reading", "speed_reading", "shooting_end", "trial")


@pytest.fixture
def fetched(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[int]]:
    """Grows by one whenever all is fetched."""
    times: list[int] = []
    whole = remembered._whole

    def counted(*said: Any) -> Any:
        times.append(1)
        return whole(*said)

    monkeypatch.setattr(remembered, "_whole", counted)
    yield times


def same(book: Storage) -> None:
    with book.read() as session:
        assert told(load_loosed(session)) == told(plainly(session))


def some_of_each(book: Storage, lots: random.Random, several: int) -> int:
    """So many changes by lot, looked at after each; how many were taken."""
    taken = 0
    for _ in range(several):
        noun, body = lots.choice(CHANGES + NAMES)
        done = cross_out(book, lots.choice(OFTEN), lots) if lots.random() < 0.2 else change(book, noun, body, lots)
        taken += done
        if done:
            same(book)
        if lots.random() < 0.2:
            fill(book)
    return taken


def test_after_any_change_it_is_what_working_all_out_gives(demo_book: Storage, fetched: list[int]) -> None:
    fill(demo_book)
    same(demo_book)
    assert some_of_each(demo_book, random.Random(3), 10) >= 6
    assert len(fetched) < 7, "most changes are followed"


@pytest.mark.long
@pytest.mark.parametrize("seed", [4, 5])
def test_after_many_changes_too(demo_book: Storage, seed: int) -> None:
    fill(demo_book)
    assert some_of_each(demo_book, random.Random(seed), 80) >= 50


def test_a_shot_that_was_saved_or_read_is_followed(demo_book: Storage, fetched: list[int]) -> None:
    fill(demo_book)
    same(demo_book)
    assert len(fetched) == 1
    one_saved(demo_book)
    same(demo_book)
    lots = random.Random(1)
    assert change(demo_book, "shot_reading", {"outcome_low": "2", "outcome_high": "2"}, lots) and change(demo_book, *NAMES[0], lots)
    same(demo_book)
    assert len(fetched) == 1, "nothing but what was touched is fetched again"


def test_who_reads_an_older_state_is_told_that_state(demo_book: Storage) -> None:
    fill(demo_book)
    same(demo_book)
    with demo_book.read() as session:
        session.execute(text("SELECT count(*) FROM shot")).all()
        before = told(plainly(session))
        assert change(demo_book, "shot_reading", {"outcome_low": "2", "outcome_high": "2"}, random.Random(1))
        same(demo_book)
        assert told(load_loosed(session)) == before
    same(demo_book)


def test_what_was_remembered_of_another_book_is_not_taken(demo_book: Storage, fetched: list[int]) -> None:
    fill(demo_book)
    same(demo_book)
    with demo_book.read() as session:
        engine = session.get_bind().engine
        kept = cache_and_latest(session)
        assert kept is not None
        held = remembered._held[engine]
        remembered._held[engine] = replace(held, standing=held.standing[1:], change=("shot", "another", 1, 1))
        again = remembered.shots_of_all(session, kept)
        assert again is not None and len(again.standing) == len(held.standing) and len(fetched) == 2


def test_every_noun_is_followed_or_known_to_say_nothing_of_a_shot_or_fetches_all() -> None:
    named, free = set(remembered._NAMED_BY), set(remembered._NOT_IN_FACTS)
    assert not named & free and set(TABLES) - named - free == {"stand", "stand_layer"}
