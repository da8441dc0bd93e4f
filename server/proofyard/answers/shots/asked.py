"""What the page of all shots is asked through its address: which shots, in what order, which page of them."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from operator import attrgetter
from types import MappingProxyType

from proofyard.quantities.reason import Reason, because
from proofyard.records.listing import by_number
from proofyard.records.search_words import MOST_WORDS, words_in
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import outcome_name
from proofyard.shots.loosed import Loosed
from proofyard.views.address import PAGE, Amount, AskedPage, Choice, Free, Query, Reading, Several, Tick, cut
from proofyard.views.axes import default_place
from proofyard.views.panel_type import NOT_RECORDED
from proofyard.views.settings import AT, ENTRY, FILTERS, HEADS, choices_of, facts_offered, filter_of, form_of, form_words
from proofyard.wording.counts import capital
from proofyard.wording.fairness import FAIR_WORDS
from proofyard.wording.left_out import REASONS
from proofyard.wording.when import day_words

# Left out unless asked for by name: nothing was loosed, or nothing of it holds.
APART = ("let_down", "voided")


def _head(fact: ShotFact) -> tuple[str, str]:
    words = f"{fact.head_name}, {form_words(form_of(fact)).lower()}" if fact.head_name else "None mounted"
    return fact.head_id or NOT_RECORDED, words


MORE_FILTERS = (
    filter_of("day", "Day", "All days", lambda fact: (fact.day, day_words(fact.day)), attrgetter("day")),
    filter_of("arrow", "Arrow", "All arrows", lambda fact: (fact.arrow_id, f"Arrow {fact.arrow_tag}"), attrgetter("arrow_id")),
    filter_of("one_head", "One head", "All heads", _head, attrgetter("head_id")),
)
ALL_FILTERS = (*FILTERS, *MORE_FILTERS)
_WITHOUT = ("unread", "no_outcome", "partial", "missed", "spoiled", "sighter", "speed_only", "let_down")
OUTCOME_CHOICES: Mapping[str, str] = MappingProxyType(
    {str(level): outcome_name(level) for level in range(5, -1, -1)}
    | {key: REASONS[key].words for key in _WITHOUT}
    | {"voided": "Crossed out"}
)
OUTCOME = Several(
    name="outcome",
    label="Outcome",
    hint="None ticked shows all but what was let down or crossed out.",
    choices=OUTCOME_CHOICES,
    glyphs={str(level): f"outcome-{level}" for level in range(6)} | {key: REASONS[key].glyph for key in _WITHOUT} | {"voided": "voided"},
    wrong="One of these is no outcome. Tick from those below.",
)
WHERE = replace(ENTRY, default="any", hint="")
FAIR = Choice(name="fair", label="Fairness", blank="Any, fair or not", choices={key: capital(words) for key, words in FAIR_WORDS.items()})
ENERGY_FROM = Amount(name="energy_from", label="Energy from", kind="energy")
ENERGY_TO = Amount(name="energy_to", label="Energy to", kind="energy", hint="A shot whose energy isn’t known is left out then.")
PHOTO = Tick(name="photo", label="With a photo")
TEXT = Free(name="text", label="Words", hint="In notes, damage and names; each has to be there, or begin a word that is.")
SORTS: Mapping[str, str] = MappingProxyType(
    {
        "newest": "Newest first",
        "oldest": "Oldest first",
        "energy": "Most energy first",
        "outcome": "Highest outcome first",
        "depth": "Deepest first",
        "label": "By label",
    }
)
SORT = Choice(name="sort", label="Sorted", choices=SORTS, default="newest")


@dataclass(frozen=True, kw_only=True)
class AskedShots(AskedPage):
    """What was asked. `only`: filter -> the value that shots must have; `at`: where the energy holds; `words`: each is looked for."""

    only: Mapping[str, str]
    heads: tuple[str, ...]
    outcomes: tuple[str, ...]
    entry: str
    fair: str
    energy_from: float | None
    energy_to: float | None
    at: str
    photo: bool
    words: tuple[str, ...]
    sort: str

    @property
    def narrows(self) -> bool:
        """Whether it leaves any shot out, let-downs and those crossed out beside."""
        bounds = (self.energy_from, self.energy_to)
        return bool(
            self.only or self.heads or self.outcomes or self.fair or self.photo or self.words or self.entry != WHERE.default
        ) or bounds != (None, None)

    @property
    def showing(self) -> Reason | str:
        """What it was narrowed to, and the order, in words."""
        named = [self.schema[name].choices[value] for name, value in self.only.items()]
        named += [form_words(head).lower() for head in self.heads]
        named += [OUTCOME_CHOICES[one].lower() for one in self.outcomes]
        named += [self.schema[WHERE.name].choices[self.entry].lower()] if self.entry != WHERE.default else []
        named += [FAIR_WORDS[self.fair]] if self.fair else []
        named += ["with a photo"] if self.photo else []
        named += [f"“{cut(self.typed[TEXT.name])}”"] if self.words else []
        return because(
            "shots_showing", named=tuple(named), energy_from=self.energy_from, energy_to=self.energy_to, at=self.at, sort=SORTS[self.sort]
        )


def _choices(loosed: Loosed, reader: str) -> dict[str, Mapping[str, str]]:
    facts = facts_offered(loosed)
    found: dict[str, Mapping[str, str]] = dict(choices_of(loosed, reader))
    for one in MORE_FILTERS:
        pairs = dict(one.of(fact) for fact in facts)
        key = (lambda pair: pair[0]) if one.name == "day" else (lambda pair: by_number(pair[1]))
        found[one.name] = dict(sorted(pairs.items(), key=key, reverse=one.name == "day"))
    return found


def asked_of(query: Query, loosed: Loosed, *, reader: str) -> AskedShots:
    """What an address asks of these shots."""
    reading, choices = Reading(query), _choices(loosed, reader)
    only = {one.name: value for one in ALL_FILTERS if (value := reading.one(one.setting.of(choices[one.name])))}
    glyphs = {form: f"head-{form}" for form in choices["head"] if form != NOT_RECORDED}
    text = reading.one(TEXT)
    at = reading.one(AT) or default_place(loosed.shots)
    reading.typed[AT.name] = at
    return AskedShots(
        only=only,
        heads=reading.many(HEADS.of(choices["head"], glyphs=glyphs)),
        outcomes=reading.many(OUTCOME),
        entry=reading.one(WHERE.of(choices["entry"])),
        fair=reading.one(FAIR),
        energy_from=reading.one(ENERGY_FROM),
        energy_to=reading.one(ENERGY_TO),
        at=at,
        photo=reading.one(PHOTO),
        words=words_in(text)[:MOST_WORDS],
        sort=reading.one(SORT),
        page=reading.one(PAGE),
        **reading.as_typed(),
    )
