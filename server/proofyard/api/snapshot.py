"""`GET /api/range`: what a phone at the range must know to go on alone. Nothing new answers in a few bytes."""

import json
import time
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Header, HTTPException, Path, Query, Request, Response

from proofyard.access.seats import ArcherSeat, Seat, TheBook
from proofyard.answers.planning.next_shot_read import next_for_phones
from proofyard.answers.range import kit as range_kit
from proofyard.api.packed_ids import with_ids_once
from proofyard.records import range_facts
from proofyard.records.at_the_butt import at_the_butt
from proofyard.records.range_facts import Changed, Where
from proofyard.records.shot import GROUNDED_BY
from proofyard.records.shots_at_the_range import day_of, shots_in_full, told_on
from proofyard.storage import Session, Storage

router = APIRouter()

IDS_ONCE = 2  # the form in which each id stands once
CLASHES_SHOWN = ("shot", "shot_reading", "speed_reading", "arrow_check")


class ToldAlike:
    """What every phone is told alike: sixty may ask for what is worked out once. With the number that it is of.

    While many save it is worked out twice a second and not at each change: a phone is then told a number a little older,
    and hears the rest when it asks on from there. One that asks for the first time, or knows as much, gets it again.
    """

    KEEPS_S = 0.5

    def __init__(self) -> None:
        self._kept: tuple[str, int, float, dict[str, Any]] | None = None

    def now(self, session: Session, where: Where, since: int) -> tuple[int, dict[str, Any]]:
        kept = self._kept
        if kept is not None and kept[0] == where.epoch:
            _, seq, at, alike = kept
            if seq == where.seq or 0 < since < seq < where.seq and time.monotonic() - at < self.KEEPS_S:
                return seq, alike
        alike = _alike(session)
        self._kept = (where.epoch, where.seq, time.monotonic(), alike)
        return where.seq, alike


def _alike(session: Session) -> dict[str, Any]:
    setups = range_facts.open_setups(session)
    areas = range_facts.areas_of(session, {one.panel_build.id for one in setups})
    following = next_for_phones(session, setups)
    return {
        "own_day": sorted(day_of(setups, date.today())),
        "at_the_butt": at_the_butt(session, {one.day.id for one in setups}),
        "setups": [
            range_kit.setup_for_phone(one, [area for area in areas if area.panel_build_id == one.panel_build.id], all_open=setups)
            | following.get(one.setup.id, {})
            for one in setups
        ],
        "archers": [{"id": key, "name": name} for key, name in range_facts.archers_here(session)],
        "bows": range_kit.bows_for_phone(range_facts.current_bows(session)),
        "arrows": range_kit.arrows_for_phone(session, setups),
        "grounded": GROUNDED_BY,
        "clashes": [range_kit.clash_for_phone(one) for one in range_facts.two_said(session, CLASHES_SHOWN)],
    }


@router.get("/api/range", include_in_schema=False)
async def range_snapshot(
    request: Request,
    seat: ArcherSeat,
    book: TheBook,
    since: Annotated[int, Query(ge=0, le=1 << 60)] = 0,
    epoch: Annotated[str, Query(max_length=36)] = "",
    form: Annotated[int, Query(ge=1, le=IDS_ONCE)] = 1,
    if_none_match: Annotated[str, Header(max_length=200)] = "",
) -> Response:
    """All, or what came after `since` if the phone names this book's epoch; 204 or 304 when nothing did.

    form  as the asking page reads it: a page that was opened before the laptop's program was renewed asks for the form that it knows
    """
    t1 = time.time_ns() // 1_000_000
    state = request.app.state
    answer: Response = await state.listening.do(
        _answer, seat, book, state.told_alike, t1=t1, since=since, epoch=epoch, form=form, if_none_match=if_none_match
    )
    return answer


def _answer(seat: Seat, book: Storage, alike: ToldAlike, *, t1: int, since: int, epoch: str, form: int, if_none_match: str) -> Response:
    with book.read() as session:
        where = range_facts.where_it_stands(session, seat.device_id, seat.letter)
        tag = f'"{where.epoch}-{where.seq}-{seat.letter or ""}-{form}"'
        known = epoch == where.epoch and since <= where.seq
        if known and since == where.seq and since > 0:
            return Response(None, 204, _headers(t1, tag))
        if if_none_match == tag and not since:
            return Response(None, 304, _headers(t1, tag))
        changed = range_facts.changed_since(session, since if known else 0)
        seq, told = alike.now(session, where, since if known else 0)
        content = _content(session, seat, where, changed, told) | {"seq": seq}
    if form < IDS_ONCE:
        return Response(_written(content), 200, _headers(t1, tag), "application/json")
    return Response(with_ids_once(_written(_read_alone(content))), 200, _headers(t1, tag), "text/plain; charset=utf-8")


def _written(content: dict[str, Any]) -> str:
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"))


def _read_alone(content: dict[str, Any]) -> dict[str, Any]:
    """Without what no page at the range reads: how often each arrow hit, and areas that are no answer to where a hit went in."""
    arrows = [{name: value for name, value in one.items() if name != "hits"} for one in content["arrows"]]
    setups = [one | {"areas": [area for area in one["areas"] if area["sort"] in one["entries"]]} for one in content["setups"]]
    return content | {"arrows": arrows, "setups": setups}


def _headers(t1: int, tag: str) -> dict[str, str]:
    now = time.time_ns() // 1_000_000
    return {"ETag": tag, "Cache-Control": "private, no-cache", "Proofyard-Clock": f"{t1} {now}"}


def _content(session: Session, seat: Seat, where: Where, changed: Changed, alike: dict[str, Any]) -> dict[str, Any]:
    shooting_ends = range_facts.shooting_ends_of(
        session, {one["id"] for one in alike["setups"]}, None if changed.whole else changed.shooting_ends
    )
    return {
        "book": where.book_id,
        "epoch": where.epoch,
        "whole": changed.whole,
        "phone": {
            "id": seat.device_id,
            "letter": seat.letter,
            "name": seat.call_name,
            "highest": where.highest_label,
            "highest_seq": where.highest_device_seq,
        },
        "shooting_ends": shooting_ends,
        **_shots(session, changed, alike, ends={one["id"]: place for place, one in enumerate(shooting_ends)}),
        **{name: told for name, told in alike.items() if name != "own_day"},
    }


def _shots(session: Session, changed: Changed, alike: dict[str, Any], *, ends: dict[str, int]) -> dict[str, Any]:
    """Of all that a phone must know the day's own in full and the hits before it as rows; of news each that changed in full."""
    builds = sorted({one["panel"] for one in alike["setups"]})
    told = told_on(session, builds, alike["own_day"], ends) if changed.whole else None
    full = shots_in_full(session, changed.shots if told is None else told.full, builds)
    return {"shots": [range_kit.shot_for_phone(one) for one in full], "earlier": {} if told is None else told.earlier}


@router.get("/api/range/shots/{shot_id}", include_in_schema=False)
async def range_shot(request: Request, seat: ArcherSeat, book: TheBook, shot_id: Annotated[str, Path(max_length=36)]) -> Response:
    """One shot in full, for a phone that was told only of its hit and opens it."""
    answer: Response = await request.app.state.listening.do(_one_shot, book, seat.device_id, shot_id)
    return answer


def _one_shot(book: Storage, device_id: str | None, shot_id: str) -> Response:
    with book.read() as session:
        found = shots_in_full(session, [shot_id])
        if not found:
            raise HTTPException(404)
        told = {"epoch": range_facts.where_it_stands(session, device_id, None).epoch, "shot": range_kit.shot_for_phone(found[0])}
    text = json.dumps(told, ensure_ascii=False, separators=(",", ":")).encode()
    return Response(text, 200, {"Cache-Control": "private, no-cache"}, "application/json")
