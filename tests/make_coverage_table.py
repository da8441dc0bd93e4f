"""Write the tables of static/guide/fifty-percent.md: how often the range of the 50 % point holds the true one.

.venv/bin/python tests/make_coverage_table.py          from the figures in tests/bench/coverage_of_fifty_percent.csv
.venv/bin/python tests/make_coverage_table.py 1000     simulates them again first, so many runs a cell: some ten minutes
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))
FIGURES = ROOT / "tests" / "bench" / "coverage_of_fifty_percent.csv"
TRUTH_FIGURES = ROOT / "tests" / "bench" / "coverage_of_the_half_truths.csv"
GUIDE = ROOT / "static" / "guide" / "fifty-percent.md"
BEGIN, END = "<!-- coverage: {} -->", "<!-- end -->"
# What stands between the marks: which energies, and which columns of the figures.
OURS = ("coverage", "unbounded", "bounded coverage", "one-sided coverage", "median width")
PLAIN = ("plain coverage", "plain unbounded", "plain bounded coverage", "plain one-sided coverage", "plain median width")
TABLES = {
    "even, ours": ("even", OURS),
    "even, plain": ("even", PLAIN),
    "up and down, ours": ("up and down", OURS),
    "up and down, plain": ("up and down", PLAIN),
}
HEADINGS = ("Shots, slope", "Holds, %", "Open, %", "Closed: holds, %", "One side open: holds, %", "High over low")
# The tables of other truths: heading, and column of the figures.
OFF_THE_MIDDLE = {
    "Holds, %": "coverage",
    "Open, %": "unbounded",
    "Closed: holds, %": "bounded coverage",
    "One side open: holds, %": "one-sided coverage",
}
SKEWED = {"Holds, %": "coverage", "Wholly above the true point, %": "too high", "Wholly below it, %": "too low"}
TRUTHS = {
    "off the middle": ("Shots, slope", ("off the middle",), OFF_THE_MIDDLE),
    "skewed": ("Truth", ("complementary log-log", "its mirror"), SKEWED),
}


def figures(path: Path = FIGURES) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def percent(share: str) -> str:
    """A share that was never drawn stands as a dash."""
    return "–" if share == "nan" else f"{100 * float(share):.1f}"


def table(name: str, cells: list[dict[str, str]]) -> str:
    """One table of the guide, from the figures of all cells."""
    way, columns = TABLES[name]
    lines = [f"| {' | '.join(HEADINGS)} |", "|---" * len(HEADINGS) + "|"]
    for cell in cells:
        if cell["energies"] == way:
            percents = [percent(cell[column]) for column in columns[:-1]]
            width = f"{float(cell[columns[-1]]):.2f}"
            lines.append(f"| {cell['shots']}, {cell['slope']} | {' | '.join([*percents, width])} |")
    return "\n".join(lines)


def truth_table(name: str, cells: list[dict[str, str]]) -> str:
    """One table of true points off the middle, or of truths that are not logistic."""
    first, truths, columns = TRUTHS[name]
    lines = [f"| {first} | {' | '.join(columns)} |", "|---" * (len(columns) + 1) + "|"]
    for cell in cells:
        if cell["truth"] in truths:
            row = (
                f"{cell['shots']}, {cell['slope']}"
                if len(truths) == 1
                else f"{cell['truth']}, {cell['shots']} shots, slope {cell['slope']}"
            )
            lines.append(f"| {row} | {' | '.join(percent(cell[column]) for column in columns.values())} |")
    return "\n".join(lines)


def filled_in(text: str, cells: list[dict[str, str]], truths: list[dict[str, str]] | None = None) -> str:
    """The guide with every table between its marks written again."""
    of_truths = figures(TRUTH_FIGURES) if truths is None else truths
    made = {name: table(name, cells) for name in TABLES} | {name: truth_table(name, of_truths) for name in TRUTHS}
    for name, lines in made.items():
        before, begin, rest = text.partition(BEGIN.format(name))
        if not begin:
            raise ValueError(f"the guide has no mark {BEGIN.format(name)}")
        _, end, after = rest.partition(END)
        text = f"{before}{begin}\n\n{lines}\n\n{end}{after}"
    return text


def main() -> None:
    if len(sys.argv) > 1:
        from tests.bench.coverage_of_fifty_percent import HEADINGS as COLUMNS
        from tests.bench.coverage_of_fifty_percent import TRUTH_HEADINGS, rows, truth_rows

        runs = int(sys.argv[1])
        for path, columns, made in ((FIGURES, COLUMNS, rows(runs)), (TRUTH_FIGURES, TRUTH_HEADINGS, truth_rows(runs))):
            with path.open("w", newline="", encoding="utf-8") as file:
                csv.writer(file, lineterminator="\n").writerows([columns, *made])
    GUIDE.write_text(filled_in(GUIDE.read_text(encoding="utf-8"), figures()), encoding="utf-8")


if __name__ == "__main__":
    main()
