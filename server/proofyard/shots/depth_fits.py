"""Whether the outcome level that was read, the depth, and the head's tip to widest can all be true at once."""

from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because

# Depths are read to whole millimetres: half of one either way is no contradiction.
READ_TO_M = 0.0005
POINT_THROUGH, HEAD_THROUGH = 4, 5


@dataclass(frozen=True)
class DepthFit:
    """fits: True, False, or None where it can't be told; the reason says why."""

    fits: bool | None
    reason: Reason


def outcome_level_and_depth(
    low: int | None, high: int | None, *, depth_m: float | None, bound: str | None, tip_to_widest_m: float | None
) -> DepthFit | None:
    """The check, or None while there is no outcome or no depth to check.

    A depth of "at least" may be anything deeper; of two outcome levels, one that fits is enough.
    """
    if low is None or depth_m is None:
        return None
    last = low if high is None else high
    at_least = bound == "at_least"
    if last < POINT_THROUGH:
        if depth_m <= READ_TO_M:
            return DepthFit(True, because("depth_fits_no_point_through"))
        return DepthFit(False, because("depth_past_the_face_without_a_point", low=low, high=last, depth_m=depth_m))
    if low == last == POINT_THROUGH and depth_m <= 0 and not at_least:
        return DepthFit(False, because("depth_of_a_point_through_is_0"))
    if tip_to_widest_m is None:
        return DepthFit(None, because("depth_without_tip_to_widest"))
    return _against_widest(low, last, depth_m, at_least=at_least, widest_m=tip_to_widest_m)


def _against_widest(low: int, high: int, depth_m: float, *, at_least: bool, widest_m: float) -> DepthFit:
    past = depth_m > widest_m + READ_TO_M
    short = depth_m < widest_m - READ_TO_M
    if high == POINT_THROUGH and past:
        return DepthFit(False, because("depth_past_the_widest", widest_m=widest_m, depth_m=depth_m))
    if low == HEAD_THROUGH and short and not at_least:
        return DepthFit(False, because("depth_short_of_the_widest", widest_m=widest_m, depth_m=depth_m))
    if low == HEAD_THROUGH and short:
        return DepthFit(None, because("depth_at_least_short_of_the_widest", widest_m=widest_m, depth_m=depth_m))
    return DepthFit(True, because("depth_fits_the_widest", widest_m=widest_m))
