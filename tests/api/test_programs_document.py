"""The document that describes the programs' interface: a valid one (openapi-spec-validator), whole, and true of the demo's answers."""

import json
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from openapi_spec_validator import validate
from proofyard.api.v1.interface import document
from proofyard.records.ids import is_id, new_id
from starlette.testclient import TestClient

from tests.conftest import copied, house_of, opened

DOCUMENT = document()
OPERATIONS = [(method, path) for path, methods in DOCUMENT["paths"].items() for method in methods]
EXAMPLES = Path(__file__).resolve().parents[2] / "server" / "proofyard" / "api" / "v1" / "examples.json"
OF_RECORDS = {"trial_id": ("trials", "trial_id"), "session_id": ("sessions", "session_id"), "shot_id": ("shots", "shot_id")}
CHANGES = ("id", "change", "epoch", "letter", "call_name")  # of a book that is made anew


@pytest.fixture(scope="module")
def reader(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[TestClient]:
    """A program that may log, at a book with the demo."""
    with closing(opened(copied(demo_book_file, tmp_path_factory.mktemp("programs") / "demo"))) as book:
        house = house_of(book)
        client = house.client()
        client.headers["Authorization"] = f"Bearer {token(house.app, house.device_ids['owner'])}"
        yield client


def token(app: Any, by: str) -> str:
    return str(app.state.gate.programs.let_in("A notebook", "log", days=3, by=by))


def one(method: str, path: str) -> dict[str, Any]:
    said: dict[str, Any] = DOCUMENT["paths"][path][method]
    return said


def test_the_document_is_valid_and_served_to_anybody(reader: TestClient) -> None:
    """OpenAPI 3.1, by the schema of the OpenAPI Initiative that openapi-spec-validator carries."""
    validate(DOCUMENT)
    served = reader.get("/api/v1/openapi.json", headers={"Authorization": ""})
    assert served.status_code == 200 and served.json() == DOCUMENT
    assert DOCUMENT["openapi"].startswith("3.1")


@pytest.mark.parametrize(("method", "path"), OPERATIONS)
def test_every_operation_says_what_it_does_what_it_refuses_and_gives_an_example(method: str, path: str) -> None:
    said = one(method, path)
    assert said["summary"] and said["description"] and not said["summary"].endswith(".")
    assert {"200", "401", "403", "422", "429", "500", "503"} <= said["responses"].keys()
    assert ("404" in said["responses"]) == ("{" in path)
    content = said["responses"]["200"]["content"]["application/json"]
    assert content["example"]
    assert Draft202012Validator(rooted(content["schema"])).is_valid(content["example"])
    for parameter in said.get("parameters", []):
        assert parameter["in"] == "path" or parameter["description"], parameter["name"]


def test_every_operation_has_a_name_of_its_own() -> None:
    names = [one(*each)["operationId"] for each in OPERATIONS]
    assert len(set(names)) == len(names)


def rooted(schema: dict[str, Any]) -> dict[str, Any]:
    return {**schema, "components": DOCUMENT["components"]}


def filled(reader: TestClient, path: str) -> str:
    """With an id of the demo for each parameter: the last of its list, or a trial that has a plan."""
    if path.endswith("/plan"):
        trials = [each["trial_id"] for each in reader.get("/api/v1/trials").json()["trials"]]
        addresses = [path.replace("{trial_id}", each) for each in trials]
        return next(each for each in addresses if reader.get(each).json()["plan"])
    for name, (listed, key) in OF_RECORDS.items():
        if "{" + name + "}" in path:
            path = path.replace("{" + name + "}", reader.get(f"/api/v1/{listed}").json()[listed][-1][key])
    return path


@pytest.mark.parametrize("path", [path for method, path in OPERATIONS if method == "get"])
def test_what_the_demo_answers_is_as_the_document_says(reader: TestClient, path: str) -> None:
    schema = one("get", path)["responses"]["200"]["content"]["application/json"]["schema"]
    validator = Draft202012Validator(rooted(schema))
    address: str | None = filled(reader, path)
    while address:
        answer = reader.get(address)
        assert answer.status_code == 200, answer.text
        assert [fault.message for fault in validator.iter_errors(answer.json())] == []
        address = answer.json().get("next")


def example_of(reader: TestClient, path: str) -> Any:
    """One of each list is enough to see what it is like."""
    address = filled(reader, path)
    listed = any(each["name"] == "limit" for each in one("get", path).get("parameters", []))
    return shortened(reader.get(address, params={"limit": 1} if listed else None).json())


def shortened(answer: Any) -> Any:
    if isinstance(answer, list):
        return [shortened(each) for each in answer[:1]]
    return {name: shortened(each) for name, each in answer.items()} if isinstance(answer, dict) else answer


def test_the_examples_are_what_the_demo_answers(reader: TestClient, pytestconfig: pytest.Config) -> None:
    """Written again with --rewrite-texts."""
    examples = {f"GET {path}": {"answer": example_of(reader, path)} for method, path in OPERATIONS if method == "get"}
    examples["POST /api/v1/operations"] = sent_and_answered(reader)
    if pytestconfig.getoption("--rewrite-texts"):
        EXAMPLES.write_text(json.dumps(examples, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    held = json.loads(EXAMPLES.read_text(encoding="utf-8"))
    assert held.keys() == examples.keys()
    for name, example in examples.items():
        assert shape(held[name]) == shape(example), name


def shape(example: Any, name: str = "") -> Any:
    """What stays when the demo is made anew: all but ids, moments and the last digits."""
    if isinstance(example, dict):
        return {key: shape(each, key) for key, each in example.items()}
    if isinstance(example, list):
        return [shape(each, name) for each in example]
    if isinstance(example, float):
        return pytest.approx(example, rel=1e-6)
    if isinstance(example, str) and is_id(example):
        return "an id"
    if name.endswith(("_id", "_ids", "_utc", *CHANGES)) or name in ("next", "t1", "t2", "seq", "rev"):
        return type(example).__name__
    return example


def sent_and_answered(reader: TestClient) -> Any:
    """A head is made, and the same sent again."""
    operation = {
        "op_id": new_id(),
        "action": "put",
        "noun": "head",
        "record_id": new_id(),
        "body": {"name": "short bodkin N9", "form": "short_bodkin", "length": "62 mm"},
    }
    sent = {"op_v": reader.get("/api/v1").json()["operation_form"], "ops": [operation]}
    answer = reader.post("/api/v1/operations", json=sent)
    assert answer.status_code == 200, answer.text
    return {"sent": sent, "answer": answer.json()}
