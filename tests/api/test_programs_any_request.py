"""Whatever a program sends, right or wrong: no fault of ours, and every answer is one that the document allows.

The requests are made from the document by schemathesis, half of them wrong on purpose; ids of the demo are mixed in, since no chance hits
one. Left out is its check that whatever fits the shape is taken: which trials, bows or days a filter may name is the book's to say.
"""

import warnings
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from proofyard.access.programs import Programs
from proofyard.api.v1.interface import document
from starlette.testclient import TestClient

from tests.conftest import copied, house_of, opened

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # of its own dependencies
    import schemathesis
    from schemathesis.checks import CHECKS, load_all_checks
    from schemathesis.generation import GenerationMode

    load_all_checks()

# The token is shown by all: who may do what is tried in tests/contract/test_routes_and_roles.py.
SCHEMA = schemathesis.openapi.from_dict({name: part for name, part in document().items() if name != "security"})
OPERATIONS = [(method, path) for path, methods in document()["paths"].items() for method in methods]
WANTED = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_headers_conformance",
    "response_schema_conformance",
    "negative_data_rejection",
)
CHECKED = [CHECKS.get_one(name) for name in WANTED]
# An operation that can't be read is refused by itself, within an answer of 200: the others of its envelope are not held up.
CHECKED_OF_OPERATIONS = [one for one, name in zip(CHECKED, WANTED, strict=True) if name != "negative_data_rejection"]
ASKED: Counter[int] = Counter()


@pytest.fixture(scope="module")
def reader(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[TestClient]:
    """A program that may log and is never told to wait, at a book with the demo."""
    with closing(opened(copied(demo_book_file, tmp_path_factory.mktemp("any") / "demo"))) as book, pytest.MonkeyPatch.context() as patch:
        house = house_of(book)
        patch.setattr(Programs, "must_wait_s", lambda self, who: 0)
        client = house.client(raise_server_exceptions=False)
        token = house.app.state.gate.programs.let_in("A notebook", "log", days=3, by=house.device_ids["owner"])
        client.headers["Authorization"] = f"Bearer {token}"
        yield client


@pytest.fixture(scope="module")
def names(reader: TestClient) -> Mapping[str, list[str]]:
    """What filters and paths may name: of the demo."""
    shots = reader.get("/api/v1/shots", params={"limit": 500}).json()["shots"]

    def every(column: str) -> list[str]:
        return sorted({one[column] for one in shots if one[column]})

    columns = {"trial": "trial_id", "panel": "panel_id", "panel_type": "panel_type_key", "archer": "archer_id", "bow": "bow_id"}
    columns |= {"arrow": "arrow_id", "one_head": "head_id", "day": "session_day", "head": "head_form", "construction": "construction"}
    columns |= {"trial_id": "trial_id", "session_id": "session_id", "shot_id": "shot_id"}
    found = {name: every(column) for name, column in columns.items()}
    return found | {"energy_from": ["60 J", "45 ft lbf"], "edges": ["60, 90"], "text": ["plate"], "of": found["head"], "tails": ["10, 90"]}


def ask(reader: TestClient, names: Mapping[str, list[str]], method: str, path: str, *, requests: int) -> None:
    operation = SCHEMA[path][method.upper()]
    cases = st.one_of(*(operation.as_strategy(generation_mode=mode) for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)))

    @given(case=cases, draw=st.randoms(use_true_random=False))
    @settings(max_examples=requests, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    def each(case: Any, draw: Any) -> None:
        right = case.meta.generation.mode == GenerationMode.POSITIVE
        for given_names in (case.query, case.path_parameters) if right else ():
            for name in list(given_names or {}):
                if name in names and isinstance(given_names[name], str | list) and draw.random() < 0.6:
                    given_names[name] = draw.choice(names[name])
        sent = case.as_transport_kwargs(base_url="http://127.0.0.1:8014")
        body = {key: sent[key] for key in ("json", "data", "content") if sent.get(key) is not None}
        if "data" in body and isinstance(body["data"], bytes | str):
            body["content"] = body.pop("data")
        answer = reader.request(sent["method"], sent["url"], params=sent.get("params"), headers=dict(sent["headers"]), **body)
        ASKED[answer.status_code] += 1
        case.validate_response(answer, checks=CHECKED if method == "get" else CHECKED_OF_OPERATIONS)

    each()


@pytest.mark.slow
@pytest.mark.parametrize(("method", "path"), OPERATIONS)
def test_a_few_requests_of_each_kind_meet_no_fault_and_nothing_undocumented(
    reader: TestClient, names: Mapping[str, list[str]], method: str, path: str
) -> None:
    ask(reader, names, method, path, requests=4)


@pytest.mark.long
@pytest.mark.parametrize(("method", "path"), OPERATIONS)
def test_many_requests_of_each_kind_meet_no_fault_and_nothing_undocumented(
    reader: TestClient, names: Mapping[str, list[str]], method: str, path: str
) -> None:
    before = ASKED.total()
    ask(reader, names, method, path, requests=100)
    print(f"{method.upper()} {path}: {ASKED.total() - before} requests; all so far by status: {dict(sorted(ASKED.items()))}")
