"""What the book can be searched for: a document a shot, session, trial, panel, arrow, head, bow and photo, as plain words.

One function gives them, whatever keeps them. A shot's document leaves out its trial's question: every shot of a trial that asks about
broadheads would be found as one.
"""

import calendar
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.arrow import FORMS, Arrow, ArrowBuild, Head
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.columns import Noun, meanings
from proofyard.records.listing import all_of
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.photo import SEEN_FROM, Photo
from proofyard.records.photo_facts import shots_with_photos
from proofyard.records.search_words import ended, names_of_shot, said_of_shot, written_of_shot
from proofyard.records.shot import Shot
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.records.trial import Incident, Setup, ShootingEnd, Trial
from proofyard.records.trial import Session as Day

FIRST_THROUGH = 4  # the lowest outcome level with the point behind the rear face
FIRST_OPEN = 3
# Other words for what the book names: common practice, no source.
SYNONYMS: Mapping[str, str] = MappingProxyType(
    {
        "needle": "bodkin",
        "short_bodkin": "bodkin",
        "lozenge": "bodkin",
        "barbed": "broadhead",
        "leaf": "broadhead",
        "mail": "chainmail maille rings",
        "plate": "plate",
        "textile": "gambeson cloth padded",
    }
)
THROUGH = "through perforated penetrated"
OPEN = "opened split"
# What a shot's document is made of: a change of one of these changes the documents of the shots that have it.
OF_SHOTS: Mapping[str, str] = MappingProxyType(
    {
        "shot": "shot_id",
        "shot_reading": "shot_id",
        "shooting_end": "shooting_end_id",
        "setup": "setup_id",
        "session": "session_id",
        "trial": "trial_id",
        "panel": "panel_id",
        "panel_build": "panel_build_id",
        "bow": "bow_id",
        "bow_build": "bow_build_id",
        "arrow": "arrow_id",
        "arrow_build": "arrow_build_id",
        "head": "head_id",
        "archer": "archer_id",
    }
)


@dataclass(frozen=True)
class Document:
    """One thing that can be found. `line`: what tells it from others, for a list; `trials`: whose viewers may see it, by id.

    title  its label, tag or name; names: of kit, person, day and place; words: what was picked, measured by eye or written
    page   the id that its page goes by, where that isn't its own
    opens  of a shot: the panel and the arrow that a viewer of its trial may see for it
    """

    noun: str
    record_id: str
    title: str
    names: str
    words: str
    line: str
    trials: tuple[str, ...]
    page: str = ""
    opens: tuple[str, ...] = ()


def documents(session: Session) -> Iterator[Document]:
    """All of them, in as many statements whatever there is."""
    yield from map(shot_document, shot_facts(session, voided=True))
    yield from other_documents(session)


def changed_shots(session: Session, changed: Iterable[tuple[str, str]]) -> list[Document]:
    """The documents of the shots that these changes, (noun, record id), bear on."""
    by_column: dict[str, set[str]] = {}
    for noun, record_id in changed:
        if noun in OF_SHOTS:
            by_column.setdefault(OF_SHOTS[noun], set()).add(record_id)
    facts = [fact for column, ids in by_column.items() for fact in shot_facts(session, voided=True, **{column: ids})]
    return [shot_document(fact) for fact in {fact.shot_id: fact for fact in facts}.values()]


def _joined(*parts: str | None) -> str:
    return ", ".join(part for part in parts if part)


def day_spelled(day: str) -> str:
    """A day in both ways that people type it.

    >>> day_spelled("2026-10-17")
    '2026-10-17 17 October 2026'
    """
    try:
        found = date.fromisoformat(day)
    except ValueError:
        return day
    return f"{day} {found.day} {calendar.month_name[found.month]} {found.year}"


def shot_document(fact: ShotFact) -> Document:
    high = -1 if fact.outcome_high is None else fact.outcome_high
    more = (
        SYNONYMS.get(fact.form or ""),
        SYNONYMS.get(fact.construction or ""),
        OPEN if high >= FIRST_OPEN else None,
        THROUGH if high >= FIRST_THROUGH else None,
        "unread" if fact.unread else None,
        "crossed out" if fact.voided else None,
    )
    said = said_of_shot(fact)
    names = names_of_shot(fact)
    return Document(
        "shot",
        fact.shot_id,
        fact.label,
        _joined(*names, day_spelled(fact.day)),
        _joined(*said, *more),
        _line(fact),
        () if fact.voided else (fact.trial_id,),
        opens=(fact.panel_id, fact.arrow_id),
    )


def _line(fact: ShotFact) -> str:
    head = " ".join(part for part in (FORMS.get(fact.form or ""), fact.head_name) if part)
    voided = "Crossed out" if fact.voided else None
    return _joined(voided, ended(fact), head, fact.panel_name, fact.archer, fact.bow_name, fact.day, *written_of_shot(fact))


def other_documents(session: Session) -> Iterator[Document]:
    """All but the shots'."""
    trials_of = _trials_of(session)
    yield from _days(session)
    yield from (_of_row("trial", one, one.question, trials=(one.id,)) for one in all_of(session, Trial))
    newest, work = _builds(session)
    for panel in all_of(session, Panel):
        more = _joined(SYNONYMS.get(panel.construction or ""), work.get(panel.id))
        yield _of_row("panel", panel, panel.name, more=more, trials=trials_of.get(panel.id, ()), page=newest.get(panel.id, ""))
    for arrow in all_of(session, Arrow):
        yield _of_row("arrow", arrow, f"Arrow {arrow.tag}", more=work.get(arrow.id, ""), trials=trials_of.get(arrow.id, ()))
    yield from (_of_row("head", one, one.name, more=SYNONYMS.get(one.form or "", "")) for one in all_of(session, Head))
    yield from (_of_row("bow", one, one.name, more=work.get(one.id, "")) for one in all_of(session, Bow))
    yield from (_of_row("archer", one, one.call_name) for one in all_of(session, Archer))
    yield from _photos(session, trials_of)


def _builds(session: Session) -> tuple[dict[str, str], dict[str, str]]:
    """Of each panel, arrow and bow: its newest build, and what was said of all of them."""
    newest: dict[str, str] = {}
    work: dict[str, str] = {}
    tables: tuple[tuple[type[Noun], str], ...] = ((PanelBuild, "panel_id"), (ArrowBuild, "arrow_id"), (BowBuild, "bow_id"))
    for table, of in tables:
        rows: list[Any] = sorted(all_of(session, table), key=lambda one: one.number)
        for build in rows:
            owner = getattr(build, of)
            newest[owner], work[owner] = build.id, _joined(work.get(owner), said_of(build))
    return newest, work


def _trials_of(session: Session) -> dict[str, tuple[str, ...]]:
    """Panel, arrow or build -> the trials that shot it."""
    pairs = (
        select(Day.trial_id, PanelBuild.panel_id, Setup.panel_build_id, ArrowBuild.arrow_id, Shot.arrow_build_id)
        .select_from(Shot)
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(Day, Day.id == Setup.session_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(ArrowBuild, ArrowBuild.id == Shot.arrow_build_id)
        .where(Shot.voided_rev.is_(None))
        .distinct()
    )
    found: dict[str, dict[str, None]] = {}
    for trial, *ids in session.execute(pairs):
        for one in ids:
            found.setdefault(one, {})[trial] = None
    return {one: tuple(trials) for one, trials in found.items()}


def said_of(row: Noun) -> str:
    """All that was written or picked of a record; what was picked stands behind its field's label."""
    said = []
    for column, meaning in meanings(type(row)).values():
        value: Any = getattr(row, column)
        if value and meaning.value in ("words", "lines"):
            said.append(str(value))
        elif value and meaning.value == "choice" and value in meaning.choices:
            said.append(f"{meaning.label} {meaning.choices[value]}")
    return ", ".join(said)


def _of_row(noun: str, row: Noun, title: str, *, more: str = "", trials: tuple[str, ...] = (), page: str = "") -> Document:
    """Under its noun as well: "scale panel", "needle head"."""
    said = said_of(row)
    return Document(noun, row.id, title, noun, _joined(said, more), _joined(said.removeprefix(title).lstrip(", ")), trials, page)


def _days(session: Session) -> Iterator[Document]:
    """Each with its incidents: what happened on it, and what was done."""
    happened: dict[str, str] = {}
    for one in all_of(session, Incident):
        happened[one.session_id] = _joined(happened.get(one.session_id), "incident", said_of(one))
    for day in all_of(session, Day):
        words, spelled = _joined(said_of(day), happened.get(day.id)), day_spelled(day.day)
        yield Document("session", day.id, spelled.partition(" ")[2] or day.day, _joined(spelled, day.place), words, words, (day.trial_id,))


def _photos(session: Session, trials_of: Mapping[str, tuple[str, ...]]) -> Iterator[Document]:
    """A photo of a shot is found by all that its shot is found by."""
    shots = {fact.shot_id: shot_document(fact) for fact in shot_facts(session, shot_id=shots_with_photos(session))}
    panels = select(PanelBuild.id, Panel.name).join(Panel, Panel.id == PanelBuild.panel_id)
    arrows = select(ArrowBuild.id, Arrow.tag).join(Arrow, Arrow.id == ArrowBuild.arrow_id)
    names = {build: f"panel {name}" for build, name in session.execute(panels)}
    names |= {build: f"arrow {tag}" for build, tag in session.execute(arrows)}
    for row in all_of(session, Photo):
        of = row.record_id or ""
        shot = shots.get(of)
        title = f"Photo of {shot.title if shot else names[of]}" if shot or of in names else "Photo in the tray"
        words = _joined(said_of(row), shot.words if shot else None)
        line = _joined(SEEN_FROM.get(row.seen_from or ""), row.note, shot.line if shot else None)
        yield Document("photo", row.id, title, shot.names if shot else "", words, line, shot.trials if shot else trials_of.get(of, ()))
