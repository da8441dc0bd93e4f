"""What was done to a panel, an arrow or a bow between its builds, in words."""

from collections.abc import Iterable, Sequence

from proofyard.quantities import unit_for_reader, written
from proofyard.records.kit_between import BuildMade
from proofyard.records.panel import WORK
from proofyard.wording.counts import all_listed


def worked_on_words(
    shot_in: Iterable[tuple[str, Sequence[BuildMade]]], later: Sequence[BuildMade], *, builds: Sequence[BuildMade], reader: str
) -> str:
    """ "Trial 1: build 1; trial 2: build 2. Build 2, re-laced: every lace was renewed."

    shot_in  each trial by name, with the builds shot in it
    later    those made since the first of them; `builds`: all
    """
    shot = "; ".join(f"{name}: {_numbers(some)}" for name, some in shot_in if some)
    return f"{shot}. {'. '.join(_what_was_done(one, builds, reader=reader) for one in later)}."


def _numbers(builds: Sequence[BuildMade]) -> str:
    return f"build{'s' if len(builds) > 1 else ''} {all_listed([str(one.number) for one in builds])}"


def _what_was_done(build: BuildMade, builds: Sequence[BuildMade], *, reader: str) -> str:
    """ "Build 2, re-laced: every lace was renewed"; for an arrow its other head, for a bow its string and brace height."""
    before = next((one for one in reversed(builds) if one.number < build.number), None)
    work = WORK.get(build.work or "", build.work or "").strip()
    said = f"Build {build.number}, {work[:1].lower() + work[1:] or 'no work recorded'}"
    if build.noun == "panel" and build.note:
        said += f": {build.note.strip().rstrip('.')}"
    if build.noun == "arrow" and before is not None and build.note and build.note != before.note:
        said += f", with head {build.note}" + (f" for {before.note}" if before.note else "")
    if build.noun == "bow" and before is not None:
        if build.note != before.note:
            said += f", string {build.note or 'not recorded'}, before {before.note or 'not recorded'}"
        if build.brace_m != before.brace_m:
            said += f", braced at {_brace(build, reader)}, before {_brace(before, reader)}"
    return said


def _brace(build: BuildMade, reader: str) -> str:
    return "not recorded" if build.brace_m is None else written(build.brace_m, unit_for_reader("thickness", reader))
