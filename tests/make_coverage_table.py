"""Write the tables of static/guide/energy-to-get-through.md: how often the range of the 50 % point holds the true one.

    .venv/bin/python tests/make_coverage_table.py          from the figures in tests/bench/coverage_of_the_half.csv
    .venv/bin/python tests/make_coverage_table.py 1000     simulates them anew first, so many runs a cell: some five minutes
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))
FIGURES = ROOT / "tests" / "bench" / "coverage_of_the_half.csv"
GUIDE = ROOT / "static" / "guide" / "energy-to-get-through.md"
BEGIN, END = "<!-- coverage: {} -->", "<!-- end -->"
# What stands between the marks: which energies, and which columns of the figures.
OURS = ("coverage", "unbounded", "bounded coverage", "median width")
PLAIN = ("plain coverage", "plain unbounded", "plain bounded coverage", "plain median width")
TABLES = {
    "even, ours": ("even", OURS),
    "even, plain": ("even", PLAIN),
    "up and down, ours": ("up and down", OURS),
    "up and down, plain": ("up and down", PLAIN),
}
HEADINGS = ("Shots, slope", "Holds, %", "Open, %", "Closed: holds, %", "High over low")


def figures() -> list[dict[str, str]]:
    with FIGURES.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def table(name: str, cells: list[dict[str, str]]) -> str:
    """One table of the guide, from the figures of all cells."""
    way, columns = TABLES[name]
    lines = [f"| {' | '.join(HEADINGS)} |", "|---" * len(HEADINGS) + "|"]
    for cell in cells:
        if cell["energies"] == way:
            percents = [f"{100 * float(cell[column]):.1f}" for column in columns[:3]]
            width = f"{float(cell[columns[3]]):.2f}"
            lines.append(f"| {cell['shots']}, {cell['slope']} | {' | '.join([*percents, width])} |")
    return "\n".join(lines)


def filled_in(text: str, cells: list[dict[str, str]]) -> str:
    """The guide with every table between its marks written anew."""
    for name in TABLES:
        before, begin, rest = text.partition(BEGIN.format(name))
        if not begin:
            raise ValueError(f"the guide has no mark {BEGIN.format(name)}")
        _, end, after = rest.partition(END)
        text = f"{before}{begin}\n\n{table(name, cells)}\n\n{end}{after}"
    return text


def main() -> None:
    if len(sys.argv) > 1:
        from tests.bench.coverage_of_the_half import HEADINGS as COLUMNS
        from tests.bench.coverage_of_the_half import rows

        made = rows(int(sys.argv[1]))
        with FIGURES.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows([COLUMNS, *made])
    GUIDE.write_text(filled_in(GUIDE.read_text(encoding="utf-8"), figures()), encoding="utf-8")


if __name__ == "__main__":
    main()
