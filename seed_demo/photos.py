"""Photos of the demo: drawn here from the shots that it invented, and each says on itself that it is no photograph.

Written with lots of its own, so that nothing else of the demo comes out differently for them.
"""

import io
import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from PIL import Image, ImageDraw, ImageFont
from proofyard.exchange.photos import keep
from proofyard.records.book import Revision
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.storage import Storage
from sqlalchemy import select, update
from sqlmodel import col

from .writer import Writer

SEED = 261019
SIZE = (900, 1080)
PANEL_MM = (360, 420)
SCALE = 2.1  # pixels a millimetre
STEEL, DARK, BRIGHT, YARD, CHALK = "#9aa0a3", "#3c4043", "#d8dcde", "#6d6455", "#f4f1e8"
SAYS = "Drawn for the demo. No photograph."
PLATES = ("P2", "P6")
CLOSE_UPS = 4


@dataclass(frozen=True)
class Drawn:
    """A drawing, and what the book is told of it."""

    jpeg: bytes
    noun: str
    record: str
    seen_from: str
    taken_at: int
    note: str


def add_photos(storage: Storage, w: Writer) -> int:
    """Put the drawings into the book as its photos; how many."""
    lots = random.Random(SEED)
    kept, w.rng = w.rng, lots
    try:
        with storage.read() as session:
            facts = [fact for fact in shot_facts(session) if fact.x_m is not None and fact.outcome_low is not None]
        drawings = list(_drawings(facts, lots))
        for one in drawings:
            w.now = one.taken_at
            _keep(storage, w, one)
    finally:
        w.rng = kept
    return len(drawings)


def _keep(storage: Storage, w: Writer, one: Drawn) -> None:
    body = {"noun": one.noun, "record": one.record, "seen_from": one.seen_from, "taken_at": one.taken_at, "note": one.note}
    photo_id = w.new_id()
    keep(storage, one.jpeg, photo_id=photo_id, device_id=w.phones["Wren"], body=body)
    with storage.write() as session:  # the demo's days are invented, and so is the moment when the book heard of a photo
        (line,) = session.execute(select(Revision).where(col(Revision.record_id) == photo_id)).scalars()
        session.execute(update(Revision).where(col(Revision.seq) == line.seq).values(at=one.taken_at))


def _drawings(facts: Sequence[ShotFact], lots: random.Random) -> Iterator[Drawn]:
    for name in PLATES:
        hits = [fact for fact in facts if fact.panel_name == name]
        if not hits:
            continue
        last = max(fact.loosed_at or 0 for fact in hits)
        for side, minutes in (("front", 8), ("back", 9)):
            image = _plate(hits, lots, back=side == "back")
            yield Drawn(_bytes(image), "panel_build", hits[0].panel_build_id, side, last + minutes * 60_000, "")
    for fact in _worth_a_close_up(facts):
        note = f"{fact.label}, close up."
        yield Drawn(_bytes(_close_up(fact, lots)), "shot", fact.shot_id, "close", (fact.loosed_at or 0) + 150_000, note)


def _worth_a_close_up(facts: Sequence[ShotFact]) -> list[ShotFact]:
    """One hit of each sort on a plate: dented, opened, point through, head through."""
    on_plate = [fact for fact in facts if fact.construction == "plate"]
    found = (next((fact for fact in on_plate if fact.outcome_low == level), None) for level in (2, 3, 4, 5))
    return [fact for fact in found if fact is not None][:CLOSE_UPS]


def _ground(lots: random.Random) -> Image.Image:
    """Earth and straw, so that no two drawings are the same file."""
    image = Image.new("RGB", SIZE, YARD)
    draw = ImageDraw.Draw(image)
    for _ in range(500):
        x, y, length, turn = lots.uniform(0, SIZE[0]), lots.uniform(0, SIZE[1]), lots.uniform(6, 26), lots.uniform(0, math.pi)
        draw.line(
            (x, y, x + length * math.cos(turn), y + length * math.sin(turn)), fill=lots.choice(("#7b715f", "#5f5749", "#857a64")), width=2
        )
    return image


def _says(image: Image.Image) -> None:
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, SIZE[1] - 44, SIZE[0], SIZE[1]), fill=DARK)
    draw.text((18, SIZE[1] - 36), SAYS, fill=CHALK, font=ImageFont.load_default(24))


def _plate(hits: Sequence[ShotFact], lots: random.Random, *, back: bool) -> Image.Image:
    """The whole plate: from behind it is mirrored, and only what opened it is seen."""
    image = _ground(lots)
    draw = ImageDraw.Draw(image)
    middle = (SIZE[0] / 2, (SIZE[1] - 44) / 2)
    across, high = PANEL_MM[0] * SCALE / 2, PANEL_MM[1] * SCALE / 2
    frame = (middle[0] - across, middle[1] - high, middle[0] + across, middle[1] + high)
    draw.rounded_rectangle(frame, 26, fill="#868c8f" if back else STEEL, outline=DARK, width=4)
    draw.line((middle[0], frame[1] + 12, middle[0], frame[3] - 12), fill=DARK if back else BRIGHT, width=5)
    font = ImageFont.load_default(28)
    for fact in hits:
        assert fact.x_m is not None and fact.y_m is not None and fact.outcome_low is not None
        x = middle[0] + (-1 if back else 1) * fact.x_m * 1000 * SCALE
        y = middle[1] - fact.y_m * 1000 * SCALE
        _mark(draw, x, y, fact.outcome_low, size=12, back=back, lots=lots)
        if not back or fact.outcome_low >= 3:
            draw.text((x + 20, y - 16), fact.label, fill=CHALK, font=font)
    draw.text(
        (frame[0] + 16, frame[1] + 10), f"{hits[0].panel_name}, {'back' if back else 'front'}", fill=CHALK, font=ImageFont.load_default(30)
    )
    _says(image)
    return image


def _close_up(fact: ShotFact, lots: random.Random) -> Image.Image:
    image = _ground(lots)
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 60, SIZE[0], SIZE[1] - 100), fill=STEEL)
    for _ in range(60):  # the grain of the sheet
        y = lots.uniform(60, SIZE[1] - 100)
        draw.line((0, y, SIZE[0], y + lots.uniform(-6, 6)), fill=lots.choice(("#a4aaad", "#91979a")), width=1)
    _mark(draw, SIZE[0] / 2, SIZE[1] / 2, fact.outcome_low or 0, size=90, back=False, lots=lots)
    draw.text((30, 80), fact.label, fill=DARK, font=ImageFont.load_default(64))
    _says(image)
    return image


def _mark(draw: ImageDraw.ImageDraw, x: float, y: float, level: int, *, size: float, back: bool, lots: random.Random) -> None:
    """A scratch, a dent, a split, a hole: as large as they are drawn near."""
    if level <= 1:
        if not back:
            draw.line((x - size, y + size / 2, x + size, y - size / 2), fill=BRIGHT, width=max(2, round(size / 9)))
        return
    draw.ellipse(
        (x - 1.5 * size, y - 1.5 * size, x + 1.5 * size, y + 1.5 * size), outline=BRIGHT if back else DARK, width=max(2, round(size / 12))
    )
    if level == 2:
        return
    turn = lots.uniform(0, math.pi)
    arms = 2 if level == 3 else 4
    for nth in range(arms):
        angle = turn + nth * 2 * math.pi / arms
        draw.line((x, y, x + size * math.cos(angle), y + size * math.sin(angle)), fill="#15171a", width=max(2, round(size / 8)))
    if level >= 4:
        hole = size * (0.45 if level == 4 else 0.8)
        draw.ellipse((x - hole, y - hole, x + hole, y + hole), fill="#15171a", outline=BRIGHT if back else DARK, width=2)


def _bytes(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=82)
    return out.getvalue()
