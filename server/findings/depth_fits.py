"""Whether the rung that was read, the depth, and the head's tip to widest can all be true at once."""

from dataclasses import dataclass

from server.quantities import written
from server.records.trial import rung_name

# Depths are read to whole millimetres: half of one either way is no contradiction.
READ_TO_M = 0.0005
POINT_BEHIND, HEAD_BEHIND = 4, 5


@dataclass(frozen=True)
class DepthFit:
    """fits: True, False, or None where it can't be told; the words say why."""

    fits: bool | None
    words: str


def rung_and_depth(
    low: int | None, high: int | None, *, depth_m: float | None, bound: str | None, tip_to_widest_m: float | None
) -> DepthFit | None:
    """The check, or None while there is no rung or no depth to check.

    A depth of "at least" may be anything deeper; of two rungs, one that fits is enough.
    """
    if low is None or depth_m is None:
        return None
    rungs = range(low, (high if high is not None else low) + 1)
    at_least = bound == "at_least"
    if max(rungs) < POINT_BEHIND:
        if depth_m <= READ_TO_M:
            return DepthFit(True, "Nothing stood behind, so the rung fits.")
        return DepthFit(False, f"“{_rungs(rungs)}” says that no point stood behind, but the tip is {_mm(depth_m)} past the rear face. Look again: one of them is wrong.")
    if max(rungs) == POINT_BEHIND and depth_m <= 0 and not at_least and len(rungs) == 1:
        return DepthFit(False, "“Point behind” says that the tip passed the rear face, but the depth is 0. Look again: one of them is wrong.")
    if tip_to_widest_m is None:
        return DepthFit(None, "The head’s tip to widest is not measured, so rung and depth can’t be checked against each other.")
    return _against_widest(rungs, depth_m, at_least=at_least, widest_m=tip_to_widest_m)


def _against_widest(rungs: range, depth_m: float, *, at_least: bool, widest_m: float) -> DepthFit:
    said = f"Tip to widest is {_mm(widest_m)}"
    past = depth_m > widest_m + READ_TO_M
    short = depth_m < widest_m - READ_TO_M and not at_least
    if rungs[-1] == POINT_BEHIND and past:
        return DepthFit(False, f"{said}, and the tip is {_mm(depth_m)} past the rear face: then the head’s widest part passed too. Look again: head behind, or less deep?")
    if rungs[0] == HEAD_BEHIND and short:
        return DepthFit(False, f"{said}, and the tip is only {_mm(depth_m)} past the rear face: then the widest part did not pass. Look again: point behind, or deeper?")
    if rungs[0] == HEAD_BEHIND and at_least and depth_m < widest_m - READ_TO_M:
        return DepthFit(None, f"{said}. The depth is only known to be {_mm(depth_m)} or more, so it can’t be told whether the rung fits.")
    return DepthFit(True, f"{said}, so the rung fits.")


def _rungs(rungs: range) -> str:
    return rung_name(rungs[0], rungs[-1])


def _mm(metres: float) -> str:
    return written(metres, "mm")
