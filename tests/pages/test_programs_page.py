"""The owner's page of programs: a token is made, shown once, and ended; what is wrong is said beside its field."""

import html as markup
import re

import pytest
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House

GOOD = {"call_name": "Notebook", "scope": "read", "trial": "", "days": "30"}


def token_in(page: str) -> str:
    return str(re.findall(r"<code>(proofyard_[\w-]+)</code>", page)[0])


def asked_with(house: House, token: str) -> int:
    return house.client().get("/api/v1", headers={"Authorization": f"Bearer {token}"}).status_code


def test_a_token_is_shown_once_with_a_line_to_try_it_and_then_never_again(house: House, owner: TestClient) -> None:
    made = owner.post("/programs", data=GOOD)
    token = token_in(made.text)
    assert f'curl -H "Authorization: Bearer {token}"' in markup.unescape(made.text)
    assert made.headers["cache-control"] == "no-store"
    assert asked_with(house, token) == 200
    again = owner.get("/programs").text
    assert token not in again and "Notebook" in again and "reads, until" in again and "last used" in again


def test_a_program_that_was_removed_is_out_at_once_and_stays_in_the_list(house: House, owner: TestClient) -> None:
    token = token_in(owner.post("/programs", data=GOOD).text)
    action = re.findall(r'action="(/programs/[^"]+/remove)"', owner.get("/programs").text)[0]
    assert owner.post(action).status_code == 303
    assert asked_with(house, token) == 401
    assert "removed" in owner.get("/programs").text
    assert owner.post(action).status_code == 409


def test_programs_stand_in_no_list_of_phones_and_a_phone_is_not_removed_as_a_program(house: House, owner: TestClient) -> None:
    owner.post("/programs", data=GOOD)
    assert "Notebook" not in owner.get("/phones").text
    assert owner.post(f"/programs/{house.device_ids['viewer']}/remove").status_code == 409
    program = re.findall(r'action="/programs/([^"/]+)/remove"', owner.get("/programs").text)[0]
    assert owner.get(f"/phones/{program}").status_code == 404


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("call_name", "", "Type what the program is called"),
        ("call_name", "n" * 41, "41 letters are too many"),
        ("days", "0", "Type 1 to 366"),
        ("days", "367", "Type 1 to 366"),
        ("days", "a year", "“a year” is not a count of days"),
        ("trial", "nobody", "The book has no such trial"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_is_still_there(owner: TestClient, field: str, typed: str, said: str) -> None:
    answer = owner.post("/programs", data={**GOOD, "scope": "log", field: typed})
    page = markup.unescape(answer.text)
    assert answer.status_code == 422 and said in page and "<code>" not in page
    for name in ("call_name", "days"):
        kept = typed if name == field else GOOD[name]
        assert f'name="{name}"' in page and f'value="{kept}"' in page
    assert re.search(r'value="log"[^>]* checked', page)


def test_a_program_that_logs_needs_the_whole_book(house: House, owner: TestClient) -> None:
    trial = kit.trial(house.storage, "Another?")
    answer = owner.post("/programs", data={**GOOD, "scope": "log", "trial": trial})
    assert answer.status_code == 422 and "A program that logs needs the whole book" in answer.text
    reads = owner.post("/programs", data={**GOOD, "trial": trial})
    assert "sees one trial: Another?" in reads.text
