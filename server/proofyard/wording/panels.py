"""What a panel and its build are called."""

from proofyard.quantities import written
from proofyard.records.panel import CONSTRUCTIONS, Panel, PanelBuild


def panel_words(panel: Panel) -> str:
    """ "one-piece plate, 1.6 mm, mild steel": what it is, as far as it was written down."""
    said = [CONSTRUCTIONS[panel.construction].lower()] if panel.construction else []
    if panel.thickness_m is not None:
        said.append(written(panel.thickness_m, "mm"))
    if panel.material:
        said.append(panel.material)
    return ", ".join(said)


def build_words(panel: Panel, build: PanelBuild) -> str:
    """ "P3", or "P3, build 2" once there is more than the first."""
    return panel.name if build.number == 1 else f"{panel.name}, build {build.number}"


def build_and_panel_words(panel: Panel, build: PanelBuild) -> str:
    """ "P3, build 2, one-piece plate, 1.6 mm": its name, and what it is as far as it was written down."""
    return ", ".join(filter(None, (build_words(panel, build), panel_words(panel))))


def panel_title(panel: Panel, build: PanelBuild) -> str:
    """What a photo of it is called: "Panel P3"."""
    name = build_words(panel, build)
    return name if name.lower().startswith("panel") else f"Panel {name}"
