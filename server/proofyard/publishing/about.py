"""What a published site says of itself: whom to cite, under which licence, as words and as schema.org writes a data set."""

import json
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

from proofyard.publishing.choices import Choices
from proofyard.records.licences import LICENCES
from proofyard.wording.when import day_words

ATOM = "http://www.w3.org/2005/Atom"
FEED = "feed.xml"
WHAT = "Shots with reproduction arrows at reproduction armour: what each did, and at which energy."


@dataclass(frozen=True)
class PublishedTrial:
    """A trial of the site: its question, its first and last day of shooting (ISO; empty if none), its file."""

    question: str
    first_day: str
    last_day: str
    file: str


@dataclass(frozen=True)
class About:
    """state_day: the day of the newest change in the book, ISO; state: "change 1270", which names that state; packages: the files of
    data packages."""

    trials: tuple[PublishedTrial, ...]
    state_day: str
    state: str
    choices: Choices
    packages: tuple[str, ...] = ()

    @property
    def citation(self) -> str:
        """Whom to cite, what, and which state of it."""
        who = self.choices.authors.strip() or "The archers, who did not give their names"
        what = self.trials[0].question.rstrip("?") + "?" if len(self.trials) == 1 else f"{len(self.trials)} trials of arrows at armour"
        return f"{who} ({self.state_day[:4]}): {what} Data of {day_words(self.state_day)}, {self.state}."

    @property
    def rights(self) -> str:
        """What others may do with it."""
        return f"Licence: {self.choices.licence}." if self.choices.licence else "No licence was given: ask before you use it elsewhere."


def data_set(about: About) -> str:
    """The site as schema.org/Dataset in JSON-LD (schema.org 28: name, description, license, temporalCoverage, version,
    distribution).

    It can be put into a page as it is: no "<" stands in it.
    """
    days = sorted(day for one in about.trials for day in (one.first_day, one.last_day) if day)
    said: dict[str, Any] = {
        "@context": "https://schema.org",
        "@type": "Dataset",
        "name": about.trials[0].question if len(about.trials) == 1 else "Trials of reproduction arrows at reproduction armour",
        "description": " ".join((WHAT, *(one.question for one in about.trials))),
        "version": about.state,
        "dateModified": about.state_day,
        "isAccessibleForFree": True,
        "measurementTechnique": "Shots at hung panels, speeds by chronograph, outcomes read at the panel",
    }
    if days:
        said["temporalCoverage"] = f"{days[0]}/{days[-1]}"
    if about.packages:
        said["distribution"] = [
            {"@type": "DataDownload", "encodingFormat": "application/zip", "contentUrl": name} for name in about.packages
        ]
    if about.choices.licence:
        said["license"] = LICENCES[about.choices.licence].path
    if about.choices.authors.strip():
        said["creditText"] = about.choices.authors.strip()  # whether these are persons or a group, nobody has said
    return json.dumps(said, ensure_ascii=False, sort_keys=True).replace("<", "\\u003c")


def feed(about: About) -> bytes:
    """The trials as an Atom feed (RFC 4287), newest first; links are relative, so that the site may lie anywhere."""
    ElementTree.register_namespace("", ATOM)
    root = ElementTree.Element(f"{{{ATOM}}}feed")
    newest = max((one.last_day for one in about.trials if one.last_day), default=about.state_day)
    _add(root, "title", "Trials")
    _add(root, "id", f"urn:proofyard:{about.state}")
    _add(root, "updated", f"{newest}T00:00:00Z")
    author = ElementTree.SubElement(root, f"{{{ATOM}}}author")
    _add(author, "name", about.choices.authors.strip() or "not given")
    for one in sorted(about.trials, key=lambda trial: (trial.last_day, trial.file), reverse=True):
        entry = ElementTree.SubElement(root, f"{{{ATOM}}}entry")
        _add(entry, "title", one.question)
        _add(entry, "id", f"urn:proofyard:trial:{one.file.removesuffix('.html')}")
        _add(entry, "updated", f"{one.last_day or about.state_day}T00:00:00Z")
        ElementTree.SubElement(entry, f"{{{ATOM}}}link", {"href": one.file})
        _add(entry, "summary", one.question)
    return bytes(ElementTree.tostring(root, encoding="utf-8", xml_declaration=True))


def _add(parent: ElementTree.Element, name: str, text: str) -> None:
    ElementTree.SubElement(parent, f"{{{ATOM}}}{name}").text = text
