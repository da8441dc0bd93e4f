"""A trial's report: what is read aloud of it in one minute."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.wording.counts import all_listed, be, capital, counted, days_listed, listed


def _asked(*, question: str, days: Sequence[str], archers: Sequence[str], shots: int, panels: int, bows: int) -> str:
    if not shots:
        return f"The question is: {question} Nobody has shot at it yet."
    when = f"On {days_listed(days)} " if days else ""
    who = all_listed(archers) or "somebody"
    return f"{when}{who} asked: {question} They shot {counted(shots, 'arrow')} with {counted(bows, 'bow')} at {counted(panels, 'panel')}."


def _ended(words: str) -> str:
    words = capital(words.strip())
    return words if words.endswith((".", "?", "!")) else f"{words}."


def _check(*, said_before: bool, titles: Sequence[str], more: int) -> str:
    said = "What they expected was written down before the first shot. " if said_before else ""
    if not titles:
        return f"{said}Nothing was found that would make these counts doubtful, beside their size."
    rest = f", and {more} more" if more else ""
    return f"{said}Check before you trust this: {'; '.join(one[:1].lower() + one[1:] for one in titles)}{rest}."


def _told(*, lacking: Sequence[str], of: int) -> str:
    if not lacking:
        return "recorded" if of == 1 else f"recorded of all {of}" if of else "nothing to tell yet"
    if of == 1 or len(lacking) == of:
        return "not recorded"
    return f"not recorded of {listed(lacking)}"


def _checklist(*, of: int, lacking: int) -> str:
    if not lacking:
        return f"Everything that a reader must be told is in the book: all {of} things."
    return (
        f"{of - lacking} of {of} things that a reader must be told are in the book; {lacking} {be(lacking)} missing or not there for all."
    )


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "minute_asked": _asked,
        "minute_answer": lambda *, answer: _ended(answer),
        "minute_found": lambda *, on, title: _ended(f"On {on}: {title}" if on else title),
        "minute_check": _check,
        "report_told": _told,
        "report_checklist": _checklist,
        "minute_ends": "These are counts of these arrows, these bows and these panels. They certify no armour, and they are no reason "
        "to shoot at anything that a person wears.",
    }
)
