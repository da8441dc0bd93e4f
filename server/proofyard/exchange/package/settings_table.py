"""settings.csv of a package: what the worked-out columns rest on where nobody set anything."""

from proofyard.exchange.csv_writing import Column, Table, Value
from proofyard.exchange.fetched import Fetched
from proofyard.shots.fair_hits import DEFAULTS
from proofyard.views.axes import default_place
from proofyard.views.settings import ViewSettings

NAME = "settings.csv"
WORDS = "What counted and what was fair by default when the worked-out files were made. A trial’s own distances stand in records/trial.csv."
COLUMNS = (
    Column("setting", "The setting", "", "given"),
    Column("of", "Of which construction of panel; empty: of all", "", "given"),
    Column("value", "What it is set to", "", "given"),
    Column("unit", "Its unit; empty for a word", "", "given"),
    Column("meaning", "What it decides", "", "given"),
)
_FAIR = (
    ("near_opened_m", "a hit this near an earlier one that opened the panel is not fair"),
    ("near_dented_m", "a hit this near an earlier dent is not fair"),
    ("near_edge_m", "a hit this near the panel’s edge is not fair"),
    ("position_accuracy_m", "a hit this near one of those limits is undecided"),
)


def settings_table(fetched: Fetched) -> Table:
    """The results page's own settings, then the fair-hit distances of each construction."""
    view = ViewSettings(at=default_place(fetched.loosed.shots))
    rows: list[tuple[Value, ...]] = [
        ("energy_at", None, view.place, None, "where the energy of a shot is taken by default"),
        ("through", None, view.through.value, None, "a shot of this outcome level or higher is through"),
        ("entry", None, view.entry, None, "hits through a gap are left out of counts"),
        ("fair", None, view.fair, None, "which hits counts take"),
        ("interval_method", None, view.method, None, "how the 95 % interval of a share is found"),
        ("alike", None, view.alike, "1", "correlation that shots of one arrow, bow or panel are taken to have, where it is asked"),
    ]
    for construction, rules in DEFAULTS.items():
        rows += [(name, construction, repr(getattr(rules, name)), "m", words) for name, words in _FAIR]
        rows.append(("spoils", construction, ";".join(map(str, sorted(rules.spoils))), None, "outcome levels that spoil a spot"))
    return Table(NAME, WORDS, COLUMNS, tuple(rows))
