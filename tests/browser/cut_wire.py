"""What lies between a phone and the laptop, and can be cut: a relay of bytes that knows nothing of what it carries."""

from __future__ import annotations

import contextlib
import socket
import struct
import threading

HERE = "127.0.0.1"
RESET = struct.pack("ii", 1, 0)  # close without a word, as a radio does


class Wire:
    """Relays to one port. `cut()`: nobody gets through. `deafen()`: what is asked arrives, no answer comes back."""

    def __init__(self, to_port: int) -> None:
        self._to, self._mode = to_port, "open"
        self._lock = threading.Lock()
        self._open: set[socket.socket] = set()
        self._door = socket.create_server((HERE, 0))
        self.port: int = self._door.getsockname()[1]
        self.lost_answers = 0
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self) -> None:
        self._change("cut")

    def deafen(self) -> None:
        self._change("deaf")

    def mend(self) -> None:
        self._change("open")

    def close(self) -> None:
        self._change("cut")
        self._door.close()

    def _change(self, mode: str) -> None:
        self._mode = mode
        with self._lock:
            there, self._open = self._open, set()
        for one in there:
            _drop(one)

    def _accept(self) -> None:
        while True:
            try:
                phone, _ = self._door.accept()
            except OSError:
                return
            if self._mode == "cut":
                _drop(phone)
                continue
            try:
                laptop = socket.create_connection((HERE, self._to), timeout=5)
                laptop.settimeout(None)
            except OSError:
                _drop(phone)
                continue
            with self._lock:
                self._open |= {phone, laptop}
            deaf = self._mode == "deaf"
            threading.Thread(target=self._carry, args=(phone, laptop, False), daemon=True).start()
            threading.Thread(target=self._carry, args=(laptop, phone, deaf), daemon=True).start()

    def _carry(self, one: socket.socket, other: socket.socket, swallow: bool) -> None:
        with contextlib.suppress(OSError):
            while some := one.recv(65536):
                if swallow:
                    self.lost_answers += 1
                    break
                other.sendall(some)
        for end in (one, other):
            _drop(end)
            with self._lock:
                self._open.discard(end)


def _drop(one: socket.socket) -> None:
    with contextlib.suppress(OSError):
        one.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, RESET)
        one.shutdown(socket.SHUT_RDWR)
    with contextlib.suppress(OSError):
        one.close()
