"""What a trial's report is made of: the answers that the pages show, asked once each, as a viewer of this trial alone gets them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.answers.claims.page import read_claim
from proofyard.answers.claims.read import ClaimRead
from proofyard.answers.compare.page import CompareFindings, read_comparison
from proofyard.answers.methods.page import Method
from proofyard.answers.panel.page import PanelPage, read_panel
from proofyard.answers.photos.page import PhotoShown, named
from proofyard.answers.report.minute import minute_of
from proofyard.answers.report.shot_rows import ReportTable, report_table
from proofyard.answers.report.told import Checklist, checklist_of
from proofyard.answers.results.drawings import DrawingsOfResults, DrawnHead, drawings_of, drawn_heads
from proofyard.answers.results.first_page import FirstPage, first_page_of
from proofyard.answers.results.page import Results, read_results
from proofyard.answers.session.page import SessionRead, read_session
from proofyard.answers.trial.page import TrialRead, read_trial
from proofyard.charts.figure import Figure
from proofyard.exchange.data_state import DataState, state_of
from proofyard.exchange.fetched import Fetched, fetch
from proofyard.pages.kit.found import the_noun
from proofyard.pages.kit.record import RecordPage, read_records
from proofyard.pages.report.methods import methods_used
from proofyard.quantities.reason import Reason
from proofyard.records.instrument import Instrument
from proofyard.records.listing import belonging, by_number
from proofyard.records.photo_facts import placed_photos
from proofyard.records.trial import OUTCOME_WORDS
from proofyard.shots.rule_words import BorrowedLine, borrowed_lines
from proofyard.storage import Session, Storage

KIT = ("panel", "head", "arrow", "bow", "stand", "instrument")


@dataclass(frozen=True)
class OfType:
    """What the results say of one panel type: counts, charts, what is left out."""

    key: str
    words: str
    results: Results
    first: FirstPage
    heads: tuple[DrawnHead, ...]
    drawings: DrawingsOfResults | None


@dataclass(frozen=True)
class DrawnPanel:
    """One panel build with the trial's hits on it, and how many of the fair ones went through."""

    page: PanelPage
    drawing: Figure | None
    through: str


@dataclass(frozen=True)
class UsedKit:
    """One record of kit, with the builds of it that the trial used."""

    page: RecordPage
    builds: tuple[str, ...]


@dataclass(frozen=True)
class Report:
    """All of it. Every part is what a page of the app shows, or a table of the same shots."""

    read: TrialRead
    claim: ClaimRead | None
    types: tuple[OfType, ...]
    days: tuple[SessionRead, ...]
    table: ReportTable
    panels: tuple[DrawnPanel, ...]
    compare: CompareFindings
    kit: tuple[tuple[str, tuple[UsedKit, ...]], ...]
    photos: tuple[PhotoShown, ...]
    methods: tuple[Method, ...]
    borrowed: Sequence[BorrowedLine]
    minute: tuple[Reason, ...]
    checklist: Checklist
    state: DataState
    outcome_words: tuple[str, ...] = tuple(OUTCOME_WORDS)

    @property
    def shot_ids(self) -> Mapping[str, str]:
        """Label -> id, of the shots in the table."""
        return {row.label: row.shot_id for _, rows in self.table.days for row in rows}


def report_of(book: Storage, trial_id: str, *, reader: str) -> Report | None:
    """The report of one trial; None if there is no such trial. Whoever asks, it says what a viewer of this trial alone may see."""
    with book.read() as session:
        read = read_trial(session, trial_id, reader=reader, only_trial=trial_id)
        if read is None:
            return None
        days = tuple(one for line in reversed(read.sessions) if (one := read_session(session, line.session_id, reader=reader)))
        panels = tuple(_panels(session, read, trial_id, reader=reader))
        predicted = any(not one.late for one in read.expected) or bool(read.trial.prediction)
        photos = tuple(reversed(named(session, placed_photos(session, only_trial=trial_id))))
    fetched = fetch(book, only_trial=trial_id)
    with book.read() as session:
        tools = [one.id for one in fetched.of(Instrument) if fetched.may_see(one.id)]
        facts = [shot.fact for shot in fetched.loosed.shots]
        checklist = checklist_of(session, read.trial, facts, instruments=tools, predicted=predicted)
    types = tuple(_types(book, trial_id, reader=reader))
    claim = read_claim(read.claim, read.shots) if read.claim else None
    found = [(one.words, one.results.finding.title) for one in types]
    return Report(
        read=read,
        claim=claim,
        types=types,
        days=days,
        table=report_table((*fetched.loosed.shots, *fetched.loosed.voided), reader=reader),
        panels=panels,
        compare=read_comparison(book, {"trial": [trial_id]}, only_trial=trial_id, reader=reader),
        kit=tuple(_kit(book, fetched, reader=reader)),
        photos=photos,
        methods=methods_used(
            tuple(one.results for one in types),
            claim=claim,
            compared=bool(read.compared),
            curves=any(head.fifty_percent for one in types for head in one.heads),
        ),
        borrowed=borrowed_lines(),
        minute=minute_of(
            read.trial,
            read.shots,
            answer=claim.title if claim else read.lead,
            found=found,
            to_check=read.to_check,
            said_before=bool(read.expected) and not any(one.late for one in read.expected),
        ),
        checklist=checklist,
        state=state_of(book, fetched),
    )


def _types(book: Storage, trial_id: str, *, reader: str) -> list[OfType]:
    """Every panel type of the trial, the one that was hit most first."""
    first = read_results(book, {"trial": [trial_id]}, only_trial=trial_id, reader=reader)
    shown = first.settings.only.get("panel_type", "")
    found: list[OfType] = []
    for key in sorted(first.types, key=lambda one: one != shown):
        query = {"trial": [trial_id], "panel_type": [key]}
        one = first if key == shown else read_results(book, query, only_trial=trial_id, reader=reader)
        if one.loosed:
            found.append(OfType(f"type-{len(found) + 1}", first.types[key], one, first_page_of(one), drawn_heads(one), drawings_of(one)))
    return found


def _panels(session: Session, read: TrialRead, trial_id: str, *, reader: str) -> list[DrawnPanel]:
    found = []
    for brief, through in read.panels:
        page = read_panel(session, brief.build_id, reader=reader, only_trial=trial_id)
        if page is not None:
            found.append(DrawnPanel(page, page.hits.drawing, through))
    return found


def _kit(book: Storage, fetched: Fetched, *, reader: str) -> list[tuple[str, tuple[UsedKit, ...]]]:
    """What the trial's shots were loosed with, at and from, and what that was measured with, as its pages of kit have it."""
    within = fetched.within or frozenset()
    found: list[tuple[str, tuple[UsedKit, ...]]] = []
    with book.read() as session:
        for noun in KIT:
            kind = the_noun(noun)
            rows = belonging(session, kind.table, "id", within, voided=True)
            pages = read_records(session, kind, rows, reader=reader)
            used = [UsedKit(page, _builds(page, within)) for page in pages]
            if used:
                found.append((kind.many, tuple(sorted(used, key=lambda one: by_number(one.page.name)))))
    return found


def _builds(page: RecordPage, within: frozenset[str]) -> tuple[str, ...]:
    return tuple(one.id for one in page.builds if one.id in within)
