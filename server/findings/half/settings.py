"""What the page of the 50 % point is asked beside the view: other shares, further terms, the rules of the averaging limit."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from urllib.parse import urlencode

from server.findings.left_out import SPOILT_WAYS
from server.findings.loosed import Loosed
from server.findings.results import ask
from server.findings.view_settings import Choices, Query, ViewSettings
from server.quantities import Empty, Refused, plainly, read, sentence, with_unit
from server.statistics.ballistic_limit import USUAL_RULES, AveragingRule

TERMS = MappingProxyType({"angle": "Angle off square", "near": "Distance to the nearest earlier hit", "way": "Way in"})
USUAL_TAILS = (0.1, 0.9)
MOST_TAILS = 4
TAILS_EXAMPLE = "10, 90"
SPREADS = ("few_spread", "many_spread")  # in the order of USUAL_RULES
SPREAD_LABELS = MappingProxyType(
    {name: f"{rule.each_side} and {rule.each_side} within" for name, rule in zip(SPREADS, USUAL_RULES, strict=True)}
)
USUAL_SPREADS = MappingProxyType(
    {name: with_unit(plainly(rule.widest_spread_m_s), "m/s") for name, rule in zip(SPREADS, USUAL_RULES, strict=True)}
)


@dataclass(frozen=True)
class HalfAsked:
    """The view, and what is asked of its curve. `arrow`: an arrow's id, or "" for all that are alike."""

    view: ViewSettings
    typed: Mapping[str, str]
    heads_typed: tuple[str, ...] = ()
    problems: Mapping[str, str] = field(default_factory=dict)
    tails: tuple[float, ...] = USUAL_TAILS
    terms: tuple[str, ...] = ()
    terms_typed: tuple[str, ...] = ()
    rules: tuple[AveragingRule, ...] = USUAL_RULES
    arrow: str = ""

    @property
    def back(self) -> str:
        """The results page of these shots; what it alone asks (axis, bands, method) came along and goes back."""
        pairs = self.view.pairs() + [(name, self.typed[name]) for name in ("axis", "edges") if self.typed.get(name)]
        return "/results" + (f"?{urlencode(pairs)}" if pairs else "")


def half_asked(loosed: Loosed, query: Query, *, arrows: Mapping[str, str]) -> tuple[Choices, HalfAsked]:
    """What this address asks. `arrows`: id -> tag, of the arrows that were shot. The curve stands against energy alone."""
    choices, asked = ask(loosed, {name: values for name, values in query.items() if name not in ("axis", "edges")})
    problems = dict(asked.problems)
    typed = dict(asked.typed) | {name: _last(query, name) for name in ("tails", *SPREADS, "arrow", "axis", "edges")}
    tails = _tails(typed["tails"], problems)
    wanted = tuple(one for one in query.get("term", ()) if one)
    if set(wanted) - set(TERMS):
        problems["term"] = "That is nothing that can stand beside the energy here. Tick from those below."
    if typed["arrow"] and typed["arrow"] not in arrows:
        problems["arrow"] = "No such arrow was shot. Pick one from the list; until then all that are alike count as one."
    rules = tuple(_rule(name, usual, typed, problems) for name, usual in zip(SPREADS, USUAL_RULES, strict=True))
    if asked.settings.way in SPOILT_WAYS and asked.settings.fair == "fair":
        problems.setdefault(
            "fair", "The settings contradict each other: a hit in that way is never fair. Choose “Any, fair or not”, or another way in."
        )
    return choices, HalfAsked(
        view=replace(asked.settings, edges=None),
        typed=typed,
        heads_typed=asked.heads_typed,
        problems=problems,
        tails=tails,
        terms=tuple(one for one in TERMS if one in wanted),
        terms_typed=wanted,
        rules=rules,
        arrow=typed["arrow"] if typed["arrow"] in arrows else "",
    )


def _last(query: Query, name: str) -> str:
    values: Sequence[str] = query.get(name, ())
    return values[-1].strip() if values else ""


def _tails(text: str, problems: dict[str, str]) -> tuple[float, ...]:
    """ "10, 90" in percent, as shares in order."""
    if not text:
        return USUAL_TAILS
    parts = [part for part in re.split(r"[;\s]+|,\s+|(?<=\d),(?=\d{2}\b)", text[:60].replace("%", " ")) if part]
    try:
        shares = sorted({float(part.replace(",", ".")) / 100 for part in parts})
    except ValueError:
        problems["tails"] = f"“{text[:40]}” is no list of percentages. Type numbers, for example {TAILS_EXAMPLE}."
        return USUAL_TAILS
    if not shares or not all(0 < share < 1 for share in shares):
        problems["tails"] = f"Each must lie above 0 and below 100 %, for example {TAILS_EXAMPLE}."
        return USUAL_TAILS
    if len(shares) > MOST_TAILS:
        problems["tails"] = f"{len(shares)} are too many to read: {MOST_TAILS} at most, for example {TAILS_EXAMPLE}."
        return USUAL_TAILS
    return tuple(shares)


def _rule(name: str, usual: AveragingRule, typed: Mapping[str, str], problems: dict[str, str]) -> AveragingRule:
    found = read(typed[name], "arrow_speed")
    if isinstance(found, Empty):
        return usual
    if isinstance(found, Refused):
        problems[name] = sentence(found)
        return usual
    return replace(usual, widest_spread_m_s=found.value_si)
