"""What is kept of shots is what working them out gives. Whatever is changed, kept rows that no longer hold are known, so that emptying
what is kept changes no page and no file."""

from __future__ import annotations

import hashlib
import random
import re
from collections import Counter
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from proofyard import book_file
from proofyard.exchange.backup import backup
from proofyard.exchange.restore import restore
from proofyard.publishing.choices import Choices, Replaced
from proofyard.publishing.withheld_copy import copy_withheld
from proofyard.records.cache import COLUMNS, kept_rows
from proofyard.records.cache_stale import FOLLOWED, FREE, LINKS, touched_since
from proofyard.records.listing import cache_and_latest
from proofyard.records.nouns import TABLES
from proofyard.records.shot_facts import shot_facts
from proofyard.settings import BOOK_FILE
from proofyard.shots.cache import FORM, FORMULAS, LoosedAndKept, batch_of, figures_of, fill, in_parts, row_of, store
from proofyard.shots.cache_text import as_text, of_text, packed, unpacked
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import Loosed, LoosedShot, load_loosed, loosed_with
from proofyard.storage import Session, Storage
from sqlalchemy import select, text

from tests import kit_for_tests as kit
from tests.conftest import House

# Every dependency of what is kept, by the record that says it: what to type into it. "@noun": another record of that noun.
CHANGES: tuple[tuple[str, Mapping[str, str | list[str]]], ...] = (
    ("shot", {"short_draw": "yes"}),
    ("shot", {"purpose": "sighter"}),
    ("shot", {"arrow_build": "@arrow_build"}),
    ("shot", {"bow_build": "@bow_build"}),
    ("shot", {"archer": "@archer"}),
    ("shot", {"shooting_end": "@shooting_end"}),
    ("shot", {"position": "1"}),
    ("shot", {"loosed_at": "1792836000000"}),
    ("shot_reading", {"hit": "missed", "outcome_low": "", "outcome_high": "", "entry": "", "touched_first": "", "depth": ""}),
    ("shot_reading", {"x": "5 mm", "y": "-5 mm"}),
    ("shot_reading", {"outcome_low": "2", "outcome_high": "2"}),
    ("shot_reading", {"plate": "row 3, plate 5"}),
    ("shot_reading", {"entry": "old_hit"}),
    ("shot_reading", {"touched_first": "panel_edge"}),
    ("shot_reading", {"head_fate": ["blunted"]}),
    ("shot_reading", {"may_be_shot": "@shot"}),
    ("shot_reading", {"fair_overrule": "not_fair", "fair_reason": "seen on the film"}),
    ("speed_reading", {"value": "47.3 m/s"}),
    ("speed_reading", {"left_out_reason": "a wing beat before it"}),
    ("speed_reading", {"uncertainty": "0.9 m/s"}),
    ("speed_series", {"stood_at": "9 m"}),
    ("speed_series", {"combination": "@combination"}),
    ("speed_series", {"instrument": "@instrument"}),
    ("speed_series", {"air_temperature": "2 °C"}),
    ("reading", {"left_out_reason": "the scale stood askew"}),
    ("reading", {"value": "71 g"}),
    ("instrument", {"accuracy_ratio": "3 %"}),
    ("setup", {"distance": "17 m"}),
    ("setup", {"chronograph_at": "4 m"}),
    ("setup", {"chronograph": "@instrument"}),
    ("setup", {"panel_build": "@panel_build"}),
    ("setup", {"session": "@session"}),
    ("session", {"temperature": "-3 °C"}),
    ("session", {"pressure": "950 hPa"}),
    ("session", {"humidity": "20 %"}),
    ("session", {"day": "2026-01-02"}),
    ("session", {"trial": "@trial"}),
    ("shooting_end", {"setup": "@setup"}),
    ("shooting_end", {"number": "1"}),
    ("shooting_end", {"begun_at": "1792836000000"}),
    ("trial", {"near_edge": "90 mm"}),
    ("trial", {"near_opened": "150 mm", "near_dented": "150 mm"}),
    ("trial", {"position_accuracy": "20 mm"}),
    ("trial", {"spoils": ["5"]}),
    ("panel", {"width": "250 mm", "height": "250 mm"}),
    ("panel", {"construction": "mail"}),
    ("panel", {"outline": "disc"}),
    ("panel", {"thickness": "1.9 mm"}),
    ("panel_build", {"panel": "@panel"}),
    ("arrow", {"diameter": "8.1 mm"}),
    ("arrow", {"tag": "Z9"}),
    ("arrow_build", {"head": "@head"}),
    ("arrow_build", {"number": "7"}),
    ("arrow_build", {"arrow": "@arrow"}),
    ("arrow_check", {"sound": "not_sound"}),
    ("arrow_check", {"arrow_build": "@arrow_build"}),
    ("head", {"form": "leaf"}),
    ("bow", {"name": "Renamed bow"}),
    ("bow_build", {"number": "8"}),
    ("combination", {"arrow_build": "@arrow_build"}),
)


THREE = "bow_build_id, arrow_build_id, archer_id"


def ids_of(session: Session, noun: str) -> list[tuple[str, int]]:
    """Every record that stands, with its rev."""
    table = TABLES[noun].__table__
    return [
        (one, rev) for one, rev in session.execute(select(table.c.id, table.c.rev).where(table.c.voided_rev.is_(None)).order_by(table.c.id))
    ]


def change(book: Storage, noun: str, body: Mapping[str, str | list[str]], lots: random.Random) -> bool:
    """Say this of one of the noun's records, taken at random; whether it was taken."""
    with book.read() as session:
        known = ids_of(session, noun)
        said = {name: lots.choice(ids_of(session, value[1:]))[0] if str(value).startswith("@") else value for name, value in body.items()}
        if noun == "combination":  # one that shots were loosed with stays what it is
            used = set(session.execute(text(f"SELECT combination.id FROM combination JOIN shot USING ({THREE})")).scalars())
            known = [one for one in known if one[0] not in used]
    if not known:
        return False
    record_id, rev = lots.choice(known)
    return kit.ask(book, noun, said, record_id=record_id, base_rev=rev, reason="said otherwise").taken


def cross_out(book: Storage, noun: str, lots: random.Random) -> bool:
    """Cross one out, or take one back in."""
    table = TABLES[noun].__table__
    with book.read() as session:
        known = session.execute(select(table.c.id, table.c.rev, table.c.voided_rev).order_by(table.c.id)).all()
    out = [row for row in known if row[2] is not None]
    one = lots.choice(out if out and lots.random() < 0.4 else known) if known else None
    if one is None:
        return False
    action = "void" if one[2] is None else "unvoid"
    return kit.ask(book, noun, record_id=one[0], base_rev=one[1], action=action, reason="crossed out by lot").taken


def plainly(session: Session) -> Loosed:
    """Everything worked out, whatever is kept."""
    return loosed_with(session, shot_facts(session, voided=True), impacts=Impacts.load(session))


def rows_of(whole: Loosed) -> dict[str, dict[str, Any]]:
    return {one.fact.shot_id: row_of(one.fact, figures_of(one.impact), one.fair) for one in (*whole.shots, *whole.voided)}


def told(shots: Loosed) -> list[tuple[object, ...]]:
    return [_told(one) for one in (*shots.shots, *shots.voided)]


def _told(one: LoosedShot) -> tuple[object, ...]:
    parts = one.parts_at_target()
    asked = (one.basis, one.measured, one.speed_m_s, one.drag_fitted, parts and (parts[0], dict(parts[1])))
    more = (one.target_speed_m_s, one.mass_kg, one.fair_answer, one.fair_sort)
    places = [(one.energy_at(place), one.has_energy_at(place)) for place in ("chronograph", "target")]
    return one.fact, repr(one.impact), one.fair, repr(asked), repr(places), repr(more)


def kept_and_right(session: Session, plain: dict[str, dict[str, Any]] | None = None) -> int:
    """Of what is kept, how much still holds. Fails if a row that holds is not what working it out gives now, which is `plain`."""
    as_of, form, _ = cache_and_latest(session) or (0, FORM, 0)
    assert form == FORM
    plain = rows_of(plainly(session)) if plain is None else plain
    touched, holds = touched_since(session, as_of), 0
    for row in kept_rows(session, COLUMNS):
        one = dict(zip(COLUMNS, row, strict=True))
        if not touched.touches(one["panel_build_id"], one["arrow_build_id"]):
            assert repr(one) == repr({name: plain[one["shot_id"]][name] for name in COLUMNS})
            holds += 1
    return holds


def empty(book: Storage) -> None:
    with book.write(quietly=True) as session:
        session.execute(text("DELETE FROM cache_shot"))
        session.execute(text("DELETE FROM cache_state"))


def test_figures_and_marks_come_back_whole(demo_book: Storage) -> None:
    with demo_book.read() as session:
        whole = plainly(session)
    shots = (*whole.shots, *whole.voided)
    assert len(shots) > 100 and {one.basis for one in shots} >= {"own", "combination", "not_measured"}
    for one in shots:
        again = unpacked(packed(one.impact))
        assert again == one.impact and repr(again) == repr(one.impact)
        assert of_text(as_text(one.fair)) == one.fair
        for place in ("chronograph", "target"):
            assert repr(again.energy_at(place)) == repr(one.impact.energy_at(place))


def test_what_is_kept_is_what_working_it_out_gives(demo_book: Storage) -> None:
    with demo_book.read() as session:
        plain = told(load_loosed(session))
    assert fill(demo_book) == len(plain)
    with demo_book.read() as session:
        kept = load_loosed(session)
        assert all(isinstance(one, LoosedAndKept) for one in (*kept.shots, *kept.voided))
        assert told(kept) == plain
        there = [one.impact.at_target for one in kept.shots if one.impact.at_target]
        assert there and all(one.speed_m_s == one.speed.value for one in there), "with its uncertainty or without, it is one speed"
        assert kept_and_right(session) == len(plain)
    assert fill(demo_book) == 0, "nothing was changed, so nothing is wanting"


def test_every_noun_is_followed_or_nothing_rests_on_it() -> None:
    assert set(TABLES) == FOLLOWED | FREE and not FOLLOWED & FREE
    assert {noun for noun, _ in CHANGES} == FOLLOWED and set(MOVED) == set(LINKS)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [5, *(pytest.param(seed, marks=pytest.mark.long) for seed in range(20, 40))])
def test_a_changed_dependency_makes_stale_whatever_rests_on_it(demo_book: Storage, seed: int) -> None:
    """Each once, one after the other, on a book whose every shot is kept when it is said."""
    lots, moved, spared, refused = random.Random(seed), 0, 0, []
    with demo_book.read() as session:
        before = rows_of(plainly(session))
    for noun, body in CHANGES:
        fill(demo_book)
        if not any(change(demo_book, noun, body, lots) for _ in range(6)):
            refused.append((noun, *body))
            continue
        with demo_book.read() as session:
            whole = plainly(session)
            now = rows_of(whole)
            spared += kept_and_right(session, now) > 0
            if not moved % 5:
                assert told(load_loosed(session)) == told(whole), (noun, body)
        moved += now != before
        before = now
    assert moved >= 30, "most of them change a figure or a mark, or this shows nothing"
    assert spared >= len(CHANGES) - len(refused) - 6, "and most of them leave the others as they were"
    # Of other draws a few may be what the book refuses every time: a combination that there is already, a name that is taken.
    assert len(refused) <= (0 if seed == 5 else 3), refused


# Each link by which a shot's figures or mark hang on a record, and whose record it names.
MOVED = {
    ("setup", "panel_build"): "panel_build",
    ("shooting_end", "setup"): "setup",
    ("shot", "shooting_end"): "shooting_end",
    ("shot", "arrow_build"): "arrow_build",
    ("combination", "arrow_build"): "arrow_build",
    ("speed_series", "combination"): "combination",
    ("speed_reading", "series"): "speed_series",
    ("speed_reading", "shot"): "shot",
    ("arrow_check", "arrow_build"): "arrow_build",
    ("reading", "record"): "arrow_build",
}


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "each"), [(3, 7), *(pytest.param(seed, 25, marks=pytest.mark.long) for seed in (3, 4))])
def test_a_link_that_was_moved_makes_stale_what_hung_on_its_old_end_too(demo_book: Storage, seed: int, each: int) -> None:
    """So many records of each link are moved: what is kept and not marked must be what working it out gives, each time."""
    lots, taken, changed = random.Random(seed), Counter[tuple[str, str]](), 0
    with demo_book.read() as session:
        before = rows_of(plainly(session))
    for (noun, field), named in MOVED.items():
        for _ in range(each):
            fill(demo_book)
            if not change(demo_book, noun, {field: f"@{named}"}, lots):
                continue
            taken[noun, field] += 1
            with demo_book.read() as session:
                now = rows_of(plainly(session))
                kept_and_right(session, now)
            changed += now != before
            before = now
    assert min(taken[link] for link in MOVED) >= 3 and changed >= 4 * each, (taken, changed)


def test_one_changed_reading_leaves_nearly_all_as_it_was_kept(demo_book: Storage) -> None:
    fill(demo_book)
    assert change(demo_book, "shot_reading", {"outcome_low": "2", "outcome_high": "2"}, random.Random(1))
    with demo_book.read() as session:
        count = session.execute(text("SELECT count(*) FROM shot")).scalar_one()
        assert count - 60 <= kept_and_right(session) < count
    assert 0 < fill(demo_book) <= 60
    with demo_book.read() as session:
        assert kept_and_right(session) == count
    assert fill(demo_book) == 0


def test_what_was_worked_out_before_a_change_is_not_kept_as_if_it_held_after_it(demo_book: Storage) -> None:
    with demo_book.read() as session:
        parts = in_parts(session)
        batches = [batch_of(session, part) for part in parts]
    assert change(demo_book, "arrow", {"diameter": "8.1 mm"}, random.Random(1))
    for batch in batches:
        store(demo_book, batch)
    with demo_book.read() as session:
        assert 0 < kept_and_right(session) < sum(len(batch.rows) for batch in batches)
        assert told(load_loosed(session)) == told(plainly(session))


def test_what_an_instrument_says_is_not_followed_shot_by_shot(demo_book: Storage) -> None:
    fill(demo_book)
    assert change(demo_book, "instrument", {"accuracy_ratio": "3 %"}, random.Random(1))
    with demo_book.read() as session:
        assert kept_and_right(session) == 0
    assert fill(demo_book) > 100


def test_what_other_formulas_kept_is_worked_out_again(demo_book: Storage) -> None:
    fill(demo_book)
    with demo_book.write(quietly=True) as session:
        session.execute(text("UPDATE cache_state SET form = 'another'"))
        session.execute(text("UPDATE cache_shot SET chronograph_j = 1, target_j = 1, fair = NULL"))
    with demo_book.read() as session:
        plain = told(plainly(session))
        assert told(load_loosed(session)) == plain
    assert fill(demo_book) == len(plain)
    with demo_book.read() as session:
        assert told(load_loosed(session)) == plain
        assert kept_and_right(session) == len(plain)


def test_a_restored_copy_and_one_to_publish_keep_nothing_that_somebody_else_worked_out(demo_book: Storage, tmp_path: Path) -> None:
    fill(demo_book)
    backup(demo_book.path, tmp_path / "a copy.db")
    restore(tmp_path / "a copy.db", tmp_path / "elsewhere")
    (tmp_path / "to publish").mkdir()
    copy_withheld(demo_book.path, tmp_path / "to publish", choices=Choices(), replaced=Replaced())
    for book in (tmp_path / "elsewhere" / BOOK_FILE, tmp_path / "to publish" / BOOK_FILE):
        with closing(book_file.look(book)) as connection:
            for table in ("cache_shot", "cache_state"):
                assert connection.execute(f"SELECT count(*) FROM {table}").fetchone() == (0,)


def history(house: House, lots: random.Random, *, steps: int, pages: tuple[str, ...]) -> int:
    """Changes by lot; now and then something is kept, and the pages are looked at with and without it. How often they were."""
    book, client, looked = house.storage, house.client("owner"), 0
    nouns = sorted(FOLLOWED)
    for step in range(1, steps + 1):
        for _ in range(lots.randint(1, 4)):
            if lots.random() < 0.25:
                cross_out(book, lots.choice(nouns), lots)
            else:
                change(book, *lots.choice(CHANGES), lots)
        if step % 3:
            if lots.random() < 0.6:
                fill(book)
            continue
        with book.read() as session:
            kept_and_right(session)
        with_it = [client.get(page).content for page in pages]
        empty(book)
        assert [client.get(page).content for page in pages] == with_it
        looked += 1
    return looked


QUICK = ("/results", "/shots", "/download/shots.csv")
ALL = (*QUICK, "/", "/results/shots", "/compare", "/measures", "/arrow-damage", "/results?panel_type=", "/trials", "/kit", "/blunt")


def test_emptied_at_a_moment_of_a_random_history_no_page_changes(demo_house: House) -> None:
    fill(demo_house.storage)
    assert history(demo_house, random.Random(11), steps=6, pages=QUICK) == 2


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "steps"), [(1, 12), *(pytest.param(seed, 24, marks=pytest.mark.long) for seed in (1, 2))])
def test_emptied_at_many_moments_of_a_random_history_no_page_changes(demo_house: House, seed: int, steps: int) -> None:
    fill(demo_house.storage)
    assert history(demo_house, random.Random(seed), steps=steps, pages=ALL) == steps // 3


@pytest.mark.long
@pytest.mark.parametrize("seed", range(10, 30))
def test_emptied_at_moments_of_long_random_histories_no_page_changes(demo_house: House, seed: int) -> None:
    fill(demo_house.storage)
    assert history(demo_house, random.Random(seed), steps=60, pages=(*ALL, "/fifty-percent")) == 20


# What the demo's shots were, to seven digits, by the number that stands for the formulas. Another figure without another number: whoever
# opens a book that an earlier version kept something in would see that version's figures.
FIGURES_OF_THE_DEMO = {2: "921e01034b703097"}


def test_another_formula_has_another_number(demo_book: Storage) -> None:
    with demo_book.read() as session:
        whole = plainly(session)
    said = []
    for one in (*whole.shots, *whole.voided):
        row = row_of(one.fact, figures_of(one.impact), one.fair)
        seen = [f"{name}={row[name]}" for name in COLUMNS if name not in ("impact", "fair") and not name.endswith("_id")]
        said.append(_ID.sub("", "; ".join([one.fact.label, *seen, as_text(one.impact), as_text(one.fair)])))
    figures = _FIGURE.sub(lambda found: f"{float(found.group()):.7g}", "\n".join(sorted(said)))
    found = hashlib.sha256(figures.encode()).hexdigest()[:16]
    assert {FORMULAS: found} == FIGURES_OF_THE_DEMO, "figures changed: count FORMULAS in server/proofyard/shots/cache.py up by one"


_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_FIGURE = re.compile(r"-?\d+\.\d+(?:e-?\d+)?")
