"""What a square metre of a panel weighs: by the scale where the panel was weighed, else by its measures; of every build at once."""

import math
from collections.abc import Iterable, Mapping
from types import MappingProxyType

from proofyard.quantities import Uncertain
from proofyard.quantities.reason import Reason, because
from proofyard.records.instrument import Instrument, Reading
from proofyard.records.listing import all_of, readings_of
from proofyard.records.panel import Panel
from proofyard.records.panel_facts import panels_with_builds
from proofyard.shots.panel_measures import Areal, by_measures
from proofyard.shots.readings import measured
from proofyard.storage import Session

# Common practice, no source: a panel is weighed and its size read to a hundredth each; a plate's mean thickness differs
# by what its readings say, and nominal by some hundredths.
WEIGHED_SHARE, SIZE_SHARE, THICKNESS_SHARE = 0.01, 0.01, 0.02
# The part of its width times its height that an outline takes.
OUTLINE_SHARES: Mapping[str, float] = MappingProxyType({"rectangle": 1.0, "disc": math.pi / 4})


def thickness_of(panel: Panel, mean: Uncertain | None) -> tuple[Uncertain | None, Reason]:
    """The mean of its readings; else nominal, which a mill keeps to a few hundredths."""
    if mean is not None:
        u = mean.standard_uncertainty
        return Uncertain(mean.value, u if u is not None else mean.value * THICKNESS_SHARE), because("sheet_measured", readings=mean.n)
    if panel.thickness_m:
        return Uncertain(panel.thickness_m, panel.thickness_m * THICKNESS_SHARE), because("sheet_nominal")
    return None, because("sheet_not_measured")


def outline_area_m2(panel: Panel) -> float | None:
    """Of its front; None where its size or the area of its outline isn't known."""
    share = OUTLINE_SHARES.get(panel.outline or "")
    if not panel.width_m or not panel.height_m or share is None:
        return None
    return panel.width_m * panel.height_m * share


def weighed_areal(panel: Panel) -> Areal:
    """By the scale: the whole panel over its outline."""
    area = outline_area_m2(panel)
    if not panel.mass_kg:
        return Areal(None, because("panel_not_weighed"))
    if area is None:
        known = panel.outline in OUTLINE_SHARES
        return Areal(None, because("panel_size_not_recorded") if known else because("outline_area_not_known"))
    value = panel.mass_kg / area
    share = math.hypot(WEIGHED_SHARE, SIZE_SHARE)
    return Areal(Uncertain(value, value * share), because("mass_over_outline", outline=panel.outline), "weighed_beside_worked_out")


def areal_of(panel: Panel, thickness: Uncertain | None) -> Areal:
    """Weighed, else worked out; where neither can be told the reason is the measures': those can still be taken."""
    weighed = weighed_areal(panel)
    if weighed.value is not None:
        return weighed
    sheet, sheet_how = thickness_of(panel, thickness)
    whole, _ = by_measures(panel, sheet, sheet_how=sheet_how)
    return whole if whole.value is not None or whole.how is not None else weighed


def areal_weights(session: Session, build_ids: Iterable[str] | None = None) -> Mapping[str, Areal]:
    """Panel build id -> what a square metre of it weighs, in three statements. None: of every build that is not crossed out."""
    wanted = None if build_ids is None else set(build_ids)
    builds = [(panel, build.id) for panel, build in panels_with_builds(session) if wanted is None or build.id in wanted]
    tools = {one.id: one for one in all_of(session, Instrument, voided=True)}
    return areal_weights_of(builds, readings_of(session, Reading, "panel_build", [build_id for _, build_id in builds]), tools=tools)


def areal_weights_of(
    builds: Iterable[tuple[Panel, str]], readings: Iterable[Reading], *, tools: Mapping[str, Instrument]
) -> Mapping[str, Areal]:
    """The same of rows that the caller fetched. `builds`: each panel with a build's id; `readings`: of anything, crossed-out ones too."""
    thickness: dict[str, list[Reading]] = {}
    for row in readings:
        if row.noun == "panel_build" and row.measured == "thickness" and row.voided_rev is None:
            thickness.setdefault(row.record_id, []).append(row)
    return {build_id: areal_of(panel, measured(thickness.get(build_id, []), tools).mean) for panel, build_id in builds}
