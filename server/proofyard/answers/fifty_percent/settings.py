"""What the page of the 50 % point is asked beside the view: other shares, further terms, the rules of the averaging limit."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from proofyard.quantities import plainly, with_unit
from proofyard.quantities.reason import because
from proofyard.shots.loosed import Loosed
from proofyard.statistics.ballistic_limit import USUAL_RULES, AveragingRule
from proofyard.views.address import Amount, AsTyped, Choice, Query, Reading, Several, Unusable, Written, address, last
from proofyard.views.counted import SPOILT_ENTRIES, ask
from proofyard.views.settings import ViewSettings
from proofyard.wording.reasons.said import said

USUAL_TAILS = (0.1, 0.9)
MOST_TAILS = 4
TAILS_EXAMPLE = "10, 90"
KEPT = ("axis", "edges", "method")  # of the results page: they mean nothing here, and are there again on the way back


def _tails(text: str) -> tuple[float, ...] | Unusable:
    """ "10, 90" in percent, as shares in order."""
    parts = [part for part in re.split(r"[;\s]+|,\s+|(?<=\d),(?=\d{2}\b)", text[:60].replace("%", " ")) if part]
    try:
        shares = sorted({float(part.replace(",", ".")) / 100 for part in parts})
    except ValueError:
        return Unusable(said(because("asked_no_percentages", typed=text[:40], example=TAILS_EXAMPLE)))
    if not shares or not all(0 < share < 1 for share in shares):
        return Unusable(said(because("asked_within_100", example=TAILS_EXAMPLE)))
    if len(shares) > MOST_TAILS:
        return Unusable(said(because("asked_too_many_shares", shares=len(shares), most=MOST_TAILS, example=TAILS_EXAMPLE)))
    return tuple(shares)


TERM = Several(
    name="term",
    label="Add to the curve",
    hint="One for every ten shots of the rarer outcome; each further place of entry counts as one.",
    choices=MappingProxyType({"angle": "Angle from square", "near": "Distance to the nearest earlier hit", "entry": "Where it went in"}),
    wrong="One of these cannot be added to the curve. Tick from those below.",
)
TAILS: Written[tuple[float, ...]] = Written(
    name="tails", label="Other shares", hint=f"For example {TAILS_EXAMPLE}. Needs 40 shots.", unit="%", default=USUAL_TAILS, reader=_tails
)
ARROW = Choice(
    name="arrow",
    label="Arrow for the averaging limit",
    hint="The rule of the standards is for one projectile.",
    blank="All of one form and mass",
    wrong="That arrow was not shot here. Pick one from the list; until then all arrows of one form and mass count as one.",
)
SPREADS = tuple(
    Amount(
        name=name,
        label=f"{rule.each_side} and {rule.each_side} shots within",
        hint=(
            f"Left empty: {with_unit(plainly(rule.widest_spread_m_s), 'm/s')} "
            f"({with_unit(f'{rule.widest_spread_m_s / 0.3048:.0f}', 'ft/s')})."
        ),
        kind="arrow_speed",
    )
    for name, rule in zip(("few_spread", "many_spread"), USUAL_RULES, strict=True)
)


@dataclass(frozen=True, kw_only=True)
class FiftyPercentAsked(AsTyped):
    """The view, and what is asked of its curve. `arrow`: an arrow's id, or "" for all that are alike."""

    view: ViewSettings
    tails: tuple[float, ...] = USUAL_TAILS
    terms: tuple[str, ...] = ()
    rules: tuple[AveragingRule, ...] = USUAL_RULES
    arrow: str = ""

    @property
    def kept(self) -> tuple[tuple[str, str], ...]:
        """What the results page alone asks and the form sends on: it means nothing here, and is there again on the way back."""
        return tuple((name, self.typed[name]) for name in KEPT if self.typed.get(name))

    @property
    def back(self) -> str:
        """The results page of these shots; what it alone asks (axis, bands, method) came along and goes back."""
        return address("/results", [*self.view.pairs(), *((name, self.typed[name]) for name in ("axis", "edges"))])


def fifty_percent_asked(loosed: Loosed, query: Query, *, arrows: Mapping[str, str], reader: str) -> FiftyPercentAsked:
    """What this address asks. `arrows`: id -> tag, of the arrows that were shot. The curve stands against energy alone."""
    asked = ask(loosed, {name: values for name, values in query.items() if name not in ("axis", "edges")}, reader)
    reading = Reading(query)
    terms, tails = reading.many(TERM), reading.one(TAILS)
    arrow = reading.one(ARROW.of(arrows))
    spreads = [reading.one(one) for one in SPREADS]
    problems = {**asked.problems, **reading.problems}
    if asked.settings.entry in SPOILT_ENTRIES and asked.settings.fair == "fair":
        problems.setdefault("fair", said(because("asked_never_fair")))
    return FiftyPercentAsked(
        view=replace(asked.settings, edges=None),
        tails=tails,
        terms=terms,
        rules=tuple(
            usual if spread is None else replace(usual, widest_spread_m_s=spread)
            for usual, spread in zip(USUAL_RULES, spreads, strict=True)
        ),
        arrow=arrow,
        schema={**asked.schema, **reading.schema},
        typed={**asked.typed, **reading.typed, **{name: last(query, name) for name in ("axis", "edges")}},
        ticked={**asked.ticked, **reading.ticked},
        problems=problems,
    )
