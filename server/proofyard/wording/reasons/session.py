"""What is said of a day of shooting: its cautions, its set-ups, its incidents, whether every phone's shots are in the book."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.quantities import unit_for_reader, written
from proofyard.records.trial import INCIDENTS, Incident
from proofyard.wording.counts import counted
from proofyard.wording.when import clock_words, day_words, moment_words

MOST_TOLD = 12


def labels_listed(labels: Sequence[str]) -> str:
    more = f" and {len(labels) - MOST_TOLD} more" if len(labels) > MOST_TOLD else ""
    return ", ".join(labels[:MOST_TOLD]) + more


def _distance(distance_m: float, reader: str) -> str:
    return written(distance_m, unit_for_reader("distance", reader))


def _clocks_apart(*, ms: int, names: Sequence[str]) -> str:
    whose = [f"{name}’s" for name in names]
    phones = (whose[0] if len(whose) == 1 else f"{', '.join(whose[:-1])} and {whose[-1]}") + (" phone" if len(whose) == 1 else " phones")
    return (
        f"This laptop’s clock was {_span(ms)} {'ahead of' if ms > 0 else 'behind'} {phones} when {'its' if len(whose) == 1 else 'their'} "
        "shots came in. Shots take their times from the laptop. "
        "Find out which clock is right, and set the other one before the next shot. "
        "Times already written down stay as they are."
    )


def _span(ms: int) -> str:
    """In its own unit: "94 days", "3 hours", "25 minutes"."""
    minutes = round(abs(ms) / 60_000)
    for unit, size in (("day", 1440), ("hour", 60)):
        if minutes >= 2 * size:
            return f"{round(minutes / size)} {unit}s"
    return f"{minutes} minutes"


def _ticked(*, who: str, letter: str | None, at: int) -> str:
    return f"Ticked by {who}{f', phone {letter}' if letter else ''}, {moment_words(at)}"


def _lead(*, state: str, ticked: int, cautions: int, shots: int, unread: int) -> str:
    if state == "closed":
        start = "The trial is closed, so no shots are taken."
    elif ticked < cautions:
        start = f"Not open: {ticked} of {cautions} cautions ticked."
    elif state == "planned":
        start = "The cautions are ticked, but the trial is only planned. Open it to take shots."
    else:
        start = "Open."
    words = counted(shots, "shot") if shots else "No shots yet"
    return f"{start} {words}" + (f", {unread} not read yet." if unread else ".")


def _setup(
    *,
    made: str,
    angle_rad: float | None,
    chronograph: str | None,
    chronograph_at_m: float | None,
    panel: str,
    build: int,
    newest: int | None,
    reader: str,
) -> str:
    said = [made]
    if angle_rad is not None:
        said.append("square to the line of flight" if angle_rad == 0 else f"{written(angle_rad, 'deg')} from square")
    if chronograph:
        at = f", {_distance(chronograph_at_m, reader)} from the bow" if chronograph_at_m is not None else ""
        said.append(chronograph + at)
    if newest is not None:
        said.append(f"{panel} is build {newest} now: shots logged here go to build {build}")
    return "; ".join(filter(None, said))


def incident_words(one: Incident, reader: str) -> str:
    """What happened, and how far."""
    return INCIDENTS[one.what] + (f", {_distance(one.distance_m, reader)}" if one.distance_m is not None else "")


def _incidents(*, kinds: Sequence[tuple[str, int]]) -> str:
    if not kinds:
        return "No incident was recorded"
    words = ", ".join(f"{count} {INCIDENTS[what].lower()}" for what, count in kinds)
    return f"{counted(sum(count for _, count in kinds), 'incident')}: {words}"


def _close(*, waiting: Sequence[str], phones: int, gaps: int, unread: int, today: bool) -> str:
    if waiting:
        return f"Not everything is in the book yet: look at phone {' and '.join(waiting)}"
    start = {0: "", 1: "Everything on the phone is in the book", 2: "Everything on both phones is in the book"}.get(
        phones, f"Everything on all {phones} phones is in the book"
    )
    if gaps:
        return f"{start + ', but' if start else ''} {gaps} label{'s are' if gaps > 1 else ' is'} missing".strip().capitalize()
    if unread:
        shots = f"{unread} shot{'s are' if unread > 1 else ' is'} not read yet"
        return f"{start}; {shots}" if start else shots
    if start:
        return f"{start}, and every shot is read"
    return "No phone is connected that could log" if today else "Nothing is missing, and every shot is read"


def _silent_phone(*, in_book: int) -> str:
    return f"{_in_book(in_book)}. It has not said what it holds since the laptop was started: open Range on it."


def _in_book(in_book: int) -> str:
    return f"{counted(in_book, 'shot')} of this day in the book"


def _phone(*, in_book: int, alone: int, photos: int, needs: int, agrees: bool | None, at: int) -> str:
    only = (
        f"{alone} on that phone only" if alone else "",
        f"{counted(photos, 'photo')} on that phone only" if photos else "",
        f"{needs} need{'s' if needs == 1 else ''} a person there" if needs else "",
    )
    if any(only):
        return f"{_in_book(in_book)}; {', '.join(filter(None, only))}, at {clock_words(at)}."
    if agrees is None:
        return f"{_in_book(in_book)}; the phone counts differently, at {clock_words(at)}. Leave Range open on it."
    return f"{_in_book(in_book)}, nothing waits on it, at {clock_words(at)}."


def _missing(*, labels: Sequence[str]) -> str:
    one = len(labels) == 1
    phones = "that phone" if len({label.rstrip("0123456789") for label in labels}) == 1 else "those phones"
    return (
        f"{labels_listed(labels)} {'is' if one else 'are'} not in the book, though labels before and after {'it' if one else 'them'} are. "
        f"Look on {phones} under “needs you”, and at what was written on paper."
    )


def _older_build(*, panel: str, build: int, newest: int, there: bool) -> str:
    do = f"Pick the set-up with build {newest}" if there else f"Add a set-up with build {newest} on the page of this day"
    return f"{panel} is build {newest} now. Shots logged here go to build {build}. {do} before you shoot at it."


def _unchecked(*, tag: str, label: str) -> str:
    since = f"since {label}" if label else "since it was last shot"
    return f"Arrow {tag} was not checked {since}. Choose another, or say that it was shot all the same."


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "order_not_recorded": "{did}; order in the end not recorded",
        "range_older_build": _older_build,
        "session_clocks_apart": _clocks_apart,
        "session_ticked": _ticked,
        "session_lead": _lead,
        "session_setup": _setup,
        "session_incidents": _incidents,
        "session_close": _close,
        "session_silent_phone": _silent_phone,
        "session_phone": _phone,
        "session_missing": _missing,
        # at the line: what is asked before a shot is logged, and what is picked from
        "arrow_unchecked": _unchecked,
        # what is picked from
        "setup_in_a_list": lambda *, panel, day, trial, question: f"{panel}, {day_words(day)}, trial {trial}: {question}",
        "end_with": "{setup}: end with {labels}",
        "end_of_its_own": "{setup}: an end of its own",
    }
)
