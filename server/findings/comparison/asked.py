"""What an address asks to compare: the kind, the groups, and which pair a question was written down for beforehand."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from server.findings.comparison.groups import MOST_GROUPS
from server.findings.comparison.kinds import KINDS, Kind
from server.findings.loosed import Loosed, LoosedShot
from server.findings.row_groups import RowGroup
from server.findings.view_settings import NOT_SAID, Query, ViewSettings
from server.records.arrow import FORMS
from server.records.trial import Trial

NO_PAIR = "none"


@dataclass(frozen=True)
class CompareAsked:
    """`groups`: those compared, in the order in which the first is set against the next; `offered`: all there are.

    first     as typed: a pair's key, NO_PAIR, or "" to go by what the trial wrote down
    unpicked  how many groups are not compared because nobody ticked any and there are too many
    """

    kind: Kind
    offered: tuple[RowGroup, ...]
    groups: tuple[RowGroup, ...]
    ticked: tuple[str, ...]
    first: str
    unpicked: int = 0
    problems: Mapping[str, str] = field(default_factory=dict)

    @property
    def pairs(self) -> dict[str, str]:
        """Key of each pair that is compared -> its words."""
        return {f"{one.key}~{other.key}": f"{one.words} against {other.words}" for one, other in combinations(self.groups, 2)}

    def address_pairs(self) -> list[tuple[str, str]]:
        found = [("by", self.kind.key)] if self.kind.key != "form" else []
        found += [("of", key) for key in self.ticked]
        return found + ([("first", self.first)] if self.first else [])


def compare_asked(query: Query, loosed: Loosed, *, settings: ViewSettings, counted: Sequence[LoosedShot]) -> CompareAsked:
    """Read the kind, the groups and the pair; what can't be used gets a sentence, and the rest is kept."""
    problems: dict[str, str] = {}
    by = _last(query, "by") or "form"
    if by not in KINDS:
        problems["by"] = f"“{by[:40]}” is none of the answers here. Pick one; until then it compares head forms."
        by = "form"
    kind = KINDS[by]
    rows: dict[str, RowGroup] = {}
    for shot in loosed.shots:
        if settings.takes(shot.fact):
            row = kind.group(shot.fact)
            rows.setdefault(row.key, row)
    offered = tuple(sorted(rows.values(), key=_by_name))
    ticked = tuple(dict.fromkeys(value for value in query.get("of", ()) if value))
    known = [row for row in offered if row.key in ticked]
    if len(known) < len(ticked):
        problems["of"] = "One that you ticked has no shot in this view. Tick from those below."
    elif len(ticked) == 1:
        problems["of"] = "One alone can’t be compared. Tick another, or none to compare all."
    elif len(known) > MOST_GROUPS:
        problems["of"] = f"{len(known)} at once ask too many questions for any to be shown: tick {MOST_GROUPS} at most."
        known = known[:MOST_GROUPS]
    groups = known or _fullest(offered, kind, counted)
    first = _last(query, "first")
    found = CompareAsked(kind, offered, tuple(groups), ticked, first, 0 if known else len(offered) - len(groups), problems)
    if first and first != NO_PAIR and first not in found.pairs:
        problems["first"] = "That pair is not among those compared here. Pick one of these, or none."
    return found


def _fullest(offered: Sequence[RowGroup], kind: Kind, counted: Sequence[LoosedShot]) -> list[RowGroup]:
    """Those with the most shots that count; chosen by how many there are, never by how they turned out."""
    shots = {row.key: 0 for row in offered}
    for shot in counted:
        key = kind.group(shot.fact).key
        shots[key] = shots.get(key, 0) + 1
    picked = sorted((row for row in offered if shots[row.key]), key=lambda row: -shots[row.key])[:MOST_GROUPS]
    # None counts: all are shown, with the reason why not.
    return [row for row in offered if row in picked] or list(offered[:MOST_GROUPS])


def _by_name(row: RowGroup) -> tuple[int, str]:
    order = list(FORMS)
    return (order.index(row.key) if row.key in order else len(order), row.words.casefold())


def _last(query: Query, name: str) -> str:
    values = query.get(name, ())
    return values[-1].strip() if values else ""


@dataclass(frozen=True)
class Declared:
    """Which pair was the question before the first shot, and how that is known; or that none was, and why."""

    pair: tuple[str, str] | None
    words: str


def declared_of(asked: CompareAsked, loosed: Loosed, *, counted: Sequence[LoosedShot]) -> Declared:
    """What the trial wrote down, or what the reader of the page says that it was.

    A trial says in words what it varies. Only where those words can mean one pair alone is it taken as the question
    asked beforehand: picking the pair after seeing the counts would make any of them the first.
    """
    if asked.first == NO_PAIR:
        return Declared(None, "No pair was the question beforehand, you say: so all pay for each other.")
    if asked.first in asked.pairs:
        one, other = asked.first.split("~")
        return Declared((one, other), f"You say that {asked.pairs[asked.first]} was the question before the first shot: so it is judged first, alone.")
    trials = {shot.fact.trial_id for shot in counted}
    if len(trials) > 1:
        return Declared(None, f"These shots are of {len(trials)} trials, and none of them alone declares this comparison: so no question comes first, and all pay for each other.")
    trial = loosed.trials.get(next(iter(trials), ""))
    if trial is None:
        return Declared(None, "No trial declares this comparison: so no question comes first.")
    # Every shot of the trial, whatever the view narrows to: two heads picked out of four are not what it asked about.
    return _by_trial(asked, trial, [shot for shot in loosed.shots if shot.fact.trial_id == trial.id])


def _by_trial(asked: CompareAsked, trial: Trial, shots: Sequence[LoosedShot]) -> Declared:
    if not trial.varied:
        return Declared(None, "The trial doesn’t say what it varies: so no question comes first, and all pay for each other.")
    said = f"The trial says that it varies “{trial.varied}”"
    if not any(_says(trial.varied, word) for word in asked.kind.varied):
        return Declared(None, f"{said}, not {asked.kind.words}: so no question comes first, and all pay for each other.")
    text = f"{trial.question} {trial.varied}"
    named = [row for row in asked.groups if _names(text, row)]
    shot = {asked.kind.group(one.fact).key for one in shots}
    for rows, why in ((named, "names these two"), (list(asked.groups), "was shot with these two alone")):
        keys = [row.key for row in rows]
        if len(keys) == 2 and (rows is named or shot <= set(keys)):
            return Declared((keys[0], keys[1]), f"{said} and {why}: so that pair is judged first, alone.")
    return Declared(None, f"{said}, but no two of these {asked.kind.words} alone: so no pair comes first, and all pay for each other.")


def _names(text: str, row: RowGroup) -> bool:
    """Whether a trial's words name this group: "Long needle", or "needle" for short."""
    if row.key in (NOT_SAID, "other"):
        return False
    return any(_says(text, word) for word in (row.words, row.words.split()[-1]))


def _says(text: str, word: str) -> bool:
    return re.search(rf"\b{re.escape(word)}", text, re.IGNORECASE) is not None
