"""Every formula and statistic as its docstring tells it: what the methods page prints, so that it can't rot unseen."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import ModuleType

from server import physics, statistics

# In the order of a shot; what isn't named here comes after, by name.
ORDER = (
    "energy", "repeated_readings", "pooled_readings", "air", "flight", "fall", "uncertainty_budget", "bow", "virtual_mass", "bow_needed", "timing",
    "sound_onsets", "contact", "panel", "hardness", "resistance", "resistance_scaling", "resistance_of_missiles",
    "panel_blow", "trauma", "backing_drop",
)  # fmt: skip
SECTIONS = ("Takes", "Gives", "Refuses", "Holds while", "Weak when", "Source")
_SECTION = re.compile(rf"^({'|'.join(SECTIONS)})$", re.MULTILINE)
_TAKEN = re.compile(r"^    (\w+) {2,}(.*)$")


@dataclass(frozen=True)
class Method:
    """One public function: its name (an anchor), what it is for, its formula, what it takes, and what else it says."""

    name: str
    words: str
    formula: str
    takes: tuple[tuple[str, str], ...]
    sections: tuple[tuple[str, str], ...]
    example: str


@dataclass(frozen=True)
class Topic:
    """One file: what it is about, and its methods in order."""

    key: str
    words: str
    methods: tuple[Method, ...]


@cache
def topics() -> tuple[Topic, ...]:
    """All of them, physics and statistics together, in the order in which a shot asks for them."""
    found = [topic for package in (physics, statistics) for topic in _of_package(package)]
    return tuple(sorted(found, key=lambda topic: (_place(topic.key), topic.key)))


def method_names() -> frozenset[str]:
    return frozenset(method.name for topic in topics() for method in topic.methods)


def _place(key: str) -> int:
    return ORDER.index(key) if key in ORDER else len(ORDER)


def _of_package(package: ModuleType) -> Iterator[Topic]:
    for one in pkgutil.iter_modules(package.__path__):
        module = importlib.import_module(f"{package.__name__}.{one.name}")
        methods = tuple(
            method_of(name, inspect.getdoc(made) or "")
            for name, made in vars(module).items()
            if inspect.isfunction(made) and made.__module__ == module.__name__ and not name.startswith("_") and _SECTION.search(inspect.getdoc(made) or "")
        )
        if methods:
            yield Topic(one.name, _first_paragraph(inspect.getdoc(module) or one.name), methods)


def method_of(name: str, text: str) -> Method:
    """One docstring, taken apart at its sections."""
    text, _, example = text.partition("\n>>>")
    pieces = _SECTION.split(text)
    words, _, formula = pieces[0].strip().partition("\n")
    said = dict(zip(pieces[1::2], pieces[2::2], strict=True))
    return Method(
        name=name,
        words=words.rstrip("."),
        formula=re.sub(r"\s*\n\s*", "\n", formula.strip()),
        takes=tuple(_taken(said.pop("Takes", ""))),
        sections=tuple((heading, _flat(said[heading])) for heading in SECTIONS if heading in said),
        example=f">>>{example}".rstrip() if example else "",
    )


def _taken(text: str) -> Iterator[tuple[str, str]]:
    """(name, what it is), lines that go on put together."""
    name = ""
    words: list[str] = []
    for line in text.splitlines():
        found = _TAKEN.match(line)
        if found:
            if name:
                yield name, _flat(" ".join(words))
            name, words = found[1], [found[2]]
        else:
            words.append(line)
    if name:
        yield name, _flat(" ".join(words))


def _flat(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()


def _first_paragraph(text: str) -> str:
    return _flat(text.strip().split("\n\n")[0])
