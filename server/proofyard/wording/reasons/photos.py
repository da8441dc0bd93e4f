"""What is said of a photo: of what it is, from where, when and by which phone; and how near in time a shot was to it."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.records.photo import SEEN_FROM
from proofyard.wording.counts import capital
from proofyard.wording.when import clock_words, moment_words

_OF: Mapping[str, str] = MappingProxyType({"shot": "shot {}", "panel_build": "panel {}", "arrow_build": "{}"})


def _of(*, noun: str, name: str, seen_from: str | None) -> str:
    """ "shot A8 from behind", "panel P3"; a name that begins with its noun does not say it twice."""
    words = _OF.get(noun, "{}").format(name or "that is no longer in the book")
    words = words.replace("panel Panel", "panel").replace("Arrow ", "arrow ")
    seen = SEEN_FROM.get(seen_from or "", "")
    return f"{words} {seen[:1].lower()}{seen[1:]}" if seen else words


def _when(*, at: int | None, came_at: int) -> str:
    return f"came {moment_words(came_at)}, when it was taken is not known" if at is None else moment_words(at)


def _caption(*, seen_from: str | None, when: str) -> str:
    seen = SEEN_FROM.get(seen_from or "", "")
    return f"{seen}, {when}" if seen else capital(when)


def _shot(*, label: str, panel: str, loosed_at: int | None, minutes: int | None) -> str:
    """minutes: from the shot to the photo, below 0 for a shot after it; None says nothing of the photo."""
    words = f"{label}, at {panel}" + (f", {clock_words(loosed_at)}" if loosed_at is not None else "")
    if minutes is None:
        return words
    return f"{words}: " + ("the same minute" if minutes == 0 else f"{abs(minutes)} min {'before' if minutes > 0 else 'after'} the photo")


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "photo_of": _of,
        "photo_when": _when,
        "photo_words": lambda *, of, when: f"Photo of {of}, {when}" if of else f"Photo, {when}",
        "photo_caption": _caption,
        "photo_by": lambda *, when, letter, who: f"{when}, {f'phone {letter}' if letter else who}",
        "photo_near_shot": _shot,
    }
)
