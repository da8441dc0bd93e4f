"""What is said of one shot: with what energy it hit and what it did; who shot it, with what, at what, when."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import Uncertain, unit_for_reader, written, written_with_uncertainty
from proofyard.records.shot import ALL_ENTRIES, ARROW_DID, DEPTH_METHODS, HEAD_FATES, PURPOSES, SHAFT_FATES
from proofyard.wording.blunt_cautions import IN_FILES
from proofyard.wording.when import clock_words, day_words


def _finding(*, label: str, did: str, voided: bool, energy: Uncertain | None, hit_with_it: bool, place: str, reader: str) -> str:
    """ "A8 hit with 98.3 J ± 1.4, and put its point 31 mm through the plate"."""
    itself = did.startswith("its ")
    if voided:
        return f"{label}: {did}" if itself else f"{label} {did}"
    if energy is None:
        return f"{label}: energy not measured; {'' if itself else 'it '}{did}"
    value, _, u = written_with_uncertainty(energy, unit_for_reader("energy", reader)).partition(" ±")
    words = value + (f" ± {u.strip()}" if u else ", uncertainty not known")
    # What missed the panel only had it: a miss hits with nothing.
    return f"{label} {f'hit with {words}' if hit_with_it else f'had {words} {place}'}, and {did}"


def _lead(
    *,
    archer: str,
    bow: str,
    arrow: str,
    head: str,
    panel: str,
    build: int,
    place: str | None,
    at: int | None,
    day: str,
    purpose: str,
    short_draw: bool,
) -> str:
    """Who, with what, at what, where and when."""
    when = f"{clock_words(at)} on {day_words(day)}" if at is not None else day_words(day)
    said = (archer, bow, f"arrow {arrow} with {head}", panel + (f", build {build}" if build > 1 else ""), place, when)
    words = ", ".join(one for one in said if one) + "."
    if purpose != "counted":
        words += f" {PURPOSES[purpose]}: not counted."
    return words + (" A short draw." if short_draw else "")


# What was read of it, a line a field; empty where the reading says nothing of it.


def _depth(*, depth: str, method: str | None) -> str:
    return f"{depth} past the rear face{f', {DEPTH_METHODS[method].lower()}' if method else ''}"


def _entry(*, entry: str | None, touched_first: str | None) -> str:
    way, first = (ALL_ENTRIES.get(one or "", "") for one in (entry, touched_first))
    if way and first and first != way:
        return f"{way}; touched first: {first.lower()}"
    return way or (f"touched first: {first.lower()}" if first else "")


def _where(*, away: str | None, placed: bool, unknown: bool) -> str:
    if away:
        return f"{away} from the middle"
    return "in the middle" if placed else "not known" if unknown else ""


def _arrow(*, did: str | None, bounced_m: float | None, head_fates: tuple[str, ...], shaft_fates: tuple[str, ...], reader: str) -> str:
    said = [ARROW_DID[did]] if did else []
    if bounced_m is not None:
        said = [f"{said[0] if said else 'Bounced back'}, {written(bounced_m, unit_for_reader('distance', reader))}"]
    if head_fates:
        said.append("Head: " + ", ".join(HEAD_FATES[one].lower() for one in head_fates))
    if shaft_fates:
        said.append("Shaft: " + ", ".join(SHAFT_FATES[one].lower() for one in shaft_fates))
    return ". ".join(said) + ("." if said else "")


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "shot_finding": _finding,
        "shot_lead": _lead,
        "reading_depth": _depth,
        "reading_entry": _entry,
        "reading_where": _where,
        "reading_back_face": lambda *, back_face_m, reader: (
            f"pushed in {written(back_face_m, unit_for_reader('length', reader))}. {IN_FILES}"
        ),
        "reading_arrow": _arrow,
        "reading_may_be": "the hit of {shot}",
        "reading_rear_check": "still to do on the bench",
        "reading_shot_by": lambda *, archer, phone: f"{archer}, recorded on phone {phone}" if phone else archer,
    }
)
