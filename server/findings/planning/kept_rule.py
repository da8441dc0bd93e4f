"""How a trial chose its energies and why it stopped, in words: shown wherever its results are."""

from server.records.trial import NEXT_SHOT_RULES, Trial


def chosen_words(trial: Trial) -> str:
    """ "Up and down: less after …"; empty where no rule chose."""
    return "" if trial.next_shot_rule in (None, "none") else NEXT_SHOT_RULES[trial.next_shot_rule or "none"]


def stop_words(trial: Trial) -> str:
    """When it is to stop, as it was written down; empty where nothing was."""
    if trial.stop_rule == "shots" and trial.stop_shots:
        return f"After {trial.stop_shots} shots"
    if trial.stop_rule == "width" and trial.stop_width_percent:
        return f"When the high end of the 50\u00a0% point is at most {trial.stop_width_percent}\u00a0% above the low end"
    return ""


def kept_rule(trial: Trial) -> tuple[tuple[str, str], ...]:
    """(what, words) for a list of facts; a pair without words is left out there."""
    return (("Next shot", chosen_words(trial)), ("Stop", stop_words(trial)), ("Stopped because", trial.stopped_because or ""))


def rule_sentence(trial: Trial) -> str:
    """The same in a line: "Stop: after 20 shots. Stopped because: it rained." Empty where nothing was written down."""
    return " ".join(f"{what}: {words[0].lower()}{words[1:].rstrip('.')}." for what, words in kept_rule(trial) if words)
