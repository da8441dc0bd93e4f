"""Film time as people type it, and timecode against the reference library of the timeline format (opentimelineio)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from opentimelineio import opentime
from proofyard.quantities.timecode import FilmTime, FilmTimeFault, FrameRate, frame_rate, read_film_time, timecode

NTSC, NTSC_60, PAL = FrameRate(30000, 1001), FrameRate(60000, 1001), FrameRate(25)
# Every frame of three minutes, where numbers are dropped and where not, and the frames about each tenth minute of a day.
NEAR_A_MINUTE = [*range(0, 5400), *(17982 * ten + near for ten in range(0, 144, 4) for near in range(-4, 5) if 17982 * ten + near >= 0)]


def test_drop_frame_is_that_of_the_reference_at_5700_frames() -> None:
    assert len(NEAR_A_MINUTE) >= 5700
    for frame in NEAR_A_MINUTE:
        theirs = opentime.RationalTime(frame, 30000 / 1001).to_timecode(30000 / 1001, True)
        assert timecode(frame, NTSC, drop=True) == theirs, frame


def test_drop_frame_at_60_and_plain_timecode_are_those_of_the_reference() -> None:
    for frame in [*range(0, 7400, 7), 35964, 35963, 35965, 215784]:
        theirs = opentime.RationalTime(frame, 60000 / 1001).to_timecode(60000 / 1001, True)
        assert timecode(frame, NTSC_60, drop=True) == theirs, frame
        assert timecode(frame, PAL) == opentime.RationalTime(frame, 25).to_timecode(25, False), frame


@given(frame=st.integers(0, 2_500_000), rate=st.sampled_from([NTSC, NTSC_60]))
def test_a_frames_drop_frame_timecode_leads_back_to_the_frame(frame: int, rate: FrameRate) -> None:
    read = read_film_time(timecode(frame, rate, drop=True), rate)
    assert isinstance(read, FilmTime) and read.frame == frame


@given(frame=st.integers(0, 2_000_000), rate=st.sampled_from([NTSC, PAL, FrameRate(24000, 1001), FrameRate(240)]))
def test_a_frames_plain_timecode_leads_back_to_the_frame(frame: int, rate: FrameRate) -> None:
    read = read_film_time(timecode(frame, rate), rate)
    assert isinstance(read, FilmTime) and read.frame == frame


def test_an_hour_of_drop_frame_read_as_plain_is_108_frames_out() -> None:
    """SMPTE ST 12-1, from memory: 18 frames a ten minutes, 108 an hour, which is 3.6 s."""
    dropped, plain = (read_film_time(f"01:00:00{mark}00", NTSC) for mark in ";:")
    assert isinstance(dropped, FilmTime) and isinstance(plain, FilmTime)
    assert plain.frame is not None and dropped.frame is not None and plain.frame - dropped.frame == 108
    assert plain.seconds - dropped.seconds == pytest.approx(3.6036, abs=1e-4)


@pytest.mark.parametrize(
    "text, seconds, step",
    [
        ("12:03.48", 723.48, 0.01),
        ("1:02:03,5", 3723.5, 0.1),
        ("0:59", 59.0, 1.0),
        ("723.480 s", 723.48, 0.001),
        ("frame 18087", 723.48, 0.04),
        ("18087 f", 723.48, 0.04),
        ("#18087", 723.48, 0.04),
        ("00:12:03:12", 723.48, 0.04),
    ],
)
def test_a_place_is_read_as_a_player_an_editor_or_a_counter_of_frames_says_it(text: str, seconds: float, step: float) -> None:
    read = read_film_time(text, PAL)
    assert isinstance(read, FilmTime)
    assert (read.seconds, read.step_s) == pytest.approx((seconds, step))


@pytest.mark.parametrize(
    "text, rate, fault",
    [
        ("half way", PAL, FilmTimeFault.UNREADABLE),
        ("", PAL, FilmTimeFault.UNREADABLE),
        ("12:61.0", PAL, FilmTimeFault.UNREADABLE),
        ("１２:03", PAL, FilmTimeFault.UNREADABLE),
        ("00:12:03:25", PAL, FilmTimeFault.NO_SUCH_FRAME),
        ("00:12:03;10", PAL, FilmTimeFault.NO_DROP_FRAME),
        ("00:01:00;01", NTSC, FilmTimeFault.DROPPED),
        ("99999999 f", FrameRate(1), FilmTimeFault.UNREADABLE),
    ],
)
def test_what_is_no_place_in_a_film_says_why(text: str, rate: FrameRate, fault: FilmTimeFault) -> None:
    assert read_film_time(text, rate) is fault


def test_a_dropped_number_stands_at_no_minute_but_is_there_at_the_tenth() -> None:
    assert isinstance(read_film_time("00:10:00;01", NTSC), FilmTime)


def test_a_rate_and_a_frame_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError):
        FrameRate(0)
    with pytest.raises(ValueError):
        timecode(-1, PAL)
    with pytest.raises(ValueError):
        timecode(1, PAL, drop=True)
    assert frame_rate("30000/1001") == NTSC and str(NTSC) == "30000/1001" and str(PAL) == "25"
