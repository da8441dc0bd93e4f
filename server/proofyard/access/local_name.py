"""`proofyard.local`: a name that stays when the address changes, for phones that can ask for it (zeroconf, optional).

Without the package `zeroconf` (install `proofyard[name]`) there is no such name, and nothing else is missing.
"""

import contextlib
import ipaddress
import threading
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any

NAME = "proofyard.local"
LOOK_EVERY_S = 20.0


@contextlib.contextmanager
def announced(
    port: int, addresses: Callable[[], list[str]], *, interfaces: Sequence[str] | None = None, https: bool = False
) -> Iterator[str]:
    """Answer to the name as long as this is open; gives the name, or "" where it can't be had.

    addresses   this machine's addresses now; asked again and again, since a network may change
    interfaces  where to listen; all of them unless told otherwise
    https       what the port speaks, said with the name
    """
    described = partial(_info, port, https)
    speaker = _speaker(described, addresses(), interfaces)
    if speaker is None:
        yield ""
        return
    stop = threading.Event()
    follower = threading.Thread(target=_follow, args=(speaker, described, addresses, stop), name="local name", daemon=True)
    follower.start()
    try:
        yield NAME
    finally:
        stop.set()
        follower.join(timeout=5)
        with contextlib.suppress(Exception):  # the network may be gone already
            speaker.unregister_all_services()
        speaker.close()


def _speaker(described: Callable[[list[str]], Any], addresses: list[str], interfaces: Sequence[str] | None) -> Any:
    try:
        import zeroconf
    except ImportError:
        return None
    if not _v4(addresses):
        return None
    speaker = None
    try:
        speaker = zeroconf.Zeroconf(interfaces=list(interfaces) if interfaces else zeroconf.InterfaceChoice.All)
        speaker.register_service(described(addresses), allow_name_change=True)
        return speaker
    except Exception:  # no multicast here, or the port is taken: then there is no name, and the address does as well
        if speaker is not None:
            speaker.close()
        return None


def _info(port: int, https: bool, addresses: list[str]) -> Any:
    import zeroconf

    kind = f"_{'https' if https else 'http'}._tcp.local."
    return zeroconf.ServiceInfo(kind, f"Proofyard.{kind}", server=f"{NAME}.", port=port, parsed_addresses=_v4(addresses))


def _v4(addresses: list[str]) -> list[str]:
    return [one for one in addresses if ipaddress.ip_address(one.split("%")[0]).version == 4]


def _follow(speaker: Any, described: Callable[[list[str]], Any], addresses: Callable[[], list[str]], stop: threading.Event) -> None:
    known = _v4(addresses())
    while not stop.wait(LOOK_EVERY_S):
        now = _v4(addresses())
        if now and now != known:
            known = now
            with contextlib.suppress(Exception):
                speaker.update_service(described(now))
