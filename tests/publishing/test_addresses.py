"""Which links of a published site lead to a page of it, and that one view has one address."""

from __future__ import annotations

import pytest
from proofyard.publishing.addresses import page_at

TRIAL = "00000001-0000-8000-8000-000000000000"


@pytest.mark.parametrize(
    ("href", "address"),
    [
        ("/results", "/results"),
        ("/results?at=target", "/results"),
        ("/results/shares?panel_type=mail&at=target", "/results/shares?panel_type=mail"),
        (f"/results?trial={TRIAL}&through=4", f"/results?trial={TRIAL}"),
        (f"/shots/{TRIAL}#fair", f"/shots/{TRIAL}"),
        ("/shots?page=1", "/shots"),
        ("/shots?page=2", "/shots?page=2"),
        (f"/blunt?trial={TRIAL}", f"/blunt?trial={TRIAL}"),
        ("/methods/of/drag_per_m", "/methods/of/drag_per_m"),
    ],
)
def test_one_view_has_one_address(href: str, address: str) -> None:
    assert str(page_at(href, one_trial=False)) == address


@pytest.mark.parametrize(
    "href",
    [
        "/results?fair=any",
        "/results?through=5",
        "/results?at=chronograph",
        "/shots?head=needle",
        "/what-if?panel=x",
        "/blunt",
        f"/blunt?trial={TRIAL}&shot={TRIAL}",
        "/download/shots.csv?form=analysis",
        "/leave",
        "/notebook",
        "/phones",
        "/range",
        "https://example.org/results",
        "//example.org/results",
        "results",
        "",
    ],
)
def test_a_view_that_the_site_does_not_hold_has_no_address(href: str) -> None:
    assert page_at(href, one_trial=False) is None


def test_in_a_site_of_one_trial_the_trial_need_not_be_said_except_where_the_page_would_ask_for_it() -> None:
    assert page_at(f"/results?trial={TRIAL}&at=target&through=4", one_trial=True) == page_at("/results", one_trial=True)
    assert str(page_at(f"/blunt?trial={TRIAL}", one_trial=True)) == f"/blunt?trial={TRIAL}"
