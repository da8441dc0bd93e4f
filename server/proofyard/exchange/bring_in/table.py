"""Where the table of a sheet lies: its heading row, its rows, and what stands around it that is no row of it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.exchange.bring_in.sheet import Sheet

LOOKED_AT = 40  # rows from the top among which the headings are looked for
ABOVE, TOTAL, COMMENT, SECOND, UNITS = "above", "total", "comment", "second", "units"
WHY = {
    ABOVE: "above the headings",
    TOTAL: "a total or a mean, not a row of its own",
    COMMENT: "a comment: one cell alone",
    SECOND: "a second table",
    UNITS: "units of the headings",
}
_TOTAL = re.compile(
    r"(?:grand |sub)?(?:total|sum|mean|average|avg|median|std|st\.? ?dev|sd|min|max|count|summe|mittel(?:wert)?)\b[:.]?", re.IGNORECASE
)
_UNIT = re.compile(
    r"[\[(]?(?:mm|cm|m|in|inch(?:es)?|ft|yd|g|gr|grains?|kg|oz|lbs?|lbf|#|n|m/s|fps|ft/s|deg|°|%|°c|c|j|\"|ms|s)[\])]?", re.IGNORECASE
)
_IN_BRACKETS = re.compile(r"^(?P<words>.*?)[\s,]*[\[(](?P<unit>[^\[\]()]{1,14})[\])]\s*$")
_LAST = re.compile(
    r"^(?P<words>.*\S)[ _/,](?:in |/ ?)?"
    r"(?P<unit>mm|cm|in|inch|inches|ft|yd|yds|yards|g|gr|gn|grain|grains|kg|oz|lb|lbs|lbf|#|m/s|fps|ft/s|deg|°|%|°C|C|m)\.?$"
)

_OF_R = re.compile(r"(.+?)\.\.([^.]+(?:\.[^.]+)?)\.")
_DOTTED = re.compile(r"\w+(?:\.\w+)+\.?")


@dataclass(frozen=True)
class Heading:
    """One column: its place in the sheet (0 for the first), its words without the unit, the unit's text."""

    column: int
    words: str
    unit: str = ""

    @property
    def shown(self) -> str:
        return f"{self.words} ({self.unit})" if self.unit else self.words or f"Column {letters(self.column)}"


@dataclass(frozen=True)
class Line:
    """A row of the sheet: its number as the spreadsheet shows it, the cells of the table's columns, and why it is not taken."""

    number: int
    cells: tuple[str, ...]
    why_not: str = ""


@dataclass(frozen=True)
class Table:
    """The table: `lines` are taken, `beside` are shown and not taken; `second` are columns of another table to its right or left."""

    heading_row: int
    headings: tuple[Heading, ...]
    lines: tuple[Line, ...]
    beside: tuple[Line, ...]
    second: tuple[str, ...] = ()


def letters(column: int) -> str:
    """A column as spreadsheets call it.

    >>> letters(0), letters(27)
    ('A', 'AB')
    """
    name = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(65 + rest) + name
    return name


def heading_of(column: int, text: str) -> Heading:
    """A heading's words and its unit.

    >>> heading_of(0, "Arrow mass [gr]")
    Heading(column=0, words='Arrow mass', unit='gr')
    """
    # R makes "Speed (m/s)" into "Speed..m.s."
    found = _OF_R.fullmatch(text)
    text = f"{found[1]} ({found[2].replace('.', '/')})" if found else text.replace(".", " ") if _DOTTED.fullmatch(text) else text
    text = " ".join(text.replace("_", " ").split())
    found = _IN_BRACKETS.match(text) or _LAST.match(text)
    if found and found["words"].strip() and not found["unit"].strip().isdigit():
        return Heading(column, found["words"].strip(), found["unit"].strip())
    return Heading(column, text)


def is_number(text: str) -> bool:
    return bool(text) and text[0] in "0123456789+-.,≥>½¼¾" and any(sign.isdigit() or sign in "½¼¾" for sign in text)


def heading_row(sheet: Sheet, known: Sequence[str]) -> int:
    """The row (0 for the first) that looks most like headings: words, and different ones, with rows below that fill its columns.

    known   words that headings use, which weigh
    """
    best, most = 0, -1.0
    heads = set(known)
    for place, row in enumerate(sheet.rows[:LOOKED_AT]):
        filled = [cell for cell in row if cell]
        if not filled:
            continue
        words = [cell for cell in filled if not is_number(cell)]
        below = [sum(1 for at, cell in enumerate(row) if cell and at < len(other) and other[at]) for other in _some_below(sheet, place)]
        fits = sum(below) / len(below) if below else 0.0
        said = sum(1 for cell in words if heading_of(0, cell).words.lower() in heads)
        score = len(set(words)) - 2 * (len(filled) - len(words)) + 2 * said + fits - 0.01 * place
        if len(filled) == 1:
            score -= 3
        if score > most:
            best, most = place, score
    return best


def _some_below(sheet: Sheet, place: int) -> list[tuple[str, ...]]:
    return [row for row in sheet.rows[place + 1 : place + 9] if row][:6]


def table_of(sheet: Sheet, at: int, known: Sequence[str]) -> Table:
    """The table below a heading row (0 for the first row)."""
    row = sheet.rows[at] if at < len(sheet.rows) else ()
    first, last, second = _block(sheet, at, row, known)
    columns = list(range(first, last))
    above = sheet.rows[at - 1] if at else ()
    rows = sheet.rows[at + 1 :]
    units = rows[0] if rows and _all_units(rows[0]) else ()
    headings = tuple(_heading(column, row, above, units) for column in columns)
    beside = [_line(number, sheet.rows[number], columns, ABOVE) for number in range(at) if any(sheet.rows[number])]
    lines: list[Line] = []
    kinds = _Kinds(len(columns))
    over, blank = False, False
    for number in range(at + 1, len(sheet.rows)):
        line = _line(number, sheet.rows[number], columns)
        filled = [cell for cell in line.cells if cell]
        if not filled:
            blank = True
            continue
        why = SECOND if over else UNITS if units and number == at + 1 else _why_not(line, headings, kinds, blank=blank, begun=bool(lines))
        over = over or why == SECOND
        if why:
            beside.append(Line(line.number, line.cells, why))
        else:
            lines.append(line)
            kinds.see(line)
        blank = False
    return Table(at + 1, headings, tuple(lines), tuple(beside), second)


def _line(number: int, row: Sequence[str], columns: Sequence[int], why: str = "") -> Line:
    # What is above the headings may be a title in any column; it is shown as it stands.
    cells = tuple(row) if why == ABOVE else tuple(row[at] if at < len(row) else "" for at in columns)
    return Line(number + 1, cells, why)


def _all_units(row: Sequence[str]) -> bool:
    filled = [cell for cell in row if cell]
    return len(filled) >= 1 and all(_UNIT.fullmatch(cell) for cell in filled)


def _heading(column: int, row: Sequence[str], above: Sequence[str], units: Sequence[str]) -> Heading:
    made = heading_of(column, row[column] if column < len(row) else "")
    under = units[column].strip("[]() ") if column < len(units) else ""
    # One cell above several columns names them together: "Head" over "type" and "mass".
    group = next((above[at] for at in range(min(column, len(above) - 1), -1, -1) if above[at]), "") if sum(map(bool, above)) > 1 else ""
    words = (
        f"{group} {made.words}".strip()
        if group and len(group) < 30 and made.words and group.lower() not in made.words.lower()
        else made.words
    )
    return Heading(column, words, made.unit or under)


def _block(sheet: Sheet, at: int, row: Sequence[str], known: Sequence[str]) -> tuple[int, int, tuple[str, ...]]:
    """The columns of the table: where a column is empty from the headings down, another table may stand beside."""
    width = max((len(one) for one in sheet.rows[at:]), default=0)
    used = [any(column < len(one) and one[column] for one in sheet.rows[at:]) for column in range(width)]
    blocks: list[tuple[int, int]] = []
    for column in range(width):
        if used[column]:
            if blocks and blocks[-1][1] == column:
                blocks[-1] = (blocks[-1][0], column + 1)
            else:
                blocks.append((column, column + 1))
    if not blocks:
        return 0, 0, ()
    heads = set(known)

    def score(block: tuple[int, int]) -> tuple[int, int]:
        cells = [cell for cell in row[block[0] : block[1]] if cell]
        return sum(heading_of(0, cell).words.lower() in heads for cell in cells), len(cells)

    best = max(blocks, key=score)
    others = [cell for block in blocks if block != best for cell in row[block[0] : block[1]] if cell]
    return best[0], best[1], tuple(others)


class _Kinds:
    """Which columns held numbers so far, to know a heading in the middle of them."""

    def __init__(self, width: int) -> None:
        self.numbers, self.seen = [0] * width, [0] * width

    def see(self, line: Line) -> None:
        for at, cell in enumerate(line.cells):
            if cell:
                self.seen[at] += 1
                self.numbers[at] += is_number(cell)

    def unlike(self, line: Line) -> bool:
        """Words wherever the rows before had numbers."""
        told = [at for at, cell in enumerate(line.cells) if cell and self.seen[at] and self.numbers[at] > self.seen[at] / 2]
        return len(told) >= 1 and not any(is_number(line.cells[at]) for at in told)


def _why_not(line: Line, headings: Sequence[Heading], kinds: _Kinds, *, blank: bool, begun: bool) -> str:
    filled = [cell for cell in line.cells if cell]
    if _TOTAL.match(filled[0]) and (len(filled) < len(headings) or begun):
        return TOTAL
    if blank and begun and len(filled) > 1 and kinds.unlike(line) and not any(map(is_number, filled)):
        return SECOND
    if len(filled) == 1 and len(headings) > 2 and not is_number(filled[0]) and (len(filled[0]) > 12 or " " in filled[0]):
        return COMMENT
    return ""
