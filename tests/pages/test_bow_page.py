"""A bow build's page: stored energy, efficiency, virtual mass or why there is none, speeds to expect, its days."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from proofyard.records import listing
from proofyard.records.bow import DrawPoint
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.drawn_forms import forms_of, send
from tests.pages.test_kit_forms import error_by

LINES = "160 mm 0 N\n300 mm 150 N\n450 mm 260 N\n600 mm 360 N\n750 mm 480 N"
# Trapezia by hand: 0.14 x 75 + 0.15 x (205 + 310 + 420) = 10.5 + 140.25
STORED_J = 150.75


def text_of(client: TestClient, address: str) -> str:
    reply = client.get(address)
    assert reply.status_code == 200, reply.text
    return reply.text.replace("\u00a0", " ")


@pytest.fixture
def bow(book: Storage) -> Any:
    return kit.bow(book, "Ash stave", draw_from="back")


@pytest.fixture
def page(bow: Any) -> str:
    return f"/bows/{bow.build}"


def shoot(book: Storage, bow: Any, arrows: dict[str, tuple[str, tuple[str, ...]]], *, archer: str, **more: Any) -> list[str]:
    """An arrow a tag, weighed on a good scale and shot; gives the combinations."""
    scale = kit.scale(book, accuracy="0.05 g", accuracy_means="standard")
    tool = kit.chronograph(book, **more)
    made = []
    for tag, (mass, speeds) in arrows.items():
        arrow = kit.arrow(book, tag, masses=())
        kit.mass_reading(book, arrow.build, mass, instrument=scale)
        three = kit.Combination(bow.build, arrow.build, archer)
        kit.speeds(book, three, *speeds, instrument_id=tool)
        made.append(kit.combination(book, three))
    return made


# Speeds of a bow with E = 75 J and K = 12 g: v = sqrt(2 x 75/(m + 0.012))
MADE = {
    tag: (f"{mass} g", tuple(f"{math.sqrt(150 / (mass / 1000 + 0.012)) + off:.3f} m/s" for off in (-0.1, 0.0, 0.1)))
    for tag, mass in (("L", 40), ("M", 55), ("H", 75))
}


def test_a_build_without_points_says_what_it_needs_and_shows_no_energy(owner: TestClient, page: str) -> None:
    text = text_of(owner, page)
    assert "Stored energy unknown." in text and "No force was read yet." in text and " J ±" not in text


def test_pasted_lines_become_a_curve_with_its_energy_and_its_fullness(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    tool = kit.instrument(book, "Bow scale", "bow_scale", accuracy="2 N", accuracy_means="standard", resolution="1 N")
    assert send(owner, page, f"{page}/points", pasted=LINES, instrument=tool).status_code == 303
    text = text_of(owner, page)
    # Draws of 3 mm: 0.003 x hypot(130, 105, 110, 75, 420) = 1.41 J; the zero: 2 N x 0.59 m = 1.18 J; bent curve: 0.40 J.
    assert "150.8 J ± 1.9" in text
    # W/(F x) = 150.75/(480 x 0.59)
    assert f"{STORED_J / (480 * 0.59):.3f}" in text and "590 mm" in text and "480 N" in text
    assert "the same for all points" in text and "force-draw-title" in text


def test_without_the_bow_scales_accuracy_the_energy_stands_alone_and_says_so(owner: TestClient, page: str) -> None:
    send(owner, page, f"{page}/points", pasted=LINES)
    text = text_of(owner, page)
    assert "151 J" in text and "151 J ±" not in text and "the bow scale’s accuracy is not recorded" in text


def test_every_fault_is_said_by_its_line_and_nothing_is_kept(owner: TestClient, book: Storage, page: str) -> None:
    pasted = "160 mm 0 N\nthe second\n20 kg 95 lbf\n28 in 95 g"
    reply = send(owner, page, f"{page}/points", pasted=pasted)
    said = error_by(reply.text, "pasted")
    assert reply.status_code == 422 and all(f"Line {n}" in said for n in (2, 3, 4)) and "Line 1" not in said
    assert forms_of(reply.text)[f"{page}/points"]["pasted"] == pasted
    with book.read() as session:
        assert listing.all_of(session, DrawPoint) == []


def test_the_brace_height_stands_for_the_string_at_rest_and_is_named(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    kit.put(book, "bow_build", {"brace_height": "160 mm"}, record_id=bow.build, base_rev=1)
    send(owner, page, f"{page}/points", pasted="\n".join(LINES.splitlines()[1:]))
    text = text_of(owner, page)
    assert "151 J" in text and "taken from the brace height, 160 mm" in text and "brace height, no force" in text


def test_without_a_resting_string_there_is_no_energy(owner: TestClient, page: str) -> None:
    send(owner, page, f"{page}/points", pasted="\n".join(LINES.splitlines()[1:]))
    assert "It isn’t known where the string rests" in text_of(owner, page)


def test_energy_is_counted_to_the_archers_own_draw(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    archer = kit.archer(book, "Wren", draw_length="675 mm")
    shoot(book, bow, {"L": MADE["L"]}, archer=archer)
    send(owner, page, f"{page}/points", pasted=LINES)
    # To 675 mm: the last trapezium is 0.075 x (360 + 420)/2 = 29.25 J instead of 63 J.
    text = text_of(owner, page)
    assert "117 J" in text and "Wren’s draw to the back of the bow" in text and "151 J at 750 mm" in text
    kit.put(book, "archer", {"draw_length": "800 mm"}, record_id=archer, base_rev=1)
    assert "The points end before that draw" in text_of(owner, page)


def test_efficiency_and_virtual_mass_are_those_the_speeds_were_made_from(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    shoot(book, bow, MADE, archer=kit.archer(book, "Wren"))
    send(owner, page, f"{page}/points", pasted=LINES)
    text = text_of(owner, page)
    found = re.search(r"Virtual mass ([\d.]+) g ± ([\d.]+), from 3 arrows", text)
    assert found and abs(float(found[1]) - 12) < 2 * float(found[2]) + 0.2
    # Heaviest: 75 J x 75/(75 + 12) = 64.66 J of 150.75 J
    assert "42.9" in text and "gpp" in text and "speed-mass-title" in text
    assert "rest on three readings or fewer" in text


def test_speed_of_an_arrow_not_shot_yet_says_inside_or_outside(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    shoot(book, bow, MADE, archer=kit.archer(book, "Wren"))
    inside, outside = text_of(owner, f"{page}?mass=60+g"), text_of(owner, f"{page}?mass=1300+gr")
    file = owner.get(f"{page}/drawings/speeds.svg?mass=60+g")
    assert (
        file.status_code == 200
        and "Expected of" in file.text
        and f'href="{page}/drawings/speeds.svg?mass=60+g"' in owner.get(f"{page}?mass=60+g").text
    )
    assert owner.get(f"{page}/drawings/force-draw.svg").status_code == 404, "no force was read"
    # sqrt(150/0.072) = 45.64 m/s
    assert re.search(r"Speed to expect</dt><dd>45\.6\d* m/s ±", inside) and "inside the masses that were shot" in inside
    assert "an extrapolation" in outside
    assert "too far to say" in text_of(owner, f"{page}?mass=200+g")
    wrong = owner.get(f"{page}?mass=60+lbf")
    assert wrong.status_code == 422 and "is a force" in error_by(wrong.text, "mass") and 'value="60 lbf"' in wrong.text


def test_arrows_too_alike_are_drawn_and_refused_with_the_reason(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    alike = {"A": ("52.0 g", ("50.1", "50.2", "50.3")), "B": ("53.0 g", ("49.8", "49.9", "50.0"))}
    shoot(book, bow, alike, archer=kit.archer(book, "Wren"))
    text = text_of(owner, page)
    assert "No virtual mass: the arrows are too alike: their masses lie within a tenth of each other." in text
    assert "speed-mass-title" in text and "What speed?" not in text and "chart__trace" not in text


def test_one_archers_arrows_at_a_time(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    wren, tallow = kit.archer(book, "Wren"), kit.archer(book, "Tallow")
    shoot(book, bow, MADE, archer=wren)
    shoot(book, bow, {"T": MADE["M"]}, archer=tallow)
    first, other = text_of(owner, page), text_of(owner, f"{page}?archer={tallow}")
    assert "shot by Wren" in first and "L, build 1" in first and "T, build 1" not in first
    assert "shot by Tallow" in other and "T, build 1" in other and "L, build 1" not in other


def test_a_light_arrow_is_a_caution(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    """40 g = 617 gr over 480 N = 107.9 lbf: 5.7 gpp."""
    shoot(book, bow, {"L": MADE["L"]}, archer=kit.archer(book, "Wren"))
    send(owner, page, f"{page}/points", pasted=LINES)
    text = text_of(owner, page)
    assert "Light for this bow." in text and "5.72" in text and "What your bow’s maker says comes first" in text


def test_a_drift_within_a_day_is_told_with_what_it_means_for_speed(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    wren = kit.archer(book, "Wren")
    for n, (weight, heat) in enumerate((("500 N", "12 °C"), ("490 N", "15 °C"))):
        body = {"bow_build": bow.build, "archer": wren, "weight": weight, "draw": "750 mm", "temperature": heat}
        kit.put(book, "bow_check", {**body, "at": kit.BEGAN + n * 3_600_000, "arrows_since": str(40 * n)})
    text = text_of(owner, page)
    # sqrt(490/500) = 0.98995: 1.0 % less
    assert "500 N, then 490 N, −2 %" in text and "12 °C, then 15 °C" in text and "speed: −1 %" in text.replace("−1.0", "−1")
    assert "stands in for none" in text


def test_two_draws_tell_no_drift(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    wren = kit.archer(book, "Wren")
    for n, draw in enumerate(("750 mm", "765 mm")):
        body = {"bow_build": bow.build, "archer": wren, "weight": "500 N", "draw": draw, "at": kit.BEGAN + n * 1000}
        kit.put(book, "bow_check", body)
    assert "No drift can be told: they were read at different draws." in text_of(owner, page)


def test_short_draws_are_listed_with_their_own_speed_or_none(owner: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    short = kit.shot(book, yard, label="A7", short_draw="yes")
    kit.shot(book, yard, label="A8")
    text = text_of(owner, f"/bows/{yard.bow.build}")
    assert f"/shots/{short}" in text and "A8" not in text and "speed not read" in text
    kit.shot_speed(book, short, "48 m/s")
    assert "48 m/s" in text_of(owner, f"/bows/{yard.bow.build}")


def test_a_reader_of_archery_units_gets_them(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    shoot(book, bow, MADE, archer=kit.archer(book, "Wren"))
    send(owner, page, f"{page}/points", pasted=LINES)
    owner.cookies.set("units", "imperial")
    text = text_of(owner, page)
    assert "111 ft·lbf" in text and "Arrow mass, gr" in text and "Force, lbf" in text and "Speed, ft/s" in text


def test_the_bows_page_and_the_combinations_lead_here(owner: TestClient, book: Storage, bow: Any, page: str) -> None:
    (combination,) = shoot(book, bow, {"L": MADE["L"]}, archer=kit.archer(book, "Wren"))
    assert f'href="{page}"' in text_of(owner, f"/kit/bow/{bow.bow}")
    assert f'href="{page}"' in text_of(owner, f"/combinations/{combination}")


def test_a_viewer_looks_and_adds_nothing(viewer: TestClient, book: Storage, bow: Any, page: str) -> None:
    text = text_of(viewer, page)
    assert "Add these points" not in text
    assert viewer.post(f"{page}/points", data={"pasted": LINES}).status_code == 403


def test_a_build_that_is_not_there_is_not_found(owner: TestClient) -> None:
    from proofyard.records.ids import new_id

    assert owner.get(f"/bows/{new_id()}").status_code == 404
