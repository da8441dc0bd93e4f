"""What is written of a film, read back by the libraries that others read it with: webvtt-py, srt, opentimelineio."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from typing import Any

import opentimelineio as otio
import pytest
import srt
import webvtt
from hypothesis import given
from hypothesis import strategies as st
from proofyard.answers.film.clip_times import ClipTime, FilmRead
from proofyard.exchange.film_captions import chapters_text, ffmetadata
from proofyard.exchange.film_captions import srt as as_srt
from proofyard.exchange.film_captions import webvtt as as_webvtt
from proofyard.exchange.film_cues import LONGEST_S, Cue, timed
from proofyard.exchange.film_timeline import timeline
from proofyard.quantities import Uncertain
from proofyard.quantities.timecode import frame_rate
from proofyard.records.film import Film
from proofyard.records.film_facts import LoggedShot
from proofyard.records.film_words import FilmFile
from proofyard.statistics.film_clock import ClockMark, film_clock

from tests.conftest import House
from tests.demo_for_tests import called

RATES = ("24000/1001", "25", "30000/1001", "60000/1001", "240")
NASTY = ("A1: <b>Wren & Tallow</b> --> 0:01", "=1+1; C:\\needle # 5", "  two\n\nlines ", "Ünïcode ‹quoted› 1 < 2 > 0", "{\\an8}1\n2 --> 3")
DID = "98 J at the target; point through (4) --> & <out>"


def film_of(
    times: list[float], rate: str = "30000/1001", *, plays: tuple[float | None, ...] = (1000.0, None), first: str | None = None
) -> FilmRead:
    """A film of two files with a shot at each of these times."""
    files = tuple(FilmFile(f"FILE{n}.MP4", one) for n, one in enumerate(plays, 1))
    film = Film(
        id="f", rev=1, typed="{}", session_id="s", camera="side", files="", frame_rate=rate, timing="constant", first_timecode=first
    )
    clips = []
    for nth, at in enumerate(sorted(times)):
        number, begun = (1, 0.0) if plays[0] is None or at < plays[0] else (2, plays[0])
        shot = LoggedShot(str(nth), f"A{nth}", "s", 0, None)
        clips.append(ClipTime(shot, Uncertain(at, 0.02), number, files[number - 1].name, at - begun, False))
    clock = film_clock([ClockMark(0.0, 0.0, 0.01)])
    return FilmRead(film, files, frame_rate(rate), 1.0, (), clock, tuple(clips), ())


def cues(times: list[float], rate: str = "30000/1001", **more: Any) -> tuple[FilmRead, tuple[Cue, ...]]:
    read = film_of(times, rate, **more)
    return read, timed(read, {str(n): (NASTY[n % len(NASTY)], DID) for n in range(len(times))})


SHOT_TIMES = st.lists(st.floats(0, 7000, allow_nan=False), min_size=1, max_size=40, unique_by=lambda t: round(t, 2))


@given(SHOT_TIMES)
def test_each_cue_ends_before_the_next_begins_and_no_later_than_it_should(times: list[float]) -> None:
    _, made = cues(times)
    assert len(made) == len(times)
    for one, following in zip(made, [*made[1:], None], strict=True):
        assert one.begins_s < one.ends_s <= one.begins_s + LONGEST_S
        assert following is None or one.ends_s <= following.begins_s


@given(SHOT_TIMES)
def test_webvtt_reads_back_with_the_same_times_and_words(times: list[float]) -> None:
    _, made = cues(times)
    read = webvtt.from_string(as_webvtt(made, note="clip times --> good\n\nto 0.05 s"))
    assert len(read) == len(made)
    for theirs, ours in zip(read, made, strict=True):
        begins, ends = theirs.start_in_seconds, theirs.end_in_seconds  # older versions give whole seconds
        assert begins == pytest.approx(ours.begins_s, abs=1.0) and ends == pytest.approx(ours.ends_s, abs=1.0)
        assert seconds(theirs.start) == pytest.approx(ours.begins_s, abs=0.0006)
        assert seconds(theirs.end) == pytest.approx(ours.ends_s, abs=0.0006)
        lines = theirs.raw_text.split("\n")
        assert len(lines) == 2 and "<" not in theirs.raw_text and "-->" not in theirs.raw_text
        assert lines[1] == "98 J at the target; point through (4) → &amp; &lt;out&gt;"


def seconds(clock: str) -> float:
    hours, minutes, rest = clock.split(":")
    return int(hours) * 3600 + int(minutes) * 60 + float(rest)


@given(SHOT_TIMES)
def test_subrip_reads_back_with_the_same_times_and_words(times: list[float]) -> None:
    _, made = cues(times)
    read = list(srt.parse(as_srt(made)))
    assert [one.index for one in read] == list(range(1, len(made) + 1))
    for theirs, ours in zip(read, made, strict=True):
        assert theirs.start.total_seconds() == pytest.approx(ours.begins_s, abs=0.0006)
        assert theirs.end.total_seconds() == pytest.approx(ours.ends_s, abs=0.0006)
        assert len(theirs.content.split("\n")) == 2 and "<" not in theirs.content


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("first", [None, "01:00:00:00"])
def test_the_timeline_reads_back_with_a_marker_a_shot_within_half_a_frame(rate: str, first: str | None) -> None:
    times = [1.0, 5.013, 999.98, 1000.0, 1234.567, 3999.999, 6000.5]
    read, made = cues(times, rate, first=first)
    theirs = otio.adapters.read_from_string(timeline(read, made, name="side camera"), "otio_json")
    assert isinstance(theirs, otio.schema.Timeline)
    (track,) = theirs.tracks
    clips = list(track)
    assert [clip.name for clip in clips] == ["FILE1.MP4", "FILE2.MP4"]
    assert [len(clip.markers) for clip in clips] == [3, 4]
    half = read.rate.frame_s / 2
    found = [(marker, clip) for clip in clips for marker in clip.markers]
    for (marker, clip), cue in zip(found, made, strict=True):
        starts = clip.source_range.start_time
        begun = 0.0 if clip.name == "FILE1.MP4" else 1000.0
        assert marker.marked_range.start_time.rate == read.rate.fps
        within = (marker.marked_range.start_time - starts).to_seconds()
        assert within == pytest.approx(cue.begins_s - begun, abs=half + 1e-6)
        assert marker.metadata["proofyard"]["shot"] == cue.label
        assert (marker.name, marker.comment) == (cue.title, cue.did)
    again = otio.adapters.write_to_string(theirs, "otio_json")
    assert otio.adapters.read_from_string(again, "otio_json").is_equivalent_to(theirs)


def test_chapters_begin_at_nothing_and_lie_ten_seconds_apart() -> None:
    _, made = cues([3.0, 12.0, 15.0, 22.0, 3723.0])
    assert [line.split(" ")[0] for line in chapters_text(made, first="side camera").splitlines()] == ["0:00", "0:12", "0:22", "1:02:03"]


def test_ffmetadata_escapes_what_it_must_and_leaves_no_gap() -> None:
    """FFmpeg documentation, Metadata: = ; # \\ and newline are escaped with a backslash (from memory)."""
    _, made = cues([3.0, 12.0, 2500.0], plays=(1000.0, 2000.0))
    lines = ffmetadata(made, title="a=b; #1", plays_s=3000.0).splitlines()
    assert lines[:2] == [";FFMETADATA1", "title=a\\=b\\; \\#1"]
    assert [line for line in lines if line.startswith("START=")] == ["START=3000", "START=12000", "START=2500000"]
    assert [line for line in lines if line.startswith("END=")] == ["END=12000", "END=2500000", "END=3000000"]
    assert "title=\\=1+1\\; C:\\\\needle \\# 5" in lines


def test_a_film_without_shots_makes_files_that_still_read() -> None:
    read = replace(film_of([1.0]), clips=())
    assert list(srt.parse(as_srt(()))) == []
    assert len(webvtt.from_string(as_webvtt((), note="none"))) == 0
    assert otio.adapters.read_from_string(timeline(read, (), name="x"), "otio_json").name == "x"


def test_the_demos_film_gives_every_file_and_its_rows(demo_house: House) -> None:
    owner = demo_house.client("owner")
    with demo_house.storage.read() as session:
        ids = called(session)
    at = f"/sessions/{ids['first day']}/films/{ids['side camera']}/files"
    captions = webvtt.from_string(owner.get(f"{at}/captions.vtt").text)
    assert len(captions) == len(list(srt.parse(owner.get(f"{at}/captions.srt").text))) == 50
    assert captions[0].raw_text.startswith("A1: Tallow, Bracken 112, arrow ")
    markers = otio.adapters.read_from_string(owner.get(f"{at}/timeline.otio").text, "otio_json").find_clips()
    assert sum(len(clip.markers) for clip in markers) == 50
    assert owner.get(f"{at}/chapters.txt").text.startswith("0:00 side camera, 10 October 2026\n3:59 A1: Tallow")
    assert owner.get(f"{at}/chapters.ffmetadata").text.count("[CHAPTER]") == 50
    assert owner.get(f"{at}/film.mov").status_code == 404
    rows = list(csv.DictReader(io.StringIO(owner.get("/download/clip_times.csv").text)))
    mine = [row for row in rows if row["film_id"] == ids["side camera"]]
    assert len(mine) == 50
    assert [mine[0][name] for name in ("shot", "file_name", "timecode", "frame_rate")] == [
        "A1",
        "SIDE0001.MP4",
        "00:03:59;27",
        "30000/1001",
    ]
    assert all(0.01 < float(row["in_film_u_s"]) < 0.05 for row in mine)
