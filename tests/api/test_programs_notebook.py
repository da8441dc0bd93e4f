"""The guide's notebook, run cell by cell at the demo: its tables are the pages', by the interface and by the package."""

import contextlib
import io
import json
import re
import urllib.request
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from proofyard.answers.results.page import read_results
from starlette.testclient import TestClient

from tests.conftest import House, copied, house_of, opened

NOTEBOOK = Path(__file__).resolve().parents[2] / "static" / "guide" / "programs.ipynb"


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[House]:
    with closing(opened(copied(demo_book_file, tmp_path_factory.mktemp("notebook") / "demo"))) as book:
        yield house_of(book)


@pytest.fixture(scope="module")
def ran(house: House, tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, Any], str]:
    """What its cells left behind, and what they printed."""
    package = tmp_path_factory.mktemp("package") / "package.zip"
    package.write_bytes(house.client("viewer").get("/download/package.zip").content)
    token = house.app.state.gate.programs.let_in("A notebook", "read", days=3, by=house.device_ids["owner"])
    told, names = io.StringIO(), {"__name__": "notebook"}
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(told):
        patch.setattr(urllib.request, "urlopen", asking(house.client()))
        for name, value in (("ADDRESS", "http://127.0.0.1:8014"), ("TOKEN", token), ("PACKAGE", str(package))):
            patch.setenv(f"PROOFYARD_{name}", value)
        for cell in json.loads(NOTEBOOK.read_text(encoding="utf-8"))["cells"]:
            if cell["cell_type"] == "code":
                exec(compile("".join(cell["source"]), cell["id"], "exec"), names)
    return names, told.getvalue()


def asking(client: TestClient) -> Any:
    """In the place of the network: the same request, the app's own answer."""

    def urlopen(request: urllib.request.Request) -> io.BytesIO:
        answer = client.get(request.full_url, headers=dict(request.header_items()))
        assert answer.status_code == 200, answer.text
        return io.BytesIO(answer.content)

    return urlopen


def test_the_notebook_is_one_and_holds_no_output() -> None:
    """The notebook format 4.5 (nbformat.readthedocs.io): ids of their own, sources as lines."""
    notebook = json.loads(NOTEBOOK.read_text(encoding="utf-8"))
    assert (notebook["nbformat"], notebook["nbformat_minor"]) == (4, 5)
    ids = [cell["id"] for cell in notebook["cells"]]
    assert len(set(ids)) == len(ids) and all(re.fullmatch(r"[\w-]{1,64}", one) for one in ids)
    code = [cell for cell in notebook["cells"] if cell["cell_type"] == "code"]
    assert code and all(cell["outputs"] == [] and cell["execution_count"] is None for cell in code)


def test_both_ways_give_the_same_tables(ran: tuple[dict[str, Any], str]) -> None:
    names, told = ran
    assert "Shots by head are the same: True" in told
    assert f"50 % energies are the same: True in {len(names['energies_by_package'])} rows" in told
    assert len(names["heads_by_package"]) > 3 and len(names["energies_by_package"]) > 3
    assert sum(found[0] is not None for found in names["energies_by_package"].values()) > 1


def test_its_bands_are_those_of_the_results_page(ran: tuple[dict[str, Any], str], house: House) -> None:
    _, told = ran
    results = read_results(house.storage, {})
    for group in results.groups:
        for cell in group.cells:
            if cell.tally.shots:
                assert re.search(rf"^{re.escape(group.words)} .* {cell.tally.hits_low} of {cell.tally.shots} ", told, re.MULTILINE)


def test_the_guide_hands_the_notebook_out(house: House) -> None:
    page = house.client().get("/guide/programs").text
    assert 'href="/guide/programs.ipynb"' in page
    answer = house.client().get("/guide/programs.ipynb")
    assert answer.content == NOTEBOOK.read_bytes()
    assert answer.headers["content-type"] == "application/x-ipynb+json" and "attachment" in answer.headers["content-disposition"]
