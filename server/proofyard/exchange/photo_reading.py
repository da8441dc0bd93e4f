"""A photo as it was sent -> a photo that may be kept. Nothing in what was sent is believed.

What counts is the content, never a name or a type that somebody claims. It is drawn again, so that neither the place
where it was taken nor anything hidden behind its last byte comes along.
"""

import contextlib
import datetime
import io
import threading
import warnings
from dataclasses import dataclass
from typing import Any

from PIL import ExifTags, Image, ImageOps

MOST_BYTES = 20_000_000
MOST_POINTS = 50_000_000
MOST_SIDE = 4000  # what is kept; a panel of 400 mm then has ten points a millimetre
SMALL_SIDE = 320
SENT = ("JPEG", "PNG", "WEBP")
MEDIA = "image/jpeg"
EXPECTED = "Send a JPEG, PNG or WebP photo"
# One at a time: a photo of 50 million points takes 150 MB while it is drawn.
_TURN = threading.Lock()
_KNOWN = (
    (b"GIF8", "a GIF"),
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a packed file"),
    (b"II*\x00", "a TIFF"),
    (b"MM\x00*", "a TIFF"),
    (b"<svg", "an SVG drawing"),
    (b"<?xml", "an SVG drawing or another XML text"),
    (b"BM", "a BMP"),
    (b"<", "a web page or another text"),
)
_HEIC = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1", b"avif", b"avis")


class NotAPicture(Exception):
    """Why it is not taken, and what to do. `kind`: not_a_photo or too_big."""

    def __init__(self, sentence: str, kind: str = "not_a_photo") -> None:
        super().__init__(sentence)
        self.kind = kind


@dataclass(frozen=True)
class Developed:
    """What is kept of a photo: itself and its small form, both JPEG. `taken_at`: what the camera wrote, UTC ms."""

    jpeg: bytes
    small: bytes
    width: int
    height: int
    taken_at: int | None


def develop(sent: bytes) -> Developed:
    """Read a photo and draw it again.

    Refuses
        NotAPicture  no JPEG, PNG or WebP; cut off; too many bytes or points
    """
    if len(sent) > MOST_BYTES:
        raise NotAPicture(
            f"This photo has {len(sent) / 1e6:.1f} MB; at most {MOST_BYTES // 1_000_000} MB are taken. Send it smaller.", "too_big"
        )
    if not sent:
        raise NotAPicture(f"Nothing came. {EXPECTED}.")
    with _TURN, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        with _opened(sent) as photo:
            _bearable(photo)
            taken_at = _taken_at(photo)
            return _drawn(photo, taken_at)


def _opened(sent: bytes) -> Image.Image:
    try:
        # A JPEG with a second photo in it (a depth map, a brighter one) opens as MPO; its first is the photo.
        return Image.open(io.BytesIO(sent), formats=SENT)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_many_points() from error
    except Exception as error:  # a reader of photos may stumble in any way over what was made to trip it
        raise NotAPicture(f"This is {_guess(sent)}, not a photo that can be shown. {EXPECTED}.{_advice(sent)}") from error


def _guess(sent: bytes) -> str:
    start = sent[:64].lstrip().lower() if sent[:1] in b"< \t\r\n" else sent[:64]
    if start[4:8] == b"ftyp" and start[8:12] in _HEIC:
        return "a HEIC or AVIF photo"
    return next((words for mark, words in _KNOWN if start.startswith(mark)), "another kind of file, or a damaged one")


def _advice(sent: bytes) -> str:
    if sent[4:8] == b"ftyp":
        return " On an iPhone: Settings, Camera, Formats, Most Compatible."
    return ""


def _too_many_points(found: tuple[int, int] | None = None) -> NotAPicture:
    has = f"has {found[0]} × {found[1]} points" if found else "has far too many points"
    return NotAPicture(f"This photo {has}; at most {MOST_POINTS // 1_000_000} million are taken. Send it smaller.", "too_big")


def _bearable(photo: Image.Image) -> None:
    """Judged by what the file says of itself, before a point of it is drawn."""
    width, height = photo.size
    if width * height > MOST_POINTS:
        raise _too_many_points(photo.size)
    if width < 1 or height < 1:
        raise NotAPicture(f"This photo has no points in it. {EXPECTED}.")


def _drawn(photo: Image.Image, taken_at: int | None) -> Developed:
    try:
        photo.draft("RGB", (MOST_SIDE, MOST_SIDE))  # a JPEG can be read smaller from the start
        upright = ImageOps.exif_transpose(photo)
        kept = _on_white(upright)
        kept.thumbnail((MOST_SIDE, MOST_SIDE), Image.Resampling.LANCZOS)
        small = kept.copy()
        small.thumbnail((SMALL_SIDE, SMALL_SIDE), Image.Resampling.LANCZOS)
        return Developed(as_jpeg(kept, quality=88), as_jpeg(small, quality=70), kept.width, kept.height, taken_at)
    except MemoryError as error:
        raise NotAPicture("The laptop has not enough memory for this photo. Send it smaller.", "too_big") from error
    except Exception as error:
        raise NotAPicture("This photo is not whole: a part of it is missing or damaged. Send it again.") from error


def _on_white(photo: Image.Image) -> Image.Image:
    """Its points alone, on white where it is clear: no comment, no profile, nothing else that came with it."""
    white = Image.new("RGB", photo.size, "white")
    if photo.mode in ("RGBA", "LA", "PA", "La", "RGBa") or "transparency" in photo.info:
        clear = photo.convert("RGBA")
        white.paste(clear, mask=clear.getchannel("A"))
    else:
        white.paste(photo.convert("RGB"))
    return white


def as_jpeg(photo: Image.Image, *, quality: int) -> bytes:
    out = io.BytesIO()
    photo.save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()


def no_larger(jpeg: bytes, side: int) -> bytes:
    """A photo that was kept, with at most so many points along its longer side; itself where it is small enough."""
    with Image.open(io.BytesIO(jpeg), formats=("JPEG",)) as photo:
        if max(photo.size) <= side:
            return jpeg
        photo.draft("RGB", (side, side))
        smaller = photo.convert("RGB")
        smaller.thumbnail((side, side), Image.Resampling.LANCZOS)
        return as_jpeg(smaller, quality=80)


def _taken_at(photo: Image.Image) -> int | None:
    """When the camera says that it took it: in its own zone if it names one, else in the laptop's."""
    with contextlib.suppress(Exception):  # what a camera wrote may be anything
        held: Any = photo.getexif().get_ifd(ExifTags.IFD.Exif)
        said = str(held[ExifTags.Base.DateTimeOriginal]).strip("\x00 ")
        moment = datetime.datetime.strptime(said, "%Y:%m:%d %H:%M:%S")
        zone = str(held.get(ExifTags.Base.OffsetTimeOriginal, "")).strip("\x00 ")
        if zone:
            moment = datetime.datetime.strptime(f"{said} {zone}", "%Y:%m:%d %H:%M:%S %z")
        at = int(moment.timestamp() * 1000)
        return at if 0 <= at < 1 << 45 else None
    return None
