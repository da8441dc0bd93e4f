"""An SVG of ours as a PNG, where the renderer is installed: nearly everywhere, else by `proofyard[png]`."""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec

ZOOM = 1.5  # of the SVG's own size, which is twice the page's: three points of the file for one of the page
WORDS = '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><text x="2" y="15" font-family="{faces}">{words}</text></svg>'


@cache
def makes_png() -> bool:
    """Whether the package is there; looked for once."""
    return find_spec("resvg_py") is not None


class NoPng(Exception):
    """Why there is none, in words for the reader."""


@cache
def _faces() -> str:
    """A face in which words can be drawn: on a machine without any, a PNG would come out with its words missing."""
    import resvg_py

    from proofyard.exchange.drawing_files import FACES

    blank = resvg_py.svg_to_bytes(svg_string=WORDS.format(faces=FACES, words=""))
    if resvg_py.svg_to_bytes(svg_string=WORDS.format(faces=FACES, words="n")) == blank:
        raise NoPng("This laptop has no typeface that words could be drawn in, so it makes no PNG. Take the SVG.")
    return FACES


def png_of(svg: str, *, zoom: float = ZOOM) -> bytes:
    """The drawing in points, on its own paper; where it has none, the ground is transparent.

    Refuses
        NoPng  the package or every typeface is missing
    """
    if not makes_png():
        raise NoPng("This laptop makes no PNG. Take the SVG, which every browser opens.")
    import resvg_py

    _faces()
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, zoom=zoom))
