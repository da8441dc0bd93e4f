"""Drawing a photograph anew as if the camera had stood square before the panel."""

import hashlib
import io
import threading
from collections.abc import Sequence

from PIL import Image

from server.exchange.picture_files import PictureFolder
from server.exchange.picture_reading import as_jpeg

_TURN = threading.Lock()


def straightened(folder: PictureFolder, picture_id: str, *, numbers: Sequence[float], size: tuple[int, int]) -> bytes | None:
    """The straightened picture; None if the photograph's file is missing or damaged.

    It is kept beside the photograph under the numbers that made it, and made anew whenever it is missing.

    numbers  the eight of findings.photograph.projection, from the straightened picture to the photograph
    """
    form = "straight-" + hashlib.sha256(repr((tuple(numbers), size)).encode()).hexdigest()[:12]
    with _TURN:
        there = folder.read(picture_id, form)
        if there is not None:
            return there
        sent = folder.read(picture_id)
        if sent is None:
            return None
        try:
            with Image.open(io.BytesIO(sent), formats=("JPEG",)) as picture:
                drawn = picture.convert("RGB").transform(size, Image.Transform.PERSPECTIVE, numbers, Image.Resampling.BICUBIC, fillcolor="white")
        except (OSError, ValueError, SyntaxError):
            return None
        made = as_jpeg(drawn, quality=82)
        folder.write(picture_id, made, form)
        return made
