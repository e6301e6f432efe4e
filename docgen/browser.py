"""Turn a finished page into what a browser shows of it: starts a Chromium of its own, off the network, and ends it.

It is spoken to over a pair of pipes in the DevTools protocol (https://chromedevtools.github.io/devtools-protocol/), so
that no port is opened and nothing has to be installed but the browser.
"""

from __future__ import annotations

import contextlib
import json
import os
import select
import shutil
import signal
import tempfile
import time
from base64 import b64decode
from types import TracebackType
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome")
FLAGS = (
    "--headless", "--remote-debugging-pipe", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-default-apps",
    "--disable-extensions", "--hide-scrollbars", "--mute-audio", "--no-default-browser-check",
    "--force-color-profile=srgb",
)  # fmt: skip
PATIENCE = 60.0
"""Seconds to wait for an answer."""
KEYS = {
    "PageDown": 34, "PageUp": 33, "ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39, "ArrowDown": 40, "Enter": 13,
    "Escape": 27, "Tab": 9, " ": 32,
}  # fmt: skip
"""Windows virtual key codes, as the protocol wants them."""


class BrowserError(Exception):
    """The browser is not there, did not answer, or said that something went wrong."""


def found() -> str:
    """Path of a browser that can be used; empty if there is none."""
    return next(filter(None, map(shutil.which, NAMES)), "")


class Browser:
    """A running browser. Use as a context."""

    def __init__(self, program: str) -> None:
        self._program = program
        self._buffer = b""
        self._count = 0
        self.events: list[dict[str, Any]] = []

    def __enter__(self) -> Browser:
        self._profile = tempfile.TemporaryDirectory(prefix="docgen-browser-", ignore_cleanup_errors=True)
        hears, self._tell = os.pipe()
        self._hear, tells = os.pipe()
        # Numbers that can't be 3 or 4 themselves, so that neither closes the other on its way there.
        hears, tells = (_high(fd) for fd in (hears, tells))
        silent = os.open(os.devnull, os.O_RDWR)
        self._process = os.posix_spawn(
            self._program,
            [self._program, *FLAGS, f"--user-data-dir={self._profile.name}", "about:blank"],
            {**os.environ, "HOME": self._profile.name},
            file_actions=[
                (os.POSIX_SPAWN_DUP2, hears, 3),
                (os.POSIX_SPAWN_DUP2, tells, 4),
                *((os.POSIX_SPAWN_DUP2, silent, n) for n in (0, 1, 2)),
            ],
            setsid=True,
        )
        for fd in (hears, tells, silent):
            os.close(fd)
        return self

    def __exit__(self, kind: type | None, value: BaseException | None, trace: TracebackType | None) -> None:
        with contextlib.suppress(BrowserError, OSError):
            self.call("Browser.close")
        os.close(self._tell)
        os.close(self._hear)
        end = time.monotonic() + 5
        while os.waitpid(self._process, os.WNOHANG) == (0, 0):
            if time.monotonic() > end:
                with contextlib.suppress(ProcessLookupError):
                    os.killpg(self._process, signal.SIGKILL)
                os.waitpid(self._process, 0)
                break
            time.sleep(0.02)
        self._profile.cleanup()

    def call(self, method: str, session: str = "", **parameters: Any) -> dict[str, Any]:
        """Ask for something and wait for the answer; what is told in between is kept in `events`."""
        self._count += 1
        number = self._count
        message: dict[str, Any] = {"id": number, "method": method, "params": parameters}
        if session:
            message["sessionId"] = session
        data = json.dumps(message).encode() + b"\0"
        try:
            while data:
                data = data[os.write(self._tell, data) :]
        except OSError as problem:
            raise BrowserError(f"the browser has ended: {problem}") from None
        while True:
            got = self._next()
            if got.get("id") == number:
                if "error" in got:
                    raise BrowserError(f"{method}: {got['error'].get('message', '')}")
                return got["result"]
            self.events.append(got)

    def wait_for(self, method: str, session: str) -> dict[str, Any]:
        """The next event of that name, one already heard included."""
        while True:
            for n, event in enumerate(self.events):
                if event.get("method") == method and event.get("sessionId") == session:
                    return self.events.pop(n)["params"]
            self.events.append(self._next())

    def tab(self) -> Tab:
        """A new page, cut off from the network."""
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        return Tab(self, session)

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._buffer:
            ready, _, _ = select.select([self._hear], [], [], PATIENCE)
            data = os.read(self._hear, 1 << 20) if ready else b""
            if not data:
                raise BrowserError("the browser has ended" if ready else "the browser does not answer")
            self._buffer += data
        message, _, self._buffer = self._buffer.partition(b"\0")
        return json.loads(message)


class Tab:
    """One page of a browser."""

    def __init__(self, browser: Browser, session: str) -> None:
        self._browser, self._session = browser, session
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.call(f"{domain}.enable")
        offline = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
        self.call("Network.emulateNetworkConditions", **offline)

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Ask this page for something."""
        return self._browser.call(method, self._session, **parameters)

    def open(self, address: str) -> None:
        """Go to an address and wait until it is there."""
        problem = self.call("Page.navigate", url=address).get("errorText")
        if problem:
            raise BrowserError(f"{address}: {problem}")
        self._browser.wait_for("Page.loadEventFired", self._session)

    def reload(self) -> None:
        """Load the page anew."""
        self.call("Page.reload")
        self._browser.wait_for("Page.loadEventFired", self._session)

    def evaluate(self, program: str) -> Any:
        """The value of an expression in the page; promises are waited for."""
        got = self.call("Runtime.evaluate", expression=program, returnByValue=True, awaitPromise=True, userGesture=True)
        if "exceptionDetails" in got:
            told = got["exceptionDetails"]
            raise BrowserError(told.get("exception", {}).get("description") or told.get("text", ""))
        return got["result"].get("value")

    def resize(self, width: int, height: int, scale: float = 1, touch: bool = False) -> None:
        """Set the size of the window in CSS pixels, and device pixels for each."""
        self.call(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=scale, mobile=touch
        )
        self.call("Emulation.setTouchEmulationEnabled", enabled=touch)

    def dark(self, is_dark: bool) -> None:
        """Prefer dark or light colours."""
        value = "dark" if is_dark else "light"
        self.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": value}])

    def press(self, key: str) -> None:
        """Press and release one key of `KEYS`."""
        typed = {" ": " ", "Enter": "\r"}.get(key, "")
        code = "Space" if key == " " else key
        for kind in ("keyDown" if typed else "rawKeyDown", "keyUp"):
            text = {"text": typed} if typed and kind == "keyDown" else {}
            self.call("Input.dispatchKeyEvent", type=kind, key=key, code=code, windowsVirtualKeyCode=KEYS[key], **text)

    def picture(self) -> bytes:
        """What the window shows, as PNG."""
        self.call("Page.bringToFront")  # a page behind another is never drawn
        return b64decode(self.call("Page.captureScreenshot", format="png", optimizeForSpeed=True)["data"])

    def told(self) -> tuple[str, ...]:
        """What has gone wrong so far: errors of programs, refusals, and addresses asked for outside the file."""
        out = []
        for event in self._browser.events:
            if event.get("sessionId") != self._session:
                continue
            params = event.get("params", {})
            match event.get("method"):
                case "Runtime.exceptionThrown":
                    details = params["exceptionDetails"]
                    out.append(details.get("exception", {}).get("description") or details["text"])
                case "Log.entryAdded" if params["entry"]["level"] == "error":
                    out.append(params["entry"]["text"])
                case "Network.requestWillBeSent":
                    address = params["request"]["url"]
                    if not address.startswith(("file:", "data:", "blob:", "about:")):
                        out.append(f"asks for {address}")
        return tuple(out)


def _high(fd: int) -> int:
    if fd > 9:
        return fd
    import fcntl

    high = fcntl.fcntl(fd, fcntl.F_DUPFD_CLOEXEC, 10)
    os.close(fd)
    return high
