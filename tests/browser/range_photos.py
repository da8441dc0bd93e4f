"""Photos as a phone's camera gives them: a few hundred kilobytes that no other photo has."""

from __future__ import annotations

import hashlib
import random
from pathlib import Path

from PIL import Image


def a_photo(path: Path, *, seed: int = 1, side: int = 320) -> Path:
    """JPEG, PNG or WebP, by the name's ending."""
    noise = random.Random(seed)
    Image.frombytes("RGB", (side, side), noise.randbytes(3 * side * side)).save(path)
    return path


def checksum(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
