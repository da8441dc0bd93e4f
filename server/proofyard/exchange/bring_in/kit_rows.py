"""Rows of arrows, bows and panels as records: the thing, its first build, what was weighed of it."""

from proofyard.exchange.bring_in.making import Making, some, taken_already
from proofyard.exchange.bring_in.said import RowRead
from proofyard.records.arrow import FORMS


def make_arrow(making: Making, row: RowRead) -> None:
    """A shaft, its head if anything is said of one, the build that mounts it, and what was read of the build."""
    values = row.values
    if "tag" in values and taken_already(making, row, "arrow", "tag", values["tag"]):
        return
    fields = some(values, tag="tag", material="material", profile="profile", diameter="diameter", diameter_nock="diameter_nock")
    fields |= some(values, length="length", nock="nock", fletching="fletching")
    arrow = making.put("arrow", {**fields, "note": row.note}, row)
    head = _head(making, row, values.get("tag", ""))
    build = making.put("arrow_build", {"arrow": arrow, "head": head, "number": "1", **some(values, length="whole_length")}, row)
    for measured in ("mass", "balance"):
        if measured in values:
            body = {"noun": "arrow_build", "record": build, "measured": measured, "value": values[measured]}
            making.put("reading", body, row)


def _head(making: Making, row: RowRead, tag: str) -> str | None:
    """One real head sits on one shaft: a head that has no name of its own gets its arrow's."""
    values = row.values
    fields = some(values, form="head_form", mass="head_mass", length="head_length", width="head_width")
    fields |= some(values, material="head_material", maker="maker")
    name = values.get("head", "")
    if not fields and not name:
        return None
    if name and making.has("head", name):
        return making.named("head", name)
    name = name or head_name(values.get("head_form", ""), tag)
    return making.once("head", name.casefold(), {"name": name, **fields}, row)


def head_name(form: str, tag: str) -> str:
    """
    >>> head_name("short_bodkin", "12")
    'Short bodkin of 12'
    """
    return f"{FORMS.get(form, 'Head')} of {tag}"


def make_bow(making: Making, row: RowRead) -> None:
    values = row.values
    if "name" in values and taken_already(making, row, "bow", "name", values["name"]):
        return
    fields = some(values, name="name", sort="sort", marked_weight="weight", marked_draw="draw")
    fields |= some(values, material="material", maker="maker", length="length")
    bow = making.put("bow", {**fields, "note": row.note}, row)
    build = some(values, string="string", string_mass="string_mass", brace_height="brace")
    making.put("bow_build", {"bow": bow, "number": "1", **build}, row)


_OF_PANEL = (
    "name",
    "construction",
    "width",
    "height",
    "mass",
    "material",
    "thickness",
    "plate_width",
    "plate_height",
    "ring_outer",
    "ring_wire",
    "ring_joint",
    "cloth",
    "heat_treatment",
    "condition",
    "maker",
    "made_after",
)


def make_panel(making: Making, row: RowRead) -> None:
    values = row.values
    if "name" in values and taken_already(making, row, "panel", "name", values["name"]):
        return
    fields = {name: values[name] for name in _OF_PANEL if name in values} | some(values, cloth_layers="layers")
    panel = making.put("panel", fields, row)
    making.put("panel_build", {"panel": panel, "number": "1", "work": "first", "note": row.note}, row)
