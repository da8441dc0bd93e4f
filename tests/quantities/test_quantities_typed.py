"""What people type, what it means, and what they are told when it means nothing."""

import time
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from proofyard.quantities import (
    KINDS,
    Empty,
    Read,
    RefusalCode,
    Refused,
    from_si,
    plainly,
    read,
    read_at_least,
    read_hardness,
    read_weight_at_draw,
    sentence,
    warm_units,
    with_unit,
    written,
)

GOOD = [
    # text, kind, number, unit, SI
    ("72.4", "arrow_mass", 72.4, "g", 0.0724),
    ("72,4", "arrow_mass", 72.4, "g", 0.0724),
    ("72.4g", "arrow_mass", 72.4, "g", 0.0724),
    (" 72.4  g ", "arrow_mass", 72.4, "g", 0.0724),
    ("72.4\u00a0g", "arrow_mass", 72.4, "g", 0.0724),
    ("72.4\u202fg", "arrow_mass", 72.4, "g", 0.0724),
    ("72.4\u2009g", "arrow_mass", 72.4, "g", 0.0724),
    ("+72.4 g", "arrow_mass", 72.4, "g", 0.0724),
    ("1117 gr", "arrow_mass", 1117, "gr", 0.07238038247),
    ("1117 gr.", "arrow_mass", 1117, "gr", 0.07238038247),
    ("1117 Grains", "arrow_mass", 1117, "gr", 0.07238038247),
    ("1320gr", "arrow_mass", 1320, "gr", 0.0855345612),
    ("1234,5 gr", "arrow_mass", 1234.5, "gr", 0.0799942544),
    ("2 oz", "arrow_mass", 2, "oz", 0.05669904625),
    ("0.16 lb", "arrow_mass", 0.16, "lb", 0.0725747792),
    (".5 g", "head_mass", 0.5, "g", 0.0005),
    ("55 m/s", "arrow_speed", 55, "m/s", 55),
    ("55 m / s", "arrow_speed", 55, "m/s", 55),
    ("180 fps", "arrow_speed", 180, "ft/s", 54.864),
    ("180 FPS", "arrow_speed", 180, "ft/s", 54.864),
    ("180 ft/s", "arrow_speed", 180, "ft/s", 54.864),
    ("120 mph", "arrow_speed", 120, "mph", 53.6448),
    ("198 km/h", "arrow_speed", 198, "km/h", 55),
    ("198 kph", "arrow_speed", 198, "km/h", 55),
    ("95 lbf", "draw_weight", 95, "lbf", 422.58105),
    ("95 lb", "draw_weight", 95, "lbf", 422.58105),
    ("95 lbs", "draw_weight", 95, "lbf", 422.58105),
    ("95#", "draw_weight", 95, "lbf", 422.58105),
    ("95 #", "draw_weight", 95, "lbf", 422.58105),
    ("95 pounds", "draw_weight", 95, "lbf", 422.58105),
    ("489 N", "draw_weight", 489, "N", 489),
    ("50 kgf", "draw_weight", 50, "kgf", 490.3325),
    ("31", "draw_length", 31, "in", 0.7874),
    ('31½"', "draw_length", 31.5, "in", 0.8001),
    ("31½”", "draw_length", 31.5, "in", 0.8001),
    ("31½″", "draw_length", 31.5, "in", 0.8001),
    ("31 ½ in", "draw_length", 31.5, "in", 0.8001),
    ("31 1/2 in.", "draw_length", 31.5, "in", 0.8001),
    ("800 mm", "draw_length", 800, "mm", 0.8),
    ("1/16 in", "thickness", 0.0625, "in", 0.0015875),
    ("1⁄16 in", "thickness", 0.0625, "in", 0.0015875),
    ("1.2 mm", "thickness", 1.2, "mm", 0.0012),
    ("1,2 mm", "thickness", 1.2, "mm", 0.0012),
    ("1,5 mm", "thickness", 1.5, "mm", 0.0015),
    ("0,125 in", "thickness", 0.125, "in", 0.003175),
    ("1.234", "thickness", 1.234, "mm", 0.001234),
    ("800 µm", "thickness", 800, "µm", 0.0008),
    ("800 μm", "thickness", 800, "µm", 0.0008),
    ("½ in", "depth", 0.5, "in", 0.0127),
    ("1½ in", "depth", 1.5, "in", 0.0381),
    ("1 1/2 in", "depth", 1.5, "in", 0.0381),
    ("5/4 in", "depth", 1.25, "in", 0.03175),
    ("0", "depth", 0, "mm", 0),
    ("5' 10\"", "arrow_length", 70, "in", 1.778),
    ("5'10", "arrow_length", 70, "in", 1.778),
    ("5′ 10½″", "arrow_length", 70.5, "in", 1.7907),
    ("2 ft 7 in", "arrow_length", 31, "in", 0.7874),
    ("2 ft. 7 1/2 in", "arrow_length", 31.5, "in", 0.8001),
    ("-1' 6\"", "place", -18, "in", -0.4572),
    ("−5 mm", "place", -5, "mm", -0.005),
    ("-5 mm", "place", -5, "mm", -0.005),
    ("–5 mm", "place", -5, "mm", -0.005),
    ("-1 1/2 in", "place", -1.5, "in", -0.0381),
    ("-½ in", "place", -0.5, "in", -0.0127),
    ("20 yd", "distance", 20, "yd", 18.288),
    ("20 yds", "distance", 20, "yd", 18.288),
    ("14", "distance", 14, "m", 14),
    ("30 C", "temperature", 30, "°C", 303.15),
    ("30 °C", "temperature", 30, "°C", 303.15),
    ("30 ℃", "temperature", 30, "°C", 303.15),
    ("30 ºC", "temperature", 30, "°C", 303.15),
    ("86 F", "temperature", 86, "°F", 303.15),
    ("86 ℉", "temperature", 86, "°F", 303.15),
    ("-4", "temperature", -4, "°C", 269.15),
    ("290 K", "temperature", 290, "K", 290),
    ("65", "humidity", 65, "%", 0.65),
    ("65 %", "humidity", 65, "%", 0.65),
    ("0.5 percent", "share", 0.5, "%", 0.005),
    ("1013", "pressure", 1013, "hPa", 101300),
    ("1013 mbar", "pressure", 1013, "hPa", 101300),
    ("101.3 kPa", "pressure", 101.3, "kPa", 101300),
    ("15°", "angle", 15, "deg", 0.26179938779914943),
    ("75 ft·lb", "energy", 75, "ft·lbf", 101.68634612),
    ("75 ftlb", "energy", 75, "ft·lbf", 101.68634612),
    ("75 ft-lbs", "energy", 75, "ft·lbf", 101.68634612),
    ("75 ft⋅lbf", "energy", 75, "ft·lbf", 101.68634612),
    ("90 J", "energy", 90, "J", 90),
    ("254 ms", "time_between", 254, "ms", 0.254),
    ("54 ms", "time_between", 54, "ms", 0.054),
    ("0.5 °C", "temperature_accuracy", 0.5, "°C", 0.5),
    ("1 °F", "temperature_accuracy", 1, "°F", 5 / 9),
    ("12", "count", 12, "1", 12),
    ("12.0", "count", 12, "1", 12),
    # as people type them on a tape, a phone, a bench; each was refused before
    ("31-1/2 in", "arrow_length", 31.5, "in", 0.8001),
    ("31–1/2 in", "arrow_length", 31.5, "in", 0.8001),
    ("31-½ in", "arrow_length", 31.5, "in", 0.8001),
    ("-5-1/2 in", "place", -5.5, "in", -0.1397),
    ("5'-11\"", "arrow_length", 71, "in", 1.8034),
    ("5' - 11 1/2\"", "arrow_length", 71.5, "in", 1.8161),
    ("5 ft - 11 in", "arrow_length", 71, "in", 1.8034),
    ("48 thou", "thickness", 48, "thou", 0.0012192),
    ("48thou", "cloth_thickness", 48, "thou", 0.0012192),
    ("55m/sec", "arrow_speed", 55, "m/s", 55),
    ("180 ft/sec", "arrow_speed", 180, "ft/s", 54.864),
    ("- 3 C", "temperature", -3, "°C", 270.15),
    ("− 3 °C", "temperature", -3, "°C", 270.15),
    ("– 3 °C", "temperature", -3, "°C", 270.15),
    ("- 5 mm", "place", -5, "mm", -0.005),
    ("5 mm\n", "depth", 5, "mm", 0.005),
    ("\r\n 5 mm \r\n", "depth", 5, "mm", 0.005),
    ("5.25'", "arrow_length", 5.25, "ft", 1.6002),
    ("5.11 ft", "arrow_length", 5.11, "ft", 1.557528),
]


@pytest.mark.parametrize(("text", "kind", "number", "unit", "value_si"), GOOD, ids=[repr(row[0]) for row in GOOD])
def test_a_person_means(text: Any, kind: Any, number: Any, unit: Any, value_si: Any) -> None:
    result = read(text, kind)
    assert isinstance(result, Read), result
    assert (result.unit, result.typed) == (unit, text)
    assert result.number == pytest.approx(number, rel=1e-12)
    assert result.value_si == pytest.approx(value_si, rel=1e-8)


REFUSED = [
    # text, kind, reason, what the message has to say
    ("72.4 m", "arrow_mass", RefusalCode.WRONG_KIND, "“72.4 m” is a length. Type a mass, for example 72.4 g or 1117 gr."),
    ("95 N", "arrow_mass", RefusalCode.WRONG_KIND, "is a force"),
    ("113#", "arrow_mass", RefusalCode.WRONG_KIND, "is a force"),
    ("2.4 kg", "draw_weight", RefusalCode.WRONG_KIND, "is a mass"),
    ("3 mm", "count", RefusalCode.WRONG_KIND, "is a length. Type a whole number, for example 12."),
    ("52 HRC", "thickness", RefusalCode.WRONG_KIND, "is a hardness"),
    ("HRC 52", "thickness", RefusalCode.WRONG_KIND, "is a hardness"),
    ("30 C", "draw_weight", RefusalCode.WRONG_KIND, "is a temperature"),
    ("1,234", "thickness", RefusalCode.AMBIGUOUS, "“1,234” could be 1.234 or 1234. Type a length with no thousands mark"),
    ("1,277 gr", "arrow_mass", RefusalCode.AMBIGUOUS, "1.277 or 1277"),
    ("-1,234", "place", RefusalCode.AMBIGUOUS, "1.234 or 1234"),
    ("1.277,5 gr", "arrow_mass", RefusalCode.AMBIGUOUS, "1277.5 or 1.2775"),
    ("1,277.5 gr", "arrow_mass", RefusalCode.AMBIGUOUS, "1277.5 or 1.2775"),
    ("1,234,567", "count", RefusalCode.GROUPED, "has thousands marks. Type 1234567."),
    ("1.234.567", "count", RefusalCode.GROUPED, "1234567"),
    ("1,23,4", "depth", RefusalCode.NUMBER_SHAPE, "not a number"),
    ("1.2.3", "depth", RefusalCode.NUMBER_SHAPE, "not a number"),
    ("5.", "depth", RefusalCode.NUMBER_SHAPE, "not a number"),
    ("-- 5 mm", "place", RefusalCode.NUMBER_SHAPE, "not a number"),
    ("30°", "temperature", RefusalCode.AMBIGUOUS_DEGREE, "could be °C or °F. Type which, for example 18 °C or 64 °F."),
    ("16 ga", "thickness", RefusalCode.GAUGE, "“16 ga” is a gauge, and gauges differ. Type millimetres"),
    ("16 gauge", "thickness", RefusalCode.GAUGE, "millimetres"),
    ("16 SWG", "thickness", RefusalCode.GAUGE, "millimetres"),
    ("ga 16", "thickness", RefusalCode.GAUGE, "millimetres"),
    ("#16 ga", "thickness", RefusalCode.GAUGE, "millimetres"),
    ("16 ga", "arrow_mass", RefusalCode.WRONG_KIND, "is a plate gauge. Type a mass"),
    ("2 yd", "thickness", RefusalCode.UNIT_NOT_HERE, "this field takes mm, cm, in, thou or µm, not yd. Type a length"),
    ("20 paces", "distance", RefusalCode.UNKNOWN_UNIT, "“paces” is not a unit known here. This field takes m, yd"),
    ("5 M", "distance", RefusalCode.UNKNOWN_UNIT, "“M” is not a unit"),
    ("3 shots", "count", RefusalCode.UNKNOWN_UNIT, "“shots” is not a unit known here. Type a whole number, for example 12."),
    ("1.5", "count", RefusalCode.NOT_WHOLE, "not a whole number"),
    ("900 g", "arrow_mass", RefusalCode.TOO_HIGH, "too high for an arrow’s mass (5\u00a0g to 500\u00a0g)"),
    ("72 gr", "arrow_mass", RefusalCode.TOO_LOW, "too low for an arrow’s mass (77.2\u00a0gr to 7716\u00a0gr)"),
    ("-5 mm", "depth", RefusalCode.TOO_LOW, "too low for a depth"),
    ("0 mm", "thickness", RefusalCode.TOO_LOW, "above 0, up to 100\u00a0mm"),
    ("0 °C", "temperature_accuracy", RefusalCode.TOO_LOW, "above 0, up to 20\u00a0°C"),
    ("9" * 40, "count", RefusalCode.TOO_HIGH, "too high for a count (0 to 1000000)"),
    ("9" * 41, "count", RefusalCode.TOO_LONG, "too long: 40 characters at most"),
    ("nan", "depth", RefusalCode.NO_NUMBER, "has no number in it"),
    ("inf mm", "depth", RefusalCode.NO_NUMBER, "has no number in it"),
    ("-inf", "place", RefusalCode.NO_NUMBER, "has no number in it"),
    ("mm", "depth", RefusalCode.NO_NUMBER, "has no number in it"),
    ("1e400 mm", "depth", RefusalCode.EXPONENT, "Write the number out"),
    ("1e2 mm", "depth", RefusalCode.EXPONENT, "Write the number out"),
    ("1.5E-3", "depth", RefusalCode.EXPONENT, "Write the number out"),
    ("0x1F", "depth", RefusalCode.NUMBER_SHAPE, "not a number"),
    ("1_000", "depth", RefusalCode.NUMBER_SHAPE, "not a number"),
    ("1.5 ± 0.1 mm", "thickness", RefusalCode.UNCERTAINTY, "The value goes here alone"),
    ("1.5 +/- 0.1 mm", "thickness", RefusalCode.UNCERTAINTY, "The value goes here alone"),
    ("ca. 20 m", "distance", RefusalCode.APPROXIMATE, "says “about”"),
    ("~20 m", "distance", RefusalCode.APPROXIMATE, "says “about”"),
    ("about 20 m", "distance", RefusalCode.APPROXIMATE, "says “about”"),
    ("≥ 20 mm", "thickness", RefusalCode.BOUND, "is a limit"),
    ("< 20 mm", "depth", RefusalCode.UPPER_BOUND, "at most"),
    ("10-20 mm", "depth", RefusalCode.RANGE, "is a range"),
    ("10–20 mm", "depth", RefusalCode.RANGE, "is a range"),
    ("10 to 20 mm", "depth", RefusalCode.RANGE, "is a range"),
    ("1-3/2 in", "depth", RefusalCode.FRACTION, "not a fraction"),
    ("1/4-1/2 in", "depth", RefusalCode.RANGE, "is a range"),
    ("31 - 1/2 in", "depth", RefusalCode.RANGE, "is a range"),
    # the same place in feet, or five foot eleven: 18 cm apart, and taken without a question before
    ("5.11'", "arrow_length", RefusalCode.FEET_OR_INCHES, "“5.11'” could be 5' 11\" or 61.32 in. Type which."),
    ("5,5'", "arrow_length", RefusalCode.FEET_OR_INCHES, "could be 5' 5\" or 66 in. Type which."),
    ("-1.1'", "place", RefusalCode.FEET_OR_INCHES, "could be -1' 1\" or -13.2 in."),
    ("20+", "arrow_length", RefusalCode.BOUND, "“20+” is a limit. One number goes here."),
    ("20 mm+", "arrow_length", RefusalCode.BOUND, "is a limit"),
    (
        "31.5",
        "arrow_length",
        RefusalCode.TOO_LOW,
        (
            "“31.5” was read as 31.5\u00a0mm, and that is too low for an arrow’s length (100\u00a0mm to 2000\u00a0mm). Type a length, "
            "for example 790 mm or 31 in."
        ),
    ),
    ("800", "draw_length", RefusalCode.TOO_HIGH, "“800” was read as 800\u00a0in, and that is too high"),
    ("Rc 52", "thickness", RefusalCode.WRONG_KIND, "is a hardness"),
    ("1 277 gr", "arrow_mass", RefusalCode.TWO_NUMBERS, "more than one number"),
    ("5 lb 3 oz", "panel_mass", RefusalCode.TWO_NUMBERS, "more than one number"),
    ("5 ft 3 lb", "arrow_length", RefusalCode.TWO_NUMBERS, "more than one number"),
    ("5' 14\"", "arrow_length", RefusalCode.NUMBER_SHAPE, "not a number"),
    ("5' 12\"", "arrow_length", RefusalCode.NUMBER_SHAPE, "not a number"),
    ("1 2/2 in", "depth", RefusalCode.FRACTION, "not a fraction"),
    ("5' 1,234\"", "arrow_length", RefusalCode.AMBIGUOUS, "1.234 or 1234"),
    ("5' 10\"", "arrow_mass", RefusalCode.WRONG_KIND, "is a length"),
    ("1/0 in", "depth", RefusalCode.FRACTION, "not a fraction"),
    ("1 3/2 in", "depth", RefusalCode.FRACTION, "not a fraction"),
    ("½½", "depth", RefusalCode.NUMBER_SHAPE, "not a number"),
    ("2+3", "depth", RefusalCode.SUM, "is a sum"),
    ("(5)", "depth", RefusalCode.SUM, "is a sum"),
    ("3×4", "depth", RefusalCode.SUM, "is a sum"),
    ("5;", "depth", RefusalCode.NUMBER_SHAPE, "not a number"),
]


@pytest.mark.parametrize(("text", "kind", "reason", "says"), REFUSED, ids=[f"{r[0]!r} {r[1]}" for r in REFUSED])
def test_a_text_is_refused_with_its_reason_in_words(text: Any, kind: Any, reason: Any, says: Any) -> None:
    result = read(text, kind)
    assert isinstance(result, Refused), result
    assert result.reason_code is reason
    assert says in sentence(result)
    assert (result.expected, result.example) == (KINDS[kind].asks, KINDS[kind].example)


def test_a_refusal_keeps_its_parts() -> None:
    result = read("72.4 m", "arrow_mass")
    assert result == Refused("72.4 m", "a mass", "72.4 g or 1117 gr", RefusalCode.WRONG_KIND, detail="a length")
    assert read("1,234", "depth").readings == ("1.234", "1234")
    assert read("2 yd", "thickness").takes == ("mm", "cm", "in", "thou", "µm")


# What a units library made of typed text when it was tried, and what has to come of it here: an SI value, or a reason.
ONCE_MISREAD = [
    ("113 lb", "draw_weight", 502.649, "read as a mass"),
    ("113 pounds", "draw_weight", 502.649, "read as a mass"),
    ("113#", "draw_weight", 502.649, "read as 113 without a unit"),
    ("HRC 55", "thickness", RefusalCode.WRONG_KIND, "raised"),
    ("62 HB", "thickness", RefusalCode.WRONG_KIND, "raised"),
    ("16 ga", "thickness", RefusalCode.GAUGE, "raised"),
    ("1277 grn", "arrow_mass", 0.0827482, "raised"),
    ("178 FPS", "arrow_speed", 54.2544, "raised"),
    ("20 paces", "distance", RefusalCode.UNKNOWN_UNIT, "raised"),
    ("9 gpi", "arrow_mass", RefusalCode.UNKNOWN_UNIT, "raised"),
    ("1,5 mm", "thickness", 0.0015, "read as 15 mm"),
    ("1,277 gr", "arrow_mass", RefusalCode.AMBIGUOUS, "read as 1277"),
    ("1.277,5 gr", "arrow_mass", RefusalCode.AMBIGUOUS, "read as 1.2775"),
    ("\u22125 mm", "place", -0.005, "read as +5"),
    ("½ in", "depth", 0.0127, "raised"),
    ("1½ in", "depth", 0.0381, "read as 1 in"),
    ("1 1/2 in", "depth", 0.0381, "read as 0.5 in"),
    ("5' 10\"", "arrow_length", 1.778, "read as 50 without a unit"),
    ("5 ft 10 in", "arrow_length", 1.778, "read as 50 ft in"),
    ("1.5 ± 0.1 mm", "thickness", RefusalCode.UNCERTAINTY, "read as 0.15 mm"),
    ("75 ftlb", "energy", 101.686346, "read as femto-troy-pounds"),
    ("75 ft·lb", "energy", 101.686346, "read as feet times mass"),
    ("30 C", "temperature", 303.15, "read as coulombs"),
    ("86 F", "temperature", 303.15, "read as farads"),
    ("10 mil", "thickness", RefusalCode.UNKNOWN_UNIT, "read as an angle"),
    ("54 ms", "arrow_speed", RefusalCode.WRONG_KIND, "read as milliseconds, right, where m/s was meant"),
    ("ca. 20 m", "distance", RefusalCode.APPROXIMATE, "read as centiyears times metres"),
    ("nan mm", "depth", RefusalCode.NO_NUMBER, "read as nan"),
    ("inf mm", "depth", RefusalCode.NO_NUMBER, "read as infinite"),
    ("1e400 mm", "depth", RefusalCode.EXPONENT, "read as infinite"),
    ("bad", "depth", RefusalCode.NO_NUMBER, "raised whatever came"),
    ("5\0 mm", "depth", RefusalCode.CHARACTER, "left out in silence"),
    ("5; mm", "depth", RefusalCode.NUMBER_SHAPE, "left out in silence"),
    ("5\n mm", "depth", RefusalCode.CHARACTER, "left out in silence"),
    ("5🎯 mm", "depth", RefusalCode.CHARACTER, "left out in silence"),
]


@pytest.mark.parametrize(("text", "kind", "expected", "once"), ONCE_MISREAD, ids=[repr(r[0]) for r in ONCE_MISREAD])
def test_what_a_units_library_misread_is_read_right_or_refused(text: Any, kind: Any, expected: Any, once: Any) -> None:
    result = read(text, kind)
    if isinstance(expected, RefusalCode):
        assert isinstance(result, Refused) and result.reason_code is expected
    else:
        assert result.value_si == pytest.approx(expected, rel=1e-5)


HOSTILE = [
    "1**9**9**9",
    "9**9**9",
    "9**9**9 mm",
    "9**99999999",
    "2**2**2**2**2**2",
    "9^9^9^9",
    "mm**9**9**9",
    "9" * 100_000,
    "m" * 100_000,
    "1" + " " * 100_000 + "mm",
    "(" * 40,
    "1+" * 20,
    "__import__('os').system('ls')",
    "().__class__.__bases__",
    "open('/etc/passwd')",
    "lambda: 1",
    "5 mm\0",
    "5\n6 mm",
    "5\t mm",
    "5\rmm",
    "\u202e5 mm",
    "\u200f5 mm",
    "5\u200b mm",
    "\ufeff5 mm",
    "５ mm",  # full-width digit
    "٥ mm",  # Arabic-Indic digit
    "5²",
    "\ud800",
    "e\u0301" * 20,
    "<script>alert(1)</script>",
    "'; DROP TABLE shot; --",
    "{found.__class__}",
    "5 {0} mm",
    "%s%n 5",
]


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_text_is_refused_in_words(text: Any) -> None:
    for result in (read(text, "depth"), read(text, "count"), read_weight_at_draw(text), read_at_least(text, "depth"), read_hardness(text)):
        assert isinstance(result, Refused)
        message = sentence(result)
        assert len(message) < 250
        assert message.isprintable() or "\u00a0" in message
        message.encode("utf-8")


def test_the_hidden_character_is_named() -> None:
    assert "a hidden character (U+202E)" in sentence(read("\u202e5 mm", "depth"))
    assert "has a line break in it" in sentence(read("5\n6", "depth"))
    assert "has a NUL in it" in sentence(read("5\0", "depth"))
    assert "has “５” in it" in sentence(read("５", "depth"))
    assert read("\u202e5 mm", "depth").found == "�5 mm"


def test_a_hundred_thousand_digits_are_refused_at_once() -> None:
    text = "9" * 100_000
    spent = []
    for _ in range(20):
        started = time.perf_counter()
        read(text, "depth")
        spent.append(time.perf_counter() - started)
    assert min(spent) < 0.001


ALPHABET = st.sampled_from(list("0123456789.,-+/'\"#@°½±≥~ eEmgrlbtoxnaif\u00a0\u2212*()\n\u202e"))
ANY_TEXT = st.one_of(st.text(), st.text(ALPHABET, max_size=45))


@given(text=ANY_TEXT, kind=st.sampled_from(sorted(KINDS)))
def test_no_text_raises_and_every_text_has_an_answer_soon(text: Any, kind: Any) -> None:
    warm_units()
    started = time.perf_counter()
    results = (read(text, kind), read_at_least(text, kind), read_weight_at_draw(text), read_hardness(text))
    assert time.perf_counter() - started < 0.1
    for result in results:
        if isinstance(result, Refused):
            assert sentence(result)
    first = results[0]
    if isinstance(first, Read):
        low, high = KINDS[kind].possible
        slack = 1e-9 * max(abs(low), abs(high))
        assert low - slack <= first.value_si <= high + slack
        assert first.typed == text


@pytest.mark.parametrize("text", ["1" + "a" * 39, "1 " * 20, "½" * 40, "1/" * 20, "a 1" * 13, "-" * 40, "," * 40])
def test_the_longest_texts_that_make_a_pattern_look_back_are_quick(text: str) -> None:
    started = time.perf_counter()
    read(text, "depth")
    assert time.perf_counter() - started < 0.05


def _in_figures(value: float) -> str:
    return format(Decimal(repr(value)), "f")


@st.composite
def quantities(draw: Any) -> Any:
    """A kind, one of its units, and a number of four figures that is possible in it."""
    kind = KINDS[draw(st.sampled_from(sorted(k for k in KINDS if not KINDS[k].whole and not KINDS[k].difference)))]
    unit = draw(st.sampled_from(kind.entry_units.units))
    low, high = kind.possible
    share = draw(st.floats(0.001, 0.999))
    number = float(f"{from_si(low + share * (high - low), unit):.4g}")
    return kind, unit, number


@given(quantities())
def test_text_to_value_to_text_is_the_same_text(quantity: Any) -> None:
    kind, unit, number = quantity
    for text in (with_unit(plainly(number, figures=9), unit), f"{_in_figures(number)} {unit}"):
        first = read(text, kind)
        assume(not (isinstance(first, Refused) and first.reason_code in {RefusalCode.TOO_HIGH, RefusalCode.TOO_LOW}))
        again = written(first.value_si, unit, figures=9)
        assert again == with_unit(plainly(number, figures=9), unit)
        second = read(again, kind)
        assert second.value_si == first.value_si
        assert second.unit == first.unit == unit


@given(quantities())
def test_a_decimal_comma_reads_as_a_decimal_point_or_is_ambiguous(quantity: Any) -> None:
    kind, unit, number = quantity
    text = f"{_in_figures(number)} {unit}"
    with_comma = read(text.replace(".", ","), kind)
    if isinstance(with_comma, Refused) and with_comma.reason_code is RefusalCode.AMBIGUOUS:
        return
    with_point = read(text, kind)
    assert type(with_comma) is type(with_point)
    if isinstance(with_point, Read):
        assert with_comma.value_si == with_point.value_si


@given(quantities(), st.data())
def test_the_value_does_not_depend_on_the_unit_typed(quantity: Any, data: st.DataObject) -> None:
    kind, unit, number = quantity
    first = read(f"{_in_figures(number)} {unit}", kind)
    assume(isinstance(first, Read))
    other = data.draw(st.sampled_from(kind.entry_units.units))
    text = f"{_in_figures(from_si(first.value_si, other))} {other}"
    second = read(text, kind)
    assert isinstance(second, Read), (text, second)
    assert second.value_si == pytest.approx(first.value_si, rel=1e-12, abs=1e-12)
    assert bool(second.warnings) == bool(first.warnings)


@given(quantities())
def test_a_bare_number_takes_the_unit_that_the_field_shows(quantity: Any) -> None:
    kind, unit, number = quantity
    bare, said = read(_in_figures(number), kind, unit=unit), read(f"{_in_figures(number)} {unit}", kind)
    assert type(bare) is type(said)
    if isinstance(bare, Read):
        assert (bare.value_si, bare.unit) == (said.value_si, said.unit)


def test_a_field_shown_in_a_unit_of_something_else_is_our_slip() -> None:
    with pytest.raises(ValueError, match="arrow_mass"):
        read("5", "arrow_mass", unit="mm")


def test_a_kind_may_be_given_by_name_or_itself() -> None:
    assert read("20 mm", "depth") == read("20 mm", KINDS["depth"])
    with pytest.raises(KeyError):
        read("20 mm", "no such kind")


@pytest.mark.parametrize("text", ["", " ", "\u00a0", "   \u202f "])
def test_nothing_typed_is_an_answer_of_its_own(text: str) -> None:
    for result in (read(text, "depth"), read_weight_at_draw(text), read_at_least(text, "depth"), read_hardness(text)):
        assert result == Empty(text)


def test_an_unlikely_value_is_kept_with_a_warning() -> None:
    heavy = read("185 g", "arrow_mass")
    assert heavy.value_si == 0.185
    assert heavy.warnings == ("185\u00a0g is unusual for an arrow’s mass (20\u00a0g to 150\u00a0g is usual). Look again.",)
    light = read("10 g", "arrow_mass")
    assert len(light.warnings) == 1


@pytest.mark.parametrize(
    ("text", "kind"),
    [("0.3 mm", "thickness"), ("5 mm", "thickness"), ("150 g", "arrow_mass"), ("40 °C", "temperature"), ("104 °F", "temperature")],
)
def test_the_ends_of_the_usual_range_are_usual(text: str, kind: str) -> None:
    assert read(text, kind).warnings == ()


@pytest.mark.parametrize(
    ("text", "kind"), [("150 m/s", "arrow_speed"), ("500 g", "arrow_mass"), ("60 °C", "temperature"), ("-60 °C", "temperature")]
)
def test_the_end_of_the_possible_range_is_possible(text: str, kind: str) -> None:
    assert isinstance(read(text, kind), Read)


@pytest.mark.parametrize("text", ["-0 mm", "-0' 0\""])
def test_minus_nothing_is_nothing(text: str) -> None:
    # feet are put together in floats, where -0 is a number of its own and prints as such
    result = read(text, "place")
    assert (str(result.value_si), str(result.number)) == ("0.0", "0.0")


def test_typed_text_never_reaches_the_units_library(monkeypatch: pytest.MonkeyPatch) -> None:
    import pint

    warm_units()

    def never(*_: Any, **__: Any) -> None:
        raise AssertionError("text reached pint")

    for name in ("parse_expression", "parse_units", "parse_unit_name", "Quantity", "Unit"):
        monkeypatch.setattr(pint.UnitRegistry, name, never)
    monkeypatch.setattr(pint.Quantity, "__new__", never)
    for text, kind, *_ in GOOD + REFUSED:
        read(text, kind)
    for text in HOSTILE:
        read(text, "depth")
        read_weight_at_draw(text)
        read_at_least(text, "depth")
        read_hardness(text)
    for text, kind, *_ in GOOD:
        assert isinstance(read(text, kind), Read)
