"""A shot's page: where its energy comes from, what was read, who said what; correcting, crossing out, deciding."""

import re

import pytest
from proofyard.records import listing
from proofyard.records.speed import SpeedReading
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit

HOSTILE = "<img src=x onerror=alert(1)>"


def filled(page: str, action: str, nth: int = 1) -> dict[str, str]:
    """The hidden fields of the nth form that posts there."""
    form = page.split(f'action="{action}"')[nth].split("</form>")[0]
    return dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form))


def all_fields(page: str, action: str) -> dict[str, str | list[str]]:
    """Everything a browser would send of that form, as it stands."""
    form = page.split(f'action="{action}"')[1].split("</form>")[0]
    sent: dict[str, str | list[str]] = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form))
    for name, value in re.findall(r'<input class="field__input" id="[^"]+" name="([^"]+)" type="text"[^>]*? value="([^"]*)"', form):
        sent[name] = value.replace("&#34;", '"')
    for name, value in re.findall(r'<textarea[^>]* name="([^"]+)"[^>]*>([^<]*)</textarea>', form):
        sent[name] = value.replace("\n", "\r\n")
    for name, inside in re.findall(r'<select[^>]* name="([^"]+)"[^>]*>(.*?)</select>', form, flags=re.DOTALL):
        picked = re.search(r'value="([^"]*)" selected', inside)
        sent[name] = picked.group(1) if picked else ""
    for kind, name, value in re.findall(r'type="(checkbox|radio)" name="([^"]+)" value="([^"]+)" checked', form):
        sent[name] = value if kind == "radio" else [*sent.get(name, []), value]
    for name in re.findall(r'id="[^"]+" name="([^"]+)" type="checkbox" value="yes" checked', form):
        sent[name] = "yes"
    return sent


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    return kit.yard(book)


def measured(book: Storage, yard: kit.Yard, **read: str) -> str:
    """One shot with its own speed, on a set-up that names its chronograph, of an arrow weighed on a known scale."""
    tool, scale = kit.chronograph(book), kit.scale(book, accuracy="0.1 g", accuracy_means="limit")
    arrow = kit.arrow(book, masses=())
    kit.mass_reading(book, arrow.build, "80.1 g", instrument=scale)
    there = kit.shooting_end(book, kit.setup(book, yard.session, yard.panel.build, chronograph=tool, chronograph_at="2 m"))
    loosed = kit.shot(book, yard, label="A8", shooting_end_id=there, arrow_build=arrow.build)
    kit.shot_speed(book, loosed, "52,6")
    return kit.reading(book, loosed, **read)


def test_the_heading_says_energy_uncertainty_and_what_happened(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    loosed = measured(book, yard, outcome_low="4", depth="31 mm", depth_method="mark_and_pull", x="52 mm", y="42 mm")
    page = archer.get(f"/shots/{loosed}").text
    heading = re.search(r'<p class="shot__finding">(.*?)</p>', page).group(1)
    # 0.0801 kg at 52.6 m/s: half of 0.0801 × 52.6² is 110.81 J
    assert re.fullmatch(
        (
            r'A8 had <a href="/methods/of/kinetic_energy_j">110\.8\d?\xa0J</a> ± 0\.\d+ at the chronograph, and put its point '
            r"31\xa0mm through the plate( \(4\))?\."
        ),
        heading,
    )
    assert "Energy at the chronograph" in page and "read on this shot" in page
    assert "At the target: not known." in page and "how thick the shaft" in page
    assert "Tip to widest is 60\u00a0mm, so the outcome level fits." in page
    assert "52 mm right, 42 mm up from the middle" in page
    assert "52.6\u00a0m/s" in page and "typed as" not in page, "a comma is no other unit"


def test_an_archers_units_are_kept_to(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    loosed = measured(book, yard)
    archer.cookies.set("units", "imperial", domain="127.0.0.1")
    page = archer.get(f"/shots/{loosed}").text
    # 110.81 J / 1.3558179 J per ft·lbf = 81.73
    assert "81.7" in page and "ft·lbf" in page


def test_what_was_not_measured_is_not_guessed(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    page = archer.get(f"/shots/{kit.read_shot(book, yard, outcome_low='2')}").text
    assert "energy not measured; it dented the plate" in page
    assert "Nothing is guessed" in page and "No speed was read" in page


@pytest.mark.parametrize(
    ("read", "said"),
    [
        ({"outcome_low": "4", "depth": "75 mm"}, "then the head’s widest part passed too"),
        ({"outcome_low": "5", "depth": "20 mm"}, "then the widest part did not pass"),
        ({"outcome_low": "3", "depth": "20 mm"}, "says that no point came through"),
    ],
)
def test_an_outcome_level_that_contradicts_its_depth_is_named(
    archer: TestClient, book: Storage, yard: kit.Yard, read: dict[str, str], said: str
) -> None:
    page = archer.get(f"/shots/{kit.read_shot(book, yard, **read)}").text
    assert "Outcome and depth disagree." in page and said in page


def test_a_correction_keeps_what_was_said(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    loosed = measured(book, yard, outcome_low="3", note="crack seen")
    action = f"/shots/{loosed}/correct"
    sent = all_fields(archer.get(action).text, action)
    sent |= {"reading-outcome_low": "4", "reading-outcome_high": "4", "reading-depth": "≥ 20", "reason": "Tip felt with a finger."}
    assert archer.post(action, data=sent).status_code == 303
    row = kit.row(book, "shot_reading", loosed)
    assert (row.outcome_low, row.depth_m, row.depth_bound, row.note) == ("4", pytest.approx(0.02), "at_least", "crack seen")
    assert kit.row(book, "shot", loosed).rev == 1, "what was left alone made no revision"
    page = archer.get(f"/shots/{loosed}").text
    assert '<s><span class="tools-unseen">was </span>Opened (3)</s>' in page
    assert "“Tip felt with a finger.”" in page and "Revision 2, Wren" in page
    assert page.index("Revision 2, Wren") < page.rindex("Revision 1, ")


def test_two_phones_corrections_of_different_fields_merge(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    loosed = kit.read_shot(book, yard, outcome_low="3", x="0", y="0")
    action = f"/shots/{loosed}/correct"
    sent = all_fields(archer.get(action).text, action)
    kit.put(book, "shot_reading", {"entry": "ridge"}, record_id=loosed, base_rev=1)
    assert archer.post(action, data=sent | {"reading-damage": "a 9 mm hole"}).status_code == 303
    row = kit.row(book, "shot_reading", loosed)
    assert (row.entry, row.damage) == ("ridge", "a 9 mm hole")
    assert "Two values for" not in archer.get(f"/shots/{loosed}").text


def test_two_phones_that_differ_are_asked_to_choose_and_the_choice_is_kept(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    loosed = kit.read_shot(book, yard, outcome_low="3")
    kit.put(book, "shot_reading", {"depth": "12 mm"}, record_id=loosed, base_rev=1)
    answer = kit.ask(book, "shot_reading", {"depth": "14,5"}, record_id=loosed, base_rev=1)
    assert answer.status == "clash"
    page = archer.get(f"/shots/{loosed}").text
    assert "Two values for" in page and "12\u00a0mm" in page and "14.5\u00a0mm" in page
    assert "Two different values" in archer.get("/notebook").text
    action = re.search(rf'action="(/shots/{loosed}/clashes/[^"]+)"', page).group(1)
    assert archer.post(action, data=filled(page, action)).status_code == 422
    assert archer.post(action, data=filled(page, action) | {"choice": "offered"}).status_code == 303
    assert kit.row(book, "shot_reading", loosed).depth_m == pytest.approx(0.0145)
    page = archer.get(f"/shots/{loosed}").text
    assert "Two values for" not in page and "“two different values”" in page
    assert archer.post(action, data={"choice": "stands"}).status_code == 409


def test_a_wrong_correction_is_given_back_as_typed(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    loosed = kit.read_shot(book, yard, outcome_low="3")
    action = f"/shots/{loosed}/correct"
    sent = all_fields(archer.get(action).text, action)
    wrong = archer.post(
        action, data=sent | {"reading-depth": "1,234", "reading-damage": "two rings", "speed-value": "16 ga", "note": "late"}
    )
    assert wrong.status_code == 422
    for kept in ('value="1,234"', 'value="two rings"', 'value="16 ga"', ">late</textarea>"):
        assert kept in wrong.text
    assert 'id="reading-depth-error"' in wrong.text and 'id="speed-value-error"' in wrong.text
    assert kit.row(book, "shot", loosed).note is None, "all of it or nothing"


def test_a_speed_is_added_once_however_often_it_is_sent(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    loosed = kit.read_shot(book, yard, outcome_low="3")
    action = f"/shots/{loosed}/correct"
    sent = all_fields(archer.get(action).text, action) | {"speed-value": "51.2"}
    for _ in range(2):
        assert archer.post(action, data=sent).status_code == 303
    with book.read() as session:
        (speed,) = listing.belonging(session, SpeedReading, "shot_id", loosed)
    assert speed.value_m_s == pytest.approx(51.2)


def test_only_the_entries_that_the_construction_has_are_offered(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book, construction="mail")
    page = archer.get(f"/shots/{kit.read_shot(book, yard, outcome_low='3')}/correct").text
    assert "Through a ring" in page and "Lace hole" not in page


def test_a_crossed_out_shot_is_shown_as_one_counted_nowhere_and_can_be_taken_back(
    archer: TestClient, book: Storage, yard: kit.Yard
) -> None:
    loosed = kit.read_shot(book, yard, outcome_low="3", x="0", y="0")
    action = f"/shots/{loosed}/cross-out"
    page = archer.get(f"/shots/{loosed}").text
    refused = archer.post(action, data=filled(page, action))
    assert refused.status_code == 422 and "Enter the reason in a few words" in refused.text
    sent = filled(refused.text, action) | {"reason": "wrong arrow picked"}
    for _ in range(2):
        assert archer.post(action, data=sent).status_code == 303
    page = archer.get(f"/shots/{loosed}").text
    assert "no energy is worked out for it" in page and "energy not measured" not in page
    assert "Crossed out." in page and "<h1><s>Shot " in page and "wrong arrow picked" in page and "Correct this shot" not in page
    trial = archer.get(f"/trials/{yard.trial}").text
    assert "row--voided" in trial and "No shots yet" in trial
    assert archer.post(action, data=filled(page, action) | {"reason": "it was right"}).status_code == 303
    page = archer.get(f"/shots/{loosed}").text
    assert "<h1><s>" not in page and "“it was right”" in page


def test_a_corrected_archer_is_told_by_name_not_by_id(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    loosed = kit.read_shot(book, yard, outcome_low="3")
    other = kit.archer(book, "Tallow")
    kit.put(book, "shot", {"archer": other}, record_id=loosed, base_rev=1, reason="wrong archer picked")
    page = archer.get(f"/shots/{loosed}").text
    assert "now </span>Tallow</span>" in page
    assert other not in page and yard.archer not in page


def test_hostile_words_are_shown_as_words(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    loosed = kit.read_shot(book, yard, outcome_low="3", damage=HOSTILE, note=HOSTILE, why=HOSTILE)
    kit.void(book, "shot", loosed, HOSTILE)
    for path in (f"/shots/{loosed}", f"/shots/{loosed}/correct", "/notebook", f"/trials/{yard.trial}", f"/panels/{yard.panel.build}"):
        page = archer.get(path).text
        assert HOSTILE not in page, path


def test_a_viewer_of_one_trial_sees_that_trial_only(house: object, book: Storage, viewer: TestClient) -> None:
    mine, other = kit.yard(book), kit.yard(book, question="The other question?")
    loosed, hidden = kit.read_shot(book, mine, x="0", y="0"), kit.read_shot(book, other)
    there = kit.shooting_end(book, kit.setup(book, mine.session, other.panel.build))
    shared = kit.reading(book, kit.shot(book, mine, shooting_end_id=there), x="50 mm", y="0")
    from proofyard.records.book import Device
    from sqlalchemy import update

    with book.write() as session:
        session.execute(update(Device).where(Device.id == house.device_ids["viewer"]).values(trial_id=mine.trial))
    for path in (
        f"/trials/{mine.trial}",
        f"/sessions/{mine.session}",
        f"/shots/{loosed}",
        f"/panels/{mine.panel.build}",
        f"/arrows/{mine.arrow.arrow}",
    ):
        assert viewer.get(path).status_code == 200, path
    for path in (f"/trials/{other.trial}", f"/sessions/{other.session}", f"/shots/{hidden}", "/notebook"):
        assert viewer.get(path).status_code in (403, 404), path
    assert viewer.get(f"/arrows/{other.arrow.arrow}").status_code == 404
    listed = viewer.get("/trials").text
    assert mine.trial in listed and "The other question?" not in listed
    page = viewer.get(f"/panels/{other.panel.build}").text
    assert shared in page and hidden not in page
    assert hidden not in viewer.get(f"/trials/{mine.trial}").text


def test_a_shot_is_moved_to_another_panel_or_end_by_correction(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    loosed, beside = kit.shot(book, yard, label="A8", position="2"), kit.shot(book, yard, label="A9", position="3")
    there = kit.setup(book, yard.session, kit.panel(book, "P5").build, distance="20 m")
    action = f"/shots/{loosed}/correct"
    page = archer.get(action).text
    sent = all_fields(page, action)
    assert sent["shooting_end"] == yard.shooting_end and "end with A8, A9" in page
    assert archer.post(action, data=sent | {"shooting_end": f"new:{there}", "reason": "Logged to the wrong panel."}).status_code == 303
    row = kit.row(book, "shot", loosed)
    end = kit.row(book, "shooting_end", row.shooting_end_id)
    assert (end.setup_id, row.position) == (there, None) and end.at_butt_at == row.loosed_at
    # Its own end is one that others can be moved to.
    action = f"/shots/{beside}/correct"
    sent = all_fields(archer.get(action).text, action) | {"shooting_end": row.shooting_end_id, "position": "2", "reason": "The same."}
    assert archer.post(action, data=sent).status_code == 303
    assert (kit.row(book, "shot", beside).shooting_end_id, kit.row(book, "shot", beside).position) == (row.shooting_end_id, 2)
    # A set-up that is not in the book is refused in words, and nothing is begun for it.
    wrong = archer.post(action, data=sent | {"shooting_end": "new:nowhere"})
    assert wrong.status_code == 422
