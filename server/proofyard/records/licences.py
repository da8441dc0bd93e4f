"""Licences under which others may use a trial: one list for its report, its data package and what is published of it.

Names and addresses are those of the SPDX licence list and of the licences' own keepers.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class Licence:
    """What it says in one line, and where its text stands."""

    title: str
    path: str


LICENCES: Mapping[str, Licence] = MappingProxyType(
    {
        "CC0-1.0": Licence("CC0 1.0: no rights kept", "https://creativecommons.org/publicdomain/zero/1.0/"),
        "CC-BY-4.0": Licence("CC BY 4.0: say whose it is", "https://creativecommons.org/licenses/by/4.0/"),
        "CC-BY-SA-4.0": Licence("CC BY-SA 4.0: say whose it is, pass it on likewise", "https://creativecommons.org/licenses/by-sa/4.0/"),
        "CC-BY-NC-4.0": Licence("CC BY-NC 4.0: say whose it is, not for money", "https://creativecommons.org/licenses/by-nc/4.0/"),
        "ODC-By-1.0": Licence("ODC-By 1.0: for data, say whose it is", "https://opendatacommons.org/licenses/by/1-0/"),
    }
)
