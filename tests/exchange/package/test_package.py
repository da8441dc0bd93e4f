"""The data package: valid by the standard's own reader, the same bytes for the same state, there and back, and every fault said.

Data Package 2 and Table Schema: https://datapackage.org/standard/data-package/ ; read here by `frictionless`, which is not ours.
"""

from __future__ import annotations

import csv
import io
import json
import warnings
import zipfile
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from proofyard.cli import main
from proofyard.exchange.package import state
from proofyard.exchange.package.check import check_package
from proofyard.exchange.package.opened import NoPackage
from proofyard.exchange.package.packing import write_package
from proofyard.exchange.package.tables import BESIDE, TITLES
from proofyard.exchange.package.take_in import take_into_folder
from proofyard.records import devices
from proofyard.records.book import Device, Revision
from proofyard.records.columns import meanings
from proofyard.records.nouns import TABLES
from proofyard.storage import Storage
from sqlalchemy import select, text
from starlette.testclient import TestClient

from tests.conftest import House, copied, opened
from tests.exchange.package import spoilt

pytestmark = pytest.mark.slow


def packed(book: Storage, **asked: Any) -> bytes:
    to = io.BytesIO()
    write_package(book, to, **asked)
    return to.getvalue()


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Path:
    """The demo's package: made once for the file."""
    folder = tmp_path_factory.mktemp("package")
    with closing(opened(copied(demo_book_file, folder / "book"))) as book:
        (folder / "demo.zip").write_bytes(packed(book))
    return folder / "demo.zip"


def by_the_standard(package: Path, folder: Path) -> list[str]:
    """What the reader of the standard finds wrong."""
    with zipfile.ZipFile(package) as archive:
        archive.extractall(folder)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the reader's own and its packages'
        from frictionless import Package

        report = Package(str(folder / "datapackage.json")).validate()
    return [f"{task.name}: {error.message}" for task in report.tasks for error in task.errors] + [error.message for error in report.errors]


def rows(package: Path, path: str) -> list[dict[str, str]]:
    with zipfile.ZipFile(package) as archive:
        return list(csv.DictReader(io.StringIO(archive.read(path).decode(), newline=""), strict=True))


def test_it_is_valid_by_the_standard_and_by_our_own_check(package: Path, tmp_path: Path) -> None:
    assert by_the_standard(package, tmp_path) == []
    assert check_package(package).faults == []


def test_the_reader_of_the_standard_does_find_faults(package: Path, tmp_path: Path) -> None:
    files = spoilt.files_of(package)
    spoilt.SPOILT["a key that leads nowhere"][0](files)
    assert any("foreign key" in one for one in by_the_standard(spoilt.write(files, tmp_path / "spoilt.zip"), tmp_path / "out"))


def test_a_trials_package_is_valid_too_and_holds_nothing_of_another(demo_book: Storage, tmp_path: Path) -> None:
    with demo_book.read() as session:
        trials = session.execute(text("SELECT id, question FROM trial ORDER BY id")).all()
    (tmp_path / "one.zip").write_bytes(packed(demo_book, only_trial=trials[0].id))
    assert check_package(tmp_path / "one.zip").faults == []
    assert by_the_standard(tmp_path / "one.zip", tmp_path / "out") == []
    with zipfile.ZipFile(tmp_path / "one.zip") as archive:
        everything = b"".join(archive.read(name) for name in archive.namelist()).decode("utf-8", "replace")
    for other in trials[1:]:
        assert other.id not in everything and other.question not in everything
    whole = {row["shot_id"]: row for row in rows(tmp_path / "one.zip", "worked_out/shots.csv")}
    (tmp_path / "all.zip").write_bytes(packed(demo_book))
    figures = ("energy_at_chronograph_j", "energy_at_chronograph_u_j", "fair", "fair_nearest_m")
    for row in rows(tmp_path / "all.zip", "worked_out/shots.csv"):
        if row["trial_id"] == trials[0].id:
            assert [whole[row["shot_id"]][name] for name in figures] == [row[name] for name in figures]


def test_every_noun_has_a_table_and_every_record_a_row(package: Path, demo_book: Storage) -> None:
    for noun in TABLES:
        with demo_book.read() as session:
            ids = session.execute(text(f'SELECT id FROM "{noun}" ORDER BY id')).scalars().all()
        assert [row["id"] for row in rows(package, f"records/{noun}.csv")] == ids, noun


def test_the_same_state_gives_the_same_bytes_and_another_other_ones(demo_book: Storage) -> None:
    first = packed(demo_book)
    with demo_book.write() as session:
        devices.add_device(session, call_name="Zebedee’s handset", role="viewer")
    assert packed(demo_book) == first  # a phone that came to look is no state
    assert packed(demo_book, licence="CC-BY-4.0") != first


def test_there_and_back_gives_the_same_bytes(package: Path, tmp_path: Path) -> None:
    taken = take_into_folder(package, tmp_path / "new")
    assert taken.counts["shot"] == 151 and taken.photos == 8
    with closing(opened(tmp_path / "new")) as book:
        assert packed(book) == package.read_bytes()
        with book.read() as session:
            assert not session.execute(text("PRAGMA foreign_key_check")).all()


def test_no_package_is_taken_into_a_book_that_is_there(package: Path, demo_book: Storage) -> None:
    before = demo_book.path.read_bytes()
    with pytest.raises(NoPackage, match="There is a book in"):
        take_into_folder(package, demo_book.path.parent)
    assert demo_book.path.read_bytes() == before


@pytest.mark.parametrize("name", sorted(spoilt.SPOILT))
def test_a_spoilt_package_is_found_with_a_sentence(name: str, package: Path, tmp_path: Path) -> None:
    files = spoilt.files_of(package)
    spoil, said = spoilt.SPOILT[name]
    spoil(files)
    found = check_package(spoilt.write(files, tmp_path / "spoilt.zip")).faults
    assert any(said in sentence for sentence in found), found
    assert all(sentence.endswith(".") for sentence in found)
    with pytest.raises(NoPackage):
        take_into_folder(tmp_path / "spoilt.zip", tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("name", sorted(spoilt.REFUSED))
def test_a_hostile_zip_is_refused_as_a_whole(name: str, package: Path, tmp_path: Path) -> None:
    files = spoilt.files_of(package)
    spoil, said = spoilt.REFUSED[name]
    spoil(files)
    with pytest.raises(NoPackage, match=said):
        check_package(spoilt.write(files, tmp_path / "spoilt.zip"))


def test_a_package_cut_off_is_refused(package: Path, tmp_path: Path) -> None:
    (tmp_path / "cut.zip").write_bytes(package.read_bytes()[:-5000])
    with pytest.raises(NoPackage):
        check_package(tmp_path / "cut.zip")


def test_types_and_joins_can_be_read_from_the_description_alone(package: Path) -> None:
    """As an analyst does it: types from the schema, then shots with head, panel and trial by their ids."""
    with zipfile.ZipFile(package) as archive:
        said = json.loads(archive.read("datapackage.json"))
    keys = {one["name"]: {key["fields"][0]: key["reference"] for key in one["schema"].get("foreignKeys", [])} for one in said["resources"]}
    paths = {one["name"]: one["path"] for one in said["resources"]}

    def joined(name: str, row: dict[str, str], column: str) -> dict[str, str]:
        reference = keys[name][column]
        found = {one[reference["fields"][0]]: one for one in rows(package, paths[reference["resource"]])}
        return found[row[column]]

    shot = rows(package, paths["shot"])[0]
    setup = joined("shooting_end", joined("shot", shot, "shooting_end_id"), "setup_id")
    panel = joined("panel_build", joined("setup", setup, "panel_build_id"), "panel_id")
    wide = next(row for row in rows(package, "worked_out/shots.csv") if row["shot_id"] == shot["id"])
    assert (wide["panel"], wide["shot_label"]) == (panel["name"], shot["label"])
    assert {value for row in rows(package, "worked_out/shots.csv") for value in (row["voided"], row["unread"])} <= {"TRUE", "FALSE"}
    units = {
        field["name"]: field.get("unit") for one in said["resources"] if one["name"] == "speed_reading" for field in one["schema"]["fields"]
    }
    assert units["value_m_s"] == "m/s"


def test_fairness_in_numbers_says_what_its_words_say(package: Path) -> None:
    told = 0
    for row in rows(package, "worked_out/shots.csv"):
        if row["fair"] == "fair" and ", the nearest" in row["fair_because"]:
            away, label = row["fair_because"].removesuffix(", the nearest").split("\u00a0mm from ")
            assert (str(round(float(row["fair_nearest_m"]) * 1000)), row["fair_nearest_shot"]) == (away, label)
            told += 1
        if row["fair"] == "fair" and row["fair_edge_m"] and row["fair_overruled"] == "FALSE":
            assert float(row["fair_edge_m"]) >= float(row["fair_limit_edge_m"])
    assert told > 20


def test_it_carries_no_phone_and_no_history(package: Path, demo_book: Storage) -> None:
    with demo_book.read() as session:
        secrets = [*session.execute(select(Device.id)).scalars(), *session.execute(select(Revision.op_id)).scalars()]
    with zipfile.ZipFile(package) as archive:
        everything = b"".join(archive.read(name) for name in archive.namelist())
    assert len(secrets) > 1000 and not [one for one in secrets if one and one.encode() in everything]


def test_the_page_and_the_command_give_the_same_file(demo_house: House, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    client: TestClient = demo_house.client("viewer")
    answer = client.get("/download/package.zip?licence=CC-BY-4.0")
    assert answer.status_code == 200 and answer.headers["content-type"] == "application/zip"
    to = tmp_path / "out" / "p.zip"
    assert main(["package", str(to), "--licence", "CC-BY-4.0", "--data", str(demo_house.storage.path.parent)]) == 0
    said = capsys.readouterr().out
    assert "It is no backup." in said and "Never hand one on." in said
    assert to.read_bytes() == answer.content
    assert main(["check", str(to)]) == 0
    assert "nothing in it contradicts" in capsys.readouterr().out
    page = client.get("/download").text
    assert "It is no backup." in page and "/download/package.zip" in page
    assert client.get("/download/package.zip?licence=WTF").status_code == 422


def test_the_command_refuses_in_words(demo_house: House, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = str(demo_house.storage.path.parent)
    (tmp_path / "there.zip").write_bytes(b"")
    for asked, said in (
        (["package", str(tmp_path / "there.zip"), "--data", folder], "exists already"),
        (["package", str(tmp_path / "p.tar"), "--data", folder], "ends in .zip"),
        (["package", str(tmp_path / "p.zip"), "--licence", "mine", "--data", folder], "is no licence"),
        (["package", str(tmp_path / "p.zip"), "--data", str(tmp_path / "none")], "There is no book"),
    ):
        assert main(asked) == 2
        assert said in capsys.readouterr().err


def test_every_noun_has_a_title_and_its_place_in_a_trials_package_was_thought_of() -> None:
    """A noun that nobody placed would be missing from a trial's package without a word."""
    assert set(TITLES) == set(TABLES)
    kit = {"archer", "instrument", "bow", "bow_build", "head", "arrow", "arrow_build", "panel", "panel_build", "stand"}
    of_the_whole_book = {"import_batch", "imported_record"}  # a batch may hold what another trial has, so a trial's package has none
    assert set(TABLES) == {*state._BELONGS, *state._PARTS, *kit, *of_the_whole_book, "trial", "combination", "speed_reading", "photo"}


def test_no_field_of_a_noun_is_called_as_what_the_package_adds_to_it() -> None:
    for noun, table in TABLES.items():
        assert not BESIDE & {column for column, _ in meanings(table).values()}, noun
