"""Which Host headers are ours, and how often one address may ask."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.access.connections import InHand, Pace
from proofyard.access.hosts import OwnAddresses, bracketed, own_addresses, split_host
from proofyard.access.joining import WORDS, two_words


@pytest.mark.parametrize(
    ("header", "parts"),
    [
        ("127.0.0.1:8014", ("127.0.0.1", 8014)),
        ("Laptop.local", ("laptop.local", None)),
        ("laptop.local.:8014", ("laptop.local", 8014)),
        ("[2001:db8::7]:8014", ("2001:db8::7", 8014)),
        ("[2001:db8::7]", ("2001:db8::7", None)),
        ("2001:db8::7", None),
        ("[laptop]:8014", None),
        (":8014", None),
        ("a@b:1", None),
        ("laptop:", None),
        ("laptop:٣", None),
    ],
)
def test_a_host_header_is_read_as_name_and_port(header: str, parts: tuple[str, int | None] | None) -> None:
    assert split_host(header) == parts


@given(st.text(max_size=60))
def test_no_text_breaks_the_reading_of_a_host(text: str) -> None:
    parts = split_host(text)
    assert parts is None or (parts[0] == parts[0].lower() and "@" not in parts[0])


@given(st.text(max_size=60))
def test_no_text_but_our_names_is_let_through(text: str) -> None:
    ours = OwnAddresses(host="192.0.2.7", port=8014)
    if ours.allows(text, came_in_on=("192.0.2.7", 8014)):
        assert split_host(text) is not None


def test_names_that_serve_was_told_are_ours() -> None:
    ours = OwnAddresses(host="0.0.0.0", port=8014, names=["Yard.example", "[2001:db8::7]"])
    assert ours.allows("yard.example:8014", came_in_on=None)
    assert ours.allows("[2001:db8::7]:8014", came_in_on=None)
    assert not ours.allows("yard.example", came_in_on=None)
    assert not ours.allows("0.0.0.0:8014", came_in_on=None)
    assert ours.to_join()[:2] == ["yard.example:8014", "[2001:db8::7]:8014"]


def test_a_name_is_never_ours_only_because_the_socket_has_it() -> None:
    ours = OwnAddresses(host="0.0.0.0", port=8014)
    assert ours.allows("192.0.2.77:8014", came_in_on=("192.0.2.77", 8014))
    assert not ours.allows("evil.example:8014", came_in_on=("evil.example", 8014))


def test_port_80_and_443_may_be_left_unsaid() -> None:
    assert OwnAddresses(host="yard.example", port=80).allows("yard.example", came_in_on=None)
    assert OwnAddresses(host="yard.example", port=443).allows("yard.example", came_in_on=None, https=True)
    assert not OwnAddresses(host="yard.example", port=443).allows("yard.example", came_in_on=None)


def test_the_join_address_is_how_the_owner_came_unless_by_the_loopback() -> None:
    ours = OwnAddresses(host="0.0.0.0", port=8014)
    assert ours.to_join(asked_by="laptop.local:8014")[0] == "laptop.local:8014"
    assert not any(one.startswith(("localhost", "127.")) for one in ours.to_join(asked_by="localhost:8014"))


def test_own_addresses_are_ones_that_a_phone_could_reach() -> None:
    assert all(not one.startswith(("127.", "fe80")) and one != "::1" for one in own_addresses())
    assert bracketed("2001:db8::7") == "[2001:db8::7]"
    assert bracketed("192.0.2.7") == "192.0.2.7"


def test_the_pace_lets_six_a_minute_through_and_says_how_long_to_wait() -> None:
    now = [100.0]
    pace = Pace(6, 60.0, clock=lambda: now[0])
    for _ in range(6):
        assert pace.wait_s("a") == 0
        now[0] += 1
    assert pace.wait_s("a") == pytest.approx(54.0)
    assert pace.wait_s("b") == 0
    now[0] += 54
    assert pace.wait_s("a") == 0
    assert pace.wait_s("a") > 0


def test_the_pace_forgets_addresses_that_came_once() -> None:
    now = [0.0]
    pace = Pace(6, 60.0, clock=lambda: now[0])
    for number in range(3000):
        now[0] += 1.0
        pace.wait_s(f"192.0.2.{number}")
    assert len(pace._times) <= 1001


def test_one_address_can_not_take_all_hands() -> None:
    hands = InHand(most=5, most_each=3)
    assert [hands.begin("a") for _ in range(4)] == [True, True, True, False]
    assert [hands.begin("b") for _ in range(3)] == [True, True, False]
    hands.end("a")
    assert hands.begin("b")


def test_strangers_leave_places_that_savers_still_get() -> None:
    hands = InHand(most=4, most_each=4)
    assert [hands.begin(f"a stranger {n}", leave=2) for n in range(3)] == [True, True, False]
    assert [hands.begin(f"a saver {n}") for n in range(3)] == [True, True, False]
    hands.end("a saver 0")
    assert not hands.begin("a stranger again", leave=2) and hands.begin("another saver")


def test_the_words_are_many_short_and_unlike_each_other() -> None:
    assert len(WORDS) >= 256
    assert len(set(WORDS)) == len(WORDS)
    assert all(word.isascii() and word.islower() and 2 <= len(word) <= 8 for word in WORDS)


def test_a_pair_that_is_shown_already_is_not_drawn_again(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = iter(["copper", "lantern", "copper", "copper", "lantern", "copper"])
    monkeypatch.setattr("secrets.choice", lambda _: next(drawn))
    assert two_words({"copper lantern"}) == "lantern copper"
