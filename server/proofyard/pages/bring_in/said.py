"""What a person posted about a sheet, and what its preview asks of each column and of each value in somebody's own words."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from proofyard.exchange.bring_in.days import ORDERS, WHICH, day_said
from proofyard.exchange.bring_in.guess import Guess, answer_for, asked_of
from proofyard.exchange.bring_in.said import Said
from proofyard.exchange.bring_in.said_words import choice_said, choices_of, plain_words
from proofyard.exchange.bring_in.table import Table, letters
from proofyard.exchange.bring_in.targets import UNREAD, Target, targets_of
from proofyard.exchange.bring_in.values import NUMBERS, Answer, has_no_unit, kind_of_target
from proofyard.pages.frame.forms import FieldState, Posted

MOST_WORDS = 40  # different values of one column that are asked about
LEFT_EMPTY = "-"
NOT_TAKEN = "Not taken"
SAMPLES = 3
_GROUPS = re.compile(r"\d[.,]\d{3}(?!\d)", re.ASCII)
ASKS = {
    "days": "No day is above the 12th, so only you know which number is the month.",
    "numbers": "A comma or a point could be read in two ways here. Choose one.",
    "group": "These look like counts of several shots. They are kept as a note; shots are only made of them if you choose so.",
}


@dataclass(frozen=True)
class Control:
    """One control of a column: its name, label, what it says now, its answers."""

    name: str
    label: str
    state: FieldState
    options: Sequence[tuple[str, str]]
    blank: str = ""


@dataclass(frozen=True)
class ColumnShown:
    """One column: heading, a few of its values, what is asked of it. `sure`: False asks the person to look."""

    at: int
    heading: str
    samples: str
    controls: Sequence[Control]
    unseen: Mapping[str, str]
    taken: bool
    sure: bool


def different(table: Table, at: int, most: int = MOST_WORDS) -> list[str]:
    """The different values of a column, in order."""
    return list(dict.fromkeys(line.cells[at] for line in table.lines if line.cells[at]))[:most]


def answers_posted(form: Posted, table: Table, holds: str) -> tuple[Answer, ...]:
    """The answer of each column. One that became something else is read as that by what its values say."""
    made = []
    for at, heading in enumerate(table.headings):
        key, values = str(form.get(f"is-{at}", "")), different(table, at, 60)
        key = key if key in targets_of(holds) else ""
        if key != form.get(f"was-{at}"):
            made.append(answer_for(holds, key, heading, values) if key else Answer())
            continue
        made.append(
            Answer(
                key,
                unit=str(form.get(f"unit-{at}", "")),
                numbers=_one_of(form, f"numbers-{at}", NUMBERS),
                days=_one_of(form, f"days-{at}", ORDERS),
                words=_words_posted(form, table, at, targets_of(holds).get(key)),
            )
        )
    return tuple(_once(made))


def _once(answers: Sequence[Answer]) -> list[Answer]:
    """No two columns are the same thing, but for notes: the first keeps it."""
    seen, made = set[str](), []
    for one in answers:
        made.append(Answer() if one.target in seen and one.target != "note" else one)
        seen.add(one.target)
    return made


def _one_of(form: Posted, name: str, known: Mapping[str, str]) -> str:
    said = str(form.get(name, ""))
    return said if said in known else ""


def _words_posted(form: Posted, table: Table, at: int, target: Target | None) -> dict[str, str]:
    if target is None or target.value != "choice":
        return {}
    found = {}
    for place, value in enumerate(different(table, at)):
        said = str(form.get(f"word-{at}-{place}", ""))
        if said == LEFT_EMPTY:
            found[plain_words(value)] = ""
        elif said in choices_of(target):
            found[plain_words(value)] = said
    return found


def said_posted(form: Posted, table: Table, holds: str) -> Said:
    """All that was said of the sheet."""
    rows = {line.number for line in table.lines}
    mended = {}
    for name in form:
        row, _, at = name.removeprefix("cell-").partition("-")
        if name.startswith("cell-") and row.isdecimal() and at.isdecimal() and int(row) in rows and int(at) < len(table.headings):
            mended[(int(row), int(at))] = str(form[name])
    return Said(
        holds,
        answers_posted(form, table, holds),
        all_rows={key: str(form.get(f"all-{key}", "")).strip() for key in targets_of(holds) if str(form.get(f"all-{key}", "")).strip()},
        mended=mended,
        left_out=frozenset(int(str(one)) for one in form.getlist("leave") if str(one).isdecimal()),
        leave_wrong=form.get("leave_wrong") == "yes",
        trial=str(form.get("trial", "")),
        question=str(form.get("question", "")).strip(),
        in_order=form.get("in_order") == "yes",
        method=str(form.get("method", "")),
    )


def columns_shown(table: Table, holds: str, guesses: Sequence[Guess]) -> list[ColumnShown]:
    """What is asked of each column, as it stands."""
    return [_shown(table, holds, at, one) for at, one in enumerate(guesses)]


def guesses_of(answers: Sequence[Answer], table: Table, holds: str) -> tuple[Guess, ...]:
    """Answers that a person gave, with what still has to be asked of them."""
    made = []
    for at, answer in enumerate(answers):
        asks = asked_of(holds, answer.target, different(table, at, 60))
        settled = (asks == "days" and answer.days) or (asks == "numbers" and answer.numbers)
        made.append(Guess(answer, 1.0, "" if settled else asks))
    return tuple(made)


def _shown(table: Table, holds: str, at: int, guess: Guess) -> ColumnShown:
    heading, answer = table.headings[at], guess.answer
    targets = targets_of(holds)
    target = targets.get(answer.target)
    options = [(key, one.label) for key, one in targets.items()]
    asks = ASKS.get(guess.asks, "")
    first = Control(f"is-{at}", heading.shown, FieldState(answer.target, warning=asks), options, NOT_TAKEN)
    samples = different(table, at, SAMPLES)
    more = _more(table, at, answer, target, guess.asks)
    asked = {one.name for one in more}
    # What needs no asking travels unseen, so that it is not asked and not lost.
    unseen = {f"was-{at}": answer.target, f"unit-{at}": answer.unit, f"numbers-{at}": answer.numbers, f"days-{at}": answer.days}
    return ColumnShown(
        at,
        heading.shown,
        f"Column {letters(heading.column)}: " + (", ".join(f"“{one[:30]}”" for one in samples) if samples else "empty"),
        [first, *more],
        {name: value for name, value in unseen.items() if name not in asked and (value or name == f"was-{at}")},
        target is not None,
        guess.score >= 0.7 and not asks,
    )


def _more(table: Table, at: int, answer: Answer, target: Target | None, asks: str) -> list[Control]:
    """What is asked besides: only what the values leave open."""
    if target is None or target.key == UNREAD:
        return []
    kind, heading, values = kind_of_target(target), table.headings[at].shown, different(table, at, 60)
    if kind is not None:
        made = []
        if kind.entry_units.units and any(has_no_unit(value) for value in values):
            units = [(one, one) for one in kind.entry_units.units]
            made.append(Control(f"unit-{at}", f"{heading}: a number alone is in", FieldState(answer.unit), units))
        if asks == "numbers" or any(_GROUPS.search(value) for value in values):
            blank = "As each is written"
            made.append(Control(f"numbers-{at}", f"{heading}: commas and points", FieldState(answer.numbers), list(NUMBERS.items()), blank))
        return made
    if target.value == "day" and any(WHICH[-20:] in day_said(value)[1] for value in values):
        return [Control(f"days-{at}", f"{heading}: day or month first", FieldState(answer.days), list(ORDERS.items()), "Choose")]
    if target.value == "choice":
        return _words_asked(table, at, answer, target)
    return []


def _words_asked(table: Table, at: int, answer: Answer, target: Target) -> list[Control]:
    options = [(LEFT_EMPTY, "Leave it empty"), *choices_of(target).items()]
    made = []
    for place, value in enumerate(different(table, at)):
        said = answer.words.get(plain_words(value))
        if said is None and choice_said(target, value) is not None:
            continue
        state = FieldState(LEFT_EMPTY if said == "" else said or "")
        made.append(Control(f"word-{at}-{place}", f"“{value[:40]}” means", state, options, "Choose"))
    return made


def with_kept(guesses: Sequence[Guess], kept: Mapping[str, Answer], holds: str) -> tuple[Guess, ...]:
    """The answers that were given the last time to the same headings."""
    known = targets_of(holds)
    return tuple(
        replace(one, answer=kept[str(at)], score=1.0, asks="") if str(at) in kept and kept[str(at)].target in known else Guess(Answer())
        for at, one in enumerate(guesses)
    )
