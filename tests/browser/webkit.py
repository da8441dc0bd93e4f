"""WebKit, the engine of iPhones, as Debian brings it: its driver and small browser, on a screen that nobody sees."""

from __future__ import annotations

import os
import re
import shutil
import signal
import socket
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from proofyard.access.seats import COOKIE, named
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.client_config import ClientConfig
from selenium.webdriver.remote.remote_connection import RemoteConnection
from selenium.webdriver.remote.webdriver import WebDriver
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.webkitgtk.options import Options

NEEDED = ("WebKitWebDriver", "xvfb-run", "dbus-run-session")
LONGEST_S = 20.0


def small_browser() -> str | None:
    """WebKit's own small browser stands in a library folder, not on the path."""
    return next((str(one) for one in sorted(Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser"))), None)


def not_here() -> list[str]:
    """What is missing of all that it takes."""
    return [one for one in NEEDED if not shutil.which(one)] + ([] if small_browser() else ["MiniBrowser of WebKit"])


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def webkit_driver() -> Iterator[str]:
    """The address of a driver on a screen and a message bus of its own; whatever it started ends with it."""
    port = free_port()
    command = ["xvfb-run", "-a", "-s", "-screen 0 1280x1024x24", "dbus-run-session", "--", "WebKitWebDriver", f"--port={port}"]
    quiet = {**os.environ, "NO_AT_BRIDGE": "1", "GTK_A11Y": "none", "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1"}
    process = subprocess.Popen(command, env=quiet, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True)
    address = f"http://127.0.0.1:{port}"
    try:
        _answers(address)
        yield address
    finally:
        os.killpg(process.pid, signal.SIGTERM)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait(10)


def _answers(address: str) -> None:
    until = time.monotonic() + LONGEST_S
    while True:
        try:
            with urllib.request.urlopen(f"{address}/status", timeout=2):
                return
        except OSError:
            assert time.monotonic() < until, "WebKit's driver did not start"
            time.sleep(0.1)


@contextmanager
def webkit(driver: str) -> Iterator[WebDriver]:
    """One browser: nothing of an earlier one is in it."""
    options = Options()
    options.binary_location = small_browser() or ""
    options.add_argument("--automation")
    there = RemoteConnection(client_config=ClientConfig(remote_server_addr=driver, timeout=60))
    browser = webdriver.Remote(command_executor=there, options=options)
    try:
        browser.set_window_size(460, 900)  # the smallest that it takes
        yield browser
    finally:
        browser.quit()


class WebKitHand:
    """One archer with one phone of this make."""

    def __init__(self, browser: WebDriver, address: str, token: str) -> None:
        self.browser, self.address = browser, address
        browser.get(f"{address}/join")  # a cookie is taken for the page that is open
        browser.add_cookie({"name": named(COOKIE, address), "value": token, "path": "/"})

    def thrown_away(self) -> None:
        """The page is closed from under the archer, and a new one goes on with what it stored.

        A page that is killed outright takes the driver's whole session with it, so that is tried in Chromium only.
        """
        old = self.browser.current_window_handle
        self.browser.switch_to.new_window("tab")
        new = self.browser.current_window_handle
        self.browser.switch_to.window(old)
        self.browser.close()
        self.browser.switch_to.window(new)

    def open(self, place: str = "/range") -> WebKitHand:
        self.browser.get(self.address + place)
        self.sees("h1", "")
        return self

    def one(self, css: str, words: str | re.Pattern[str] = "") -> WebElement | None:
        """The first that is to be seen and has these words."""
        for found in self.browser.find_elements(By.CSS_SELECTOR, css):
            if found.is_displayed() and re.search(words, found.text.replace("\u00a0", " ")):
                return found
        return None

    def sees(self, css: str, words: str | re.Pattern[str]) -> WebElement:
        until = time.monotonic() + LONGEST_S
        while True:
            try:
                found = self.one(css, words)
            except Exception:  # drawn anew while it was looked at
                found = None
            if found is not None:
                return found
            assert time.monotonic() < until, f"no {css} that says {words!r}; the page says: {self.says()[:1500]}"
            time.sleep(0.1)

    def says(self) -> str:
        return self.browser.find_element(By.TAG_NAME, "body").text

    def tap(self, words: str | re.Pattern[str], css: str = "button") -> None:
        found = self.sees(css, words)
        self.browser.execute_script("arguments[0].scrollIntoView({ block: 'center' })", found)
        found.click()
