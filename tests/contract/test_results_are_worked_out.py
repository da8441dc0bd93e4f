"""Facts are stored, results are worked out: no table keeps a result but one named cache_, and emptying it changes nothing."""

from sqlalchemy import text
from sqlmodel import SQLModel

from seed_demo import fill
from server.findings.fair_hits import fair_marks
from server.findings.impact import Impacts
from server.records import nouns
from server.records.shot_facts import shot_facts
from server.storage import Storage

# Words of what formulas and rules give. A column that bears one would be a stored result.
WORKED_OUT = ("energy", "momentum", "fair_mark", "is_fair", "share", "interval", "uncertainty", "mean_", "through_count")
SETTINGS = {("trial", "through")}
# Said of one reading by whoever took it, with what it was worked out from beside it.
SAID = {("speed_reading", "uncertainty_m_s")}
# Guessed by people before the first shot: nothing gives them.
SAID |= {("prediction", "share_ratio"), ("prediction", "half_energy_j"), ("trial", "start_energy_j")}


def test_no_table_stores_what_can_be_worked_out() -> None:
    assert nouns.TABLES
    for name, table in SQLModel.metadata.tables.items():
        if name.startswith("cache_"):
            continue
        for column in table.columns:
            assert (name, column.name) in SETTINGS | SAID or not any(word in column.name for word in WORKED_OUT), f"{name}.{column.name}"


def test_emptying_every_cache_changes_no_page(house) -> None:
    storage: Storage = house.storage
    fill(storage)
    owner = house.client("owner")
    paths = ["/results", "/trials", "/kit", "/download/shots.csv", "/pairings"]

    def all_pages() -> list[bytes]:
        pages = []
        for path in paths:
            answer = owner.get(path)
            assert answer.status_code == 200, path
            pages.append(answer.content)
        return pages

    before = all_pages()
    with storage.write() as session:
        caches = session.execute(text("select name from sqlite_master where type = 'table' and name like 'cache\\_%' escape '\\'")).scalars().all()
        for name in caches:
            session.execute(text(f"delete from {name}"))
    assert all_pages() == before


def test_the_same_facts_give_the_same_results_in_any_order(book: Storage) -> None:
    fill(book)
    with book.read() as session:
        facts = shot_facts(session)
        one, other = fair_marks(session, facts), fair_marks(session, facts[::-1])
        impacts = Impacts.load(session)
        assert one == other
        assert {f.shot_id: impacts.of_shot(f) for f in facts} == {f.shot_id: Impacts.load(session).of_shot(f) for f in facts[:20]} | {f.shot_id: impacts.of_shot(f) for f in facts[20:]}
