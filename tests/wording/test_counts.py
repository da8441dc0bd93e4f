"""Lists and days in words."""

from proofyard.wording.counts import days_listed, listed


def test_lists_read_as_a_person_says_them() -> None:
    assert listed(["A"]) == "A" and listed(["A", "B", "C"]) == "A, B and C" and listed("ABCDEF") == "A, B, C and 3 more"
    assert days_listed(["2026-10-31", "2026-10-24", "2026-10-24"]) == "24 and 31 October 2026"
    assert days_listed(["2026-09-30", "2026-10-02"]) == "30 September and 2 October 2026"
    assert days_listed(["2025-12-30", "2026-01-02"]) == "30 December 2025 and 2 January 2026"
