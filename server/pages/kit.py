"""All kit, noun by noun, with the facts that matter; retired kit stands apart. Its forms and pages hang on this router."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from server.access.seats import TheBook, ViewerSeat
from server.findings.kit_state import ArrowState, BuiltState, Kit, kit_state
from server.pages import kit_builds, kit_endings, kit_entry, kit_forms, kit_parts, kit_record
from server.pages.figures import as_marked, doubtful, fact, reader_of
from server.pages.kit_nouns import KIT
from server.pages.rendering import frame_for, html
from server.records.arrow import FORMS
from server.records.columns import Noun
from server.records.listing import name_of

router = APIRouter()


@dataclass(frozen=True)
class KitRow:
    """One record: what it is called, what matters of it, whether a hand is wanted."""

    noun: str
    id: str
    name: str
    small: str
    form: str = ""
    note: str = ""
    need: bool = False
    hits_href: str = ""


@dataclass(frozen=True)
class KitSection:
    """One noun: those in use."""

    noun: str
    one: str
    many: str
    rows: list[KitRow] = field(default_factory=list)


@dataclass(frozen=True)
class KitPage:
    """What kit/page.html shows."""

    sections: list[KitSection]
    retired: list[KitRow]
    look_again: list[tuple[str, str, str]]
    empty: bool
    may_change: bool


def _listed(row: Noun, names: Iterable[str], reader: str) -> str:
    return ", ".join(filter(None, (fact(row, name, reader) for name in names)))


def _plain_row(row: Noun, names: tuple[str, ...], reader: str) -> KitRow:
    form = getattr(row, "form", None) or ""
    return KitRow(str(row.__tablename__), row.id, name_of(row), _listed(row, names, reader), form)


def _arrow_row(state: ArrowState, reader: str) -> KitRow:
    build = f"build {state.build.number}" if state.build else "no build"
    head = f"{state.head.name}, {FORMS.get(state.head.form or '', 'form not said').lower()}" if state.head else "no head said"
    mass = doubtful(state.mass, "mass", reader, none="not weighed")
    note = state.sound.words if state.sound.need else ""
    form = (state.head.form or "other") if state.head else ""
    return KitRow("arrow", state.arrow.id, state.arrow.tag, f"{mass}; {head}; {build}", form, note, state.sound.need)


def _bow_row(state: BuiltState, reader: str) -> KitRow:
    marked = as_marked(state.record, "marked_weight", reader)
    draw = as_marked(state.record, "marked_draw", reader)
    words = f"marked {marked}" + (f" at {draw}" if draw else "") if marked else "weight not said"
    build = f"build {state.newest.number}" if state.newest else "no build"
    return KitRow("bow", state.record.id, name_of(state.record), f"{words}; {build}")


def _panel_row(state: BuiltState, reader: str) -> KitRow:
    how = _listed(state.record, ("construction", "thickness", "cloth_layers"), reader) or "construction not said"
    count = len(state.builds)
    said = f"{how}; {count} build{'s' if count != 1 else ''}"
    hits = f"/panels/{state.newest.build_id}" if state.newest else ""
    return KitRow("panel", state.record.id, name_of(state.record), said, hits_href=hits)


def _rows(kit: Kit, reader: str) -> dict[str, list[tuple[bool, KitRow]]]:
    """noun -> (retired, row) of every record."""

    def plain(rows: Iterable[Noun], *names: str) -> list[tuple[bool, KitRow]]:
        return [(bool(row.retired), _plain_row(row, names, reader)) for row in rows]  # type: ignore[attr-defined]

    return {
        "archer": plain(kit.archers, "hand", "hold", "draw_length"),
        "bow": [(bool(one.record.retired), _bow_row(one, reader)) for one in kit.bows],
        "arrow": [(bool(one.arrow.retired), _arrow_row(one, reader)) for one in kit.arrows],
        "head": plain(kit.heads, "form", "tip_to_widest"),
        "panel": [(bool(one.record.retired), _panel_row(one, reader)) for one in kit.panels],
        "stand": plain(kit.stands, "held", "gap"),
        "instrument": plain(kit.instruments, "sort", "accuracy", "accuracy_ratio"),
    }


@router.get("/kit")
def page(request: Request, seat: ViewerSeat, storage: TheBook) -> HTMLResponse:
    frame = frame_for(request, title="Kit", nav="kit")
    with storage.read() as session:
        kit = kit_state(session)
    rows = _rows(kit, reader_of(frame))
    shown = KitPage(
        sections=[KitSection(noun, KIT[noun].one, KIT[noun].many, [row for gone, row in some if not gone]) for noun, some in rows.items()],
        retired=[row for some in rows.values() for gone, row in some if gone],
        look_again=[(f"/kit/{one.noun}/{one.record_id}", f"{KIT[one.noun].one.capitalize()} {one.name}, {one.label.lower()}", one.sentence) for one in kit.look_again],
        empty=kit.empty, may_change=seat.at_least("archer"),
    )  # fmt: skip
    return html("kit/page.html", shown, frame=frame)


# The order matters: a word in the address (new, correct, start) must be met before a place that takes any word.
for _part in (kit_forms, kit_builds, kit_endings, kit_record, kit_entry, kit_parts):
    router.include_router(_part.router)
