"""What is said of a list that was asked for: how many of how many, what it was narrowed to, which of them are shown."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import in_readers
from proofyard.wording.counts import all_listed, counted


def _shots_found(*, count: int, of: int, narrowed: bool) -> str:
    if not of:
        return "There is no shot yet."
    if narrowed:
        return f"{count or 'None'} of {counted(of)} match{'es' if count == 1 else ''} what you asked for."
    return "The one shot there is." if of == 1 else f"All {of} shots."


def _shots_apart(*, voided: int, let_down: int) -> str:
    parts = [f"{voided} crossed out"] if voided else []
    parts += [counted(let_down, "let-down")] if let_down else []
    return f"{all_listed(parts)} beside them, shown once you tick them under Outcome" if parts else ""


def _shots_showing(*, named: tuple[str, ...], energy_from: float | None, energy_to: float | None, at: str, sort: str, reader: str) -> str:
    low, high = (None if one is None else in_readers(one, "energy", reader, figures=3) for one in (energy_from, energy_to))
    bounds = f"{low} to {high}" if low and high else f"{low} or more" if low else f"{high} or less" if high else ""
    parts = [*named, *([bounds] if bounds else []), f"energy at the {at}", sort[:1].lower() + sort[1:]]
    return ", ".join(parts)


def _found(*, typed: str, count: int, meant: str) -> str:
    if not count:
        return f"Nothing says “{typed}”."
    if meant:
        return f"Nothing says “{typed}”; {count} {'says' if count == 1 else 'say'} “{meant}”."
    return f"{count} found for “{typed}”, best first."


def _photos_found(*, count: int, of_trial: str | None) -> str:
    where = f" of “{of_trial}”" if of_trial else ""
    if not count:
        return f"No photo{where} yet."
    return f"{counted(count, 'photo')}{where}, the newest first, each with what it shows."


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "found": _found,
        "photos_found": _photos_found,
        "shots_found": _shots_found,
        "shots_apart": _shots_apart,
        "shots_showing": _shots_showing,
        "shots_on_page": "{first} to {last} of {count}",
    }
)
