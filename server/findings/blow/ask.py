"""What the page of the blow behind was asked, as it stands in the address: which trial, shot and panel, and whose chest is reckoned with."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from urllib.parse import urlencode

from server.findings.view_settings import Query
from server.physics.trauma import HEAVIEST_KG, LIGHTEST_KG
from server.quantities import Empty, Refused, read, sentence

BODIES = MappingProxyType({"man": "A grown man’s chest", "woman": "A grown woman’s chest"})
BODY_KG = 75.0
NARROWEST_M, WIDEST_M = 0.005, 1.0
NAMES = ("trial", "panel", "shot", "body", "body_mass", "width", "after")


@dataclass(frozen=True)
class BlowAsked:
    """`body_kg` and `body` are the reader's or the usual ones; `width_m` and `after_m_s` (how fast the picked arrow left) None: nobody typed it."""

    trial: str
    panel: str
    shot: str
    body: str
    body_kg: float
    width_m: float | None
    after_m_s: float | None
    typed: Mapping[str, str]
    problems: Mapping[str, str] = field(default_factory=dict)

    def address(self, **instead: str) -> str:
        """This page again."""
        pairs = dict(self.typed) | instead
        return "/blow-behind" + (f"?{urlencode({k: v for k, v in pairs.items() if v})}" if any(pairs.values()) else "")


def blow_asked(query: Query) -> BlowAsked:
    """Read an address; what can't be used gets a sentence, and the usual figure stands in."""
    typed = {name: _last(query, name) for name in NAMES}
    problems: dict[str, str] = {}
    body = typed["body"] or "man"
    if body not in BODIES:
        problems["body"] = "The criterion was printed for a man’s chest and a woman’s. Pick one from the list."
        body, typed["body"] = "man", ""
    mass = _quantity("body_mass", "body_mass", typed, problems)
    if mass is not None and not LIGHTEST_KG <= mass <= HEAVIEST_KG:
        problems["body_mass"] = f"The criterion is for grown bodies: type {LIGHTEST_KG:g} to {HEAVIEST_KG:g}\N{NO-BREAK SPACE}kg."
        mass = None
    width = _quantity("width", "panel_size", typed, problems)
    if width is not None and not NARROWEST_M <= width <= WIDEST_M:
        problems["width"] = f"Type {1000 * NARROWEST_M:g} to {1000 * WIDEST_M:g}\N{NO-BREAK SPACE}mm: narrower is a point, wider than a chest."
        width = None
    after = _quantity("after", "arrow_speed", typed, problems)
    return BlowAsked(
        trial=typed["trial"], panel=typed["panel"], shot=typed["shot"], body=body, body_kg=BODY_KG if mass is None else mass, width_m=width,
        after_m_s=after, typed=typed, problems=problems,
    )  # fmt: skip


def _quantity(name: str, kind: str, typed: Mapping[str, str], problems: dict[str, str]) -> float | None:
    found = read(typed[name], kind)
    if isinstance(found, Refused):
        problems[name] = sentence(found)
    return None if isinstance(found, (Refused, Empty)) else found.value_si


def _last(query: Query, name: str) -> str:
    values: Sequence[str] = query.get(name, ())
    return values[-1].strip() if values else ""
