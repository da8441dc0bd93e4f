"""The range's page has a smaller sheet of its own, and nothing that it shows goes without its looks."""

import re
from pathlib import Path

import pytest
from proofyard.pages.frame.rendering import assets
from proofyard.settings import data_folder
from starlette.testclient import TestClient

CLASS = re.compile(r"\.(-?[a-z][\w-]*)")


def sheet(name: str) -> str:
    body = assets().body(assets().urls[name])
    assert body is not None
    return body.plain.decode()


@pytest.fixture
def shown(archer: TestClient) -> set[str]:
    """Every class that the page or one of its scripts names."""
    named = set(re.findall(r'class="([^"]*)"', archer.get("/range").text))
    scripts = "".join(path.read_text(encoding="utf-8") for path in Path(data_folder("static") / "js" / "range").glob("*.js"))
    words = set(re.findall(r"[a-z][\w-]*", scripts))
    styled = {one for one in CLASS.findall(sheet("app.css")) if "_" in one or "--" in one}
    return {one for some in named for one in some.split()} | (styled & words)


def test_each_class_of_the_range_is_in_its_sheet_if_it_is_in_any(shown: set[str]) -> None:
    wanted = shown & set(CLASS.findall(sheet("app.css")))
    assert len(wanted) > 40
    assert wanted <= set(CLASS.findall(sheet("range.css")))


def test_the_sheet_is_smaller_and_asked_for_by_the_range_alone(archer: TestClient) -> None:
    assert len(sheet("range.css")) < 0.75 * len(sheet("app.css"))
    ranges, others = assets().urls["range.css"], assets().urls["app.css"]
    assert ranges in archer.get("/range").text and others not in archer.get("/range").text
    assert others in archer.get("/trials").text and ranges not in archer.get("/trials").text


def test_both_sheets_have_the_same_tokens_in_the_same_order() -> None:
    for whole, part in zip(*(re.findall(r"@layer (\w+) \{", sheet(name)) for name in ("app.css", "range.css")), strict=False):
        assert whole in ("tokens", "base", "layout", "parts", "pages", "tools") and part in (
            "tokens",
            "base",
            "layout",
            "parts",
            "pages",
            "tools",
        )
    assert sheet("app.css").split("@layer parts {")[0] == sheet("range.css").split("@layer parts {")[0]
