"""The macros and the frame, rendered: every part in every state is read as a browser would read it."""

import re
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import Any

import pytest
from fastapi import FastAPI, Request
from fastapi.testclient import TestClient
from proofyard.access.seats import Seat
from proofyard.pages.frame import failures
from proofyard.pages.frame.assets import assets_router
from proofyard.pages.frame.forms import Change, Column, FieldState, Option, Wrong, as_options, chosen_values
from proofyard.pages.frame.rendering import (
    BOOK_PLACES,
    RANGE_PLACES,
    Frame,
    assets,
    environment,
    frame_for,
    html,
    own_path,
    part,
    render,
    render_part,
    wants_part,
)
from proofyard.pages.parts import page as parts
from proofyard.shots.shot_energy import StepTold

from tests.contract.test_templates import faults, is_known, known_classes

HOSTILE = """"'><script>alert(1)</script><b onmouseover=go()>{{ 7007 * 7001 }}"""


class Tags(HTMLParser):
    """All start tags of a page with their attributes."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str]]] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, {key: value or "" for key, value in attrs}))

    def one(self, tag: str, **wanted: str) -> dict[str, str]:
        hits = [have for name, have in self.found if name == tag and wanted.items() <= have.items()]
        assert len(hits) == 1, (tag, wanted, hits)
        return hits[0]


def drawn(source: str, **names: Any) -> str:
    """A line of template, as a page would hold it."""
    return environment().from_string(source).render(**names)


def an_app(*, role: str = "owner", demo: bool = False) -> FastAPI:
    app = FastAPI()
    app.state.demo = demo

    @app.middleware("http")
    async def who(request: Request, proceed: Any) -> Any:
        request.state.seat = Seat(role)
        return await proceed(request)

    app.include_router(parts.router)
    app.include_router(assets_router(assets()))
    return app


@pytest.fixture(scope="module")
def page() -> str:
    return render("parts/page.html", parts.parts_page(), frame=Frame("Parts", role="owner", demo=True, live=True))


# The page of all parts


def test_the_page_of_parts_is_served() -> None:
    answer = TestClient(an_app()).get("/parts")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert answer.headers["vary"] == "HX-Request"


def test_the_rendered_parts_hold_no_code_and_need_no_script(page: str) -> None:
    assert faults(page) == []


def test_every_id_stands_once_and_every_reference_finds_one(page: str) -> None:
    tags = Tags(page).found
    ids = [have["id"] for _, have in tags if "id" in have]
    assert len(ids) == len(set(ids))
    for tag, have in tags:
        for key in ("for", "aria-labelledby", "aria-describedby", "aria-controls"):
            missing = set(have.get(key, "").split()) - set(ids)
            assert not missing, (tag, key, missing)
        if have.get("href", "").startswith("#") and len(have["href"]) > 1 and "href" in have and tag == "a":
            # Shots that stand only in the drawing lead to rows that the example doesn't list.
            assert have["href"][1:] in ids or have["href"].startswith("#shot-"), have["href"]


def test_every_control_has_a_label_and_a_name(page: str) -> None:
    tags = Tags(page).found
    labelled = {have["for"] for tag, have in tags if tag == "label" and "for" in have}
    for tag, have in tags:
        if tag in ("select", "textarea") or (tag == "input" and have["type"] not in ("hidden", "radio", "checkbox")):
            assert have["id"] in labelled
            assert have["name"]
        if tag == "input" and have["type"] in ("radio", "checkbox"):
            # A key wraps its input: the whole key is the target.
            assert re.search(rf'<label[^>]*><input[^>]*id="{have["id"]}"', page)


def test_every_class_of_the_rendered_page_is_in_a_sheet(page: str) -> None:
    known = known_classes()
    words = {word for _, have in Tags(page).found for word in have.get("class", "").split()}
    assert {word for word in words if not is_known(word, known)} == set()


def test_every_glyph_on_the_page_is_drawn_in_the_file_that_it_names(page: str) -> None:
    uses = [have["href"] for tag, have in Tags(page).found if tag == "use"]
    assert uses
    for use in uses:
        address, _, name = use.partition("#")
        body = assets().body(address)
        assert body is not None
        assert f'id="{name}"'.encode() in body.plain


def test_every_asset_that_the_page_asks_for_is_served(page: str) -> None:
    client = TestClient(an_app())
    asked = [have.get("src") or have.get("href", "") for tag, have in Tags(page).found if tag in ("script", "link")]
    assert len(asked) >= 5
    assert [one for one in asked if client.get(one).status_code != 200] == []


def test_a_part_stands_in_its_page_letter_for_letter(page: str) -> None:
    @dataclass(frozen=True)
    class Nothing:
        pass

    assert render_part("oops/_unheard.html", Nothing()) in page


# Hostile and awkward text


@pytest.mark.parametrize(
    "source",
    [
        "{{ glyph('fair', evil) }}",
        "{{ head('leaf', evil) }}",
        "{{ fair('not fair', evil) }}",
        "{{ button(evil, name=evil, value=evil, id=evil) }}",
        "{{ button(evil, href=evil, extra={'data-a': evil}) }}",
        "{{ notice(evil, title=evil, id=evil) }}",
        "{{ undo(evil, name=evil, value=evil) }}",
        "{{ error_summary([wrong]) }}",
        "{{ strip(evil, strong=evil, act=evil, href=evil) }}",
        "{{ field(evil, evil, state, hint=evil, unit=evil, unit_words=evil) }}",
        "{{ field(evil, evil, state, kind='number') }}",
        "{{ field(evil, evil, state, kind='lines') }}",
        "{{ field(evil, evil, state, kind='select', options=[(evil, evil)], blank=evil) }}",
        "{{ field(evil, evil, state, kind='tick', value=evil) }}",
        "{{ hidden(evil, evil) }}",
        "{{ choice(evil, evil, [option], chosen=evil, hint=evil, state=state) }}",
        "{{ outcomes(evil, legend=evil, hint=evil, state=state) }}",
        "{% call form(evil, target=evil, operation=evil) %}{{ evil }}{% endcall %}",
        "{{ row(evil, evil, href=evil, small=evil, end=evil) }}",
        "{% call tally(evil) %}{{ tally_row(evil, [], evil, evil, evil, href=evil) }}{% endcall %}",
        "{{ plain_table(evil, [evil], [[evil]], id='t') }}",
        "{{ facts([(evil, evil)]) }}",
        "{{ steps([step]) }}",
        "{{ revision(evil, [change], reason=evil, words=evil) }}",
    ],
)
def test_a_macro_prints_hostile_text_as_text(source: str) -> None:
    names = {
        "evil": HOSTILE,
        "state": FieldState(HOSTILE, HOSTILE, HOSTILE, HOSTILE),
        "wrong": Wrong(HOSTILE, HOSTILE, HOSTILE),
        "option": Option(HOSTILE, HOSTILE, unseen=HOSTILE),
        "step": StepTold(HOSTILE, HOSTILE, HOSTILE, HOSTILE, HOSTILE, HOSTILE),
        "change": Change(HOSTILE, HOSTILE, HOSTILE),
    }
    text = drawn(source, **names)
    tags = Tags(text).found
    assert "alert(1)" in text  # it is there, as text
    assert not any(key.startswith("on") for _, have in tags for key in have)
    assert "script" not in {tag for tag, _ in tags}
    assert "49056007" not in text  # long enough that no hash in an asset's name holds it by chance


def test_extra_attributes_cannot_smuggle_in_others() -> None:
    with pytest.raises(ValueError, match="Invalid character in attribute name"):
        drawn("{{ button('x', extra={'a onclick': 'go()'}) }}")


def test_an_unknown_name_or_argument_is_an_error_at_once() -> None:
    from jinja2 import UndefinedError

    with pytest.raises(UndefinedError):
        drawn("{{ nothing_of_that_name }}")
    with pytest.raises(TypeError):
        drawn("{{ field('a', 'A', colour='red') }}")
    with pytest.raises(KeyError):
        drawn("{{ asset('no-such-file.css') }}")


# Fields and choices


def test_what_was_typed_stays_as_typed() -> None:
    text = drawn("{{ field('mass', 'Mass', state, kind='number', unit='g') }}", state=FieldState("72,4 m"))
    control = Tags(text).one("input")
    assert control["value"] == "72,4 m"
    assert control["type"] == "text"
    assert control["inputmode"] == "decimal"
    assert control["autocomplete"] == "off"


def test_a_textarea_keeps_a_blank_first_line() -> None:
    # HTML drops one newline right after the tag, so a text that begins with one needs two.
    assert "\n\nlate</textarea>" in drawn("{{ field('note', 'Note', '\nlate', kind='lines') }}")


def test_hint_error_warning_and_what_was_read_are_tied_to_the_control_in_that_order() -> None:
    state = FieldState("1.6", said="Read as 1.6 mm", warning="Thin.", error="No.")
    control = Tags(drawn("{{ field('t', 'Thickness', state, hint='Mean.') }}", state=state)).one("input")
    assert control["aria-describedby"].split() == ["t-hint", "t-error", "t-warn", "t-said"]
    assert control["aria-invalid"] == "true"


def test_a_sound_field_claims_nothing_wrong() -> None:
    control = Tags(drawn("{{ field('t', 'Thickness', '1.6') }}")).one("input")
    assert "aria-invalid" not in control
    assert "aria-describedby" not in control


def test_the_unit_is_seen_once_and_said_once() -> None:
    text = drawn("{{ field('v', 'Speed', unit='m/s', unit_words='in metres a second') }}")
    assert '<span class="field__unit" aria-hidden="true">m/s</span>' in text
    assert 'Speed<span class="tools-unseen">, in metres a second</span></label>' in text


def test_an_error_stands_in_the_summary_and_by_the_field_in_the_same_words() -> None:
    words = "Type millimetres, for example 1.6 mm"
    text = drawn(
        "{{ error_summary([wrong]) }}{{ field('t', 'Thickness', state) }}",
        wrong=Wrong("t", "Thickness", words),
        state=FieldState("16 ga", error=words),
    )
    assert text.count(words) == 2
    assert Tags(text).one("a")["href"] == "#t"
    assert "1 field to check" in text
    assert '<span class="tools-unseen">To check: </span>' in text


def test_no_errors_make_no_summary() -> None:
    assert drawn("{{ error_summary([]) }}").strip() == ""


def test_the_summary_leads_to_the_first_key_of_a_choice() -> None:
    tags = Tags(drawn("{{ choice('by', 'Loosed by', ['Wren', 'Tallow'], chosen='Tallow') }}"))
    assert tags.one("input", id="by")["value"] == "Wren"
    assert "checked" in tags.one("input", id="by-2")


def test_several_may_be_chosen_and_each_comes_back_ticked() -> None:
    tags = Tags(drawn("{{ choice('fate', 'Arrow', ['a', 'b', 'c'], chosen=['a', 'c'], many=true) }}")).found
    ticked = [have["value"] for tag, have in tags if tag == "input" and "checked" in have]
    assert ticked == ["a", "c"]
    assert {have["type"] for tag, have in tags if tag == "input"} == {"checkbox"}


def test_a_choice_falls_back_to_what_was_typed() -> None:
    tags = Tags(drawn("{{ choice('by', 'By', ['w', 't'], state=state) }}", state=FieldState("t")))
    assert "checked" in tags.one("input", value="t")


def test_options_come_from_a_mapping_from_pairs_and_from_words() -> None:
    assert as_options({"a": "A"}) == as_options([("a", "A")]) == [Option("a", "A")]
    assert as_options(["Wren"]) == [Option("Wren", "Wren")]
    assert as_options([Option("a", "A", need=True)])[0].need


@pytest.mark.parametrize("nothing", [None, "", [], ()])
def test_nothing_chosen_is_no_value(nothing: object) -> None:
    assert chosen_values(nothing) == frozenset()


def test_a_number_is_chosen_as_the_text_that_a_form_sends() -> None:
    assert chosen_values(0) == frozenset({"0"})


def test_outcomes_have_six_levels_and_the_rear_face_between_three_and_four() -> None:
    text = drawn("{{ outcomes('outcome', chosen='3-4', between=[(3, 4)]) }}")
    values = re.findall(r'<input[^>]*value="([^"]*)"', text)
    assert values == ["5", "4", "3", "2", "1", "0", "3-4"], "as in the charts"
    assert text.index('value="4"') < text.index("rear face</span>") < text.index('value="3"')
    assert "checked" in Tags(text).one("input", value="3-4")


# Outcome levels and words


def test_tiles_are_counted_in_words_for_who_does_not_see_them() -> None:
    text = drawn("{{ outcome_level_tiles([2, 3, 3, (3, 4), 5]) }}")
    assert (
        Tags(text).one("span", role="img")["aria-label"]
        == "1 dented (2), 2 opened (3), 1 opened or point through (3 or 4), 1 head through (5)"
    )


@pytest.mark.parametrize("signs", ["false", "true"])
def test_the_key_has_six_words_in_order_and_the_rear_face_between_three_and_four(signs: str) -> None:
    text = drawn("{{ outcome_key(['a', 'b', 'c', 'd', 'e', 'f'], signs=" + signs + ") }}")
    places = [text.index(f"> {word}") for word in "abcdef"]
    assert places == sorted(places) and places[3] < text.index("rear face") < places[4]
    assert ("(5)" in text) == (signs == "true")


def test_a_square_says_its_level_or_how_many_stand_under_it() -> None:
    pairs = (("2", "2", 0), ("4", "4", 12), ("3/4", "open", 0))
    one, many, dashed = (drawn("{{ square(one) }}", one={"text": text, "level": level, "count": count}) for text, level, count in pairs)
    assert one.endswith(">2</span>") and "outcome--2" in one
    assert "<small>12</small>" in many and ">4</span>" in many
    assert "outcome__square--open" in dashed and ">3/4<" in dashed


def test_a_shot_that_nobody_read_says_so() -> None:
    assert "Unread" in drawn("{{ outcome(none) }}")
    assert "Unread" in drawn("{{ tile(none) }}")


def test_no_mark_is_outcome_level_nought_and_not_unread() -> None:
    assert "No mark" in drawn("{{ outcome(0) }}")


def test_a_fact_without_words_is_left_out_but_nought_is_a_fact() -> None:
    text = drawn("{{ facts([('Depth', 0), ('Note', ''), ('Where it went in', none)]) }}")
    assert "<dt>Depth</dt><dd>0</dd>" in text
    assert "Note" not in text
    assert "Where it went in" not in text


def test_numbers_stand_to_the_right_and_the_first_cell_heads_its_row() -> None:
    text = drawn("{{ plain_table('Arrows', columns, [['5', '72.4']], id='a') }}", columns=[Column("Arrow"), Column("Mass, g", number=True)])
    assert '<th scope="row">5</th><td class="tools-number">72.4</td>' in text


# Forms


def test_a_form_works_with_script_and_without() -> None:
    text = drawn("{% call form('/kit/arrows', target='#kit-arrows', operation='0190') %}x{% endcall %}")
    form = Tags(text).one("form")
    assert form["action"] == form["hx-post"] == "/kit/arrows"
    assert form["hx-sync"] == "this:drop"
    assert form["hx-target"] == "#kit-arrows"
    assert "novalidate" in form
    assert Tags(text).one("input", name="operation")["value"] == "0190"


def test_a_form_without_a_target_is_left_to_the_browser() -> None:
    assert not any(key.startswith("hx-") for key in Tags(drawn("{% call form('/a') %}{% endcall %}")).one("form"))


# The frame


def places(role: str, *, range: bool = False) -> list[str]:
    return [place.words for place in Frame("x", role=role, range=range).places]


def test_each_role_sees_the_places_that_it_may_go_to() -> None:
    assert places("owner") == ["Range", "Trials", "Results", "Kit", "Data", "More"]
    assert places("archer") == ["Range", "Trials", "Results", "Kit", "Data", "More"]
    assert places("viewer") == ["Trials", "Results", "Kit", "Data", "More"]
    assert places("stranger") == []
    assert places("archer", range=True) == ["Line", "Butt", "Bench", "Results", "More"]


def test_a_viewer_of_one_trial_is_led_to_that_trial_alone() -> None:
    assert [place.href for place in Frame("x", role="viewer", only_trial="0190").places] == ["/trials/0190"]


def test_place_keys_differ_from_each_other() -> None:
    for row in (BOOK_PLACES, RANGE_PLACES):
        assert len({place.key for place in row}) == len(row)


def framed(**frame: Any) -> str:
    return render("oops/not_found.html", failures.NotFound(), frame=Frame(**({"title": "A7", "role": "owner"} | frame)))


@pytest.mark.parametrize(
    ("wrong", "title", "shown"),
    [
        (2, "New bow", "2 fields to check, new bow"),
        (1, "Old Meg", "1 field to check, Old Meg"),
        (3, "A7", "3 fields to check, A7"),
        (0, "A7", "A7"),
    ],
)
def test_the_title_says_first_how_many_fields_are_to_be_checked(wrong: int, title: str, shown: str) -> None:
    assert f"<title>{shown} · Proofyard</title>" in framed(wrong=wrong, title=title)


def test_a_demo_book_says_on_every_page_that_it_is_invented() -> None:
    said = "the people, places, makers and figures in this book are invented"
    assert said in framed(demo=True)
    assert said not in framed()


def test_every_page_carries_the_caution_and_a_way_past_the_masthead() -> None:
    text = framed()
    assert "Range rules, the range officer and local law come first." in text
    assert "Nothing here certifies armour or is medical advice." in text
    assert Tags(text).one("a", href="#main")["class"] == "layout__skip"


def test_the_range_opens_in_sun_and_a_choice_by_hand_outranks_that() -> None:
    assert 'data-theme="sun"' in framed(range=True)
    assert 'data-theme="dark"' in framed(range=True, theme="dark")
    assert "data-theme" not in framed()


def test_where_you_are_is_marked_once() -> None:
    assert Tags(framed(nav="kit", path="/kit/bow/new")).one("a", **{"aria-current": "true"})["href"] == "/kit"
    assert "siblings" not in framed(nav="kit", path="/kit/bow/new")
    assert Tags(framed(nav="trials", path="/trials/0190")).one("a", **{"aria-current": "true"})["href"] == "/trials"


def test_a_live_page_listens_and_another_does_not() -> None:
    assert Tags(framed(live=True)).one("body")["data-live"] == "/live"
    assert "data-live" not in Tags(framed()).one("body")


def test_counts_stand_beside_butt_and_bench_only_when_something_waits() -> None:
    tags = Tags(framed(range=True, to_do={"butt": 3}))
    assert "hidden" not in tags.one("span", **{"data-to-do": "butt"})
    assert "hidden" in tags.one("span", **{"data-to-do": "bench"})


def test_htmx_is_told_to_evaluate_nothing_and_to_show_a_form_with_errors() -> None:
    import json

    settings = json.loads(Tags(framed()).one("meta", name="htmx-config")["content"])
    assert settings["allowEval"] is False
    assert settings["allowScriptTags"] is False
    assert settings["includeIndicatorStyles"] is False
    codes = [one["code"] for one in settings["responseHandling"]]
    assert codes.index("422") < codes.index("[45]..")


@pytest.mark.parametrize("path", ["/", "/trials", "/results?band=20&through=4"])
def test_a_path_of_this_server_is_kept(path: str) -> None:
    assert own_path(path) == path


@pytest.mark.parametrize("path", ["//evil.example", "https://evil.example/", "/\\evil.example", "", "trials", "/a\nb"])
def test_a_path_that_leads_elsewhere_becomes_the_first_page(path: str) -> None:
    assert own_path(path) == "/"


def frame_of(**ask: Any) -> Frame:
    app, kept = an_app(role="viewer"), []

    @app.api_route("/x", methods=["GET", "POST"])
    async def x(request: Request) -> None:
        kept.append(frame_for(request, title="X"))

    client = TestClient(app, cookies=ask.pop("cookies", None))
    client.request(ask.pop("method", "GET"), "/x?a=1")
    return kept[0]


def test_the_frame_takes_role_light_units_and_place_from_the_request() -> None:
    frame = frame_of(cookies={"theme": "dark", "units": "imperial"})
    assert (frame.role, frame.theme, frame.units, frame.here) == ("viewer", "dark", "imperial", "/x?a=1")


def test_a_made_up_cookie_is_no_light() -> None:
    frame = frame_of(cookies={"theme": "neon", "units": "cubits"})
    assert (frame.theme, frame.units) == (None, "metric")


def test_after_a_post_the_light_switch_leads_to_the_first_page() -> None:
    assert frame_of(method="POST").here == "/"


# Answers


def test_a_context_must_be_a_dataclass() -> None:
    with pytest.raises(TypeError, match="dataclass, not dict"):
        render_part("oops/_unheard.html", {"a": 1})


def test_a_part_says_aloud_what_was_done_in_letters_that_a_header_can_hold() -> None:
    @dataclass(frozen=True)
    class Nothing:
        pass

    answer = part("oops/_unheard.html", Nothing(), said="A7: “opened”")
    assert answer.headers["HX-Trigger"].isascii()
    assert "\\u201c" in answer.headers["HX-Trigger"]
    assert "HX-Trigger" not in part("oops/_unheard.html", Nothing()).headers


@pytest.mark.parametrize(
    ("headers", "wanted"),
    [
        ({}, False),
        ({"HX-Request": "true"}, True),
        ({"HX-Request": "true", "HX-Boosted": "true"}, False),
        ({"HX-Request": "true", "HX-History-Restore-Request": "true"}, False),
    ],
)
def test_a_boosted_or_restored_request_gets_the_whole_page(headers: dict[str, str], wanted: bool) -> None:
    raw = [(key.lower().encode(), value.encode()) for key, value in headers.items()]
    assert wants_part(Request({"type": "http", "headers": raw})) is wanted


@pytest.mark.parametrize(
    ("what", "status", "said"),
    [
        (failures.NotFound(), 404, "Page not found"),
        (failures.NotAllowed(), 403, "This phone may not do that"),
        (failures.SomeoneElse(theirs="53 g", yours="35 g"), 409, "What you typed"),
        (failures.OurFault("KTR-WMB"), 500, "KTR-WMB"),
    ],
)
def test_each_failure_has_its_voice_its_status_and_a_way_on(what: Any, status: int, said: str) -> None:
    answer = failures.trouble(what, frame=Frame("x"))
    text = bytes(answer.body).decode()
    assert answer.status_code == status
    assert answer.headers["cache-control"] == "no-store"
    assert said in text
    assert 'class="button button--main"' in text
    assert faults(text) == []


def test_fault_codes_can_be_read_out() -> None:
    codes = {failures.new_code() for _ in range(200)}
    assert len(codes) > 190
    assert all(re.fullmatch(r"[B-DF-HJ-KM-NP-TV-Z]{3}-[B-DF-HJ-KM-NP-TV-Z]{3}", code) for code in codes)


def test_html_carries_its_status_and_headers() -> None:
    answer = html("oops/not_found.html", failures.NotFound(), frame=Frame("x"), status=404, headers={"X-A": "b"})
    assert (answer.status_code, answer.headers["x-a"], answer.headers["vary"]) == (404, "b", "HX-Request")
