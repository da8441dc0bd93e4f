"""Drawing a photo again as if the camera had stood square before the panel."""

import hashlib
import io
import threading
from collections.abc import Sequence

from PIL import Image

from proofyard.exchange.kept_photos import Photos
from proofyard.exchange.photo_reading import as_jpeg

_TURN = threading.Lock()


def straightened(photos: Photos, photo_id: str, *, numbers: Sequence[float], size: tuple[int, int]) -> bytes | None:
    """The straightened photo; None if the photo's file is missing or damaged.

    It is kept beside the photo under the numbers that made it, and made again whenever it is missing.

    numbers  the eight of findings.photograph.projection, from the straightened photo to the photo
    """
    form = "straight-" + hashlib.sha256(repr((tuple(numbers), size)).encode()).hexdigest()[:12]
    with _TURN:
        there = photos.read(photo_id, form)
        if there is not None:
            return there
        sent = photos.read(photo_id)
        if sent is None:
            return None
        try:
            with Image.open(io.BytesIO(sent), formats=("JPEG",)) as photo:
                drawn = photo.convert("RGB").transform(
                    size, Image.Transform.PERSPECTIVE, numbers, Image.Resampling.BICUBIC, fillcolor="white"
                )
        except (OSError, ValueError, SyntaxError):
            return None
        made = as_jpeg(drawn, quality=82)
        photos.write(photo_id, made, form)
        return made
