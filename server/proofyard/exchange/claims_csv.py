"""claims.csv: what each trial claims, when it was stated, and how it is answered now, head by head."""

from proofyard.answers.claims.energies import EnergyAnswer
from proofyard.answers.claims.page import read_claim
from proofyard.answers.claims.read import ClaimRead
from proofyard.exchange.columns_of_records import record_columns
from proofyard.exchange.csv_writing import Column, Table, Value, utc, yes_no
from proofyard.exchange.fetched import Fetched
from proofyard.records.claim import Claim
from proofyard.records.columns import Noun
from proofyard.views.settings import form_words
from proofyard.wording.reasons.said import said

NAME = "claims.csv"
WORDS = "What each trial claims, when it was stated, and how its shots answer it now, a row a head."
TABLES: tuple[type[Noun], ...] = (Claim,)
_CLAIM = record_columns(Claim, "claim", leave=("trial_id",))
_ANSWERS = "no; yes = as far as asked; not_yet"
_ANSWER = (
    Column("trial", "The question of the trial", "", "typed"),
    Column("trial_id", "Identifier of the trial", "", "given"),
    Column("claim_words", "The claim as Proofyard writes it", "", "worked out"),
    Column("claim_stated_utc", "When it was first stated, ISO 8601 in UTC", "", "given"),
    Column("claim_changed_utc", "When it was last changed, ISO 8601 in UTC; empty if never", "", "given"),
    Column("claim_before_first_shot", "Stated and last changed before the first shot of the trial", "", "worked out", values="yes; no"),
    Column("claim_answer", "The answer in words", "", "worked out"),
    Column("claim_verdict", "Of these arrows on these panels, all heads together", "", "worked out", values=_ANSWERS),
    Column("claim_verdict_for_type", "Of the type, all heads together; empty for “never”", "", "worked out", values=_ANSWERS),
)
_ENERGIES = (
    Column(
        "claim_judged_by",
        "Of a claim of energies: which interval answers it, of one 50 % energy or of a comparison",
        "",
        "worked out",
        values="point; curve; levels; a_fortiori; apart",
    ),
    Column(
        "claim_estimate", "The 50 % energy, or how many times the energy (the odds, within levels)", "J or 1", "worked out", number=True
    ),
    Column("claim_low", "Its low end, looks and other questions paid for; empty: not bounded", "J or 1", "worked out", number=True),
    Column("claim_high", "Its high end, likewise", "J or 1", "worked out", number=True),
    Column("claim_interval_level", "The level of that interval", "1", "worked out", number=True),
    Column("claim_raw_low", "Its low end by itself, 95 %", "J or 1", "worked out", number=True),
    Column("claim_raw_high", "Its high end by itself, 95 %", "J or 1", "worked out", number=True),
    Column("claim_limit", "What it is claimed to be above", "J or 1", "worked out", number=True),
)
_HEAD = (
    Column("head_form", "The head that this row judges", "", "typed"),
    Column("head_words", "The head, or the armour that it was shot at, in words", "", "worked out"),
    Column("head_shots", "Its shots that count", "1", "worked out", number=True),
    Column("head_through_low", "Of those through, if nothing undecided turns out to be", "1", "worked out", number=True),
    Column("head_through_high", "Of those through, if all that is undecided turns out to be", "1", "worked out", number=True),
    Column("head_e_no", "How strongly they speak against the claim; 20 refutes one head at 95 %", "1", "worked out", number=True),
    Column("head_e_yes", "How strongly they speak for it; 20 supports it at 95 %", "1", "worked out", number=True),
    Column(
        "head_share_low", "Least share still possible: a running bound, which holds however often one looks", "1", "worked out", number=True
    ),
    Column(
        "head_share_high",
        "Greatest share still possible, likewise; once a number set beforehand is reached, for that number",
        "1",
        "worked out",
        number=True,
    ),
    Column("head_verdict", "Of these arrows on these panels", "", "worked out", values=_ANSWERS),
    Column("head_verdict_for_type", "Of the type; empty for “never”", "", "worked out", values=_ANSWERS),
)
COLUMNS = (*_ANSWER, *_ENERGIES, *_HEAD, *(column for column, _ in _CLAIM))


def claims_table(fetched: Fetched) -> Table:
    """One row a head of each claim; one row alone for a claim that is crossed out."""
    rows: list[tuple[Value, ...]] = []
    for one in fetched.of(Claim):
        trial = fetched.loosed.trials.get(one.trial_id)
        if trial is None:
            continue
        typed = tuple(ask(one) for _, ask in _CLAIM)
        fact = fetched.claims.get(one.trial_id)
        if fact is None or fact.claim.id != one.id:
            rows.append((trial.question, trial.id, *(None,) * (len(_ANSWER) + len(_ENERGIES) + len(_HEAD) - 2), *typed))
            continue
        read = read_claim(fact, fetched.loosed.of_trial(one.trial_id).shots)
        changed = utc(fact.changed_at) if fact.changed else None
        begun = (trial.question, trial.id, said(read.claim), utc(fact.said_at), changed, yes_no(not fact.late))
        answered = (said(read.title), read.verdict, read.for_type)
        rows += [(*begun, *answered, *_of_energies(read), *head, *typed) for head in _heads(read)]
    return Table(NAME, WORDS, COLUMNS, tuple(rows))


def _of_energies(read: ClaimRead) -> tuple[Value, ...]:
    found = read.found
    if not isinstance(found, EnergyAnswer):
        return (None,) * len(_ENERGIES)
    judged, raw = found.judged, found.raw
    return (
        found.pair.found.way if found.pair else "point",
        found.estimate,
        judged.low if judged else None,
        judged.high if judged else None,
        judged.level if judged else None,
        raw.low if raw else None,
        raw.high if raw else None,
        found.limit,
    )


def _heads(read: ClaimRead) -> list[tuple[Value, ...]]:
    if isinstance(read.found, EnergyAnswer):
        both = (read.verdict, read.for_type)
        counts = [(len(group.shots) + group.undecided, group.through, group.through + group.undecided) for group in read.found.groups]
        return [(row.head, row.words, *of, *(None,) * 4, *both) for row, of in zip(read.rows, counts, strict=True)]
    never = read.for_type is None
    return [
        (
            one.head,
            form_words(one.head),
            one.shots,
            one.through_low,
            one.through_high,
            None if never else one.e_values.no,
            None if never else one.e_values.yes,
            one.bounds.low,
            one.bounds.high,
            one.verdict,
            one.for_type,
        )
        for one in read.found.heads
    ]
