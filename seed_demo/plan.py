"""What the third trial claims and its archers said beforehand, and a plan for what is still to shoot on a fresh corner of its panels.

Written with lots of its own, so that nothing else of the demo comes out differently for it.
"""

import random
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager

from proofyard.answers.planning.aim_spots import aim_spots
from proofyard.answers.planning.page import panel_state
from proofyard.records.bow import BowBuild
from proofyard.records.trial import Trial

from .writer import Writer

SEED = 261018
EXPECTED = {
    "Tallow": {
        "says": "The needle gets its point through with the 145 lb bow, about every second time. The barbed broadhead never does.",
        "fifty_percent_energy": "100 J",
    },
    "Wren": {"says": "1.6 mm holds: a dent, at most a crack, whatever the head.", "share": "10 %"},
}
SHOTS = 6
CLAIM = {
    "claim_form": "holds",
    "one_in": "10",
    "heads": ["needle", "short_bodkin", "leaf", "barbed"],
    "construction": "plate",
    "thickness": "1.6 mm",
    "level": "95",
}


@contextmanager
def own_lots(w: Writer) -> Iterator[None]:
    kept, w.rng = w.rng, random.Random(SEED)
    yield
    w.rng = kept


def expect(w: Writer, trial: str, archers: Mapping[str, str]) -> None:
    with own_lots(w):
        for name, said in EXPECTED.items():
            w.put("prediction", {"trial": trial, "archer": archers[name], **said})


def claim(w: Writer, trial: str, bow_build: str) -> None:
    """The third trial's question as a claim, stated before its first shot."""
    build = w.session.get(BowBuild, bow_build)
    assert build is not None
    with own_lots(w):
        w.put("claim", {"trial": trial, "bow": build.bow_id, **CLAIM})


def plan_ahead(w: Writer, trial: str, panel_build: str, *, archers: Mapping[str, str], arrows: Sequence[str]) -> None:
    """Six shots, three rounds of two arrows, the archers in turn, on spots that are still fair; one is skipped."""
    record = w.session.get(Trial, trial)
    assert record is not None
    state = panel_state(w.session, record, build_id=panel_build)
    assert state is not None
    spots = aim_spots(state.panel, state.rules, facts=state.facts).spots
    with own_lots(w):
        plan = w.put(
            "plan",
            {
                "trial": trial,
                "panel_build": panel_build,
                "mixed": "heads_archers",
                "rounds": "3",
                "seed": str(SEED),
                "note": "For the next dry day.",
            },
        )
        for place, spot in enumerate(w.rng.sample(spots, SHOTS), 1):
            body = {
                "plan": plan,
                "place": str(place),
                "block": str((place + 1) // 2),
                "arrow_build": arrows[place % 2],
                "archer": archers[("Wren", "Tallow")[place // 2 % 2]],
            }
            planned = w.put(
                "planned_shot", {**body, "aim_x": f"{spot.x_m * 1000:.1f} mm", "aim_y": f"{spot.y_m * 1000:.1f} mm", "aim_name": spot.name}
            )
            if place == 2:
                w.put("planned_shot", {"skipped": "yes"}, record_id=planned, base_rev=1)
