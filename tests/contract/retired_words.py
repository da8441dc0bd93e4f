"""Words that this book no longer uses, what it says instead, and where they are looked for.

    .venv/bin/python tests/contract/retired_words.py            what is left, file by file
    .venv/bin/python tests/contract/retired_words.py --shrink   write the counts that are left; none may grow

Looked at are the texts that a person reads (templates, scripts, the guide, README.md, sentences in the code, docstrings that the
methods page prints), the columns of the files, and identifiers (names in Python, scripts and templates, addresses, file names;
of tests the names alone, where what is left is mostly another meaning: a real doctor, a real finger, half of a width).
"""

from __future__ import annotations

import ast
import json
import re
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.contract.nodes_of_code import nodes_of

ROOT = Path(__file__).resolve().parents[2]
LEFT = Path(__file__).with_name("retired_words_left.json")


# The field's words are not ours, and what brings an earlier book or phone up to date has to name what it finds there.
SAY_THE_OLD = frozenset({"server/proofyard/wording/glossary.py", "static/guide/glossary.md", "static/js/range/upgrade.js"})


@dataclass(frozen=True)
class Retired:
    """old: as people said it. text, name: where it is met in sentences, in names (empty: nowhere). new: what to write."""

    old: str
    new: str
    text: str = ""
    name: str = ""


def _word(old: str, new: str, *, name: str = "") -> Retired:
    return Retired(old, new, rf"\b{old}s?\b", name or rf"{old}s?")


RETIRED = (
    _word("pairing", "combination"),
    Retired("walk", "end", r"\b(?:a|the|each|every|this|next|last|one|first|second|per) walks?\b|\bwalk \d", "walk(?:s|_id)?"),
    Retired("sort of panel", "panel type", r"\bsorts? of panels?\b", "(?:sorts?_of_panel|panel_sorts?)"),
    _word("rung", "outcome level"),
    Retired("ladder", "outcomes; fixed levels (of a plan of energies)", r"\bladders?\b", "ladders?"),
    Retired("way in", "where it went in", r"\bways? in\b(?! which)", "ways?_in"),
    Retired(
        "half get through",
        "50 % energy",
        r"\bhalf (?:of them |the shots |the arrows )?gets? through\b|\bthe half\b|\bnarrow the half\b",
        "half_through|halves|the_half|of_half|narrow_the_half",
    ),
    Retired("blow behind", "blunt impact behind armour", r"\bblows? behind\b|\bthe blows?\b|\bone blow\b", "blows?_behind|blows?"),
    Retired("doubt", "uncertainty", r"\bdoubts?\b", "doubts?"),
    Retired("give or take", "an interval, or ±", r"\bgive or take\b"),
    Retired("may be 63 to 90", "95 % interval 63 to 90", r"\bmay be (?:-|−|[\d{])"),
    Retired("struck", "crossed out; hit; on the panel", r"\bstruck\b", "struck"),
    Retired("strike", "hit; cross out", r"\b(?:a|the|this|each|every|and|or|to) strikes?\b", "strikes?|unstrike"),
    Retired("picture", "photo; chart; drawing", r"\bpictures?\b", "pictures?"),
    Retired("as sold", "nominal", r"\bas sold\b", "as_sold"),
    Retired("off square", "from square", r"\boff square\b", "off_square"),
    Retired("put out", "remove", r"\bput (?:it |this phone |the phone |them )?out\b|\bphones? that (?:is|are) in\b", "put_out"),
    Retired("look behind", "check from behind", r"\blook(?:s|ed)? behind\b", "look(?:ed)?_behind"),
    Retired(
        "behind (through)",
        "point through, head through, share through",
        r"\b(?:point|head|share|got|gets?|came|stood) behind\b|\bwhat stands behind\b",
        "(?:point|head|share|got|stood)_behind",
    ),
    Retired("a finger’s error", "position accuracy", r"\ba finger\b|\bfinger[’']s (?:error|breadth|width)\b|\bby finger\b", "finger"),
    Retired("take it along", "download", r"\btak(?:e|en) (?:it |them |this |the shots )?(?:along|home)\b", "take_along"),
    Retired("doctor", "check", r"\bproofyard doctor\b", "doctor"),
    Retired("range card", "range-day sheet", r"\brange card\b", "range_card"),
    Retired("to mind", "check before you trust this", r"\b(?-i:To mind)\b|\bMind, before\b", "to_mind"),
    Retired("anew, whence, of itself", "again, source, by default", r"\banew\b|\bwhence\b|\bof itself\b", "anew|whence"),
    Retired("not said", "not recorded", r"(?<!has )\bnot said\b|\bnobody said\b", "not_said"),
    Retired("Leave it", "Cancel", r"\b(?-i:Leave it)\b(?! empty)"),
    Retired("As the phone", "As the device", r"\b(?-i:As the phone)\b"),
    Retired("ask further", "more questions", r"\bask(?:ed|ing)? further\b", "ask_further"),
    Retired("told apart", "too few shots to show a difference", r"\btold apart\b", "told_apart"),
    Retired("carry a share", "too few shots to give a percentage", r"\bcarry a share\b|\bcarries a count\b"),
    Retired("strangers", "independent", r"\b0: strangers\b|\bare strangers\b"),
    Retired("not placed", "no estimate yet", r"\bnot (?:yet )?placed\b", "not_placed"),
    Retired("owed", "still to do", r"\bowe[ds]?\b", "owed|owes"),
    Retired("said beforehand", "prediction", r"\bsaid beforehand\b|\bsaid before\b"),
    Retired(
        "a loose",
        "a shot",
        r"\b(?:a|the|each|every|next|last|this|one|no|which|its) loose\b(?! (?:ring|head|lace|arrow|plate))|\blooses\b(?= of)",
    ),
    Retired("evening sheet", "day", r"\bevening sheet\b|\bevening[’']s page\b", "evening"),
    Retired("otherwise", "different", r"\bhad been otherwise\b"),
    Retired("at this address", "page not found", r"\bstands at this address\b"),
)


@dataclass(frozen=True)
class Place:
    """One file, what is read of it, and whether that is text or names."""

    path: str
    texts: tuple[str, ...]
    names: tuple[str, ...]


_IN_TEXT = {one: re.compile(one.text, re.IGNORECASE) for one in RETIRED if one.text}
_IN_NAME = {one: re.compile(rf"(?:^|_)(?:{one.name})(?:_|$)") for one in RETIRED if one.name}
_IN_ANY_NAME = re.compile(rf"(?:^|_)(?:{'|'.join(one.name for one in _IN_NAME)})(?:_|$)")


def faults_of(texts: Iterable[str], names: Iterable[str]) -> list[str]:
    """Each retired word met, as "old → new: where"."""
    found = []
    plain_texts = [re.sub(r"\s+", " ", text) for text in texts]
    together = "\0".join(plain_texts)  # no word goes on over it: what isn't found in all of them is in none
    for one in [one for one, pattern in _IN_TEXT.items() if pattern.search(together)]:
        for plain in plain_texts:
            found += [f"{one.old} → {one.new}: …{plain[max(0, m.start() - 25) : m.end() + 25]}…" for m in _IN_TEXT[one].finditer(plain)]
    for name in names:
        found += _faults_of_name(name)
    return found


@cache  # most names stand in many files
def _faults_of_name(name: str) -> list[str]:
    parts = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "_", name).replace("-", "_").lower()
    if not _IN_ANY_NAME.search(parts):
        return []
    return [f"{one.old} → {one.new}: {name}" for one, pattern in _IN_NAME.items() if pattern.search(parts)]


def of_python(source: str, *, printed_docstrings: bool) -> tuple[list[str], list[str]]:
    """Sentences and labels of a module; names that it defines. A docstring counts where the methods page prints it."""
    nodes = nodes_of(ast.parse(source))
    docstrings = {
        id(node.body[0].value)
        for node in nodes
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
        and isinstance(node.body[0].value, ast.Constant)
    }
    pieces = {id(part) for node in nodes if isinstance(node, ast.JoinedStr) for part in node.values}
    texts, names = [], []
    for node in nodes:
        if isinstance(node, ast.JoinedStr):
            texts.append("".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in pieces:
            if id(node) in docstrings:
                texts += [node.value] if printed_docstrings else []
            elif re.fullmatch(r"[a-z_][\w/-]*(?:\.\w+)?|/[\w/{}-]*", node.value):
                names += [part for part in re.split(r"[/{}.]", node.value) if part]
            else:
                texts.append(node.value)
        names += _defined(node)
    return texts, names


def _defined(node: ast.AST) -> list[str]:
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        return [node.name]
    if isinstance(node, ast.arg):
        return [node.arg]
    if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
        return [node.id]
    return []


def of_template(source: str) -> tuple[list[str], list[str]]:
    """Words of a template, attributes that are read aloud among them; classes, ids, names and addresses."""
    plain = re.sub(r"\{#.*?#\}", " ", source, flags=re.DOTALL)
    inside = " ".join(re.findall(r"\{[{%].*?[}%]\}", plain, flags=re.DOTALL))
    texts = [text for pair in re.findall(r"\"([^\"]*)\"|'([^']*)'", inside) for text in pair if " " in text or text[:1].isupper()]
    outside = re.sub(r"\{[{%].*?[}%]\}", "{}", plain, flags=re.DOTALL)
    texts += re.findall(r'(?:aria-label|title|alt|placeholder)="([^"]*)"', outside)
    names = [
        part
        for value in re.findall(r'(?:class|id|name|for|href|action|data-[\w-]+)="([^"]*)"', outside)
        for part in re.split(r"[\s/?#&={}.]+", value)
    ]
    texts.append(re.sub(r"<[^>]*>", "", outside))
    return texts, [name for name in names if name]


def of_script(source: str) -> tuple[list[str], list[str]]:
    """Strings of a script; its other words are names. Comments are neither."""
    plain = re.sub(r"/\*.*?\*/|(?<![:\"'`])//[^\n]*", " ", source, flags=re.DOTALL)
    strings = re.findall(r'"(?:\\.|[^"\\\n])*"|`(?:\\.|[^`\\])*`', plain)
    rest = re.sub(r'"(?:\\.|[^"\\\n])*"|`(?:\\.|[^`\\])*`', " ", plain)
    kept = [text[1:-1] for text in strings]
    texts = [text for text in kept if " " in text or text[:1].isupper()]
    names = [text for text in kept if text not in texts and re.fullmatch(r"[\w-]+", text)]
    return texts, [*names, *set(re.findall(r"[A-Za-z_]\w*", rest))]


def of_prose(source: str) -> tuple[list[str], list[str]]:
    return [re.sub(r"<!--.*?-->", " ", source, flags=re.DOTALL)], []


@cache
def places() -> tuple[Place, ...]:
    """Every file that is looked at, with its own path as a name."""
    return tuple(_places())


def _places() -> Iterator[Place]:
    for pattern in (
        "server/**/*.py",
        "seed_demo/*.py",
        "templates/**/*.html",
        "static/js/**/*.js",
        "static/guide/*.md",
        "static/css/**/*.css",
    ):
        for file in sorted(ROOT.glob(pattern)):
            path, source = file.relative_to(ROOT).as_posix(), file.read_text(encoding="utf-8")
            if path in SAY_THE_OLD:
                continue
            texts, names = _read(path, source)
            yield Place(path, tuple(texts), tuple([*names, *re.split(r"[/.]", path)]))
    for file in sorted(ROOT.glob("tests/**/*.py")):
        if not file.name.startswith(("retired_words", "test_retired_words")):
            yield Place(file.relative_to(ROOT).as_posix(), (), tuple(_names_of_a_test(file.read_text(encoding="utf-8"))))
    yield columns_of_files()
    yield Place("README.md", tuple(of_prose((ROOT / "README.md").read_text(encoding="utf-8"))[0]), ())


def _names_of_a_test(source: str) -> Iterable[str]:
    """The names that it defines; where no word of the file could be a fault, simply all its words, which takes no parsing."""
    words = set(re.findall(r"\w+", source))
    if not any(_faults_of_name(word) for word in words):
        return words
    return [name for node in nodes_of(ast.parse(source)) for name in _defined(node)]


def columns_of_files() -> Place:
    """What stands in the data dictionary; the glossary is left out, as it says the field's words too."""
    from proofyard.exchange.data_dictionary import FILES

    columns = [column for file in FILES.values() if file.name != "glossary.csv" for column in file.columns]
    texts = [text for column in columns for text in (column.meaning, column.values)]
    return Place("columns of files", tuple(texts), tuple(column.name for column in columns))


def _read(path: str, source: str) -> tuple[list[str], list[str]]:
    if path.endswith(".py"):
        return of_python(source, printed_docstrings="/physics/" in path or "/statistics/" in path)
    if path.endswith(".html"):
        return of_template(source)
    if path.endswith(".js"):
        return of_script(source)
    if path.endswith(".css"):
        return [], re.findall(r"[.#]([a-z][\w-]*)", re.sub(r"/\*.*?\*/", " ", source, flags=re.DOTALL))
    return of_prose(source)


def found_by_file() -> dict[str, list[str]]:
    return {place.path: faults for place in places() if (faults := faults_of(place.texts, place.names))}


def left() -> dict[str, int]:
    """How many each file may still have. It may only shrink."""
    counts: dict[str, int] = json.loads(LEFT.read_text(encoding="utf-8")) if LEFT.exists() else {}
    return counts


if __name__ == "__main__":
    now = found_by_file()
    if "--shrink" in sys.argv:
        before = left()
        counts = {path: min(len(faults), before.get(path, len(faults) if not before else 0)) for path, faults in now.items()}
        LEFT.write_text(json.dumps({path: count for path, count in sorted(counts.items()) if count}, indent=1) + "\n", encoding="utf-8")
    else:
        for path, faults in now.items():
            print(f"{path}: {len(faults)}", *faults, sep="\n    ")
    print(sum(len(faults) for faults in now.values()), "in", len(now), "files")
