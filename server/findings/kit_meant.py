"""What a trial is to use, as ticks: all kit that is not retired, and what is ticked of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.findings.trials_compared.follow_up import KIT_WORDS, by_name
from server.records.arrow import Arrow
from server.records.bow import Bow
from server.records.listing import all_of, belonging, name_of
from server.records.panel import Panel
from server.records.stand import Stand
from server.records.trial import TrialUses
from server.storage import Session


@dataclass(frozen=True)
class KitMeant:
    """`offered`: noun -> (id, name); `rows`: (noun, id) -> the record that says so, struck through or not."""

    offered: Mapping[str, tuple[tuple[str, str], ...]]
    rows: Mapping[tuple[str, str], TrialUses]

    def ticked(self, noun: str) -> list[str]:
        return [key for (of, key), row in self.rows.items() if of == noun and row.struck_rev is None]


def read_kit_meant(session: Session, trial_id: str) -> KitMeant:
    """Five statements."""
    rows = {(row.noun, row.record_id): row for row in belonging(session, TrialUses, "trial_id", trial_id, struck=True)}
    offered = {}
    for noun, table in (("panel", Panel), ("stand", Stand), ("bow", Bow), ("arrow", Arrow)):
        # What was ticked stays to be seen, retired or not.
        found: Sequence[Any] = all_of(session, table)
        kept = [one for one in found if not one.retired or (noun, one.id) in rows]
        named = [(one.id, name_of(one) + (", retired" if one.retired else "")) for one in kept]
        offered[noun] = tuple(sorted(named, key=lambda pair: by_name(pair[1])))
    return KitMeant(offered, rows)


__all__ = ["KIT_WORDS", "KitMeant", "read_kit_meant"]
