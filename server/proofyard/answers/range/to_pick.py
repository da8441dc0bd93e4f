"""What a form's lists offer, as (id, words): panel builds, stands, chronographs, bows, arrows, archers, other shots."""

from collections.abc import Sequence

from proofyard.answers.range.ends_to_pick import ends_for_shot
from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, ArrowBuild
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.instrument import READ_WITH, Instrument
from proofyard.records.kit_facts import builds
from proofyard.records.listing import all_of, belonging, by_number
from proofyard.records.panel import AREAS, Panel, PanelArea, PanelBuild
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.records.stand import Stand
from proofyard.records.trial import Trial
from proofyard.storage import Session
from proofyard.wording.panels import build_words, panel_words

Pairs = list[tuple[str, str]]
SPEED_INSTRUMENTS = (*READ_WITH["speed"], "other", None)


def trials_to_follow(session: Session, *, but: str | None = None) -> Pairs:
    """Newest first, without the trial itself."""
    return [(one.id, one.question) for one in sorted(all_of(session, Trial), key=lambda t: t.id, reverse=True) if one.id != but]


def for_setup(session: Session, *, keep: Sequence[str] = ()) -> dict[str, Pairs]:
    """What a set-up is put together from; retired things only where `keep` names them, since old set-ups point there."""
    panels = {p.id: p for p in all_of(session, Panel) if not p.retired or keep}
    builds = sorted(all_of(session, PanelBuild), key=lambda b: (panels[b.panel_id].name if b.panel_id in panels else "", -b.number))
    stands = [s for s in all_of(session, Stand) if not s.retired or s.id in keep]
    tools = [i for i in all_of(session, Instrument) if i.sort in SPEED_INSTRUMENTS and (not i.retired or i.id in keep)]
    return {
        "panel_build": [(b.id, _panel(panels[b.panel_id], b)) for b in builds if b.panel_id in panels],
        "stand": [(s.id, s.name) for s in stands],
        "chronograph": [(i.id, i.name) for i in tools],
    }


def for_claim(session: Session, *, keep: Sequence[str] = ()) -> dict[str, Pairs]:
    """What a claim may name; retired things only where `keep` names them."""
    bows = [(one.id, one.name) for one in all_of(session, Bow) if not one.retired or one.id in keep]
    stands = [(one.id, one.name) for one in all_of(session, Stand) if not one.retired or one.id in keep]
    panels = [(one.id, one.name) for one in all_of(session, Panel) if not one.retired or one.id in keep]
    return {"bow": bows, "stand": stands, "than_stand": stands, "panel": panels, "than_panel": panels}


def _panel(panel: Panel, build: PanelBuild) -> str:
    words = panel_words(panel)
    return build_words(panel, build) + (f", {words}" if words else "")


def for_shot(session: Session, fact: ShotFact, reader: str) -> dict[str, Pairs]:
    """What a shot may be corrected to. Retired kit is offered too: the shot may be an old one."""
    bows = {b.id: b.name for b in all_of(session, Bow)}
    arrows = {a.id: a.tag for a in all_of(session, Arrow)}
    areas = [a for a in belonging(session, PanelArea, "panel_build_id", fact.panel_build_id) if a.sort == "aim"]
    others = [f for f in shot_facts(session, panel_build_id=fact.panel_build_id) if f.shot_id != fact.shot_id]
    return {
        "archer": [(a.id, a.call_name) for a in all_of(session, Archer)],
        "bow_build": sorted(((b.id, f"{bows.get(b.bow_id, 'bow')}, build {b.number}") for b in all_of(session, BowBuild)), key=_by_words),
        "arrow_build": sorted(
            ((b.id, f"Arrow {arrows.get(b.arrow_id, '?')}, build {b.number}") for b in all_of(session, ArrowBuild)), key=_by_words
        ),
        "aim": [(a.id, a.name or f"{AREAS['aim']} {n}") for n, a in enumerate(areas, 1)],
        "may_be_shot": [(f.shot_id, f.label) for f in others if f.day == fact.day],
        "shooting_end": ends_for_shot(session, fact, reader),
    }


def earlier_builds(session: Session) -> dict[str, Pairs]:
    """Builds of bows and arrows that are no longer the newest: an old sheet of paper may have been shot with them."""
    names = {"bow": {b.id: b.name for b in all_of(session, Bow)}, "arrow": {a.id: a.tag for a in all_of(session, Arrow)}}
    newest: set[str] = set()
    found: dict[str, Pairs] = {"bow_build": [], "arrow_build": []}
    for one in builds(session):
        if one.of_id in newest and one.of_id in names.get(one.noun, {}):
            found[f"{one.noun}_build"].append((one.build_id, f"{names[one.noun][one.of_id]}, build {one.number} (earlier)"))
        newest.add(one.of_id)
    return {name: sorted(pairs, key=lambda pair: by_number(pair[1])) for name, pairs in found.items()}


def _by_words(pair: tuple[str, str]) -> list[tuple[int, str]]:
    """So that arrow 9 stands before arrow 10."""
    digits = "".join(c if c.isdigit() else " " for c in pair[1]).split()
    return [(0, pair[1].rstrip("0123456789").split(" ")[0]), *((int(d[:9]), "") for d in digits), (0, pair[1])]
