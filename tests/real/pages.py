"""The page served by a process of its own, and a browser before it."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or ""
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
    "--autoplay-policy=no-user-gesture-required",
)  # fmt: skip
# A busy machine takes its time; what does not come at all is found out as surely.
PATIENCE_MS = 90_000
ENDS_S = 60.0
# The place that was asked for is there whole.
SHOWN = "main:not([aria-busy]) h1"
# Nothing has to be scrolled for from side to side.
FITS = "() => document.documentElement.scrollWidth <= innerWidth"
# What the thing that has the focus says, if it is one to press.
PRESSED = """() => {
    const here = document.activeElement;
    return here.matches("button, a, summary") ? here.innerText : "";
}"""
# Goes to a place, and comes back once the page has heard of it.
GO = """(place) => new Promise((done) => {
    const before = location.hash;
    location.hash = place;
    if (location.hash === before) done();
    else addEventListener("hashchange", done, { once: true });
})"""


@dataclass(frozen=True)
class Served:
    """A page that is served: its process, the address that opens it, where it keeps things."""

    process: subprocess.Popen[str]
    address: str
    home: Path

    @property
    def origin(self) -> str:
        """Return the address without its key."""
        return self.address.split("/?")[0]

    def kill(self) -> None:
        """End the program as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(timeout=ENDS_S)


@contextmanager
def served(home: Path) -> Iterator[Served]:
    """Run ``rhythmtrain open`` with its folder in ``home``."""
    environment = {**os.environ, "RHYTHMTRAIN_HOME": str(home), "PYTHONUNBUFFERED": "1"}
    command = [sys.executable, "-m", "rhythmtrain", "open", "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    try:
        assert process.stdout is not None
        address = re.search(r"http\S+", process.stdout.readline())
        assert address is not None
        yield Served(process, address[0], home)
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.wait(timeout=ENDS_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(timeout=ENDS_S)
        if process.stdout is not None:
            process.stdout.close()


@contextmanager
def chromium(flags: Sequence[str] = ()) -> Iterator[Browser]:
    """Run Debian's Chromium without a screen; skip where there is none."""
    if not CHROMIUM:
        pytest.skip("Chromium is not installed: apt-get install chromium")
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=CHROMIUM, args=[*FLAGS, *flags], ignore_default_args=["--mute-audio"]
        )
        yield browser
        browser.close()


@contextmanager
def opened(
    browser: Browser,
    here: Served,
    *,
    size: tuple[int, int] = (1280, 900),
    script: str = "",
    **more: Any,
) -> Iterator[Page]:
    """Open the page at ``size``; whatever it complains of, or asks of another host, fails the test.

    ``script`` runs before anything of the page; ``more`` is what Playwright makes a context with.
    """
    asked = {"permissions": ["microphone"], **more}
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, **asked)
    context.set_default_timeout(PATIENCE_MS)
    if script:
        context.add_init_script(script)
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    refused: list[str] = []
    page.on("response", lambda came: refused.append(came.url) if came.status >= 400 else None)
    page.on("request", lambda asked: _check_host(asked.url, here, wrong))
    page.goto(here.address)
    page.wait_for_selector(SHOWN)
    yield page
    context.close()
    assert not wrong, (wrong, refused)


def go(page: Page, place: str) -> None:
    """Go to ``place`` of the page that is open, and wait until it is there."""
    page.evaluate(GO, place)
    page.wait_for_selector(SHOWN)


def fits_its_width(page: Page) -> None:
    """Wait until nothing reaches beyond the window's side; notes are drawn anew a little after a turn."""
    page.wait_for_function(FITS)


def settled(here: Served) -> None:
    """Wait until no take goes on: those of pages that closed are heard, and kept, a little later."""
    journals = here.home / "page" / "takes"
    until = time.monotonic() + PATIENCE_MS / 1000
    while list(journals.iterdir()):
        assert time.monotonic() < until, "a take that a page left was never ended"
        time.sleep(0.05)


def _check_host(url: str, here: Served, wrong: list[str]) -> None:
    if not url.startswith((here.origin, "data:", "blob:")):
        wrong.append(f"the page asked {url}")
