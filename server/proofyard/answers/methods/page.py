"""Every formula and statistic as its docstring tells it: what the methods page prints, so that it can't rot unseen."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from types import ModuleType

from proofyard import physics, statistics
from proofyard.wording.method_topics import NAMES

# A file's name -> its heading and what the topic is called.
PLACES = {key: (heading, name) for heading, some in NAMES.items() for key, name in some.items()}
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

    @property
    def text(self) -> str:
        """All that it says, small, to look words up in."""
        taken = (f"{name} {words}" for name, words in self.takes)
        said = (f"{heading} {words}" for heading, words in self.sections)
        return "\n".join((self.name, self.words, self.formula, *taken, *said)).casefold()


@dataclass(frozen=True)
class Topic:
    """One file: its name in the address, what it is called and under which heading, what it is about, and its methods in order."""

    key: str
    name: str
    heading: str
    words: str
    methods: tuple[Method, ...]

    def only(self, asked: str) -> "Topic":
        """Its methods that say every word that is asked for; all of them if the topic itself is called so, or nothing is asked."""
        wanted = asked.casefold().split()
        about = f"{self.name} {self.words}".casefold()
        if all(word in about for word in wanted):
            return self
        return replace(self, methods=tuple(one for one in self.methods if all(word in about or word in one.text for word in wanted)))


@cache
def topics() -> tuple[Topic, ...]:
    """All of them, physics and statistics together, in the order in which a shot asks for them."""
    found = [topic for package in (physics, statistics) for topic in _of_package(package)]
    order = list(PLACES)
    return tuple(sorted(found, key=lambda topic: order.index(topic.key.replace("-", "_"))))


def topic_of(method: str) -> str | None:
    """The key of the topic that a method stands in."""
    return next((topic.key for topic in topics() if any(one.name == method for one in topic.methods)), None)


def method_names() -> frozenset[str]:
    return frozenset(method.name for topic in topics() for method in topic.methods)


def _of_package(package: ModuleType) -> Iterator[Topic]:
    for one in pkgutil.iter_modules(package.__path__):
        module = importlib.import_module(f"{package.__name__}.{one.name}")
        methods = tuple(
            method_of(name, inspect.getdoc(made) or "")
            for name, made in vars(module).items()
            if inspect.isfunction(made)
            and made.__module__ == module.__name__
            and not name.startswith("_")
            and _SECTION.search(inspect.getdoc(made) or "")
        )
        if methods:
            heading, name = PLACES[one.name]
            yield Topic(one.name.replace("_", "-"), name, heading, _first_paragraph(inspect.getdoc(module) or one.name), methods)


def method_of(name: str, text: str) -> Method:
    """One docstring, taken apart at its sections."""
    text, _, example = text.partition("\n>>>")
    pieces = _SECTION.split(text)
    words, _, formula = pieces[0].strip().partition("\n")
    said = dict(zip(pieces[1::2], pieces[2::2], strict=True))
    return Method(
        name=name,
        words=_flat(words).rstrip("."),
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
    """Prose on one line, with the apostrophes of a page: "can't", "Dixon's"; a quote or a prime of a formula stays as it is."""
    return re.sub(r"(?<=\w)'(?=[a-z]{1,2}\b)|(?<=[a-z]s)'(?= )", "\u2019", re.sub(r"\s+", " ", text)).strip()


def _first_paragraph(text: str) -> str:
    return _flat(text.strip().split("\n\n")[0])
