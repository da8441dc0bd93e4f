"""The finite set of addresses that a published site holds; a link to anything else becomes plain text.

Settings that a page writes into its own links though they equal what it begins with are left out, so that one view has one address.
"""

import re
from dataclasses import dataclass
from functools import lru_cache
from urllib.parse import parse_qsl, urlencode, urlsplit

ID = "[0-9a-f-]{36}"
NAME = "[a-z0-9-]+"
# Pages without settings.
PLAIN = re.compile(
    f"/|/trials|/trials/{ID}(/plan|/next)?|/sessions/{ID}(/day)?|/shots/{ID}|/(panels|arrows|bows)/{ID}"
    f"|/combinations(/{ID})?|/kit|/incidents|/photos/{ID}/about|/methods(/{NAME})?|/methods/of/[a-z0-9_]+"
    f"|/guide(/{NAME})?|/download/dictionary(/{NAME})?|/more|/find"
)
BLUNT = "/blunt"  # without a trial or a panel it is a question, which a page of a file can't ask
WAYS = "(/shares|/every-shot|/depth|/arrows|/left-out|/table)?"
# Pages with settings, and those of them that make a view of its own.
WITH_VIEWS: tuple[tuple[re.Pattern[str], frozenset[str]], ...] = (
    (re.compile(f"/results{WAYS}"), frozenset({"trial", "panel_type"})),
    (re.compile("/fifty-percent|/compare|/compare/wear"), frozenset({"trial", "panel_type"})),
    (re.compile("/protection|/arrow-damage|/measures"), frozenset({"trial", "panel_type"})),
    (re.compile(BLUNT), frozenset({"trial", "panel"})),
    (re.compile("/shots|/photos/all"), frozenset({"trial", "page"})),
)
# What a page begins with: said in an address or not, it is the same view. A trial brings its own "through".
BEGINS_WITH = {"at": "target", "page": "1"}
OF_A_TRIAL = frozenset({"through"})
ASSET = re.compile("/static/[A-Za-z0-9_./-]+")
PHOTO = re.compile(f"/photos/({ID})(/[a-z]+)?")


@dataclass(frozen=True)
class Address:
    """One page of the site. `path` with its settings in order; equal for every way in which the program writes it."""

    path: str
    settings: tuple[tuple[str, str], ...] = ()

    def __str__(self) -> str:
        return f"{self.path}?{urlencode(self.settings)}" if self.settings else self.path


@lru_cache(maxsize=16_384)  # each link is asked about when it is found and when it is rewritten, and most stand on many pages
def page_at(href: str, *, one_trial: bool) -> Address | None:
    """The page of the site that a link leads to; None where it leads elsewhere.

    one_trial  the site is of one trial, which every page is narrowed to: it needs not be said

    >>> str(page_at("/results?at=target&panel_type=mail&trial=", one_trial=False))
    '/results?panel_type=mail'
    >>> page_at("/what-if?panel=x", one_trial=False) is None
    True
    """
    parts = urlsplit(href)
    if parts.scheme or parts.netloc or not parts.path.startswith("/"):
        return None
    given = [(name, value) for name, value in parse_qsl(parts.query) if BEGINS_WITH.get(name) != value]
    if PLAIN.fullmatch(parts.path):
        return Address(parts.path) if not given else None
    for path, views in WITH_VIEWS:
        if path.fullmatch(parts.path):
            return _view(parts.path, given, views, one_trial=one_trial)
    return None


def _view(path: str, given: list[tuple[str, str]], views: frozenset[str], *, one_trial: bool) -> Address | None:
    if any(name == "trial" for name, _ in given):
        said_anyway = one_trial and path != BLUNT
        given = [(name, value) for name, value in given if name not in OF_A_TRIAL and not (said_anyway and name == "trial")]
    if any(name not in views for name, _ in given) or (path == BLUNT and not given):
        return None
    return Address(path, tuple(sorted(given)))
