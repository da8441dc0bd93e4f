"""A trial's report as the file that is handed out: its markup with everything within, one style sheet, what stands in the margins."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from proofyard.exchange.kept_photos import photos_of
from proofyard.exchange.one_file import Inlined, Margins, document, inlined, paged
from proofyard.exchange.photo_reading import no_larger
from proofyard.pages.frame.assets import joined_sheet
from proofyard.pages.frame.rendering import render_part
from proofyard.pages.kit.record import facts_of
from proofyard.pages.report.contents import Report
from proofyard.pages.session.page import DAY_FIELDS
from proofyard.records.licences import LICENCES
from proofyard.settings import data_folder
from proofyard.storage import Storage
from proofyard.wording.when import day_words, today

PHOTO_SIDE = 1200
SHEETS = frozenset(
    {
        "tokens.css",
        "base.css",
        "layout.css",
        "parts/glyph.css",
        "parts/outcome.css",
        "parts/tally.css",
        "parts/chart.css",
        "parts/panel.css",
        "parts/facts.css",
        "parts/fold.css",
        "parts/row.css",
        "pages/results.css",
        "pages/count.css",
        "pages/caveats.css",
        "pages/trial.css",
        "pages/plan.css",
        "pages/report.css",
        "tools.css",
        "print.css",
    }
)
_PHOTO = re.compile(r"/photos/([0-9a-f-]{36})")
_SHOT = re.compile(r"/shots/([0-9a-f-]{36})")


@dataclass(frozen=True)
class ReportFile:
    """What report/file.html shows. conditions: of each day, as its page has them; made: the day on which the file was made;
    source: whose book it is of, where that is another than one's own."""

    report: Report
    reader: str
    conditions: tuple[list[tuple[str, str]], ...]
    photos_shown: bool
    made: str
    licence: str
    source: str


def report_inside(book: Storage, report: Report, *, reader: str, photos: bool, source: str = "", template: str = "whole") -> Inlined:
    """What the file says, with every link that leads out of it as words; without its photos, if nobody wants them."""
    conditions = tuple(facts_of(day.day, DAY_FIELDS[2:], reader, {}) for day in report.days)
    found = _photos(book) if photos else lambda _: None
    shown = photos and bool(report.photos) and all(found(f"/photos/{one.id}") for one in report.photos)
    licence = LICENCES[report.read.trial.licence].title if report.read.trial.licence else ""
    markup = render_part(f"report/{template}.html", ReportFile(report, reader, conditions, shown, _made(), licence, source))
    return inlined(markup, links=_links(report), photos=found)


def report_file(book: Storage, report: Report, *, reader: str, photos: bool = True, source: str = "") -> bytes:
    """The whole file."""
    inside = report_inside(book, report, reader=reader, photos=photos, source=source, template="file")
    question = report.read.trial.question
    margins = Margins(_short(question), _made(), _state_words(report))
    return document(inside, title=f"{question} Report", sheets=(_sheet(), paged(margins))).encode()


def _made() -> str:
    return f"Made on {day_words(today())}."


def _short(words: str, most: int = 60) -> str:
    """Words that fit into a margin."""
    return words if len(words) <= most else words[:most].rsplit(" ", 1)[0] + " …"


def _state_words(report: Report) -> str:
    demo = "Demo, invented. " if report.state.demo else ""
    return f"{demo}State: change {report.state.change}. Data: {report.state.sha256[:12]}"


@cache
def _sheet() -> str:
    return joined_sheet(data_folder("static") / "css", takes=SHEETS.__contains__)


def _photos(book: Storage) -> Callable[[str], bytes | None]:
    kept = photos_of(book)

    @cache
    def photo(address: str) -> bytes | None:
        found = _PHOTO.fullmatch(address)
        content = kept.read(found[1]) if found else None
        return None if content is None else no_larger(content, PHOTO_SIDE)

    return photo


def _links(report: Report) -> Callable[[str], str | None]:
    """Where an address of the app stands in the file."""
    labels = {shot_id: label for label, shot_id in report.shot_ids.items()}
    methods = {f"/methods/of/{one.name}": f"#method-{one.name}" for one in report.methods}
    panels = {f"/panels/{one.page.build_id}": f"#panel-{n}" for n, one in enumerate(report.panels, 1)}

    def place(address: str) -> str | None:
        shot = _SHOT.fullmatch(address)
        if shot and shot[1] in labels:
            return f"#shot-{labels[shot[1]]}"
        if address.startswith("/results/left-out"):
            return "#report-left-out"
        return methods.get(address) or panels.get(address)

    return place
