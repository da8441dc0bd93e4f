"""How a worked-out figure is written: in the reader's units, its uncertainty after it; bare where a heading has the unit."""

import re

from proofyard.quantities import (
    KINDS,
    READERS,
    Read,
    Uncertain,
    figure,
    from_si,
    plainly,
    read,
    unit_for_reader,
    with_unit,
    written,
    written_with_uncertainty,
)


def with_uncertainty(found: Uncertain | None, shown_as: str, reader: str, *, none: str = "not measured") -> str:
    """A worked-out figure with its standard uncertainty, or the words for its want."""
    if found is None:
        return none
    # Nobody knows how many figures such a one carries: three claim little.
    return written_with_uncertainty(found, unit_for_reader(shown_as, reader), figures=3)


def both_units(found: Uncertain | None, shown_as: str, *, none: str = "not measured") -> str:
    """The same figure for both readers: an energy in J and ft·lbf."""
    if found is None:
        return none
    return " = ".join(with_uncertainty(found, shown_as, reader) for reader in READERS)


def bare(found: Uncertain | None, shown_as: str, reader: str) -> str:
    """ "83.3 ± 1.2": in a table, where the unit stands in the heading."""
    if found is None:
        return ""
    return with_uncertainty(found, shown_as, reader).replace(with_unit("", unit_for_reader(shown_as, reader)), "", 1)


def in_unit(value_si: float, shown_as: str, reader: str, *, digits: int = 3) -> str:
    """The number alone, likewise."""
    return plainly(from_si(value_si, unit_for_reader(shown_as, reader)), figures=digits)


def spread_words(value_si: float, unit: str) -> str:
    """A spread or an uncertainty by itself: one digit, two if the first is 1 ("0.2 m/s", "1.0 m/s")."""
    return written(value_si, unit, uncertainty_si=value_si)


def bare_spread(value_si: float, shown_as: str, reader: str) -> str:
    unit = unit_for_reader(shown_as, reader)
    return spread_words(value_si, unit).removesuffix(with_unit("", unit))


def share_words(share: float, *, signed: bool = False) -> str:
    """ "−1.4 %"."""
    return ("+" if signed and share > 0 else "") + written(share, "%", figures=2)


def degrees_of_freedom(dof: float | None) -> str:
    """ "4", "∞" for what is known exactly."""
    return "∞" if dof is None or dof == float("inf") else plainly(dof, figures=3)


_BARE = re.compile(r"[\d.,\s½¼¾⅛⅜⅝⅞/+−-]+")


def as_typed_first(typed: str, value_si: float, kind: str, reader: str) -> str:
    """A stored value for this reader; what was typed stands before it where that was in another unit.

    "31 in (787 mm)" for who reads millimetres, "31 in" for who reads inches. The second figure has no more digits than the first,
    or three.
    """
    typed = typed.strip()
    said = read(typed, kind) if typed else None
    if typed and not isinstance(said, Read):
        return f"{typed} ({figure(value_si, kind, reader)})"  # "110@31", "≥ 20 mm": what more it says must stand
    if not isinstance(said, Read) or said.unit == unit_for_reader(KINDS[kind].shown_as, reader):
        return figure(value_si, kind, reader)
    own = with_unit(typed, said.unit) if _BARE.fullmatch(typed) else typed
    digits = len(re.sub(r"\D", "", typed).lstrip("0"))
    return f"{own} ({figure(value_si, kind, reader, figures=min(4, max(3, digits)))})"


def unusual_value(value_si: float, kind: str) -> str:
    """What is unusual about a stored value, in the words of its reading; empty where nothing is."""
    known = KINDS[kind]
    if known.plausible[0] <= value_si <= known.plausible[1]:
        return ""
    found = read(plainly(from_si(value_si, known.unit)).replace("−", "-"), kind)
    return " ".join(found.warnings) if isinstance(found, Read) else ""
