"""What is said of a trial, of a panel build and of an arrow: counts, who predicted when, days, builds."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.quantities import unit_for_reader, written
from proofyard.records.panel import WORK
from proofyard.records.trial import STATES
from proofyard.wording.counts import counted
from proofyard.wording.when import moment_words

PERCENT = "\N{NO-BREAK SPACE}%"


def _counts(*, state: str, shots: int, counts: int, chosen: bool, through: str, heads: Sequence[str]) -> str:
    words = f"{STATES[state]}. {counted(shots, 'shot')}, {counts} counted as fair hits."
    if not counts:
        return words
    if chosen:
        return f"{words} No count by head: energies were chosen by the outcomes so far, and a count over all of them means nothing."
    return f"{words} {through[0].upper()}{through[1:]}: {', '.join(heads)}. These counts mix energies."


def _left_out(*, reasons: Sequence[tuple[int, str]], let_down: int) -> str:
    rest = f"Not counted: {', '.join(f'{count} {why.lower()}' for count, why in reasons)}." if reasons else ""
    return " ".join(filter(None, (rest, f"Let down, not shot: {let_down}." if let_down else "")))


def _prediction(*, who: str, at: int, when: str, changed_by: str | None, changed_at: int | None) -> str:
    words = f"Recorded by {who} at {moment_words(at)}{f', {when}' if when else ''}"
    if changed_by is None or changed_at is None:
        return f"{words}. Not changed since."
    return f"{words}. Changed by {changed_by} at {moment_words(changed_at)}: the notebook keeps what it said."


_WHERE = {"holds": "may be as expected", "above": "more than expected", "below": "less than expected"}


def _share_beside(*, head: str, counts: str, low: float, high: float, where: str) -> str:
    return f"{head} {counts} ({100 * low:.0f} to {100 * high:.0f}{PERCENT}: {_WHERE[where]})"


def _energy_beside(*, head: str, on: str, estimate: str, where: str) -> str:
    return f"{head} on {on} {estimate}: {_WHERE[where]}"


def _expected_share(*, share: float, heads: Sequence[str], chosen: bool) -> str:
    said = f"{100 * share:.3g}{PERCENT} through."
    if chosen:
        return f"{said} Energies were chosen by the outcomes so far, so a share over all of them means nothing."
    return f"{said} Found: {'; '.join(heads)}." if heads else f"{said} No shot counts yet."


def _expected_energy(*, energy_j: float, points: Sequence[str], reader: str) -> str:
    said = f"a 50{PERCENT} energy of {written(energy_j, unit_for_reader('energy', reader))}."
    return f"{said} Found: {'; '.join(points)}." if points else f"{said} These shots give no 50{PERCENT} energy yet."


def _moved(*, state: str, reopened: bool, who: str, at: int) -> str:
    verb = {"closed": "Closed", "planned": "Back to planned"}.get(state, "Reopened" if reopened else "Opened")
    return f"{verb} by {who}, {moment_words(at)}"


def _day(
    *,
    ticked: int,
    cautions: int,
    distances_m: Sequence[float],
    temperature_k: float | None,
    weather: str | None,
    officer: str | None,
    reader: str,
) -> str:
    said = [f"not open yet: {ticked} of {cautions} cautions ticked"] if ticked < cautions else []
    said += [written(one, unit_for_reader("distance", reader)) for one in distances_m]
    if temperature_k is not None:
        said.append(written(temperature_k, unit_for_reader("temperature", reader)))
    return ", ".join([*said, *filter(None, (weather, f"{officer} has the line" if officer else ""))])


def _panel(*, hits: int, made: str, build: str) -> str:
    what = f"{made[0].upper()}{made[1:]}. " if made else ""
    return f"{counted(hits, 'hit') if hits else 'No hits'} so far. {what}{build}. Hits on its other builds stand on their own pages."


def _build(*, number: int, work: str | None, note: str | None) -> str:
    return f"Build {number}, {WORK[work].lower() if work else 'no work recorded'}" + (f": {note.rstrip('.')}" if note else "")


def _arrow(*, shots: int, hits: str, made: Sequence[str]) -> str:
    words = f"{counted(shots, 'shot') if shots else 'No shots'}. {hits}"
    parts = ", ".join(made)
    return words + (f" {parts[:1].upper()}{parts[1:]}." if parts else "")


def _fates(*, head: Sequence[str], shaft: Sequence[str], flown: int, found_sound: bool) -> str:
    said = [f"{part}: {', '.join(fates)}" for part, fates in (("head", head), ("shaft", shaft)) if fates]
    if said:
        return "; ".join(said)
    return "nothing recorded" if flown and not found_sound else "found sound each time it was looked at" if found_sound else ""


def _heads(*, past: str, heads: Sequence[str]) -> str:
    first, *others = heads
    return ", ".join([f"{first} {past}", *others])


def _trials_found(*, count: int, of: int, narrowed: bool) -> str:
    return f"{count} of {counted(of, 'trial')}" if narrowed else counted(of, "trial")


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "head_without_name": "a head with no name",
        "trials_found": _trials_found,
        "share_beside": _share_beside,
        "energy_beside": _energy_beside,
        "expected_share": _expected_share,
        "expected_energy": _expected_energy,
        "trial_no_shots": lambda *, state: f"{STATES[state]}. No shots yet.",
        "trial_counts": _counts,
        "trial_left_out": _left_out,
        "trial_prediction": _prediction,
        "trial_after_first_shot": "after the first shot",
        "trial_moved": _moved,
        "trial_day": _day,
        "panel_lead": _panel,
        "panel_build": _build,
        "arrow_lead": _arrow,
        "arrow_fates": _fates,
        # on the first page: what is to do first, and each trial in a line
        "step_trial_not_open": "its trial is not open",
        "step_cautions": "{ticked} of {of} cautions ticked",
        "step_no_setup": "no set-up yet",
        "home_no_shots": "No shots yet",
        "home_none_counted": "No fair hit was counted yet",
        "home_chosen": "No count by head: energies were chosen by the outcomes so far, and a count over all of them means nothing",
        "home_heads": _heads,
        "home_more_types": lambda *, more: f"{counted(more, 'more panel type')}: see the trial",
    }
)
