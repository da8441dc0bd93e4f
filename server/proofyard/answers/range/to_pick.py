"""What a form's lists offer, as (id, words): panel builds, stands, chronographs, bows, arrows, archers, other shots."""

from collections.abc import Collection, Sequence

from proofyard.answers.range.ends_to_pick import ends_for_shot
from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow
from proofyard.records.arrows_at_the_range import arrows_wanted, builds_wanted, many_in_use
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.instrument import READ_WITH, Instrument
from proofyard.records.kit_facts import builds
from proofyard.records.kit_to_pick import newest_of, panels_to_pick
from proofyard.records.listing import all_of, belonging, by_number
from proofyard.records.panel import AREAS, Panel, PanelArea, PanelBuild
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.records.stand import Stand
from proofyard.records.trial import Trial
from proofyard.storage import Session
from proofyard.wording.panels import build_words, panel_words

Pairs = list[tuple[str, str]]
SPEED_INSTRUMENTS = (*READ_WITH["speed"], "other", None)


def trials_to_follow(session: Session, *, but: str | None = None, keep: Sequence[str] = ()) -> tuple[Pairs, bool]:
    """Newest first, without the trial itself; of very many the newest, and those of `keep`. And whether there are more."""
    found, more = newest_of(session, Trial, keep=keep)
    return [(one.id, one.question) for one in reversed(found) if one.id != but], more


def for_setup(session: Session, trial_id: str, *, keep: Sequence[str] = ()) -> tuple[dict[str, Pairs], bool]:
    """What a set-up of this trial is put together from; retired things only where `keep` names them, since old set-ups point there.

    And whether there are more panels: of many the newest are offered, and those of the trial.
    """
    panels, more = panels_to_pick(session, trial_id, keep=keep, retired=bool(keep))
    stands = [s for s in all_of(session, Stand) if not s.retired or s.id in keep]
    tools = [i for i in all_of(session, Instrument) if i.sort in SPEED_INSTRUMENTS and (not i.retired or i.id in keep)]
    return {
        "panel_build": [(build.id, _panel(panel, build)) for panel, build in panels],
        "stand": [(s.id, s.name) for s in stands],
        "chronograph": [(i.id, i.name) for i in tools],
    }, more


def for_claim(session: Session, trial_id: str, *, keep: Sequence[str] = ()) -> dict[str, Pairs]:
    """What a claim of this trial may name; retired things only where `keep` names them."""
    bows = [(one.id, one.name) for one in all_of(session, Bow) if not one.retired or one.id in keep]
    stands = [(one.id, one.name) for one in all_of(session, Stand) if not one.retired or one.id in keep]
    of_trial = {panel.id for panel, _ in panels_to_pick(session, trial_id)[0]}
    every, _ = newest_of(session, Panel, keep={*keep, *of_trial})
    found = sorted((one for one in every if not one.retired or one.id in keep), key=lambda one: by_number(one.name))
    panels = [(one.id, one.name) for one in found]
    return {"bow": bows, "stand": stands, "than_stand": stands, "panel": panels, "than_panel": panels}


def _panel(panel: Panel, build: PanelBuild) -> str:
    words = panel_words(panel)
    return build_words(panel, build) + (f", {words}" if words else "")


def for_shot(session: Session, fact: ShotFact, reader: str) -> tuple[dict[str, Pairs], bool, bool]:
    """What a shot may be corrected to. Retired kit is offered too: the shot may be an old one. Of many arrows those of its trial.

    And whether there are more arrows, and more set-ups, than are offered (`builds_wanted`, `ends_for_shot`).
    """
    ends, more = ends_for_shot(session, fact, reader)
    bows = {b.id: b.name for b in all_of(session, Bow)}
    arrows, many = builds_wanted(session, fact.trial_id, fact.panel_build_id, keep=fact.arrow_build_id)
    areas = [a for a in belonging(session, PanelArea, "panel_build_id", fact.panel_build_id) if a.sort == "aim"]
    others = [f for f in shot_facts(session, panel_build_id=fact.panel_build_id) if f.shot_id != fact.shot_id]
    found = {
        "archer": [(a.id, a.call_name) for a in all_of(session, Archer)],
        "bow_build": sorted(((b.id, f"{bows.get(b.bow_id, 'bow')}, build {b.number}") for b in all_of(session, BowBuild)), key=_by_words),
        "arrow_build": sorted(((build, f"Arrow {tag}, build {number}") for build, number, tag in arrows), key=_by_words),
        "aim": [(a.id, a.name or f"{AREAS['aim']} {n}") for n, a in enumerate(areas, 1)],
        "may_be_shot": [(f.shot_id, f.label) for f in others if f.day == fact.day],
        "shooting_end": ends,
    }
    return found, many, more


def arrows_of_sheet(session: Session, trial_id: str, panel_builds: Collection[str]) -> tuple[dict[str, Pairs], bool]:
    """The arrows that a day's sheet of paper may name: the newest build of each, and earlier ones of bows and arrows (`earlier_builds`).

    And whether many are in use: then those that phones at these panels are told of.
    """
    wanted, many = arrows_wanted(session, [trial_id], panel_builds), many_in_use(session)
    earlier = earlier_builds(session, {one.arrow for one in wanted} if many else None)
    now = [(one.build, f"{one.tag}, {one.head or one.form or 'other'}") for one in wanted]
    return {"bow_build": earlier["bow_build"], "arrow_build": [*now, *earlier["arrow_build"]]}, many


def earlier_builds(session: Session, arrow_ids: Collection[str] | None = None) -> dict[str, Pairs]:
    """Builds of bows and arrows that are no longer the newest: an old sheet of paper may have been shot with them. arrow_ids: of these."""
    arrows = all_of(session, Arrow) if arrow_ids is None else belonging(session, Arrow, "id", arrow_ids)
    names = {"bow": {b.id: b.name for b in all_of(session, Bow)}, "arrow": {a.id: a.tag for a in arrows}}
    newest: set[str] = set()
    found: dict[str, Pairs] = {"bow_build": [], "arrow_build": []}
    for one in builds(session, of_ids=None if arrow_ids is None else [*names["bow"], *names["arrow"]]):
        if one.of_id in newest and one.of_id in names.get(one.noun, {}):
            found[f"{one.noun}_build"].append((one.build_id, f"{names[one.noun][one.of_id]}, build {one.number} (earlier)"))
        newest.add(one.of_id)
    return {name: sorted(pairs, key=lambda pair: by_number(pair[1])) for name, pairs in found.items()}


def _by_words(pair: tuple[str, str]) -> list[tuple[int, str]]:
    """So that arrow 9 stands before arrow 10."""
    digits = "".join(c if c.isdigit() else " " for c in pair[1]).split()
    return [(0, pair[1].rstrip("0123456789").split(" ")[0]), *((int(d[:9]), "") for d in digits), (0, pair[1])]
