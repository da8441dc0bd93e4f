"""How far inside a panel's edge a place lies."""

import math


def from_edge_m(place: tuple[float, float], outline: str | None, *, width_m: float | None, height_m: float | None) -> float | None:
    """Metres from the panel's edge, below 0 outside; None while its size is not in the book. `place` is from its middle.

    Exact for a round panel; for an oval one never more than the true distance, so nothing is called fair by it.
    A breastplate's outline is taken as its rectangle.
    """
    if not width_m or not height_m:
        return None
    (x_m, y_m), across, up = place, width_m / 2, height_m / 2
    if outline == "disc":
        return (1 - math.hypot(x_m / across, y_m / up)) * min(across, up)
    return min(across - abs(x_m), up - abs(y_m))
