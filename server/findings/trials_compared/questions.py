"""What trials asked and which rules they counted by, laid side by side: the rows of a comparison that no shot is needed for."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.fair_rules import rules_of
from server.findings.trial_rules import distances_words
from server.findings.trials_compared.factors import EVERY, NOT_KNOWN, SAME
from server.findings.view_settings import ViewSettings
from server.records.columns import meanings
from server.records.panel import CONSTRUCTIONS
from server.records.shot_facts import ShotFact
from server.records.trial import RUNG_WORDS, Trial

ASKED = ("question", "varied", "held_fixed", "enough")
RULES = ("next_shot_rule", "stop_rule")


@dataclass(frozen=True)
class AskedRow:
    """One thing that a trial says of itself; `note` what follows from a difference."""

    key: str
    label: str
    words: tuple[str, ...]
    status: str
    note: str = ""


def asked_rows(trials: Sequence[Trial], facts: Sequence[Sequence[ShotFact]], *, reader: str) -> list[AskedRow]:
    """The question and what stands with it; what through means; the fair distances of each construction that all shot at."""
    labels = {name: meaning.label for name, (_, meaning) in meanings(Trial).items()}
    rows = [_row(name, labels[name], [str(getattr(trial, name) or "").strip() for trial in trials]) for name in ASKED]
    rows.append(_row("through", labels["through"], [RUNG_WORDS[int(trial.through)] if trial.through else "" for trial in trials]))
    for name in RULES:
        chosen = [getattr(trial, name) or "none" for trial in trials]
        # Without any rule there is nothing to lay side by side.
        if any(one != "none" for one in chosen):
            choices = meanings(Trial)[name][1].choices
            rows.append(_row(name, labels[name], [choices[one] for one in chosen]))
    for construction in _constructions(facts):
        said = [distances_words(rules_of(trial, construction), reader=reader) for trial in trials]
        row = _row(f"fair-{construction}", f"Fair on {CONSTRUCTIONS[construction].lower()}", said)
        note = "The same hit may count as fair in one and not in another." if row.status == EVERY else ""
        rows.append(AskedRow(row.key, row.label, row.words, row.status, note))
    return rows


def _constructions(facts: Sequence[Sequence[ShotFact]]) -> list[str]:
    """Those that every trial shot at; a rule for what was never struck decided nothing."""
    found = [{fact.construction or "other" for fact in some} for some in facts]
    common = set.intersection(*found) if found else set()
    return [one for one in CONSTRUCTIONS if one in common]


def _row(key: str, label: str, said: Sequence[str]) -> AskedRow:
    plain = {" ".join(words.casefold().split()) for words in said}
    if plain == {""}:
        return AskedRow(key, label, tuple("not said" for _ in said), NOT_KNOWN)
    return AskedRow(key, label, tuple(words or "not said" for words in said), SAME if len(plain) == 1 else EVERY)


def rules_caution(trials: Sequence[Trial], settings: ViewSettings, *, rows: Sequence[AskedRow]) -> list[str]:
    """What to mind where trials call different things through, or fair."""
    said = []
    if len({trial.through or "4" for trial in trials}) > 1:
        said.append(f"These trials don’t mean the same by “through”. Here all are counted by one meaning: {settings.through.meaning}.")
    if any(row.key.startswith("fair-") and row.status == EVERY for row in rows) and settings.fair != "any":
        said.append("Their fair distances differ, and each trial’s hits are counted by its own. “Any, fair or not” counts them alike.")
    return said
