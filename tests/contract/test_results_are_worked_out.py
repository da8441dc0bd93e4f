"""Facts are stored, results are worked out: no table keeps a result but one named cache_, and emptying it changes nothing."""

from proofyard.records import nouns
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.impact import Impacts
from proofyard.storage import Storage
from sqlalchemy import text
from sqlmodel import SQLModel

from tests.conftest import House
from tests.marks_for_tests import fair_marks

# Words of what formulas and rules give. A column that bears one would be a stored result.
WORKED_OUT = ("energy", "momentum", "fair_mark", "is_fair", "share", "interval", "uncertainty", "mean_", "through_count")
SETTINGS = {("trial", "through")}
# Said of one reading by whoever took it, with what it was worked out from beside it.
SAID = {("speed_reading", "uncertainty_m_s")}
# Guessed by people before the first shot: nothing gives them.
SAID |= {("prediction", "share_ratio"), ("prediction", "fifty_percent_energy_j"), ("trial", "start_energy_j"), ("claim", "energy_j")}


def test_no_table_stores_what_can_be_worked_out() -> None:
    assert nouns.TABLES
    for name, table in SQLModel.metadata.tables.items():
        if name.startswith("cache_"):
            continue
        for column in table.columns:
            assert (name, column.name) in SETTINGS | SAID or not any(word in column.name for word in WORKED_OUT), f"{name}.{column.name}"


def test_emptying_every_cache_changes_no_page(demo_house: House) -> None:
    storage = demo_house.storage
    owner = demo_house.client("owner")
    paths = ["/results", "/fifty-percent", "/trials", "/kit", "/download/shots.csv", "/combinations"]

    def all_pages() -> list[bytes]:
        pages = []
        for path in paths:
            answer = owner.get(path)
            assert answer.status_code == 200, path
            pages.append(answer.content)
        return pages

    before = all_pages()
    with storage.write() as session:
        caches = (
            session.execute(text("select name from sqlite_master where type = 'table' and name like 'cache\\_%' escape '\\'"))
            .scalars()
            .all()
        )
        for name in caches:
            session.execute(text(f"delete from {name}"))
    assert all_pages() == before


def test_the_same_facts_give_the_same_results_in_any_order(demo_book: Storage) -> None:
    with demo_book.read() as session:
        facts = shot_facts(session)
        one, other = fair_marks(session, facts), fair_marks(session, facts[::-1])
        impacts = Impacts.load(session)
        assert one == other
        assert {f.shot_id: impacts.of_shot(f) for f in facts} == {f.shot_id: Impacts.load(session).of_shot(f) for f in facts[:20]} | {
            f.shot_id: impacts.of_shot(f) for f in facts[20:]
        }
