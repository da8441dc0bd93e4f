"""The shape of templates and sheets: what the content policy, a keyboard, a screen reader and the next reader need.

Source is read with the Jinja parts taken out, so what a macro builds is checked where it is rendered
(tests/pages/test_parts.py); here stands what can be told without a page's facts.
"""

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from proofyard.pages.frame.rendering import MACRO_FILES, environment

REPOSITORY = Path(__file__).resolve().parents[2]
TEMPLATES = REPOSITORY / "templates"
STATIC = REPOSITORY / "static"
SHEETS = STATIC / "css"
ALL = sorted(path.relative_to(TEMPLATES).as_posix() for path in TEMPLATES.rglob("*.html"))
PAGES_AND_PARTS = [name for name in ALL if not name.startswith("macros/")]
PARTS = [name for name in ALL if Path(name).name.startswith("_")]
VOID = frozenset(["area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"])
COMMENT = re.compile(r"\{#.*?#\}", re.DOTALL)
STATEMENT = re.compile(r"\{%.*?%\}", re.DOTALL)
EXPRESSION = re.compile(r"\{\{.*?\}\}", re.DOTALL)
HX_ASKS = ("hx-get", "hx-post", "hx-put", "hx-patch", "hx-delete")
# A part that the doorbell refreshes sends nothing and leads nowhere: with script off it stands as it was drawn.
DOORBELL = "proofyard:changed"


def source(name: str) -> str:
    return (TEMPLATES / name).read_text(encoding="utf-8")


def markup(text: str) -> str:
    """The HTML of a template, each expression as one harmless word."""
    return EXPRESSION.sub("x", STATEMENT.sub("", COMMENT.sub("", text)))


class Elements(HTMLParser):
    """Every start tag, whether it stands at the top, and the text right inside a script or style."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str]]] = []
        self.roots: list[tuple[str, dict[str, str]]] = []
        self.inline_code = ""
        self._open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = (tag, {key: value or "" for key, value in attrs})
        self.found.append(element)
        if not self._open:
            self.roots.append(element)
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = (tag, {key: value or "" for key, value in attrs})
        self.found.append(element)
        if not self._open:
            self.roots.append(element)

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] in ("script", "style"):
            self.inline_code += data.strip()


def faults(text: str) -> list[str]:
    """What the content policy would block, what htmx would fail open on, and what needs script to work."""
    elements = Elements(text)
    told = [f"code inline: {elements.inline_code[:40]}"] if elements.inline_code else []
    for tag, attributes in elements.found:
        if tag == "style":
            told.append("a style element")
        for key, value in attributes.items():
            if key == "style" or key.startswith(("on", "hx-on", "data-hx-on")):
                told.append(f"<{tag} {key}>")
            if key == "hx-trigger" and "[" in value:
                told.append(f"a filter in hx-trigger={value!r}: htmx sends anyway when it can't evaluate it")
            if value.strip().lower().startswith(("javascript:", "js:")):
                told.append(f"<{tag} {key}={value!r}>")
        asks = any(attributes.get(key) for key in HX_ASKS)
        way_without_script = any(attributes.get(key) for key in ("href", "action", "formaction"))
        if asks and not way_without_script and not attributes.get("hx-trigger", "").startswith(DOORBELL):
            told.append(f"<{tag}> asks by htmx and has no href or action")
    return told


@pytest.mark.parametrize("name", ALL)
def test_no_template_holds_code_or_style_or_a_way_that_needs_script(name: str) -> None:
    assert faults(markup(source(name))) == []


@pytest.mark.parametrize(
    "planted",
    [
        '<p style="color: red">',
        "<style>p {}</style>",
        "<script>alert(1)</script>",
        '<button onclick="go()">',
        '<div hx-on:click="go()">',
        '<form action="/a" hx-post="/a" hx-trigger="click[false]"></form>',
        '<a href="javascript:go()">',
        '<button hx-post="/a">',
        '<section hx-get="/a" hx-trigger="load"></section>',
        """<p hx-vals="js:{a: 1}">""",
    ],
)
def test_the_check_finds_each_planted_fault(planted: str) -> None:
    assert faults(planted)


def test_the_check_lets_a_part_be_refreshed_by_the_doorbell() -> None:
    assert faults('<section hx-get="/a" hx-trigger="proofyard:changed from:body"></section>') == []


@pytest.mark.parametrize("name", ALL)
def test_every_template_compiles_and_trusts_no_text(name: str) -> None:
    environment().get_template(name)
    assert not re.search(r"\|\s*safe\b|autoescape\s+false", COMMENT.sub("", source(name)))


@pytest.mark.parametrize("name", PAGES_AND_PARTS)
def test_controls_are_made_by_macros(name: str) -> None:
    tags = {tag for tag, _ in Elements(markup(source(name))).found}
    assert tags.isdisjoint({"input", "select", "textarea", "button", "fieldset"})


@pytest.mark.parametrize("name", PARTS)
def test_a_part_is_one_element_named_after_its_file(name: str) -> None:
    path = Path(name)
    place = "-".join([*path.parent.parts, path.stem.removeprefix("_")]).replace("_", "-")
    roots = Elements(markup(source(name))).roots
    assert "{% extends" not in source(name)
    assert [attributes.get("id") for _, attributes in roots] == [place]


@pytest.mark.parametrize("name", ALL)
def test_nothing_imports_a_macro(name: str) -> None:
    assert not re.search(r"\{%-?\s*(import|from)\b", source(name))


# A reason that is said without its reader is said in metric. These speak of addresses and never of a figure.
OF_ADDRESSES = frozenset({"home/page.html", "join/page.html", "phones/page.html", "range_day_sheet/page.html"})
SAID_TO_NOBODY = re.compile(r"\|\s*(?:said|sentence)\b(?!\()|map\(\"(?:said|sentence)\"\)")


@pytest.mark.parametrize("name", [name for name in ALL if name not in OF_ADDRESSES])
def test_each_reason_is_said_in_its_readers_units(name: str) -> None:
    assert SAID_TO_NOBODY.findall((TEMPLATES / name).read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("planted", ["{{ why|said }}", "{{ a ~ b|sentence ~ c }}", '{{ all|map("said")|join }}'])
def test_the_rule_sees_a_reason_that_is_said_to_nobody(planted: str) -> None:
    assert SAID_TO_NOBODY.search(planted)


def test_every_macro_file_is_loaded() -> None:
    assert sorted(MACRO_FILES) == sorted(path.stem for path in (TEMPLATES / "macros").glob("*.html"))


def glyph_ids() -> set[str]:
    return set(re.findall(r'<symbol id="([\w-]+)"', (STATIC / "glyphs.svg").read_text(encoding="utf-8")))


@pytest.mark.parametrize("name", ALL)
def test_every_glyph_that_is_named_is_drawn(name: str) -> None:
    text = COMMENT.sub("", source(name))
    named = re.findall(r'\bglyph\("([\w-]+)"[,)]', text) + re.findall(r'\bglyph_name="([\w-]+)"', text)
    assert set(named) <= glyph_ids()


# Sheets


def sheet_rules(path: Path) -> Iterator[str]:
    """The selectors of a sheet, one a rule, without what stands around them (@media, @supports)."""
    text = re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    for selector in re.findall(r"([^{};]+)\{", text):
        if not selector.strip().startswith("@"):
            yield selector.strip()


def classes_of(selector: str) -> set[str]:
    return set(re.findall(r"\.(-?[a-zA-Z][\w-]*)", re.sub(r"\[[^\]]*\]", "", selector)))


def known_classes() -> set[str]:
    """What the sheets name, and the blocks themselves: a block may need no rule of its own, only its pieces do."""
    blocks = {path.stem for folder in ("parts", "pages") for path in (SHEETS / folder).glob("*.css")}
    return blocks | {one for path in SHEETS.rglob("*.css") for rule in sheet_rules(path) for one in classes_of(rule)}


CLASS = re.compile(r'\bclass="((?:\{\{.*?\}\}|\{%.*?%\}|[^"])*)"', re.DOTALL)


def used_classes(text: str) -> set[str]:
    """Class words of a template; one that an expression completes ends in "*"."""
    used: set[str] = set()
    for value in CLASS.findall(COMMENT.sub("", text)):
        # Words that an expression chooses (`" row--need" if need`) begin with a space, or are a block's variant.
        chosen = [one for part in EXPRESSION.findall(value) for one in re.findall(r'"([^"]*)"', part)]
        for one in chosen:
            if one.startswith(" ") or "__" in one:
                used |= {word + "*" if word.endswith("-") else word for word in one.split()}
        glued = re.sub(r"(\S)\{\{\s*\"\s.*?\}\}", r"\1", STATEMENT.sub(" ", value))  # starts a word of its own
        used |= {word.split("*")[0] + "*" if "*" in word else word for word in EXPRESSION.sub("*", glued).split()}
    return used - {"*"}


def is_known(word: str, known: set[str]) -> bool:
    return any(one.startswith(word[:-1]) for one in known) if word.endswith("*") else word in known


@pytest.mark.parametrize("name", ALL)
def test_every_class_in_a_template_is_in_a_sheet(name: str) -> None:
    known = known_classes()
    assert {word for word in used_classes(source(name)) if not is_known(word, known)} == set()


def test_every_look_that_a_chart_names_is_in_a_sheet() -> None:
    """Marks of charts get their classes in Python; those that end in an expression ("outcome--{n}") begin as one of a sheet does."""
    named: set[str] = set()
    for path in (REPOSITORY / "server" / "proofyard" / "charts").glob("*.py"):
        named |= set(re.findall(r"\b(?:chart|panel|outcome)(?:__|--)[\w-]*(?:\{)?", path.read_text(encoding="utf-8")))
    assert len(named) > 20
    assert {word for word in named if not is_known(word.replace("{", "*"), known_classes())} == set()


def test_the_class_check_reads_what_it_should() -> None:
    assert used_classes('<p class="field field--{{ kind }}">') == {"field", "field--*"}
    assert used_classes('<p class="row{{ " row--need" if need }}">') == {"row", "row--need"}
    assert used_classes('<p class="outcome outcome--{{ n }}{{ " outcome__tile" if tile }}">') == {"outcome", "outcome--*", "outcome__tile"}
    assert not is_known("nothing-like-it", known_classes())
    assert not is_known("nothing--*", known_classes())


@pytest.mark.parametrize("path", sorted(SHEETS.glob("p*/*.css")) + [SHEETS / "layout.css"], ids=lambda p: p.stem)
def test_a_class_is_named_after_its_file(path: Path) -> None:
    own = re.compile(rf"\.{re.escape(path.stem)}(?![a-zA-Z0-9])(?!-[a-z])")
    strangers = [one for selector in sheet_rules(path) for one in split_list(selector) if not own.search(one)]
    assert strangers == []


def split_list(selector: str) -> list[str]:
    """The single selectors of a list; a comma inside :is() or :not() parts nothing."""
    singles, depth, word = [], 0, ""
    for sign in selector:
        depth += (sign == "(") - (sign == ")")
        if sign == "," and depth == 0:
            singles.append(word.strip())
            word = ""
        else:
            word += sign
    return [*singles, word.strip()]


@pytest.mark.parametrize("path", sorted(SHEETS.rglob("*.css")), ids=lambda p: p.stem)
def test_a_sheet_names_no_id_fetches_nothing_and_forces_nothing(path: Path) -> None:
    text = re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    assert "!important" not in text
    assert "url(" not in text
    assert [selector for selector in sheet_rules(path) if "#" in selector] == []


def test_the_contents_name_every_sheet_once() -> None:
    named = re.findall(r'@import "([^"]+)"', (SHEETS / "app.css").read_text(encoding="utf-8"))
    there = [path.relative_to(SHEETS).as_posix() for path in SHEETS.rglob("*.css") if path.name != "app.css"]
    assert sorted(named) == sorted(there)


def test_tools_stay_few() -> None:
    assert len(list(sheet_rules(SHEETS / "tools.css"))) <= 10


def test_only_tokens_and_print_hold_raw_colours() -> None:
    for path in SHEETS.rglob("*.css"):
        text = re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        colours = re.findall(r":[^;{}]*#[0-9a-fA-F]{3,8}\b", text)
        # The code a phone scans is black on white under every light: a scanner reads nothing else for sure.
        assert not colours or path.name in ("tokens.css", "print.css", "join.css", "sync-card.css"), path


@pytest.mark.parametrize("folder", ["server", "static", "templates", "seed_demo"])
def test_no_text_of_ours_holds_a_soft_hyphen(folder: str) -> None:
    """It is copied with the word, goes into files, titles and what a screen reader is told, and a word with one is not found by
    who searches the text of a file. Words break by style (`overflow-wrap`, `hyphens`), which stands in no text."""
    soft = re.compile("\u00ad|&shy;|&#173;|&#xad;|\\\\xad|\\\\u00ad|SOFT HYPHEN", re.IGNORECASE)
    kinds = (".py", ".html", ".css", ".js", ".md", ".svg", ".csv")
    found = [path for path in sorted((REPOSITORY / folder).rglob("*")) if path.suffix in kinds]
    assert found and [str(path) for path in found if soft.search(path.read_text(encoding="utf-8"))] == []
