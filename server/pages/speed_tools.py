"""Speed without a chronograph: frames counted between loose and strike, or their sound. Worked out, then saved."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from server import quantities
from server.access.seats import ArcherSeat, Seat, TheBook
from server.findings.speed_destinations import Destination, destination_notes, destinations
from server.findings.speed_without_chronograph import Worked, by_frames, by_sound, inputs_text, inputs_typed
from server.pages.figures import both_units, doubtful, reader_of
from server.pages.forms import UNIT_WORDS, FormField, FormOperations, nth_id, operation_id, wrongs
from server.pages.posted import Posted
from server.pages.rendering import frame_for, html, part, wants_part
from server.pages.shapes import FieldState, Option, Wrong
from server.quantities import Uncertain
from server.records.ids import is_id, new_id
from server.records.kit_facts import body_taken
from server.records.listing import one
from server.records.speed import SpeedReading
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

INTO = "into"
EACH_END = {"0.5": "Half a frame", "1": "One frame", "2": "Two frames"}


@dataclass(frozen=True)
class Ask:
    """One box: the kind of quantity that it takes, what stands in it at first, whether it may stay empty."""

    name: str
    label: str
    kind: str
    first: str = ""
    hint: str = ""
    needed: bool = True
    once: bool = False  # of this shot only: emptied for the next


@dataclass(frozen=True)
class Tool:
    """One way to a speed."""

    key: str
    heading: str
    lead: str
    asks: tuple[Ask, ...]
    work: Callable[[Mapping[str, float | None], Mapping[str, str], str], Worked | Problem]


def _frames(si: Mapping[str, Any], typed: Mapping[str, str], reader: str) -> Worked | Problem:
    return by_frames(
        distance_m=si["distance"], distance_off_m=si["distance_off"] or 0.0, frames=round(si["frames"]), rate_hz=si["rate"],
        rate_off_share=si["rate_off"] or 0.0, each_end=float(typed["each_end"]), reader=reader,
    )  # fmt: skip


def _sound(si: Mapping[str, Any], typed: Mapping[str, str], reader: str) -> Worked | Problem:
    return by_sound(
        distance_m=si["distance"], distance_off_m=si["distance_off"] or 0.0, loose_s=si["loose"], strike_s=si["strike"],
        times_off_s=_found_to(typed.get("times_off", "")), temperature_k=si["temperature"], temperature_off_k=si["temperature_off"] or 0.0,
        to_bow_m=si["to_bow"] or 0.0, to_target_m=si["to_target"], reader=reader,
    )  # fmt: skip


def _found_to(text: str) -> float | None:
    """How well the search in the recording knew the time between; None once a finger moved a mark."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if 0 < value < 0.1 else None


_OFF = "At most, either way."
FRAMES = Tool(
    "frames", "Speed from frames counted", "From a film of bow and target: how many frames lie between the loose and the strike.",
    (
        Ask("distance", "How far the tip flew", "distance", hint="From the tip at the loose to the panel."),
        Ask("distance_off", "How far the distance may be off", "distance_accuracy", "5 cm", _OFF),
        Ask("rate", "Frames a second, as filmed", "frame_rate", hint="As filmed, not as played: slow motion is filmed at 120 or 240."),
        Ask("rate_off", "How far the rate may be off", "share", "0.5 %", "At most. A phone’s rate wanders (common practice, no source). A clock in the picture tells."),
        Ask("frames", "Frames from loose to strike", "count", hint="The first frame in which the arrow moves is 0.", once=True),
    ),
    _frames,
)  # fmt: skip
SOUND = Tool(
    "sound", "Speed from sound", "From a recording of the loose and the strike: the time between them, less what the sound itself takes.",
    (
        Ask("loose", "Loose, in the recording", "recording_time", once=True),
        Ask("strike", "Strike, in the recording", "recording_time", once=True),
        Ask("distance", "How far the arrow flew", "distance", hint="From where it leaves the string to the panel."),
        Ask("distance_off", "How far the distance may be off", "distance_accuracy", "5 cm", _OFF),
        Ask("temperature", "Air temperature", "temperature"),
        Ask("temperature_off", "How far the temperature may be off", "temperature_accuracy", "2 °C", _OFF),
        Ask("to_bow", "From the phone to the bow", "distance_from_bow", "0", "0 where it lay with the archer."),
        Ask("to_target", "From the phone to the panel", "distance_from_bow", hint="Leave empty where it lay with the archer.", needed=False),
    ),
    _sound,
)  # fmt: skip
TOOLS: Mapping[str, Tool] = MappingProxyType({"frames": FRAMES, "sound": SOUND})


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
    notes: Sequence[str]
    saved: str
    errors: Sequence[Wrong]


@dataclass
class _Now:
    """What stands in the form, what is wrong with it, what came of it. `again`: the reading that is worked out anew."""

    typed: dict[str, str]
    shot_id: str = ""
    again: str = ""
    rev: int = 0
    problems: list[Problem] = field(default_factory=list)
    worked: Worked | None = None
    operation: str = ""
    saved: str = ""
    distance_m: float | None = None


def _shown(request: Request, storage: Storage, tool: Tool, now: _Now) -> ToolPage:
    reader = reader_of(frame_for(request, title=""))
    with storage.read() as session:
        where = destinations(session, shot_id=now.shot_id)
    place = next((one for one in where if one.key == now.typed.get(INTO)), None)
    fields = [_box(ask, now) for ask in tool.asks]
    if tool is FRAMES:
        state = FieldState(typed=now.typed.get("each_end", "0.5"), error=_said(now, "each_end"))
        fields.append(FormField("each_end", "Each end may be misjudged by", "choice", state, options=tuple(Option(k, w) for k, w in EACH_END.items())))
    into = tuple(Option(one.key, one.words) for one in where)
    if not now.again:
        fields.append(FormField(INTO, "Goes to", "select", FieldState(typed=now.typed.get(INTO, ""), error=_said(now, INTO)), "Not said: it is worked out and kept nowhere.", options=into))
    speed = now.worked.speed if now.worked else None
    result = [("Speed", both_units(speed, "speed")), *(now.worked.steps if now.worked else ())] if speed else []
    at = f"?again={now.again}&rev={now.rev}" if now.again else f"?shot={now.shot_id}" if now.shot_id else ""
    return ToolPage(
        tool=tool.key, heading=tool.heading, lead=tool.lead, action=f"/speeds/{tool.key}{at}", operation=now.operation or new_id(), fields=fields,
        times_off=now.typed.get("times_off", ""), back=place.href if place else "/pairings",
        back_words=place.words if place else "Speeds of pairings", result=result,
        finding=f"{doubtful(speed, 'speed', reader)}." if speed else "",
        notes=destination_notes(place, now.distance_m, reader=reader) if speed and now.distance_m else (), saved=now.saved,
        errors=wrongs(fields, now.problems),
    )  # fmt: skip


def _said(now: _Now, name: str) -> str:
    return " ".join(one.sentence for one in now.problems if one.field == name)


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
        problems.append(Problem("each_end", "Say how far each end may be misjudged."))
    return si, problems


def _posted(tool: Tool, form: FormData) -> dict[str, str]:
    names = [ask.name for ask in tool.asks] + ["each_end", "times_off", INTO]
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


def _again(storage: Storage, tool: Tool, again: str) -> _Now | None:
    """An earlier reading with all that it kept, to be put right; None if there is no such one."""
    with storage.read() as session:
        row = one(session, SpeedReading, again) if is_id(again) else None
    if row is None or row.method != tool.key or row.struck_rev is not None:
        return None
    names = {ask.name for ask in tool.asks} | {"each_end", "times_off"}
    typed = {ask.name: ask.first for ask in tool.asks} | {name: text for name, text in inputs_typed(row.inputs).items() if name in names}
    typed[INTO] = f"shot:{row.shot_id}" if row.shot_id else f"series:{row.series_id}"
    return _Now(typed, row.shot_id or "", row.id, row.rev)


def _value(row: SpeedReading) -> str:
    return "no speed" if row.value_m_s is None else doubtful(Uncertain(row.value_m_s, row.uncertainty_m_s), "speed", "metric")


def _answer(request: Request, storage: Storage, tool: Tool, now: _Now) -> HTMLResponse:
    page = _shown(request, storage, tool, now)
    status = 422 if page.errors else 200
    if wants_part(request):
        said = "" if page.errors else page.saved or f"Speed {page.finding}"
        return part("speeds/_worked.html", page, status=status, said=said)
    frame = frame_for(request, title=page.heading, nav="kit", wrong=bool(page.errors))
    return html(f"speeds/{tool.key}.html", page, frame=frame, status=status)


@router.get("/speeds/{tool}", response_class=HTMLResponse)
def look(
    request: Request, seat: ArcherSeat, storage: TheBook, tool: str, series: str = "", shot: str = "", like: str = "", again: str = ""
) -> Response:
    if tool not in TOOLS:
        raise HTTPException(404)
    if again:
        before = _again(storage, TOOLS[tool], again)
        if before is None:
            raise HTTPException(404, "The book has no such reading. It may have been struck through.")
        return _answer(request, storage, TOOLS[tool], before)
    return _answer(request, storage, TOOLS[tool], _first(storage, TOOLS[tool], series=series, shot=shot if is_id(shot) else "", like=like))


@router.post("/speeds/{tool}", response_class=HTMLResponse)
def work_out(
    request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, tool: str, shot: str = "", again: str = "", rev: int = 0
) -> Response:
    """Worked out; and saved, if that key was pressed: as a new reading, or over the one that is worked out `again`."""
    if tool not in TOOLS:
        raise HTTPException(404)
    which = TOOLS[tool]
    now = _Now(_posted(which, form), shot if is_id(shot) else "", operation=operation_id(form))
    if again:
        before = _again(storage, which, again)
        if before is None:
            raise HTTPException(404, "The book has no such reading. It may have been struck through.")
        now.shot_id, now.again, now.rev = before.shot_id, before.again, rev
        now.typed[INTO] = before.typed[INTO]
    si, now.problems = _read(which, now.typed)
    if not now.problems:
        worked = which.work(si, now.typed, reader_of(frame_for(request, title="")))
        now.distance_m = si["distance"]
        if isinstance(worked, Problem):
            now.problems = [worked]
        else:
            now.worked = worked
    if form.get("act") == "save" and not now.problems:
        return _save(request, seat, storage, which, now, si=si)
    return _answer(request, storage, which, now)


def _save(request: Request, seat: Seat, storage: Storage, tool: Tool, now: _Now, *, si: Mapping[str, float | None]) -> Response:
    assert now.worked is not None
    with storage.read() as session:
        where: Destination | None = next((one for one in destinations(session, shot_id=now.shot_id) if one.key == now.typed[INTO]), None)
    if where is None:
        now.problems = [Problem(INTO, "Pick the series or the shot that it goes to.")]
        return _answer(request, storage, tool, now)
    operations = FormOperations(seat, now.operation)
    with storage.read() as session:
        before = body_taken(session, nth_id(now.operation, 1))  # the same form sent twice says the same order again
    order = {"place": before["place"]} if "place" in before else {}
    speed, typed = now.worked.speed, {name: text for name, text in now.typed.items() if name != INTO}
    units = {ask.name: quantities.KINDS[ask.kind].si_unit for ask in tool.asks}
    named = {name if units[name] == "1" else f"{name}_{units[name].lower()}": value for name, value in si.items()}
    body = {"value": f"{speed.value:.3f} m/s", "uncertainty": f"{speed.standard_uncertainty:.6f} m/s", "method": tool.key, "inputs": inputs_text(typed, named)}
    if now.again:
        record_id = operations.put("speed_reading", now.again, body, base_rev=now.rev, reason="worked out again")
    else:
        record_id = operations.new("speed_reading", {**where.body, **order, **body, "at": operations.moment(storage)})
    if refused := operations.try_to_save(storage):
        now.problems = refused
        return _answer(request, storage, tool, now)
    noun, _, place_id = where.key.partition(":")
    if now.again:
        return Response(None, 204, {"HX-Redirect": where.href}) if wants_part(request) else RedirectResponse(where.href, 303)
    if not wants_part(request):
        return RedirectResponse(f"/speeds/{tool.key}?{noun}={place_id}&like={record_id}", 303)
    return _answer(request, storage, tool, _first(storage, tool, series=place_id if noun == "series" else "", shot=now.shot_id, like=record_id))
