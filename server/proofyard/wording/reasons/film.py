"""What is said of a film's clock and of where a shot is in it."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import Uncertain, written_with_uncertainty
from proofyard.wording.counts import counted
from proofyard.wording.when import exact_clock_words

NO_BREAK = "\N{NO-BREAK SPACE}"


def span_s(within_s: float) -> str:
    """A half-width in seconds: one digit, two if the first is 1.

    >>> span_s(0.0482).replace(NO_BREAK, " ")
    '0.05 s'
    """
    return written_with_uncertainty(Uncertain(0.0, within_s), "s").partition("±")[2].strip() + f"{NO_BREAK}s"


def film_time_words(at_s: float, decimals: int = 2) -> str:
    """A place in a film as a player shows it, to a hundredth or as many decimals (0 to 2).

    >>> film_time_words(3723.456), film_time_words(59.999), film_time_words(59.96, 1), film_time_words(59.4, 0)
    ('1:02:03.46', '1:00.00', '1:00.0', '0:59')
    """
    minutes, rest = divmod(round(at_s * 10**decimals), 60 * 10**decimals)
    hours, minutes = divmod(minutes, 60)
    seconds = f"{rest / 10**decimals:0{3 + decimals if decimals else 2}.{decimals}f}"
    tail = f"{minutes:02d}:{seconds}"
    return f"{hours}:{tail}" if hours else tail.removeprefix("0")


def _clock(*, cards: int, shots: int, within_s: float | None, clips: int, drift_ppm: Uncertain | None) -> str:
    seen = " and ".join(filter(None, (counted(cards, "card") if cards else "", counted(shots, "shot") + " seen" if shots else "")))
    if within_s is None:
        held = f"{seen}: {'no shot of this session with a time lies in this film' if not clips else 'every shot in it was seen'}"
    else:
        held = f"{seen}: clip times are good to ±{NO_BREAK}{span_s(within_s)} at worst (95{NO_BREAK}%)"
    if drift_ppm is None:
        return f"{held}. Add a second card from the other end of the film: one alone says nothing of how the camera’s clock drifts."
    drift = written_with_uncertainty(Uncertain(abs(drift_ppm.value), drift_ppm.standard_uncertainty), "1")
    return f"{held}. The camera’s clock runs {drift} millionths {'fast' if drift_ppm.value >= 0 else 'slow'} against the book’s."


def _drift(*, drift_ppm: float, most_ppm: float) -> str:
    return (
        f"The marks say that the camera’s clock is off by {abs(drift_ppm):,.0f} millionths; no camera’s is by more than {most_ppm:.0f}. "
        "One of them is of another card or another file, or the film is slow motion: check each, and the film’s frame timing."
    )


def _frames(*, rate: str, fraction: str, timing: str, slower: float) -> str:
    said = f"{rate} frames a second" + (f" ({fraction})" if "/" in fraction else "")
    if timing == "slowed":
        return f"{said}, slow motion: {slower:.4g} times slower than it was filmed"
    return said + (", variable: only the player’s clock counts" if timing == "variable" else "")


def _file(*, plays_s: float | None) -> str:
    return "how long it plays: not recorded" if plays_s is None else f"plays {film_time_words(plays_s)}"


def _mark(*, label: str, card_at: int | None, at: str, file: int | None) -> str:
    place = f"{at} in file {file}" if file is not None else at
    shown = f"{label} leaves the bow" if label else f"Sync card of {exact_clock_words(card_at)}" if card_at is not None else "Sync card"
    return f"{shown}: at {place}"


def _odd(*, u_s: float, off_s: float) -> str:
    return f"good to ±{NO_BREAK}{span_s(u_s)}, yet {span_s(abs(off_s))} {'late' if off_s > 0 else 'early'} against the others: check it"


def _clip(*, in_file_s: float, within_s: float) -> str:
    """As exact as it is known: a place to a fifth of a second has no hundredths."""
    within = span_s(within_s)
    decimals = len(within.partition(NO_BREAK)[0].partition(".")[2])
    return f"{film_time_words(in_file_s, min(decimals, 2))} ±{NO_BREAK}{within}"


def _clip_file(*, file: str | None, seen: bool) -> str:
    return ", ".join(filter(None, (file, "as seen" if seen else "")))


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "film_no_mark": "Nothing ties this film to the book’s clock yet. Enter where the sync card is seen, at its start and at its end; "
        "or one shot that you can see leave the bow.",
        "film_drift_too_great": _drift,
        "film_clock": _clock,
        "film_frames": _frames,
        "film_file": _file,
        "film_mark": _mark,
        "film_mark_good": lambda *, u_s: f"good to ±{NO_BREAK}{span_s(u_s)} (one standard uncertainty)",
        "film_mark_odd": _odd,
        "film_mark_unread": "does not fit the film as it stands now: correct it",
        "film_clip": _clip,
        "film_clip_file": _clip_file,
    }
)
