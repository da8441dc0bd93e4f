"""What trials asked and which rules they counted by, laid side by side: the rows of a comparison that no shot is needed for."""

from collections.abc import Sequence
from dataclasses import replace

from proofyard.answers.trial_comparison.factors import EVERY, NOT_KNOWN, SAME, DiffRow
from proofyard.quantities.reason import Reason, because
from proofyard.records.columns import meanings
from proofyard.records.panel import CONSTRUCTIONS
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import Trial, outcome_name
from proofyard.shots.fair_hits import rules_of
from proofyard.shots.rule_words import distances_words
from proofyard.views.settings import ViewSettings

ASKED = ("question", "varied", "held_fixed", "enough")
RULES = ("next_shot_rule", "stop_rule")


def asked_rows(trials: Sequence[Trial], facts: Sequence[Sequence[ShotFact]], *, reader: str) -> list[DiffRow]:
    """The question and what stands with it; what through means; the fair distances of each construction that all shot at."""
    labels = {name: meaning.label for name, (_, meaning) in meanings(Trial).items()}
    rows = [_row(name, labels[name], [str(getattr(trial, name) or "").strip() for trial in trials]) for name in ASKED]
    rows.append(_row("through", labels["through"], [outcome_name(int(trial.through)) if trial.through else "" for trial in trials]))
    for name in RULES:
        chosen = [getattr(trial, name) or "none" for trial in trials]
        # Without any rule there is nothing to lay side by side.
        if any(one != "none" for one in chosen):
            choices = meanings(Trial)[name][1].choices
            rows.append(_row(name, labels[name], [choices[one] for one in chosen]))
    for construction in _constructions(facts):
        said = [distances_words(rules_of(trial, construction), reader=reader) for trial in trials]
        row = _row(f"fair-{construction}", f"Fair on {CONSTRUCTIONS[construction].lower()}", said)
        rows.append(replace(row, note=because("fair_in_one_not_in_another")) if row.status == EVERY else row)
    return rows


def _constructions(facts: Sequence[Sequence[ShotFact]]) -> list[str]:
    """Those that every trial shot at; a rule for what was never hit decided nothing."""
    found = [{fact.construction or "other" for fact in some} for some in facts]
    common = set.intersection(*found) if found else set()
    return [one for one in CONSTRUCTIONS if one in common]


def _row(key: str, label: str, said: Sequence[str]) -> DiffRow:
    plain = {" ".join(words.casefold().split()) for words in said}
    if plain == {""}:
        return DiffRow(key, label, tuple("not recorded" for _ in said), NOT_KNOWN)
    return DiffRow(key, label, tuple(words or "not recorded" for words in said), SAME if len(plain) == 1 else EVERY)


def rules_caution(trials: Sequence[Trial], settings: ViewSettings, *, rows: Sequence[DiffRow]) -> list[Reason]:
    """What to check where trials call different things through, or fair."""
    said = []
    if len({trial.through or "4" for trial in trials}) > 1:
        said.append(because("through_means_differ", meaning=settings.through.meaning))
    if any(row.key.startswith("fair-") and row.status == EVERY for row in rows) and settings.fair != "any":
        said.append(because("fair_distances_differ"))
    return said
