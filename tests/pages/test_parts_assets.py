"""Style, scripts and drawings: joined in order, named by content, kept for ever, packed when asked."""

import gzip
import hashlib
import re
import shutil
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from proofyard.access.door import HeadWhereGet
from proofyard.pages.frame.assets import Assets, assets_router, htmx_file, joined_sheet, takes_gzip
from proofyard.settings import data_folder

# SHA-256 of htmx.min.js 2.0.3, worked out from the file that django-js-lib-htmx 2.0.3 installed when it was chosen.
# A test of the supply, not of htmx: whoever takes a newer one looks at it and writes its sum here.
HTMX_SHA256 = "491955cd1810747d7d7b9ccb936400afb760e06d25d53e4572b64b6563b2784e"


@pytest.fixture(scope="module")
def served() -> Assets:
    return Assets(data_folder("static"))


@pytest.fixture(scope="module")
def client(served: Assets) -> TestClient:
    app = FastAPI()
    app.include_router(assets_router(served))
    return TestClient(app)


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    return Path(shutil.copytree(data_folder("static"), tmp_path / "static"))


def test_htmx_is_the_file_that_was_looked_at() -> None:
    assert hashlib.sha256(htmx_file().read_bytes()).hexdigest() == HTMX_SHA256


def test_no_copy_of_htmx_lies_in_the_repository() -> None:
    assert [path for path in data_folder("static").rglob("*.js") if "htmx" in path.name] == []


def test_sheets_are_joined_in_the_order_of_the_contents_each_in_its_layer(tmp_path: Path) -> None:
    (tmp_path / "app.css").write_text(
        '/* contents */\n@layer low, high;\n@import "b.css" layer(low);\n@import "a.css" layer(high);\n@import "p.css" layer(high) print;\n'
    )
    (tmp_path / "a.css").write_text("a { color: red; } /* why */")
    (tmp_path / "b.css").write_text("b { color: blue; }")
    (tmp_path / "p.css").write_text("p { display: none; }")
    assert joined_sheet(tmp_path) == (
        "@layer low, high;\n@layer low {\nb { color: blue; }\n}\n@layer high {\na { color: red; }\n}\n"
        "@media print {\n@layer high {\np { display: none; }\n}\n}\n"
    )


def test_the_shipped_sheet_holds_every_sheet_and_no_import(served: Assets) -> None:
    body = served.body(served.urls["app.css"])
    assert body is not None
    text = body.plain.decode()
    assert text.startswith("@layer tokens, base, layout, parts, pages, tools;")
    assert "@import" not in text
    assert text.count("{") == text.count("}")
    for name in ("masthead", "outcomes", "field", "tally", "panel"):
        assert f".{name}" in text


def test_a_changed_sheet_gets_another_name_and_nothing_else_does(copy: Path) -> None:
    before = Assets(copy)
    sheet = copy / "css" / "parts" / "outcomes.css"
    sheet.write_text(sheet.read_text() + "\n.outcomes__item { color: red; }\n")
    after = Assets(copy)
    assert before.urls["app.css"] != after.urls["app.css"]
    assert before.urls["glyphs.svg"] == after.urls["glyphs.svg"]
    assert before.urls["js/live.js"] == after.urls["js/live.js"]
    assert after.body(before.urls["app.css"]) is None


def test_scripts_share_one_folder_so_that_one_may_import_another(copy: Path) -> None:
    (copy / "js" / "deeper").mkdir(exist_ok=True)
    (copy / "js" / "deeper" / "one.js").write_text('import "../live.js";')
    before = Assets(copy)
    folder = before.urls["js/live.js"].removesuffix("live.js")
    assert before.urls["js/deeper/one.js"] == folder + "deeper/one.js"
    (copy / "js" / "live.js").write_text("// changed")
    # The importing file didn't change, its address must: a phone would pair it with the old one.
    assert Assets(copy).urls["js/deeper/one.js"] != before.urls["js/deeper/one.js"]


def test_the_same_files_get_the_same_names_at_every_start(copy: Path) -> None:
    one, two = Assets(copy), Assets(copy)
    assert {name: one.urls[name] for name in one.urls} == {name: two.urls[name] for name in two.urls}


def test_every_module_that_a_script_imports_is_served(served: Assets) -> None:
    for name in served.urls:
        if name.startswith("js/"):
            body = served.body(served.urls[name])
            assert body is not None
            for wanted in re.findall(r'(?:from|import)\s+"(\.[^"]+)"', body.plain.decode()):
                place = (Path("/x") / name).parent / wanted
                parts: list[str] = []
                for step in place.parts:
                    parts = parts[:-1] if step == ".." else parts if step == "." else [*parts, step]
                assert "/".join(parts[2:]) in served.urls, (name, wanted)


def test_an_asset_is_kept_for_ever_and_taken_for_what_it_says(served: Assets, client: TestClient) -> None:
    for name in served.urls:
        answer = client.get(served.urls[name])
        assert answer.status_code == 200
        assert answer.headers["cache-control"] == "public, max-age=31536000, immutable"
        assert answer.headers["x-content-type-options"] == "nosniff"
    assert client.get(served.urls["js/live.js"]).headers["content-type"] == "text/javascript; charset=utf-8"
    assert client.get(served.urls["glyphs.svg"]).headers["content-type"].startswith("image/svg+xml")


def test_packed_for_who_takes_it_packed_and_the_same_inside(served: Assets, client: TestClient) -> None:
    url = served.urls["app.css"]
    packed = client.get(url, headers={"accept-encoding": "gzip"})
    plain = client.get(url, headers={"accept-encoding": "identity"})
    assert packed.headers["content-encoding"] == "gzip"
    assert "content-encoding" not in plain.headers
    assert packed.content == plain.content
    body = served.body(url)
    assert body is not None
    assert body.packed is not None
    assert gzip.decompress(body.packed) == body.plain
    assert len(body.packed) < len(body.plain) / 2
    assert packed.headers["vary"] == plain.headers["vary"] == "Accept-Encoding"


@pytest.mark.parametrize(
    ("said", "takes"),
    [
        ("gzip", True),
        ("br, gzip;q=0.8", True),
        ("*", True),
        ("GZIP", True),
        ("gzip;q=0", False),
        ("gzip; q=0.000", False),
        ("br", False),
        ("", False),
    ],
)
def test_what_a_browser_says_about_packing_is_heeded(said: str, takes: bool) -> None:
    assert takes_gzip(said) is takes


@pytest.mark.parametrize("path", ["app-000000000000.css", "../server/app.py", "css/app.css", ""])
def test_nothing_else_is_served_and_nobody_keeps_that(client: TestClient, path: str) -> None:
    answer = client.get(f"/static/{path}")
    assert answer.status_code == 404
    assert answer.headers.get("cache-control", "no-store") == "no-store"


def test_head_tells_what_get_would_send(served: Assets) -> None:
    app = FastAPI()
    app.include_router(assets_router(served))
    answer = TestClient(HeadWhereGet(app)).head(served.urls["app.css"], headers={"accept-encoding": "identity"})
    body = served.body(served.urls["app.css"])
    assert body is not None
    assert answer.status_code == 200
    assert answer.content == b""
    assert int(answer.headers["content-length"]) == len(body.plain)


def test_the_first_visit_is_small(served: Assets) -> None:
    """Style, glyphs, htmx and the scripts of every page, packed: what a phone loads once. The limit is our own."""
    wanted = ("app.css", "glyphs.svg", "icon.svg", "htmx.min.js", "js/told.js", "js/keep_typing.js", "js/live.js")
    bodies = [served.body(served.urls[name]) for name in wanted]
    assert sum(len(body.packed or body.plain) for body in bodies if body is not None) < 40_000
