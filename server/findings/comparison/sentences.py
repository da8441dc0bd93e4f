"""A comparison in words: what so many could show, how large the difference is and how unsure, and what is not shown.

Nothing here ranks two groups whose mean energies differ, and a difference that isn't shown is never called none.
"""

from dataclasses import dataclass

from server.findings.cells import Cell
from server.findings.comparison.groups import Comparison, PairComparison, Question
from server.findings.comparison.levels import LevelPair, ShareGap
from server.findings.comparison.ranks import RankFinding, depth_shift
from server.findings.sentences import target_words
from server.findings.through import Through
from server.statistics.comparing import CouldShow
from server.statistics.refusals import CantTell

SORT_WORDS = {"through": "Through, all levels", "level": "Through", "depth": "Depth", "ladder": "Rung"}


@dataclass(frozen=True)
class CouldLine:
    """Before any test: what one level of one pair could show by itself, and among all that is asked here."""

    pair: str
    level: str
    alone: str
    among: str


@dataclass(frozen=True)
class QuestionLine:
    """One row of the table of tests."""

    pair: str
    words: str
    at_most: str
    p_value: str
    adjusted: str
    verdict: str


def title_of(found: Comparison, through: Through) -> str:
    """The page's one finding."""
    shown = [one for one in found.questions if one.judged and one.judged.shown]
    pairs = {pair.key: pair for pair in found.pairs}
    told = next((one for one in shown if one.sort == "level"), None)
    if told:
        return _shown_level(pairs[told.pair], told, through)
    if shown:
        return _shown_by_order(pairs[shown[0].pair], shown[0], through)
    if not any(pair.alike for pair in found.pairs):
        return "These can’t be ranked"
    if all(not could_tell(one, found) for one in found.questions):
        return "So few shots can’t tell these apart, however they had turned out"
    if len(found.pairs) == 1:
        only = found.pairs[0]
        return f"These shots don’t tell {only.first.who} from {only.second.who}"
    return f"{_cap(_number(len(found.questions)))} questions asked, and no difference shown"


def more_of(found: Comparison) -> list[str]:
    """What the title leaves open."""
    if not any(pair.alike for pair in found.pairs):
        why = sorted({level.unlike.words for pair in found.pairs for level in pair.levels if level.unlike})
        if not why:
            return ["No energy level was shot with two of them, so nothing tells them from the energy."]
        return ["Where two of them were shot at one energy level, something else parts them too: " + "; ".join(why) + "."]
    if not found.questions:
        return ["That is known from how many were shot; more shots of each at one energy could tell."]
    shown = sum(bool(one.judged and one.judged.shown) for one in found.questions)
    if shown:
        return [f"{_cap(_number(shown))} of {len(found.questions)} questions asked here {'is' if shown == 1 else 'are'} answered; the others are still open."]
    return ["A difference that is not shown may still be there: the ranges below say how large it may be."]


def could_tell(question: Question, found: Comparison) -> bool:
    """Whether any result of so many shots could have been shown, judged as this question is."""
    pays = 1 if question.declared else max(1, found.rest)
    return question.smallest_p * pays <= 1 - found.level + 1e-12


def could_lines(found: Comparison) -> list[CouldLine]:
    """What these n could show, before any test: a line for each pair and level where they may be compared."""
    lines = []
    for pair in found.pairs:
        names = f"{pair.first.words} against {pair.second.words}"
        declared = any(one.declared and one.sort == "level" for one in pair.questions)
        for level in pair.alike:
            alone, among = level.could_show(level=found.level), level.could_show(questions=max(1, found.rest), level=found.level)
            if alone is None or among is None:
                counts = f"{level.first.tally.shots} against {level.second.tally.shots}"
                lines.append(CouldLine(names, level.band.with_unit, f"{counts}: enough for a clear difference", "enough too"))
                continue
            told = "judged first, alone" if declared else _could(among) if alone.can_tell else "not asked"
            lines.append(CouldLine(names, level.band.with_unit, alone.words, told))
        if not isinstance(pair.ladder, CantTell):
            lines.append(_by_order_line(names, pair, found, smallest=pair.ladder.smallest_p))
    return lines


def unjudged_words(found: Comparison) -> str:
    """Why the pair that was asked about beforehand has no answer here; "" where it has one, or there was none."""
    pair = next((pair for pair in found.pairs if pair.key == found.declared), None)
    if pair is None or any(one.declared for one in pair.questions):
        return ""
    if not pair.alike:
        return "It can’t be judged here: at no energy level may the two be ranked."
    return "It can’t be judged here: no result of so many shots could tell."


def could_summary(found: Comparison) -> str:
    """How much of it could be shown at all, in one sentence."""
    levels = [level for pair in found.pairs for level in pair.alike]
    alone = sum(level.plenty or bool(could and could.can_tell) for level in levels for could in [level.could_show(level=found.level)])
    told = sum(could_tell(one, found) for one in found.questions)
    if not found.questions:
        return "No result of so many shots could tell any of these apart."
    where = f"{alone} of {len(levels)} could tell by themselves" if len(levels) > 1 else ("it could tell" if alone else "it could not tell")
    pays = f" As {found.rest} questions are asked at once and pay for each other, {told} of {len(found.questions)} could be answered." if found.rest > 1 else ""
    return f"Of the pairs at an energy level with both, {where}.{pays}" if len(levels) > 1 else f"There is one pair at one energy level, and {where}.{pays}"


def _by_order_line(names: str, pair: PairComparison, found: Comparison, *, smallest: float) -> CouldLine:
    """Depth, ladder and all levels together go by the order of shots: all of one above all of the other is the most."""
    asked = next((one for one in pair.questions if one.sort == "ladder"), None)
    alone = f"p = {p_words(smallest)} at best" + ("" if asked else ": no result could tell")
    told = "some results could tell" if asked and could_tell(asked, found) else "no result could tell"
    return CouldLine(names, "all levels, by order", alone, told if asked else "not asked")


def _could(found: CouldShow) -> str:
    return found.words.partition(": ")[2]


def unlike_lines(pair: PairComparison) -> list[str]:
    """Levels where both were shot and are not ranked, and why; and those where only one was."""
    said = [
        f"{_cap(level.band.where)}: {_counts(level.first)} against {_counts(level.second)}, not ranked: {level.unlike.full}."
        for level in pair.levels
        if level.both and level.unlike
    ]
    for mine, other in ((pair.first, "first"), (pair.second, "second")):
        alone = [level.band.with_unit for level in pair.levels if not level.both and getattr(level, other).shots]
        if alone:
            said.append(f"Only {mine.who} {'were' if mine.who.startswith('shots') else 'was'} shot at {_listed(alone)}.")
    return said


def level_sentence(pair: PairComparison, level: LevelPair, *, through: Through) -> str:
    """Counts, then size and doubt: "anything from 12 points less to 61 points more"."""
    could = level.could_show()
    assert level.gap is not None
    counts = f"{_cap(level.band.where)}: {pair.first.who} {_counts(level.first)} {through.past}, {pair.second.who} {_counts(level.second)}."
    if could and not could.can_tell:
        return f"{counts} {could.words}."
    return f"{counts} {size_words(level.gap)}"


def size_words(gap: ShareGap) -> str:
    """The difference in points of a hundred with its range, first less second."""
    low, high = (round(100 * end) for end in (gap.difference_low, gap.difference_high))
    size = _points(low) if low == high else f"{_from_to(low, high)}, as some are still open"
    least, most = round(100 * gap.low), round(100 * gap.high)
    return f"That is {size}; the true difference may be {'anything ' if least < 0 < most else ''}from {_from_to(least, most)} (95\N{NO-BREAK SPACE}%)."


def _points(points: int) -> str:
    if points == 0:
        return "no difference"
    return f"{abs(points)} point{'' if abs(points) == 1 else 's'} {'more' if points > 0 else 'less'}"


def _from_to(low: int, high: int) -> str:
    """ "12 points less to 61 points more", "4 to 61 points more", "4 to 12 points less"."""
    if low < 0 < high:
        return f"{_points(low)} to {_points(high)}"
    near, far = sorted((abs(low), abs(high)))
    return f"{near} to {far} points {'more' if high > 0 else 'less'}"


def rank_sentence(pair: PairComparison, found: RankFinding | CantTell, *, sort: str) -> str:
    """How often the first stands above the second, of all pairs of shots at one level."""
    what = {"through": "got through where the other did not", "depth": "stood deeper", "ladder": "stood higher on the ladder"}[sort]
    name = {"through": "Through, over all levels", "depth": "Depth past the rear face", "ladder": "The ladder of outcomes"}[sort]
    if isinstance(found, CantTell):
        return f"{name}: {found.reason}."
    return f"{name}: {pair.first.who} {what} in {round(100 * found.higher_share)} of 100 pairs." + (_shift_words(pair) if sort == "depth" else "")


def _shift_words(pair: PairComparison) -> str:
    said = ""
    for level in pair.alike:
        shift = depth_shift(level)
        if isinstance(shift, CantTell) or shift.shift is None or shift.low is None or shift.high is None:
            continue
        deeper = f" {_cap(level.band.where)} {pair.first.who} went {_mm(abs(shift.shift))} {'deeper' if shift.shift >= 0 else 'less deep'} than {pair.second.who}"
        said += f"{deeper}; the true shift may be anything from {_signed_mm(shift.low)} to {_signed_mm(shift.high)}."
    return said


def verdict_of(question: Question, found: Comparison) -> str:
    """What a p-value comes to, in words."""
    judged = question.judged
    assert judged is not None
    if not could_tell(question, found):
        return "Could not be shown by so few"
    if judged.shown:
        return "More than chance"
    if judged.p_value <= 1 - found.level:
        return f"Not shown: by itself it would stand out, among {found.rest} questions it doesn’t. Shoot it again as the one question"
    return "Not shown; not shown to be alike either"


def question_lines(found: Comparison) -> list[QuestionLine]:
    """All that was asked, the declared question first, the dull ones too."""
    pairs = {pair.key: pair for pair in found.pairs}
    lines = []
    for one in found.questions:
        pair, judged = pairs[one.pair], one.judged
        assert judged is not None
        words = SORT_WORDS[one.sort] + (f", {one.band.with_unit}" if one.band else "")
        lines.append(
            QuestionLine(
                f"{pair.first.words} against {pair.second.words}",
                words + (" (asked beforehand)" if one.declared else ""),
                p_words(one.smallest_p), p_words(judged.p_value), p_words(judged.adjusted), verdict_of(one, found),
            )
        )  # fmt: skip
    return lines


def p_words(p_value: float) -> str:
    """Two figures, "under 0.0001" below that.

    >>> p_words(0.0312), p_words(1.0), p_words(0.00002)
    ('0.031', '1', 'under 0.0001')
    """
    return "under 0.0001" if p_value < 0.0001 else f"{p_value:.2g}"


def beside_sentence(pair: PairComparison) -> str:
    """What goes together with the two, so that one can't be told from the other."""
    if not pair.beside:
        return ""
    return f"{_cap(pair.first.who)} and {pair.second.who} share no {_listed(pair.beside, 'and no')} here, so this can’t tell what that does from what they do."


def _shown_level(pair: PairComparison, question: Question, through: Through) -> str:
    level = next(one for one in pair.alike if one.band == question.band)
    on = target_words([fact for side in level.facts for fact in side])
    return f"{_cap(level.band.where)} {pair.first.who} {through.did(on)} in {_counts(level.first)}, {pair.second.who} in {_counts(level.second)}: more than chance would part them"


def _shown_by_order(pair: PairComparison, question: Question, through: Through) -> str:
    ranks = {"through": pair.through, "depth": pair.depth, "ladder": pair.ladder}[question.sort]
    assert isinstance(ranks, RankFinding)
    one, other = (pair.first.who, pair.second.who) if ranks.higher_share >= 0.5 else (pair.second.who, pair.first.who)
    did = {"through": f"was more often {through.past}", "depth": "went deeper", "ladder": "climbed higher up the ladder"}[question.sort]
    did = did.replace("was", "were") if one.startswith("shots") else did
    return f"At like energy {one} {did} than {other}: more than chance would part them"


def _counts(cell: Cell) -> str:
    return f"none of {cell.tally.shots}" if cell.tally.hits_high == 0 else cell.tally.words


def _mm(metres: float) -> str:
    return f"{metres * 1000:.0f}\N{NO-BREAK SPACE}mm"


def _signed_mm(metres: float) -> str:
    return f"{_mm(abs(metres))} {'deeper' if metres >= 0 else 'less deep'}"


def _listed(words: "list[str] | tuple[str, ...]", joint: str = "and") -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {joint} {words[-1]}"


def _number(count: int) -> str:
    names = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    return names[count] if count < len(names) else str(count)


def _cap(text: str) -> str:
    return text[:1].upper() + text[1:]
