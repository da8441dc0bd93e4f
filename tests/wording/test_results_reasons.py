"""The sentences of the results page, read once: each as an archer meets it."""

import pytest
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons.said import said

SHARE = because("cell_share", where="at 80 to 105 J", who="the leaf", did="went through the plate", low=4, high=4, shots=6, panel="")
READ = (
    (because("other_compared", verdict="Not shown, and so on"), "not shown, and so on"),
    (
        because("other_head", who="the leaf", counted="1 of 5", why=because("other_compared", verdict="Not shown, and so on")),
        "the leaf 1 of 5, not shown, and so on",
    ),
    (because("none_counted", loosed=1), "None of 1 shot is counted"),
    (because("none_measured", counted=3), "3 shots, none with a measured energy"),
    (because("too_few_for_percent", most=3, on="mail"), "Too few shots at mail to give a percentage: at most 3 shots in one band."),
    (
        because(
            "others_at_that_energy",
            on="mail",
            heads=(because("other_head", who="the leaf", counted="2 of 3", why=because("other_too_few")),),
        ),
        "At the same energy, mail: the leaf 2 of 3, too few shots to give a percentage.",
    ),
    (SHARE, "At 80 to 105 J the leaf went through the plate in 4 of 6 shots"),
    (
        because("two_cells", first=SHARE, who="the barbed broadhead", low=0, high=0, shots=5),
        "At 80 to 105 J the leaf went through the plate in 4 of 6 shots; the barbed broadhead in none of 5 shots",
    ),
    (
        because("two_seen", first=SHARE, who="the barbed broadhead", low=0, high=1, shots=5),
        "At 80 to 105 J the leaf went through the plate in 4 of 6 shots; the barbed broadhead in 0 or 1 of 5 shots",
    ),
    (
        because("two_seen", first=SHARE, who="the barbed broadhead", low=2, high=2, shots=2),
        "At 80 to 105 J the leaf went through the plate in 4 of 6 shots; the barbed broadhead in both shots",
    ),
    (
        because("picked_for_difference", few=False, intervals=("63 to 96", "0 to 26")),
        "The two heads that differ most: a hint, not a finding. 95\xa0% intervals: 63 to 96\xa0% and 0 to 26\xa0%.",
    ),
    (
        because("cell_share", where="under 60 J", who="the leaf", did="dented mail or more", low=7, high=7, shots=7, panel="M1"),
        "Under 60 J the leaf dented mail or more in all 7 shots, all on M1",
    ),
    (
        because("cell_share", where="anywhere", who="the leaf", did="dented mail or more", low=1, high=1, shots=1, panel=""),
        "Anywhere the leaf dented mail or more in the one shot",
    ),
    (
        because("how_sure", who="the leaf", on="mail", interval="26 to 94", few=True),
        "Few shots, so a wide interval: the share of the leaf through mail has a 95\xa0% interval of 26 to 94\xa0%.",
    ),
    (
        because("near_a_limit", shots=1, sure=2.0),
        "1 shot may belong to the next band, being within 2 standard uncertainties of its limit; the table marks it.",
    ),
    (because("short_draws_counted", shots=2), "2 shots with a short draw are counted, because their speed was read on the shot itself."),
    (because("entry_not_recorded", shots=1), "Where it went in is not recorded for 1 shot; counted as not through a gap."),
    (
        because("mixed_bows", bands=("60 to 150 J: Ash bow, Elm bow",)),
        "One band mixes bows (60 to 150 J: Ash bow, Elm bow). Energy and bow changed together, so their effects cannot be separated here.",
    ),
    (because("all_at_every_energy", shots=1), "The one shot."),
    (because("none_at_any_energy", shots=6), "None of 6 shots, at any energy."),
)


@pytest.mark.parametrize(("reason", "words"), READ, ids=lambda one: one.code if isinstance(one, Reason) else "")
def test_the_results_page_says(reason: Reason, words: str) -> None:
    assert said(reason) == words
