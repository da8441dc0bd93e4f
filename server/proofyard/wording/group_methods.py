"""The terms by which the methods of several groups are set side by side."""

from collections.abc import Mapping
from types import MappingProxyType

METHOD_TERMS: Mapping[str, str] = MappingProxyType(
    {
        "distance": "Distance",
        "thickness": "Thickness of the panels",
        "head_width": "Width of the heads",
        "angle": "Angle from square",
        "behind": "Behind the panel",
        "speed": "Speed read with",
        "hardness": "Hardness judged with",
        "fair": "What a fair hit is",
        "order": "How the next energy was chosen",
        "how_many": "Panels, arrows, bows and days",
    }
)
