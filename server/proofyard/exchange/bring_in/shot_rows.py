"""Rows of shots as records: day, set-up, end, kit that the book lacks, the shot, its speed and its reading."""

from dataclasses import dataclass

from proofyard.exchange.bring_in.kit_rows import head_name
from proofyard.exchange.bring_in.making import Making, some
from proofyard.exchange.bring_in.said import RowRead
from proofyard.exchange.bring_in.targets import UNREAD

READ = ("hit", "depth", "x", "y", "entry", "damage")


@dataclass
class ShotsTo:
    """Where shots go: the trial, how their days are marked, the letter and the last number of labels, whether rows are in order."""

    trial: str
    note: str
    letter: str
    label: int
    in_order: bool
    method: str

    def next_label(self) -> str:
        self.label += 1
        return f"{self.letter}{self.label}"


def make_shot(making: Making, row: RowRead, to: ShotsTo, places: dict[str, int]) -> None:
    """The records of one row; of a row that stands for several shots, as many, none of them read."""
    values = row.values
    if row.troubles:
        return
    end = _end(making, row, to)
    three = {"bow_build": _bow(making, row), "arrow_build": _arrow(making, row), "archer": _archer(making, row)}
    notes = [f"In the sheet: {values['number']}", *row.notes] if "number" in values else row.notes
    for _ in range(int(values.get(UNREAD, "1"))):
        places[end] = places.get(end, 0) + 1
        position = values.get("position") or (str(places[end]) if to.in_order else "")
        body = {"label": to.next_label(), "shooting_end": end, **three, "purpose": "counted", "position": position}
        shot = making.put("shot", {**body, "note": "\n".join(notes)}, row)
        if "speed" in values and UNREAD not in values:
            making.put("speed_reading", {"shot": shot, "value": values["speed"], "method": to.method}, row)
        if UNREAD not in values:
            _reading(making, row, shot)


def _reading(making: Making, row: RowRead, shot: str) -> None:
    said = {name: row.values[name] for name in READ if name in row.values} | some(row.values, outcome_low="outcome")
    if not said:
        return
    if "hit" not in said:
        said["hit"] = "on_panel"  # what has an outcome, a depth or a place on it was on it
    if "x" in said and "y" in said:
        said["place_known"] = "yes"
    making.put("shot_reading", said, row, record_id=shot)


def _end(making: Making, row: RowRead, to: ShotsTo) -> str:
    values = row.values
    day = some(values, day="day", place="place", temperature="temperature")
    day_key = "|".join((values.get("day", ""), values.get("place", "").casefold()))
    session = making.once("session", day_key, {"trial": to.trial, "note": to.note, **day}, row)
    panel = _panel(making, row)
    setup = some(values, distance="distance", angle="angle")
    key = "|".join((day_key, panel, values.get("distance", ""), values.get("angle", "")))
    made = making.once("setup", key, {"session": session, "panel_build": panel, **setup}, row)
    return making.once("shooting_end", f"{key}|{values.get('end', '')}", {"setup": made, "number": values.get("end", "")}, row)


def _archer(making: Making, row: RowRead) -> str:
    name = row.values["archer"]
    if making.has("archer", name):
        return making.named("archer", name)
    return making.once("archer", name.casefold(), {"call_name": name}, row)


def _bow(making: Making, row: RowRead) -> str:
    name = row.values["bow"]
    if making.has("bow", name):
        return making.named("bow", name)
    bow = making.once("bow", name.casefold(), {"name": name, **some(row.values, marked_weight="bow_weight")}, row)
    return making.once("bow_build", name.casefold(), {"bow": bow, "number": "1"}, row)


def _arrow(making: Making, row: RowRead) -> str:
    """An arrow that the book lacks, with a head of the form that is said; each mass that the sheet says of it is a reading."""
    values, tag = row.values, row.values["arrow"]
    if making.has("arrow", tag):
        return making.named("arrow", tag)
    key = tag.casefold()
    arrow = making.once("arrow", key, {"tag": tag}, row)
    head = None
    if "head_form" in values:
        name = head_name(values["head_form"], tag)
        if making.has("head", name):
            head = making.named("head", name)
        else:
            head = making.once("head", name.casefold(), {"name": name, "form": values["head_form"]}, row)
    build = making.once(
        "arrow_build", f"{key}|{head or ''}", {"arrow": arrow, "head": head, "number": str(_builds(making, key, head))}, row
    )
    if "arrow_mass" in values:
        body = {"noun": "arrow_build", "record": build, "measured": "mass", "value": values["arrow_mass"]}
        making.once("reading", f"{build}|{values['arrow_mass']}", body, row)
    return build


def _builds(making: Making, key: str, head: str | None) -> int:
    """The number of a build: another head on the same shaft is another build."""
    before = [name for noun, name in making.ids if noun == "arrow_build" and name.partition("|")[0] == key]
    return len(before) + (f"{key}|{head or ''}" not in before)


def _panel(making: Making, row: RowRead) -> str:
    name = row.values["panel"]
    if making.has("panel", name):
        return making.named("panel", name)
    fields = some(row.values, construction="construction", thickness="thickness")
    panel = making.once("panel", name.casefold(), {"name": name, **fields}, row)
    return making.once("panel_build", name.casefold(), {"panel": panel, "number": "1", "work": "first"}, row)
