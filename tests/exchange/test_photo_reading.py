"""What comes as a photo may be anything: only photos are kept, drawn again, and nothing that came along stays."""

import io
import struct
import zlib

import pytest
from PIL import ExifTags, Image
from proofyard.exchange import photo_reading
from proofyard.exchange.photo_reading import MOST_BYTES, MOST_SIDE, SMALL_SIDE, NotAPicture, develop


def made(form: str = "JPEG", size: tuple[int, int] = (640, 480), mode: str = "RGB", **more: object) -> bytes:
    """A photo with something on it: a red left half and a blue right half."""
    photo = Image.new(mode, size, "blue" if mode == "RGB" else 40)
    photo.paste("red" if mode == "RGB" else 200, (0, 0, size[0] // 2, size[1]))
    out = io.BytesIO()
    photo.save(out, form, **more)
    return out.getvalue()


def opened(content: bytes) -> Image.Image:
    photo = Image.open(io.BytesIO(content))
    photo.load()
    return photo


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_jpeg_png_and_webp_are_taken_and_kept_as_jpeg(form: str) -> None:
    kept = develop(made(form))
    photo = opened(kept.jpeg)
    assert photo.format == "JPEG" and photo.size == (kept.width, kept.height) == (640, 480)
    assert photo.getpixel((100, 240))[0] > 200 > 100 > photo.getpixel((540, 240))[0]
    assert max(opened(kept.small).size) == SMALL_SIDE


def with_place() -> bytes:
    """A JPEG as a phone writes it: taken in a yard, standing on its side, with a comment."""
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6  # turn a quarter to the right
    exif[ExifTags.Base.Make] = "Wren's own camera"
    inside = exif.get_ifd(ExifTags.IFD.Exif)
    inside[ExifTags.Base.DateTimeOriginal] = "2026:10:24 12:34:56"
    inside[ExifTags.Base.OffsetTimeOriginal] = "+02:00"
    place = exif.get_ifd(ExifTags.IFD.GPSInfo)
    place[ExifTags.GPS.GPSLatitudeRef], place[ExifTags.GPS.GPSLatitude] = "N", (51.0, 30.0, 12.5)
    place[ExifTags.GPS.GPSLongitudeRef], place[ExifTags.GPS.GPSLongitude] = "W", (0.0, 7.0, 39.0)
    return made(exif=exif, comment=b"behind the lime kiln", xmp=b"<x:xmpmeta>exif:GPSLatitude</x:xmpmeta>")


def test_where_it_was_taken_is_gone_and_when_is_kept() -> None:
    sent = with_place()
    before = opened(sent)
    assert before.getexif().get_ifd(ExifTags.IFD.GPSInfo) and b"lime kiln" in sent and b"xmpmeta" in sent, "this tests nothing"
    kept = develop(sent)
    for content in (kept.jpeg, kept.small):
        after = opened(content)
        assert dict(after.getexif()) == {} and not after.getexif().get_ifd(ExifTags.IFD.GPSInfo)
        assert set(after.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        for told in (b"Exif", b"http://ns.adobe.com", b"xmpmeta", b"lime kiln", b"Wren"):
            assert told not in content
    # 12:34:56 two hours east of Greenwich is 10:34:56 UTC
    assert kept.taken_at == 1_792_838_096_000


def test_a_photo_stands_upright_as_its_camera_meant() -> None:
    kept = develop(with_place())
    assert (kept.width, kept.height) == (480, 640)
    photo = opened(kept.jpeg)
    assert photo.getpixel((240, 100))[0] > 200, "its left half is now on top"


def test_a_jpeg_that_carries_a_second_photo_gives_its_first() -> None:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), "red").save(out, "MPO", save_all=True, append_images=[Image.new("RGB", (64, 48), "blue")])
    photo = opened(develop(out.getvalue()).jpeg)
    assert photo.getpixel((32, 24))[0] > 200


def test_what_is_clear_in_a_png_becomes_white() -> None:
    out = io.BytesIO()
    Image.new("RGBA", (40, 40), (255, 0, 0, 0)).save(out, "PNG")
    assert min(opened(develop(out.getvalue()).jpeg).getpixel((20, 20))) > 250


@pytest.mark.parametrize("mode", ["L", "CMYK", "1", "P", "I;16", "LA"])
def test_other_ways_of_storing_colour_are_read(mode: str) -> None:
    out = io.BytesIO()
    Image.new("L", (32, 32), 255).convert(mode if mode != "I;16" else "I;16").save(out, "JPEG" if mode in ("L", "CMYK") else "PNG")
    assert min(opened(develop(out.getvalue()).jpeg).getpixel((16, 16))) > 200 or mode == "I;16"


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        (b"", "Nothing came"),
        (b"GIF89a" + bytes(40), "a GIF"),
        (b"%PDF-1.7\n%" + bytes(40), "a PDF"),
        (b"PK\x03\x04" + bytes(40), "a packed file"),
        (b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>', "an SVG"),
        (b"<!doctype html><script>alert(1)</script>", "a web page"),
        (b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(40), "Most Compatible"),
        (b"II*\x00" + bytes(60), "a TIFF"),
        (b"BM" + bytes(60), "a BMP"),
        (b"\xff\xd8\xff\xe0 only its first bytes", "another kind of file, or a damaged one"),
        (b"\x89PNG\r\n\x1a\n only its first bytes", "another kind of file, or a damaged one"),
        (b"RIFF\x10\x00\x00\x00WEBPVP8 " + bytes(10), ""),
        (bytes(1000), "another kind of file, or a damaged one"),
        (b"just words about a plate", "another kind of file, or a damaged one"),
    ],
)
def test_anything_else_is_refused_in_words(sent: bytes, said: str) -> None:
    with pytest.raises(NotAPicture) as refusal:
        develop(sent)
    assert said in str(refusal.value) and ("JPEG, PNG or WebP" in str(refusal.value) or "not whole" in str(refusal.value))
    assert refusal.value.kind == "not_a_photo"


@pytest.mark.parametrize("form", ["GIF", "TIFF", "BMP", "ICO", "PPM"])
def test_a_true_photo_of_another_form_is_refused_whatever_it_is_called(form: str) -> None:
    with pytest.raises(NotAPicture, match="JPEG, PNG or WebP"):
        develop(made(form, (64, 64)))


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_photo_that_is_cut_off_is_refused_at_every_length(form: str) -> None:
    noise = Image.effect_noise((200, 200), 90).convert("RGB")
    out = io.BytesIO()
    noise.save(out, form)
    whole = out.getvalue()
    for share in (0.02, 0.2, 0.5, 0.8, 0.95):
        with pytest.raises(NotAPicture):
            develop(whole[: int(len(whole) * share)])


def png_that_claims(width: int, height: int) -> bytes:
    """A few bytes that say they are a photo of that size."""

    def piece(name: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))

    head = piece(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + piece(b"IDAT", zlib.compress(bytes(1000))) + piece(b"IEND", b"")


@pytest.mark.parametrize("size", [(8000, 7000), (10_000, 10_000), (60_000, 60_000), (2**31 - 1, 2)])
def test_a_photo_that_claims_to_be_huge_is_refused_before_it_is_drawn(size: tuple[int, int]) -> None:
    with pytest.raises(NotAPicture, match="50 million") as refusal:
        develop(png_that_claims(*size))
    assert refusal.value.kind == "too_big"


def test_too_many_bytes_are_refused_before_they_are_read() -> None:
    with pytest.raises(NotAPicture, match="at most 20 MB") as refusal:
        develop(made() + bytes(MOST_BYTES))
    assert refusal.value.kind == "too_big"


def test_what_hides_behind_or_within_a_photo_is_not_kept() -> None:
    page = b"<!doctype html><script>alert('hidden')</script>"
    behind = made() + page
    kept = develop(behind)
    assert b"alert" not in kept.jpeg + kept.small
    # In a comment, right after the first two bytes, where a browser that guesses would look first.
    plain = made()
    within = plain[:2] + b"\xff\xfe" + struct.pack(">H", len(page) + 2) + page + plain[2:]
    assert b"alert" in within and opened(within).format == "JPEG"
    assert b"alert" not in develop(within).jpeg


def test_a_damaged_note_of_the_camera_is_no_reason_to_lose_a_photo() -> None:
    plain = made()
    damaged = plain[:2] + b"\xff\xe1\x00\x20Exif\x00\x00MM\x00*\xff\xff\xff\xff" + bytes(16) + plain[2:]
    assert develop(damaged).width == 640


def test_more_points_than_are_kept_are_drawn_smaller() -> None:
    kept = develop(made(size=(6000, 3000)))
    assert (kept.width, kept.height) == (MOST_SIDE, MOST_SIDE // 2)


def test_a_panorama_of_one_row_is_kept() -> None:
    kept = develop(made("PNG", (5000, 1)))
    assert kept.height == 1 and opened(kept.small).height == 1


def test_a_reader_that_stumbles_in_an_unforeseen_way_is_a_refusal_not_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def stumble(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(photo_reading.ImageOps, "exif_transpose", stumble)
    with pytest.raises(NotAPicture, match="not whole"):
        develop(made())
