"""How long the app takes to import, as a multiple of importing fastapi, sqlmodel and pint. Wanted: at most 1.5.

    python -m tests.bench.import_time [rounds]

Processor time of a fresh interpreter less that of an empty one, in turns; the medians' ratio. All start from compiled
files, as after any installation, kept in a folder of the run's own. The second control is the baseline against itself. `proofyard.app`
loads with the garbage collector off, which is most of what makes it quick;
"uncollected" is the baseline loaded the same way.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parents[2]
IMPORTS = {
    "nothing": "",
    "baseline": "import fastapi, sqlmodel, pint",
    "again": "import fastapi, sqlmodel, pint",
    "baseline uncollected": "import gc; gc.disable(); import fastapi, sqlmodel, pint",
    "app": "import proofyard.app",
    "help": "import proofyard.cli; proofyard.cli._parser().format_help()",
}


@dataclass(frozen=True)
class Imports:
    """Median processor seconds, the empty interpreter's taken off; `ratio` app to baseline, `control` baseline to itself."""

    seconds: dict[str, float]
    ratio: float
    control: float


def measure(rounds: int = 9, *, compiled_before: bool = False) -> Imports:
    """compiled_before: from the compiled files that lie beside the code, if somebody has loaded all of it before"""
    took: dict[str, list[float]] = {name: [] for name in IMPORTS}
    with tempfile.TemporaryDirectory() as folder:
        compiled = "" if compiled_before else folder
        for source in IMPORTS.values() if compiled else ():
            _seconds(source, compiled)  # the first run compiles
        for _ in range(rounds):
            for name, source in IMPORTS.items():
                took[name].append(_seconds(source, compiled))
    empty = statistics.median(took["nothing"])
    seconds = {name: statistics.median(all_of) - empty for name, all_of in took.items() if name != "nothing"}
    base = seconds["baseline"]
    return Imports(seconds, seconds["app"] / base, seconds["again"] / base)


def _seconds(source: str, compiled: str) -> float:
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    where = {"PYTHONPYCACHEPREFIX": compiled} if compiled else {}
    subprocess.run([sys.executable, "-c", source], cwd=REPOSITORY, check=True, env={**environment, **where})
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


if __name__ == "__main__":
    found = measure(int(sys.argv[1]) if len(sys.argv) > 1 else 9)
    print(", ".join(f"{name} {seconds * 1000:.0f} ms" for name, seconds in found.seconds.items()))
    print(f"import proofyard.app: {found.ratio:.2f} times the baseline (wanted 1.5 or less); baseline against itself {found.control:.2f}")
