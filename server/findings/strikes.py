"""How often an arrow struck since it was made, sharpened and mounted: as far as its builds say what was done.

A shot that nobody has read may have struck too; it is counted apart, so that the figure is no false comfort.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.records.strike_facts import BuildStrikes, build_strikes
from server.storage import Session

SHARPENED = re.compile(r"sharp|ground|grind|touched up|hon(ed|ing)|filed|filing|stoned|whet", re.IGNORECASE)
MOUNTED = re.compile(r"mount|hafted|glued on|new head", re.IGNORECASE)


@dataclass(frozen=True)
class Strikes:
    """Counts; None where no build says that this was ever done. unread: loosed and not read, since it was made."""

    made: int
    sharpened: int | None
    mounted: int | None
    unread: int

    @property
    def words(self) -> str:
        """ "Struck 14 times since it was made, 6 since it was sharpened, 3 since its head was mounted; 2 not read yet." """
        if not self.made:
            said = "Never struck since it was made"
        else:
            said = f"Struck {_times(self.made)} since it was made"
            said += f", {_or_never(self.sharpened)} since it was sharpened" if self.sharpened is not None else ""
            said += f", {_or_never(self.mounted)} since its head was mounted" if self.mounted is not None else ""
        return said + (f"; {self.unread} not read yet." if self.unread else ".")


def _times(n: int) -> str:
    return "once" if n == 1 else f"{n} times"


def _or_never(n: int) -> str:
    return "never" if n == 0 else str(n)


def strikes(builds: Sequence[BuildStrikes]) -> Strikes:
    """From all builds of one arrow, in any order."""
    ordered = sorted(builds, key=lambda build: build.number)
    sharpened = mounted = None
    for place, build in enumerate(ordered):
        before = ordered[place - 1] if place else None
        if build.work and SHARPENED.search(build.work):
            sharpened = place
        another_head = build.head_id is not None and (before is None or before.head_id != build.head_id)
        if another_head or (build.work and MOUNTED.search(build.work)):
            mounted = place
    return Strikes(
        made=sum(build.strikes for build in ordered),
        sharpened=None if sharpened is None else sum(build.strikes for build in ordered[sharpened:]),
        mounted=None if mounted is None else sum(build.strikes for build in ordered[mounted:]),
        unread=sum(build.unread for build in ordered),
    )


def strikes_by_arrow(session: Session) -> Mapping[str, Strikes]:
    """Arrow id -> its strikes, of all arrows, in one statement."""
    by_arrow: dict[str, list[BuildStrikes]] = {}
    for build in build_strikes(session):
        by_arrow.setdefault(build.arrow_id, []).append(build)
    return {arrow_id: strikes(builds) for arrow_id, builds in by_arrow.items()}
