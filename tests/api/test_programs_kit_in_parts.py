"""Lists of kit, of which a program is read no more than the part that it asks for: the same rows as in the files, each once."""

from __future__ import annotations

import pytest
from proofyard.api.v1.kit import TABLES
from proofyard.api.v1.told import rows_of
from proofyard.exchange.data_dictionary import FILES
from proofyard.exchange.fetched import fetch
from starlette.testclient import TestClient

from tests.conftest import House


@pytest.fixture
def demo(demo_house: House) -> TestClient:
    return demo_house.client("owner")


@pytest.mark.parametrize("address", sorted(TABLES))
def test_the_parts_of_a_list_are_the_rows_of_its_file_worked_out_from_the_whole_book(
    demo_house: House, demo: TestClient, address: str
) -> None:
    name, key, _ = TABLES[address]
    listed = address.rpartition("/")[2]
    whole = rows_of(FILES[name].make(fetch(demo_house.storage)))
    found: list[dict[str, object]] = []
    following, size = f"/api/v1/{address}?limit=7", 0
    while following:
        part = demo.get(following).json()
        found += part[listed]
        size, following = part["count"], part["next"]
        assert len(part[listed]) == 7 or following is None
    assert len(whole) > 0 and size == len(whole)
    assert found == sorted(whole, key=lambda row: str(row[key]))


@pytest.mark.parametrize("name", sorted(FILES))
def test_a_file_says_the_same_whatever_was_read_for_it(demo_house: House, name: str) -> None:
    file = FILES[name]
    assert file.read(demo_house.storage) == file.make(fetch(demo_house.storage))
