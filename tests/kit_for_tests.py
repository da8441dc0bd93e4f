"""Builders of records for tests. Each goes through the one door, as a form or a phone would, and gives back ids.

    from tests import kit_for_tests as kit

    everything = yard(book)                       # one of each, a trial open, cautions ticked, a set-up ready
    loosed = shot(book, everything)               # one arrow loosed in the yard's end
    reading(book, loosed, outcome_low="4", depth="12 mm")
    speeds(book, everything.combination, "52.6", "52.9", "53.1")

Every builder takes further fields by name and puts them into the record's body as typed text.
All is invented.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, NamedTuple

from proofyard.records import devices, listing
from proofyard.records.apply import apply, apply_all, apply_each
from proofyard.records.book import Device
from proofyard.records.ids import new_id
from proofyard.records.nouns import TABLES
from proofyard.records.operations import Answer, Operation
from proofyard.records.trial import CAUTIONS
from proofyard.storage import Session, Storage
from sqlalchemy import select

BEGAN = 1_792_836_000_000  # 24 October 2026, 10:00 UTC: where the days of the tests begin


class Bow(NamedTuple):
    bow: str
    build: str


class Arrow(NamedTuple):
    arrow: str
    head: str
    build: str


class Panel(NamedTuple):
    panel: str
    build: str


class OpenTrial(NamedTuple):
    trial: str
    session: str


class Combination(NamedTuple):
    bow_build: str
    arrow_build: str
    archer: str


@dataclass(frozen=True)
class Yard:
    """One of each, ready to shoot."""

    archer: str
    bow: Bow
    arrow: Arrow
    panel: Panel
    stand: str
    trial: str
    session: str
    setup: str
    shooting_end: str

    @property
    def combination(self) -> Combination:
        return Combination(self.bow.build, self.arrow.build, self.archer)


class Together(Storage):
    """The book within one commit, for what is laid out before a test begins: a commit each takes twice as long."""

    def __init__(self, session: Session, recorder: str) -> None:  # opens nothing: the session is open
        self.session, self.recorder = session, recorder

    @contextmanager
    def read(self) -> Iterator[Session]:
        yield self.session


def recorder(book: Storage) -> str:
    """The id of a phone that may log: an archer's that is in the book, or a new one, Tallow's."""
    if isinstance(book, Together):
        return book.recorder
    with book.read() as session:
        there = session.execute(select(Device.id).where(Device.role == "archer").order_by(Device.id).limit(1)).scalar()
    if there:
        return str(there)
    with book.write() as session:
        return devices.add_device(session, call_name="Tallow", role="archer").id


def ask(
    book: Storage,
    noun: str,
    body: Mapping[str, Any] | None = None,
    *,
    record_id: str | None = None,
    base_rev: int = 0,
    action: str = "put",
    reason: str | None = None,
    device: str | None = None,
) -> Answer:
    """One operation as a phone sends it, and its answer, whatever that is."""
    op = Operation(
        op_id=new_id(),
        device_id=device or recorder(book),
        action=action,
        noun=noun,
        record_id=record_id or new_id(),
        base_rev=base_rev,
        body=dict(body or {}),
        reason=reason,
    )
    return apply(book.session, op) if isinstance(book, Together) else apply_each(book, [op])[0]


def put(book: Storage, noun: str, body: Mapping[str, Any], **more: Any) -> str:
    """Store a record, or change the named fields of one (record_id, base_rev); gives its id. Fails if it is refused."""
    answer = ask(book, noun, body, **more)
    assert answer.taken, f"{noun} was refused: " + "; ".join(f"{p.field}: {p.sentence}" for p in answer.problems)
    return answer.record_id


def put_all(book: Storage, bodies: list[tuple[str, Mapping[str, Any]]]) -> list[str]:
    """Many records in one commit: for tests that need hundreds."""
    device = recorder(book)
    operations = [Operation(new_id(), device, "put", noun, new_id(), body=dict(body)) for noun, body in bodies]
    return [answer.record_id for answer in apply_all(book, operations)]


def void(book: Storage, noun: str, record_id: str, reason: str = "wrong arrow picked") -> None:
    answer = ask(book, noun, record_id=record_id, action="void", reason=reason)
    assert answer.taken, answer.problems


def row(book: Storage, noun: str, record_id: str) -> Any:
    """A record as it is stored."""
    with book.read() as session:
        return listing.one(session, TABLES[noun], record_id)


def _nth(book: Storage, noun: str) -> int:
    with book.read() as session:
        return listing.count_of(session, noun) + 1


def archer(book: Storage, call_name: str | None = None, **more: Any) -> str:
    return put(book, "archer", {"call_name": call_name or f"Archer {_nth(book, 'archer')}", "hand": "right", **more})


def instrument(book: Storage, name: str | None = None, sort: str = "scale", **more: Any) -> str:
    return put(book, "instrument", {"name": name or f"Instrument {_nth(book, 'instrument')}", "sort": sort, **more})


def chronograph(book: Storage, name: str | None = None, **more: Any) -> str:
    given = {"resolution": "0.1 m/s", "accuracy_ratio": "0.5 %", "accuracy_means": "limit", **more}
    return instrument(book, name or f"Chronograph {_nth(book, 'instrument')}", "chronograph", **given)


def scale(book: Storage, name: str | None = None, **more: Any) -> str:
    return instrument(book, name or f"Scale {_nth(book, 'instrument')}", "scale", **{"resolution": "0.1 g", **more})


def bow(book: Storage, name: str | None = None, **more: Any) -> Bow:
    body = {"name": name or f"Bow {_nth(book, 'bow')}", "sort": "self", "marked_weight": "110 lbf", "marked_draw": "31 in"}
    made = put(book, "bow", {**body, **more})
    return Bow(made, put(book, "bow_build", {"bow": made, "number": "1", "string": "linen"}))


def head(book: Storage, name: str | None = None, *, form: str = "needle", **more: Any) -> str:
    body = {"name": name or f"Head {_nth(book, 'head')}", "form": form, "mass": "18 g", "tip_to_widest": "60 mm", **more}
    return put(book, "head", body)


def arrow(
    book: Storage,
    tag: str | None = None,
    *,
    form: str = "needle",
    masses: tuple[str, ...] = ("80.1 g", "80.2 g", "80.1 g"),
    head_id: str | None = None,
    head_more: Mapping[str, Any] | None = None,
    **more: Any,
) -> Arrow:
    """A shaft with a head on it, its build, and the readings of the build's mass."""
    mounted = head_id or head(book, form=form, **dict(head_more or {}))
    made = put(book, "arrow", {"tag": tag or f"K{_nth(book, 'arrow')}", "material": "ash", **more})
    build = put(book, "arrow_build", {"arrow": made, "head": mounted, "number": "1"})
    for mass in masses:
        mass_reading(book, build, mass)
    return Arrow(made, mounted, build)


def new_arrow_build(book: Storage, the_arrow: Arrow, *, number: int = 2, masses: tuple[str, ...] = ("79.8 g",)) -> Arrow:
    """The head was worked on: another build, weighed again."""
    body = {"arrow": the_arrow.arrow, "head": the_arrow.head, "number": str(number), "work": "reground"}
    build = put(book, "arrow_build", body)
    for mass in masses:
        mass_reading(book, build, mass)
    return the_arrow._replace(build=build)


def mass_reading(book: Storage, arrow_build: str, value: str, **more: Any) -> str:
    body = {"noun": "arrow_build", "record": arrow_build, "measured": "mass", "value": value, **more}
    return put(book, "reading", body)


def thickness_reading(book: Storage, panel_build: str, value: str = "1.6 mm", **more: Any) -> str:
    body = {"noun": "panel_build", "record": panel_build, "measured": "thickness", "value": value, **more}
    return put(book, "reading", body)


def panel(book: Storage, name: str | None = None, *, construction: str = "plate", **more: Any) -> Panel:
    """A panel 300 mm wide and 400 mm high, as first made."""
    body = {"name": name or f"Panel {_nth(book, 'panel')}", "construction": construction, "outline": "rectangle"}
    made = put(book, "panel", {**body, "width": "300 mm", "height": "400 mm", **more})
    return Panel(made, put(book, "panel_build", {"panel": made, "number": "1", "work": "first"}))


def stand(book: Storage, name: str | None = None, **more: Any) -> str:
    return put(book, "stand", {"name": name or f"Stand {_nth(book, 'stand')}", "held": "hung", "gap": "20 mm", **more})


def trial(
    book: Storage, question: str = "Does the long needle bodkin get through 1.6 mm plate?", *, state: str = "open", **more: Any
) -> str:
    return put(book, "trial", {"question": question, "state": state, **more})


def session(book: Storage, trial_id: str, *, ticked: bool = True, **more: Any) -> str:
    """A day of a trial; its cautions are all ticked unless told otherwise."""
    made = put(book, "session", {"trial": trial_id, "day": "2026-10-24", "place": "Orrisholt, lime-kiln yard", **more})
    if ticked:
        for caution in CAUTIONS:
            put(book, "caution_tick", {"session": made, "caution": caution, "at": BEGAN})
    return made


def open_trial(book: Storage, question: str = "Does the long needle bodkin get through 1.6 mm plate?", **more: Any) -> OpenTrial:
    made = trial(book, question, **more)
    return OpenTrial(made, session(book, made))


def setup(book: Storage, session_id: str, panel_build: str, *, stand_id: str | None = None, **more: Any) -> str:
    body = {"session": session_id, "panel_build": panel_build, "distance": "20 m", "angle": "0", **more}
    return put(book, "setup", {**body, **({"stand": stand_id} if stand_id else {})})


def shooting_end(book: Storage, setup_id: str, **more: Any) -> str:
    return put(book, "shooting_end", {"setup": setup_id, "begun_at": BEGAN, **more})


def yard(
    book: Storage, *, construction: str = "plate", form: str = "needle", question: str = "Does the long needle bodkin get through?"
) -> Yard:
    """An archer, a bow, a weighed arrow, a panel on a stand, a trial open with its cautions ticked, an end begun."""
    device = recorder(book)
    with book.write() as session:
        return _laid_out(Together(session, device), construction, form, question)


def _laid_out(book: Storage, construction: str, form: str, question: str) -> Yard:
    the_archer, the_bow, the_arrow = archer(book), bow(book), arrow(book, form=form)
    the_panel, the_stand = panel(book, construction=construction), stand(book)
    opened = open_trial(book, question)
    ready = setup(book, opened.session, the_panel.build, stand_id=the_stand)
    return Yard(the_archer, the_bow, the_arrow, the_panel, the_stand, opened.trial, opened.session, ready, shooting_end(book, ready))


def shot(
    book: Storage,
    the_yard: Yard,
    *,
    label: str | None = None,
    shooting_end_id: str | None = None,
    arrow_build: str | None = None,
    bow_build: str | None = None,
    archer_id: str | None = None,
    purpose: str = "counted",
    **more: Any,
) -> str:
    """One arrow loosed; the next label of the recording phone unless told otherwise."""
    nth = _nth(book, "shot")
    body = {
        "label": label or f"A{nth}",
        "shooting_end": shooting_end_id or the_yard.shooting_end,
        "bow_build": bow_build or the_yard.bow.build,
        "arrow_build": arrow_build or the_yard.arrow.build,
        "archer": archer_id or the_yard.archer,
        "purpose": purpose,
        "loosed_at": BEGAN + nth * 60_000,
        **more,
    }
    return put(book, "shot", body, device=_phone_of(book, body["label"]))


def _phone_of(book: Storage, label: str) -> str:
    """The phone whose letter begins a label; the one that records everything else if no phone has it."""
    with book.read() as session:
        letter = label.rstrip("0123456789")
        there = session.execute(select(Device.id).where(Device.letter == letter)).scalar()
    return there or recorder(book)


def reading(book: Storage, shot_id: str, *, hit: str = "on_panel", outcome_low: str | None = "4", **more: Any) -> str:
    """What was read of a shot. Its record is the shot's own id."""
    body = {"hit": hit, **({"outcome_low": outcome_low} if outcome_low is not None and hit == "on_panel" else {}), **more}
    return put(book, "shot_reading", body, record_id=shot_id)


def read_shot(book: Storage, the_yard: Yard, *, outcome_low: str | None = "4", hit: str = "on_panel", **more: Any) -> str:
    """One arrow loosed and read; `more` goes into the reading. Gives the shot's id."""
    loosed = shot(book, the_yard)
    return reading(book, loosed, hit=hit, outcome_low=outcome_low, **more)


def shot_speed(book: Storage, shot_id: str, value: str = "52.6 m/s", **more: Any) -> str:
    """A shot's own speed."""
    return put(book, "speed_reading", {"shot": shot_id, "value": value, "method": "chronograph", **more})


def combination(book: Storage, three: Combination) -> str:
    """The id of the combination of three, made if there is none."""
    with book.read() as session:
        table = TABLES["combination"].__table__
        there = session.execute(
            select(table.c.id).where(
                table.c.bow_build_id == three.bow_build, table.c.arrow_build_id == three.arrow_build, table.c.archer_id == three.archer
            )
        ).scalar()
    return there or put(book, "combination", three._asdict())


def speeds(book: Storage, three: Combination, *values: str, instrument_id: str | None = None, **more: Any) -> str:
    """A series of speed readings of a combination; gives the series' id."""
    body = {"combination": combination(book, three), "stood_at": "2 m", "day": "2026-10-24", **more}
    series = put(book, "speed_series", {**body, **({"instrument": instrument_id} if instrument_id else {})})
    for place, value in enumerate(values or ("52.4", "52.6", "52.9"), 1):
        put(book, "speed_reading", {"series": series, "value": value, "place": str(place), "method": "chronograph"})
    return series


def hardness(book: Storage, noun: str, record_id: str, *, slides: str = "30", bites: str = "35", **more: Any) -> str:
    return put(book, "hardness_reading", {"noun": noun, "record": record_id, "slides": slides, "bites": bites, **more})


def checked_sound(book: Storage, arrow_build: str, *, sound: str = "sound", at: int | None = None) -> str:
    return put(book, "arrow_check", {"arrow_build": arrow_build, "sound": sound, "at": at if at is not None else devices.now_ms()})


def photo(book: Storage, noun: str | None = None, record: str | None = None, *, colour: str = "grey", **more: Any) -> str:
    """A small photo, taken in as a phone's is; of a shot, a panel's build or an arrow's, or in the tray. Gives its id."""
    import io

    from PIL import Image
    from proofyard.exchange.photos import keep

    out = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(out, "JPEG")
    photo_id = new_id()
    keep(book, out.getvalue(), photo_id=photo_id, device_id=recorder(book), body={"noun": noun, "record": record, **more})
    return photo_id
