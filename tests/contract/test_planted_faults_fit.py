"""The list of tests/plant_faults.py follows the code: each fault has one place, and the tests that ought to catch it are there."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.plant_faults import FAULTS, REPOSITORY, Fault


def misfit(fault: Fault, root: Path) -> list[str]:
    """Why this fault can't be planted, or not be tried."""
    file = root / fault.file
    times = file.read_text(encoding="utf-8").count(fault.old) if file.exists() else 0
    missing = [path for path in fault.tests.split() if not (root / path.partition("::")[0]).exists()]
    return ([] if times == 1 else [f"its text stands {times} times in {fault.file}"]) + [f"{path} is gone" for path in missing]


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_each_fault_can_be_planted_and_its_tests_exist(fault: Fault) -> None:
    assert misfit(fault, REPOSITORY) == []


def test_no_two_faults_have_one_name() -> None:
    assert len({fault.name for fault in FAULTS}) == len(FAULTS) >= 40


def test_a_fault_whose_place_moved_on_is_told(tmp_path: Path) -> None:
    (tmp_path / "a.py").write_text("x = 1\nx = 1\n", encoding="utf-8")
    for file, old in (("a.py", "x = 2"), ("a.py", "x = 1"), ("gone.py", "x = 1")):
        assert len(misfit(Fault("one", file, old, "x = 3", "a.py"), tmp_path)) == 1
    assert misfit(Fault("one", "a.py", "x = 1\nx", "y", "b.py::test_it"), tmp_path) == ["b.py::test_it is gone"]
