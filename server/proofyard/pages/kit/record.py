"""The page of one record of kit: what is known of it, its builds, what was read of each, what was said before."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.access.seats import TheBook, ViewerSeat
from proofyard.answers.kit.kit_worked_out import head_worked_out, mounted_worked_out, panel_worked_out
from proofyard.pages.frame.figures import fact
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.pages.kit.found import address, builds_of, called, linked_names, the_noun, the_record
from proofyard.pages.kit.nouns import KitNoun, Part
from proofyard.pages.kit.part_rows import PartRow, part_rows, summary_line
from proofyard.pages.kit.parts import rows_of
from proofyard.records.arrow import Head
from proofyard.records.columns import Noun, meanings
from proofyard.records.instrument import Instrument, Reading
from proofyard.records.kit_facts import BuildFact
from proofyard.records.listing import belonging, readings_of
from proofyard.records.notebook import Line, open_clashes, revisions_of
from proofyard.records.panel import Panel
from proofyard.records.speed_facts import instruments
from proofyard.records.trial_days import on_older_builds
from proofyard.records.typed_values import unusual
from proofyard.shots.hardness_found import Worked
from proofyard.shots.readings import measured
from proofyard.shots.soundness import NEVER_SHOT, Soundness, soundness_of_builds
from proofyard.storage import Session
from proofyard.wording.reasons.said import said as reason_words
from proofyard.wording.revisions import Told, told
from proofyard.wording.when import day_words

router = APIRouter()

# What all its shots are found by, on the page of all shots.
SHOTS_BY = {"head": "one_head", "bow": "bow", "panel": "panel", "arrow": "arrow", "archer": "archer"}
HITS = {"panel": ("/panels/", "Hits so far"), "arrow": ("/arrows/", "Hits so far")}


@dataclass(frozen=True)
class PartShown:
    """One part on a record's page: what it says in a line, its rows, where to add to it. empty: nobody wrote anything down."""

    heading: str
    line: str
    need: bool
    rows: list[PartRow]
    href: str
    act: str
    key: str
    empty: bool


@dataclass(frozen=True)
class BuildShown:
    """One build: its number, what was done, its facts, its parts, its hits."""

    id: str
    heading: str
    newest: bool
    facts: list[tuple[str, str]]
    head_form: str
    head_words: str
    head_href: str
    parts: list[PartShown]
    hits_href: str
    worked: tuple[Worked, ...] = ()


@dataclass(frozen=True)
class RecordPage:
    """What kit/record.html shows. `older`: set-ups on an older build, each with what to press and where that leads."""

    noun: str
    name: str
    head_form: str
    retired: bool
    voided: bool
    why: str
    known: list[tuple[str, str]]
    worked: tuple[Worked, ...]
    look_again: list[tuple[str, str]]
    parts: list[PartShown]
    builds: list[BuildShown]
    revisions: Sequence[Told]
    clashes: int
    may_change: bool
    may_build: bool
    here: str
    older: list[tuple[str, str, str]]
    shots_href: str


class _Readings:
    """All rows of all parts of some records of a noun and their builds, fetched once a table."""

    def __init__(self, session: Session, kind: KitNoun, record_ids: list[str], builds: list[BuildFact]) -> None:
        self.rows: dict[str, list[Any]] = {}
        self.tools: dict[str, Instrument] = instruments(session) if kind.parts else {}
        build_ids = [build.build_id for build in builds]
        for part in kind.parts:
            owners = build_ids if part.of_build else record_ids
            if part.table is Reading:
                if "reading" not in self.rows:
                    self.rows["reading"] = list(readings_of(session, Reading, part.fixed["noun"], owners))
            else:
                self.rows[part.key] = rows_of(session, part, owners)

    def of(self, part: Part, owner_id: str) -> list[Any]:
        if part.table is Reading:
            return [row for row in self.rows["reading"] if row.record_id == owner_id and row.measured == part.measured]
        column = "record_id" if part.link == "record" else f"{part.link}_id"
        return [row for row in self.rows[part.key] if getattr(row, column) == owner_id]


def facts_of(row: Noun, names: tuple[str, ...], reader: str, linked: dict[str, str]) -> list[tuple[str, str]]:
    """Label and words of the fields that were filled, in the form's order."""
    known = meanings(type(row))
    said = [(known[name][1].label, fact(row, name, reader, linked=linked)) for name in names]
    return [(label, words) for label, words in said if words]


@router.get("/kit/{noun}/{record_id}")
def record(request: Request, seat: ViewerSeat, storage: TheBook, noun: str, record_id: str) -> HTMLResponse:
    kind = the_noun(noun)
    reader = frame_for(request, title="").reader
    with storage.read() as session:
        row = the_record(session, kind, record_id)
        page = read_record(session, kind, row, reader=reader, may_change=seat.at_least("archer"))
    return html("kit/record.html", page, frame=frame_for(request, title=page.name[:1].upper() + page.name[1:], nav="kit"))


def read_record(session: Session, kind: KitNoun, row: Noun, *, reader: str, may_change: bool = False) -> RecordPage:
    """The page of one record, with all its builds."""
    return read_records(session, kind, [row], reader=reader, may_change=may_change)[0]


def read_records(session: Session, kind: KitNoun, rows: Sequence[Noun], *, reader: str, may_change: bool = False) -> list[RecordPage]:
    """The pages of some records of one noun, in as many statements as one takes."""
    held = _Held.of(session, kind, [row.id for row in rows]) if rows else None
    return [_page(session, kind, row, held, reader=reader, may_change=may_change) for row in rows if held]


@dataclass(frozen=True)
class _Held:
    """What the pages of some records of one noun are made of."""

    builds: list[BuildFact]
    found: _Readings
    linked: dict[str, str]
    build_rows: dict[str, Noun]
    sound: dict[str, Soundness]
    heads: dict[str, Head]
    lines: list[Line]
    clashes: list[str]

    @classmethod
    def of(cls, session: Session, kind: KitNoun, ids: list[str]) -> "_Held":
        builds = builds_of(session, kind, *ids)
        rows = {one.id: one for one in belonging(session, kind.build, f"{kind.noun}_id", ids)} if kind.build else {}
        mounted = {build.head_id for build in builds if build.head_id}
        return cls(
            builds,
            _Readings(session, kind, ids, builds),
            linked_names(session, {kind.table, *(part.table for part in kind.parts)}),
            rows,
            soundness_of_builds(session, rows) if kind.noun == "arrow" else {},
            {head.id: head for head in belonging(session, Head, "id", mounted, voided=True)} if mounted else {},
            revisions_of(session, kind.noun, *ids),
            [clash.record_id for clash in open_clashes(session)],
        )


def _page(session: Session, kind: KitNoun, row: Noun, held: _Held, *, reader: str, may_change: bool) -> RecordPage:
    found, linked = held.found, held.linked
    builds = [build for build in held.builds if build.of_id == row.id]
    parts = [
        _part(part, row.id, found, kind=kind, record_id=row.id, reader=reader, linked=linked) for part in kind.parts if not part.of_build
    ]
    lines = [line for line in held.lines if line.record_id == row.id]
    ended = next((line.reason for line in lines if "retired" in line.changes or "voided" in line.changes), None)
    labels = meanings(kind.table)
    hardness = [one for one in found.rows.get("hardness", ()) if one.record_id == row.id]
    return RecordPage(
        noun=kind.one,
        name=called(kind, row),
        head_form=getattr(row, "form", None) or "",
        retired=bool(getattr(row, "retired", 0)),
        voided=row.voided_rev is not None,
        why=ended or "",
        known=facts_of(row, kind.names[1:], reader, linked),
        worked=head_worked_out(row, hardness, reader=reader) if isinstance(row, Head) else (),
        look_again=[(labels[p.field][1].label, p.sentence) for p in unusual(row)],
        parts=parts,
        builds=[
            _build(
                kind,
                build,
                held.build_rows[build.build_id],
                found,
                of=row,
                heads=held.heads,
                reader=reader,
                linked=linked,
                newest=n == 0,
                sound=held.sound,
            )
            for n, build in enumerate(builds)
            if build.build_id in held.build_rows
        ],
        revisions=told(lines, linked, reader),
        clashes=held.clashes.count(row.id),
        may_change=may_change,
        may_build=kind.build is not None,
        here=address(kind, row.id),
        older=_older(session, row.id) if kind.noun == "panel" else [],
        shots_href=f"/shots?{SHOTS_BY[kind.noun]}={row.id}" if kind.noun in SHOTS_BY else "",
    )


def _older(session: Session, panel_id: str) -> list[tuple[str, str, str]]:
    return [
        (
            f"{day_words(one.day.day)}{', ' + one.day.place if one.day.place else ''}: shots logged there go to build {one.build.number}.",
            f"Set up build {one.newest.number}",
            f"/sessions/{one.day.id}/setups?like={one.setup.id}",
        )
        for one in on_older_builds(session, panel_id=panel_id)
    ]


def _build(
    kind: KitNoun,
    build: BuildFact,
    row: Noun,
    found: _Readings,
    *,
    of: Noun,
    heads: dict[str, Head],
    reader: str,
    linked: dict[str, str],
    newest: bool,
    sound: dict[str, Soundness],
) -> BuildShown:
    work = fact(row, "work", reader)
    head = heads.get(build.head_id or "")
    parts = [
        _part(
            part,
            build.build_id,
            found,
            kind=kind,
            record_id=build.of_id,
            reader=reader,
            linked=linked,
            sound=sound.get(build.build_id, NEVER_SHOT) if part.key == "sound" else None,
        )
        for part in kind.parts
        if part.of_build
    ]
    hits = f"{HITS[kind.noun][0]}{build.build_id if kind.noun == 'panel' else build.of_id}" if kind.noun in HITS else ""
    asked = tuple(name for name in kind.build_asks if name not in ("work", "head"))
    return BuildShown(
        id=build.build_id,
        heading=f"Build {build.number}" + (f", {work[:1].lower() + work[1:]}" if work else ""),
        newest=newest,
        facts=facts_of(row, asked, reader, linked),
        head_form=(head.form or "other") if head else "",
        head_words=head.name if head else "",
        head_href=f"/kit/head/{head.id}" if head else "",
        parts=parts,
        hits_href=hits,
        worked=_worked(kind, build.build_id, found, of=of, head=head, reader=reader),
    )


def _worked(kind: KitNoun, build_id: str, found: _Readings, *, of: Noun, head: Head | None, reader: str) -> tuple[Worked, ...]:
    """What follows from a build's readings together with its record's measures."""
    rows = {part.key: found.of(part, build_id) for part in kind.parts if part.of_build}
    if isinstance(of, Panel):
        return panel_worked_out(of, rows["thickness"], hardness=rows["hardness"], tools=found.tools, reader=reader)
    if head is not None:
        return mounted_worked_out(head, measured(rows["mass"], found.tools).mean, reader=reader)
    return ()


def _part(
    part: Part,
    owner_id: str,
    found: _Readings,
    *,
    kind: KitNoun,
    record_id: str,
    reader: str,
    linked: dict[str, str],
    sound: Soundness | None = None,
) -> PartShown:
    rows = found.of(part, owner_id)
    here = address(kind, record_id, part.key)
    href = f"{here}?build={owner_id}" if part.of_build else here
    if sound is not None:
        return PartShown(part.heading, f"{sound.words}: {reason_words(sound.why)}", sound.need, [], href, part.act, part.key, not rows)
    if part.shown_as:
        return PartShown(
            part.heading, summary_line(measured(rows, found.tools), part.shown_as, reader), False, [], href, part.act, part.key, not rows
        )
    shown_rows = part_rows(part, rows, reader, linked=linked, base="")
    return PartShown(part.heading, "" if shown_rows else "nothing yet", False, shown_rows, href, part.act, part.key, not rows)
