"""What is said when phones no longer find the laptop where they found it last time: to its owner, and to a phone."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

_SAFE = "What a phone holds is safe on it, but it lies under the old address: no page at a new address can see it."
_DONT = "Until then leave the phone’s range page open and don’t clear its browser data."
_BY_HAND = (
    "If that can’t be had, tap the strip on the phone, show what is not in the book as a text, type that in here, and let the phone join "
    "again. A phone whose strip says “All in the book” may join at once."
)


def _what(*, before: str, now: str) -> str:
    here = f"It is {now} now." if now else "It has no address that a phone could reach now."
    return f"Last time the phones came to {before}. This laptop no longer answers there. {here}"


def _scheme(*, https: bool, port: int, certified: bool = False) -> str:
    how = "with its certificate again, --cert FILE --key FILE" if https else "without --cert and --key"
    how = "once its certificate is mended (proofyard certify)" if https and certified else how
    return (
        f"{_SAFE} https:// and http:// are two addresses to a phone. Stop the server and start it {how}: proofyard serve --port {port}. "
        f"Each phone then goes on by itself. Change over when all phones say “All in the book”. {_DONT} {_BY_HAND}"
    )


def _phone(*, before: str) -> str:
    return (
        f"If this phone has logged shots here, it knew the laptop as {before}. What it holds is safe, but it lies under that "
        "address and this page can’t see it. Leave the old range page open, don’t clear this browser’s data, and ask the owner to give "
        "the laptop its old address back: More, Phones, on the laptop says how. A phone that holds nothing may join here."
    )


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "address_moved": _what,
        # another number after the address, the same network
        "address_port_advice": (
            f"{_SAFE} Stop the server and start it with the old number: proofyard serve --port {{port}}. Each phone then goes on by "
            f"itself. {_DONT} {_BY_HAND}"
        ),
        "address_scheme_advice": _scheme,
        "address_network_advice": (
            f"{_SAFE} Join the same network as last time, or have its router give this laptop the old address back. Each phone then "
            f"goes on by itself, at {{before}}/range. {_DONT} {_BY_HAND}"
        ),
        "address_for_a_phone": _phone,
    }
)
