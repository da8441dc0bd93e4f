"""Speed without a chronograph: frames counted between loose and hit, or their sound. Worked out, then saved."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from proofyard import quantities
from proofyard.access.seats import ArcherSeat, TheBook
from proofyard.answers.speeds.destinations import Destination, destination_notes, destinations
from proofyard.pages.frame.figures import both_units, with_uncertainty
from proofyard.pages.frame.form_page import Asked
from proofyard.pages.frame.forms import UNIT_WORDS, FieldState, FormField, Option, Posted, Wrong, nth_id, wrongs
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.pages.speeds.tool_kinds import EACH_END, FILM, FRAMES, INTO, SURE, TOOLS, Ask, Tool
from proofyard.quantities import Uncertain
from proofyard.records.film_facts import films_to_pick
from proofyard.records.ids import is_id, new_id
from proofyard.records.kit_facts import body_taken
from proofyard.records.listing import one
from proofyard.records.speed import SpeedReading
from proofyard.records.typed_values import Problem
from proofyard.shots.speed_expected import own_speed, question_about
from proofyard.shots.speed_without_chronograph import Worked, inputs_text, inputs_typed
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

router = APIRouter()


@dataclass(frozen=True)
class ToolPage:
    """What speeds/frames.html and speeds/sound.html show; the part speeds/_worked.html comes back after each press."""

    tool: str
    heading: str
    lead: str
    action: str
    operation: str
    fields: list[FormField]
    times_off: str
    back: str
    back_words: str
    result: list[tuple[str, str]]
    finding: str
    question: str
    notes: Sequence[str]
    saved: str
    errors: Sequence[Wrong]


@dataclass
class _Now:
    """What stands in the form, what is wrong with it, what came of it. `again`: the reading that is worked out again."""

    typed: dict[str, str]
    shot_id: str = ""
    again: str = ""
    rev: int = 0
    problems: list[Problem] = field(default_factory=list)
    worked: Worked | None = None
    operation: str = ""
    saved: str = ""
    distance_m: float | None = None
    question: str = ""


def _shown(asked: Asked, tool: Tool, now: _Now) -> ToolPage:
    reader = asked.reader
    with asked.book.read() as session:
        where = destinations(session, shot_id=now.shot_id)
        films = films_to_pick(session) if tool is FRAMES else []
    place = next((one for one in where if one.key == now.typed.get(INTO)), None)
    fields = [_box(ask, now) for ask in tool.asks]
    if tool is FRAMES:
        fields.append(_picked(now, "each_end", "Error at each end, at most", "choice", options=EACH_END.items()))
        if films:
            fields.append(_picked(now, FILM, "Film", "select", "The film that the frames were counted in.", options=films))
    if not now.again:
        kept = "—: it is calculated and not saved."
        fields.append(_picked(now, INTO, "Save to", "select", kept, options=[(one.key, one.words) for one in where]))
    if now.question:
        fields.append(_picked(now, SURE, "The speed is correct", "tick"))
    speed = now.worked.speed if now.worked else None
    steps = [(said(what, reader), said(figure, reader)) for what, figure in (now.worked.steps if now.worked else ())]
    result = [("Speed", both_units(speed, "speed")), *steps] if speed else []
    at = f"?again={now.again}&rev={now.rev}" if now.again else f"?shot={now.shot_id}" if now.shot_id else ""
    return ToolPage(
        tool=tool.key,
        heading=tool.heading,
        lead=tool.lead,
        action=f"/speeds/{tool.key}{at}",
        operation=now.operation or new_id(),
        fields=fields,
        times_off=now.typed.get("times_off", ""),
        back=place.href if place else "/combinations",
        back_words=place.words if place else "Speeds of combinations",
        result=result,
        finding=f"{with_uncertainty(speed, 'speed', reader)}." if speed else "",
        question=now.question,
        notes=[said(one, reader) for one in destination_notes(place, now.distance_m)] if speed and now.distance_m else (),
        saved=now.saved,
        errors=wrongs(fields, now.problems),
    )


def _said(now: _Now, name: str) -> str:
    return " ".join(one.sentence for one in now.problems if one.field == name)


def _picked(now: _Now, name: str, label: str, control: str, hint: str = "", options: Iterable[tuple[str, str]] = ()) -> FormField:
    typed = now.typed.get(name, "0.5" if name == "each_end" else "")
    return FormField(name, label, control, FieldState(typed, error=_said(now, name)), hint, options=tuple(Option(*one) for one in options))


def _box(ask: Ask, now: _Now) -> FormField:
    kind = quantities.KINDS[ask.kind]
    typed = now.typed.get(ask.name, "")
    read = quantities.read(typed, kind)
    warning = " ".join(read.warnings) if isinstance(read, quantities.Read) else ""
    unit = "" if kind.unit == "1" else kind.unit
    state = FieldState(typed=typed, error=_said(now, ask.name), warning=warning)
    words = {"Hz": "in frames a second", "s": "in seconds"} | UNIT_WORDS
    return FormField(ask.name, ask.label, "number", state, ask.hint, unit, words.get(unit, ""), required=ask.needed)


def _read(tool: Tool, typed: Mapping[str, str]) -> tuple[dict[str, float | None], list[Problem]]:
    """Every box in SI, and every fault."""
    si: dict[str, float | None] = {}
    problems = []
    for ask in tool.asks:
        read = quantities.read(typed.get(ask.name, ""), ask.kind)
        si[ask.name] = read.value_si if isinstance(read, quantities.Read) else None
        if isinstance(read, quantities.Refused):
            problems.append(Problem(ask.name, quantities.sentence(read)))
        elif isinstance(read, quantities.Empty) and ask.needed:
            problems.append(Problem(ask.name, f"{ask.label}: type it, for example {quantities.KINDS[ask.kind].example}."))
    if tool is FRAMES and typed.get("each_end", "") not in EACH_END:
        problems.append(Problem("each_end", "Choose the error at each end."))
    return si, problems


def _posted(tool: Tool, form: FormData) -> dict[str, str]:
    names = [ask.name for ask in tool.asks] + ["each_end", "times_off", FILM, INTO, SURE]
    return {name: str(form.get(name, ""))[:200] for name in names}


def _first(storage: Storage, tool: Tool, *, series: str, shot: str, like: str) -> _Now:
    """An empty form; `like`: as an earlier reading was taken, all but what is that shot's alone."""
    typed = {ask.name: ask.first for ask in tool.asks}
    saved = ""
    with storage.read() as session:
        before = one(session, SpeedReading, like) if is_id(like) else None
    if before is not None and before.method == tool.key:
        held, keep = inputs_typed(before.inputs), {ask.name for ask in tool.asks if not ask.once} | {"each_end"}
        typed |= {name: text for name, text in held.items() if name in keep}
        saved = f"Saved: {_value(before)}."
    typed[INTO] = f"series:{series}" if series else f"shot:{shot}" if shot else ""
    return _Now(typed, shot, saved=saved)


def _again(storage: Storage, tool: Tool, again: str) -> _Now:
    """An earlier reading with all that it kept, to be put right; 404 if there is no such one."""
    with storage.read() as session:
        row = one(session, SpeedReading, again) if is_id(again) else None
    if row is None or row.method != tool.key or row.voided_rev is not None:
        raise HTTPException(404, "The book has no such reading. It may have been crossed out.")
    names = {ask.name for ask in tool.asks} | {"each_end", "times_off"}
    typed = {ask.name: ask.first for ask in tool.asks} | {name: text for name, text in inputs_typed(row.inputs).items() if name in names}
    typed |= {FILM: row.film_id or "", INTO: f"shot:{row.shot_id}" if row.shot_id else f"series:{row.series_id}"}
    return _Now(typed, row.shot_id or "", row.id, row.rev)


def _value(row: SpeedReading) -> str:
    return "no speed" if row.value_m_s is None else with_uncertainty(Uncertain(row.value_m_s, row.uncertainty_m_s), "speed", "metric")


def _answer(asked: Asked, tool: Tool, now: _Now) -> HTMLResponse:
    page = _shown(asked, tool, now)
    status = 422 if page.errors else 200
    if wants_part(asked.request):
        said = "" if page.errors else page.saved or f"Speed {page.finding}"
        return part("speeds/_worked.html", page, status=status, said=said)
    frame = frame_for(asked.request, title=page.heading, nav="kit", wrong=len(page.errors))
    return html(f"speeds/{tool.key}.html", page, frame=frame, status=status)


def _tool(key: str) -> Tool:
    if key not in TOOLS:
        raise HTTPException(404)
    return TOOLS[key]


@router.get("/speeds/{tool}", response_class=HTMLResponse)
def look(
    request: Request, seat: ArcherSeat, storage: TheBook, tool: str, series: str = "", shot: str = "", like: str = "", again: str = ""
) -> Response:
    which, shot = _tool(tool), shot if is_id(shot) else ""
    now = _again(storage, which, again) if again else _first(storage, which, series=series, shot=shot, like=like)
    return _answer(Asked(request, seat, storage), which, now)


@router.post("/speeds/{tool}", response_class=HTMLResponse)
def work_out(
    request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, tool: str, shot: str = "", again: str = "", rev: int = 0
) -> Response:
    """Worked out; and saved, if that key was pressed: as a new reading, or over the one that is worked out `again`."""
    which, asked = _tool(tool), Asked(request, seat, storage, form)
    now = _Now(_posted(which, form), shot if is_id(shot) else "", operation=asked.operation)
    if again:
        before = _again(storage, which, again)
        now.shot_id, now.again, now.rev = before.shot_id, before.again, rev
        now.typed[INTO] = before.typed[INTO]
    si, now.problems = _read(which, now.typed)
    if not now.problems:
        worked = which.work(si, now.typed)
        now.distance_m = si["distance"]
        if isinstance(worked, Problem):
            now.problems = [worked]
        else:
            now.worked = worked
            now.question = _question(asked, now, worked)
    if form.get("act") == "save" and not now.problems:
        saved = _save(asked, which, now, si=si)
        if saved is not None:
            return saved
    return _answer(asked, which, now)


def _question(asked: Asked, now: _Now, worked: Worked) -> str:
    with asked.book.read() as session:
        own = own_speed(session, now.typed[INTO], but_reading=now.again)
    return said(question_about(worked.speed.value, own), asked.reader)


def _save(asked: Asked, tool: Tool, now: _Now, *, si: Mapping[str, float | None]) -> Response | None:
    """Where to go on; None if it was refused, with what is wrong in `now`."""
    assert now.worked is not None
    with asked.book.read() as session:
        where: Destination | None = next((one for one in destinations(session, shot_id=now.shot_id) if one.key == now.typed[INTO]), None)
    if where is None:
        now.problems = [Problem(INTO, "Choose the series or the shot to save it to.")]
        return None
    if now.question and not now.typed[SURE]:
        now.problems = [Problem(SURE, "Tick this if the speed is correct, or first correct the marks, the frames or the distance.")]
        return None
    operations = asked.operations()
    with asked.book.read() as session:
        before = body_taken(session, nth_id(now.operation, 1))  # the same form sent twice says the same order again
    order = {"place": before["place"]} if "place" in before else {}
    speed, typed = now.worked.speed, {name: text for name, text in now.typed.items() if name not in (FILM, INTO, SURE)}
    units = {ask.name: quantities.KINDS[ask.kind].si_unit for ask in tool.asks}
    named = {name if units[name] == "1" else f"{name}_{units[name].lower()}": value for name, value in si.items()}
    body = {
        "value": f"{speed.value:.3f} m/s",
        "uncertainty": f"{speed.standard_uncertainty:.6f} m/s",
        "method": tool.key,
        "inputs": inputs_text(typed, named),
    }
    if tool is FRAMES and (now.typed[FILM] or now.again):
        body[FILM] = now.typed[FILM]
    if now.again:
        record_id = operations.put("speed_reading", now.again, body, base_rev=now.rev, reason="worked out again")
    else:
        record_id = operations.new("speed_reading", {**where.body, **order, **body, "at": operations.moment(asked.book)})
    if refused := operations.try_to_save(asked.book):
        now.problems = refused
        return None
    noun, _, place_id = where.key.partition(":")
    if now.again:
        return Response(None, 204, {"HX-Redirect": where.href}) if wants_part(asked.request) else RedirectResponse(where.href, 303)
    if not wants_part(asked.request):
        return RedirectResponse(f"/speeds/{tool.key}?{noun}={place_id}&like={record_id}", 303)
    series = place_id if noun == "series" else ""
    return _answer(asked, tool, _first(asked.book, tool, series=series, shot=now.shot_id, like=record_id))
