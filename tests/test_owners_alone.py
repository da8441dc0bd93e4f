"""Nobody else on the laptop reads the book: what is made is the owner's alone, and what was there is mended."""

import os
import stat
import sys
from pathlib import Path

import pytest
from proofyard import owners_alone

from tests.conftest import copied
from tests.faults.a_real_server import run, serving

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such rights")


def open_to_others(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in (folder, *folder.rglob("*")) if stat.S_IMODE(path.lstat().st_mode) & 0o077)


def test_what_the_server_makes_is_its_owners_alone(tmp_path: Path) -> None:
    folder = tmp_path / "book"
    before = os.umask(0o022)
    try:
        with serving(folder) as server:
            assert open_to_others(folder) == [], "the book, what SQLite keeps beside it, the lock"
            assert not any("yours alone now" in line for line in server.said)
            server.stop()
        assert run("backup", "--data", folder).returncode == 0
        assert open_to_others(folder) == []
    finally:
        os.umask(before)


def test_a_folder_from_before_is_mended_at_the_start_with_a_line_that_says_so(tmp_path: Path, empty_book_file: Path) -> None:
    folder = copied(empty_book_file, tmp_path / "book")
    (folder / "backups").mkdir(exist_ok=True)
    (folder / "photos" / "ab").mkdir(parents=True)
    (folder / "backups" / "copy.zip").write_bytes(b"x")
    (folder / "photos" / "ab" / "one.jpg").write_bytes(b"x")
    (folder / "my notes.txt").write_text("not ours")
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o755 if path.is_dir() else 0o644)
    with serving(folder) as server:
        assert sum("It is yours alone now" in line for line in server.said) == 1
        server.stop()
    assert open_to_others(folder) == ["my notes.txt"], "what isn't the book's is left as it was"
    with serving(folder) as server:
        assert not any("alone now" in line for line in server.said)
        server.stop()


def test_a_folder_that_everybody_shares_keeps_its_own_rights_and_a_link_is_not_followed(tmp_path: Path) -> None:
    shared, elsewhere = tmp_path / "shared", tmp_path / "elsewhere.db"
    shared.mkdir()
    shared.chmod(0o1777)
    elsewhere.write_bytes(b"x")
    elsewhere.chmod(0o644)
    (shared / "proofyard.db").touch()
    (shared / "proofyard.db").chmod(0o644)
    (shared / "linked.db").symlink_to(elsewhere)
    assert "yours alone now" in owners_alone.mend(shared)
    assert stat.S_IMODE(shared.stat().st_mode) == 0o1777 & 0o7777
    assert stat.S_IMODE((shared / "proofyard.db").stat().st_mode) == 0o600
    assert stat.S_IMODE(elsewhere.stat().st_mode) == 0o644


def test_rights_that_can_not_be_taken_away_are_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "proofyard.db").touch(mode=0o644)
    (tmp_path / "proofyard.db").chmod(0o644)

    def refused(*_: object, **__: object) -> None:
        raise PermissionError

    monkeypatch.setattr(Path, "chmod", refused)
    assert "can’t be changed" in owners_alone.mend(tmp_path)
