"""What it did to the arrows, by panel type and head form; and how many shots a head lasts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType

from proofyard.answers.arrow_damage.dies_of_it import DiesOfIt, dies_of_it, told_of
from proofyard.answers.arrow_damage.lives import Lives, answers_of, lives_of, share_ended, share_of
from proofyard.charts.figure import Figure
from proofyard.charts.group_rows import GroupRow
from proofyard.charts.share_forest import share_forest
from proofyard.how_far import part_by_part
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.loosed import Loosed, LoosedShot, load_loosed
from proofyard.storage import Storage
from proofyard.views.address import AsTyped, Query, Reading, Several
from proofyard.views.arrow_fates import HEAD_ENDS, LOST, head_ended, head_lost, head_sound, shaft_ended
from proofyard.views.cells import RowGroup, Tally, group_of, rows_of
from proofyard.views.counted import ask, setting_names
from proofyard.views.pair_comparison import PairFamily, pair_families
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import ViewSettings, asked_trial, form_of, through_bounds_of

# Settings of the counts that mean nothing to an arrow: every shot on the panel is as hard on it, fair or not.
NOT_OF_ARROWS = ("axis", "edges", "rows", "row_edges", "fair", "entry", "at", "pool", "through", "depth")
ENDED = Several(
    name="ended",
    label="A head is ended when it is",
    hint="None ticked counts all three. Mended heads begin a new build, and a new life.",
    choices=MappingProxyType({key: words for key, (words, _) in HEAD_ENDS.items()}),
    wrong="One of these ends no head. Tick from those below.",
)


@dataclass(frozen=True)
class DamageRow:
    """One head form at one panel type. `counts`: shots after which the head was noted as sound, and as each of HEAD_ENDS, and lost.

    fates    how many of the shots left it so, with intervals, by the same names; through_...: of those that surely got through
    answers  shot id -> whether it ended its head; None: nobody looked at it, or nobody found it
    """

    panel_type: str
    row: RowGroup
    shots: tuple[ShotFact, ...]
    counts: Mapping[str, int]
    fates: Mapping[str, Tally]
    heads: Tally
    through: tuple[ShotFact, ...]
    through_counts: Mapping[str, int]
    through_fates: Mapping[str, Tally]
    through_heads: Tally
    answers: Mapping[str, bool | None]
    head_lives: Lives
    shafts: Tally
    shaft_lives: Lives
    href: str

    @property
    def id(self) -> str:
        return f"{self.row.key}-{self.panel_type}".replace(".", "_")

    @property
    def head_lasts(self) -> Reason:
        return life_told(self.head_lives)

    @property
    def shaft_lasts(self) -> Reason:
        return life_told(self.shaft_lives)


@dataclass(frozen=True)
class TypeDamage:
    """One panel type, the most shot head first. `pairs`: heads against the reference, whether one gets through and dies of it."""

    panel_type: str
    words: str
    rows: tuple[DamageRow, ...]
    pairs: tuple[DiesOfIt, ...] = ()

    @property
    def id(self) -> str:
        return self.panel_type.replace(".", "_")


@dataclass(frozen=True, kw_only=True)
class DamageAsked(AsTyped):
    """The view, and what ends a head: keys of HEAD_ENDS."""

    view: ViewSettings
    ended: tuple[str, ...]

    @property
    def ends(self) -> frozenset[str]:
        return frozenset().union(*(HEAD_ENDS[key][1] for key in self.ended))


@dataclass(frozen=True)
class ArrowDamage:
    """All that the page shows. `on_panel` of `counted` shots hit the panel; the others say nothing of what armour does to an arrow.

    dies  a head that gets through and dies of it, where that is shown; that it is not yet, where there are pairs; None without a pair
    """

    asked: DamageAsked
    finding: Reason
    dies: Reason | None
    types: tuple[TypeDamage, ...]
    drawing: Figure | None
    on_panel: int
    counted: int

    @property
    def ended(self) -> Reason:
        """What ends a head here."""
        return because("ended_means", ends=tuple(HEAD_ENDS[key][0].lower() for key in self.asked.ended))

    @property
    def narrowed(self) -> Reason:
        """What is narrowed to, in words."""
        names = setting_names(self.asked.view, self.asked)
        return because("damage_showing", narrowed=tuple(words for name, words in names.items() if name != "entry"))


def read_arrow_damage(book: Storage, query: Query, *, reader: str = "metric", only_trial: str | None = None) -> ArrowDamage:
    """As an address asks for it. `reader`: whose units its filters speak; `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, trial_id=asked_trial(query, only_trial))
    return arrow_damage(loosed.of_trial(only_trial), query, reader=reader)


def arrow_damage(loosed: Loosed, query: Query, *, reader: str = "metric") -> ArrowDamage:
    """Of these shots."""
    asked = damage_asked(loosed, query, reader=reader)
    counted = [shot for shot in asked.view.taken(loosed.shots) if shot.fact.purpose == "counted"]
    hits = [shot for shot in counted if shot.fact.hit == "on_panel"]
    families = {family.key: family for family in pair_families(loosed, asked.view)}
    types = tuple(
        _type(value, words, some, asked, families.get(value)) for (value, words), some in part_by_part(_by_type(hits), "panel types")
    )
    return ArrowDamage(
        asked=asked,
        finding=finding_of(types, shots=len(hits)),
        dies=dies_of(types),
        types=types,
        drawing=_drawing(types),
        on_panel=len(hits),
        counted=len(counted),
    )


def damage_asked(loosed: Loosed, query: Query, *, reader: str) -> DamageAsked:
    """What this address asks."""
    view = ask(loosed, {name: values for name, values in query.items() if name not in NOT_OF_ARROWS}, reader=reader)
    reading = Reading(query)
    ended = reading.many(ENDED)
    return DamageAsked(
        view=view.settings,
        ended=ended or tuple(HEAD_ENDS),
        schema={**view.schema, **reading.schema},
        typed={**view.typed, **reading.typed},
        ticked={**view.ticked, **reading.ticked},
        problems={**view.problems, **reading.problems},
    )


def _by_type(hits: Sequence[LoosedShot]) -> list[tuple[tuple[str, str], list[ShotFact]]]:
    """The panel types, the most shot first."""
    found: dict[tuple[str, str], list[ShotFact]] = {}
    for shot in hits:
        found.setdefault(panel_type_of(shot.fact), []).append(shot.fact)
    return sorted(found.items(), key=lambda pair: (-len(pair[1]), pair[0]))


def _type(value: str, words: str, facts: Sequence[ShotFact], asked: DamageAsked, family: PairFamily | None) -> TypeDamage:
    forms = [form_of(fact) for fact in facts]
    groups = sorted(rows_of(forms, asked.view), key=lambda row: -forms.count(row.key))
    rows = tuple(_row(value, row, [f for f in facts if form_of(f) == row.key], asked) for row in groups)
    answers = {key: answer for row in rows for key, answer in row.answers.items()}
    pairs = dies_of_it(family, answers, heads=[row.row.key for row in rows]) if family else ()
    return TypeDamage(value, words, rows, pairs)


def _row(panel_type: str, row: RowGroup, facts: Sequence[ShotFact], asked: DamageAsked) -> DamageRow:
    head = partial(head_ended, ends=asked.ends)
    answers = answers_of(facts, head)
    through = [through_bounds_of(fact, asked.view.through)[0] for fact in facts]
    got = [fact for fact, surely in zip(facts, through, strict=True) if surely]
    left = _left_so(facts)
    return DamageRow(
        panel_type=panel_type,
        row=group_of(row.key, asked.view),
        shots=tuple(facts),
        counts=_counts(facts),
        fates={key: share_of(found, method=asked.view.method) for key, found in left.items()},
        heads=share_of(answers, method=asked.view.method),
        through=tuple(got),
        through_counts=_counts(got),
        through_fates={
            key: share_of([one for one, surely in zip(found, through, strict=True) if surely], method=asked.view.method)
            for key, found in left.items()
        },
        through_heads=share_of([answer for answer, surely in zip(answers, through, strict=True) if surely], method=asked.view.method),
        answers={fact.shot_id: answer for fact, answer in zip(facts, answers, strict=True)},
        head_lives=lives_of(facts, head),
        shafts=share_ended(facts, shaft_ended, method=asked.view.method),
        shaft_lives=lives_of(facts, shaft_ended),
        href=asked.view.address("/results/arrows", panel_type=panel_type, head=row.key),
    )


def _counts(facts: Sequence[ShotFact]) -> dict[str, int]:
    """Shots after which the head was noted as each of HEAD_ENDS, lost, sound, or not noted at all."""
    counts = {key: sum(bool(fates & set(fact.head_fate)) for fact in facts) for key, (_, fates) in HEAD_ENDS.items()}
    return counts | {
        LOST: sum(LOST in fact.head_fate for fact in facts),
        "sound": sum(fact.head_fate == ("sound",) for fact in facts),
        "not_noted": sum(not fact.head_fate for fact in facts),
    }


def _left_so(facts: Sequence[ShotFact]) -> dict[str, list[bool | None]]:
    """By name, whether each shot left the head so: sound, as each of HEAD_ENDS, lost."""
    # What flew again was not ended by a shot that nobody looked at; whether it was sound then, nobody can say.
    ended = {key: answers_of(facts, partial(head_ended, ends=fates)) for key, (_, fates) in HEAD_ENDS.items()}
    return {"sound": [head_sound(fact) for fact in facts], **ended, LOST: answers_of(facts, head_lost)}


def dies_of(types: Sequence[TypeDamage]) -> Reason | None:
    """Of the pairs of which it is shown that one head gets through and dies of it, the one with the most shots; else that none is yet."""
    pairs = [(one, pair) for one in types for pair in one.pairs]
    shown = [(one, pair) for one, pair in pairs if pair.side]
    if shown:
        where, pair = max(shown, key=lambda found: (found[1].pair.named, found[1].first.shots + found[1].second.shots))
        return told_of(pair, on=where.words)
    return because("not_yet_that_any_dies", pairs=len(pairs)) if pairs else None


def life_told(lives: Lives) -> Reason:
    """How many shots one lasts, with its interval; or why that isn't told."""
    found = lives.life
    if isinstance(found, CantTell):
        return because("life_not_told", why=found.reason)
    return because(
        "life_told",
        lasts=found.lasts,
        low=found.low,
        high=found.high,
        shots=found.shots,
        ended=found.ended_low,
        ended_high=found.ended_high,
    )


def finding_of(types: Sequence[TypeDamage], *, shots: int) -> Reason:
    """The heads that wear out fastest of those of which that can be said; else how many shots none was hurt in."""
    if not shots:
        return because("no_shots_on_a_panel")
    rows = [(one, row) for one in types for row in one.rows]
    ended = [(one, row) for one, row in rows if row.head_lives.ended_low]
    if ended:
        # By the upper end of its life: the head of which it is surest that it does not last.
        where, worst = min(ended, key=lambda pair: (_longest(pair[1].head_lives), -len(pair[1].shots)))
        return because("head_lasts", who=worst.row.who, on=where.words, life=worst.head_lasts)
    if all(row.counts["not_noted"] == len(row.shots) for _, row in rows):
        return because("no_head_looked_at", shots=shots)
    where, most = max(rows, key=lambda pair: pair[1].head_lives.shots)
    return because("head_lasts", who=most.row.who, on=where.words, life=most.head_lasts)


def _longest(lives: Lives) -> float:
    found = lives.life
    return found.high if not isinstance(found, CantTell) and found.high is not None else float("inf")


def _drawing(types: Sequence[TypeDamage]) -> Figure | None:
    rows = [GroupRow(row.row.words, row.heads, heading=one.words, glyph=row.row.glyph, href=row.href) for one in types for row in one.rows]
    return share_forest("Heads", rows, through_words="with the head ended") if rows else None
