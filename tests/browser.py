"""A headless Chromium for tests, over its debugging pipe: nothing but the standard library.

`find()` names the program or is None; tests skip then and say so.
"""

from __future__ import annotations

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import time
from pathlib import Path
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
PATIENCE = 60.0  # s; a loaded machine starts a browser slowly


def find() -> str | None:
    """Path of a Chromium, or None."""
    return next((path for path in map(shutil.which, NAMES) if path), None)


class Browser:
    """One page of one browser; `events` keeps everything it reported."""

    def __init__(self, program: str, profile: Path) -> None:
        down, up = os.pipe(), os.pipe()
        ends = [fcntl.fcntl(fd, fcntl.F_DUPFD, 20) for fd in (down[0], up[1])]
        for fd in (down[0], up[1]):
            os.close(fd)

        def wire() -> None:
            os.dup2(ends[0], 3)
            os.dup2(ends[1], 4)

        self.process = subprocess.Popen(
            [program, "--headless=new", "--no-sandbox", "--disable-gpu", "--remote-debugging-pipe",
             "--disable-dev-shm-usage", "--no-first-run", "--disable-background-networking",
             "--disable-component-update", f"--user-data-dir={profile}", "about:blank"],
            close_fds=False, preexec_fn=wire, stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        for fd in ends:
            os.close(fd)
        self.out, self.back = down[1], up[0]
        self.buffer, self.number = b"", 0
        self.events: list[dict[str, Any]] = []
        self.session: str | None = None
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.call("Target.attachToTarget", targetId=target, flatten=True)[
            "sessionId"
        ]
        for domain in ("Page", "Network", "Log", "Runtime"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """One command and its answer."""
        self.number += 1
        message: dict[str, Any] = {"id": self.number, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.out, json.dumps(message).encode() + b"\0")
        end = time.monotonic() + PATIENCE
        while True:
            answer = self._read(end)
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return dict(answer["result"])
            self.events.append(answer)

    def _read(self, end: float) -> dict[str, Any]:
        while b"\0" not in self.buffer:
            ready, _, _ = select.select([self.back], [], [], max(0.0, end - time.monotonic()))
            if not ready:
                raise TimeoutError("the browser does not answer")
            self.buffer += os.read(self.back, 1 << 20)
        message, self.buffer = self.buffer.split(b"\0", 1)
        return dict(json.loads(message))

    def open(self, page: Path) -> None:
        """Load a local file and wait for it."""
        self.events.clear()
        self.call("Page.navigate", url=page.as_uri())
        end = time.monotonic() + PATIENCE
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self._read(end))

    def ask(self, script: str) -> Any:
        """Value of a script's expression, awaited."""
        found = self.call(
            "Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True
        )
        if "exceptionDetails" in found:
            raise RuntimeError(found["exceptionDetails"])
        return found["result"].get("value")

    def size(self, width: int, height: int = 800) -> None:
        """Width and height of the window [CSS pixels]."""
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height,
                  deviceScaleFactor=1, mobile=width < 600)  # fmt: skip

    def dark(self, on: bool) -> None:
        """Whether the reader wants dark pages."""
        scheme = {"name": "prefers-color-scheme", "value": "dark" if on else "light"}
        self.call("Emulation.setEmulatedMedia", media="screen", features=[scheme])

    def picture(self, path: Path, whole: bool = True) -> None:
        """Screenshot as PNG."""
        data = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        path.write_bytes(base64.b64decode(data["data"]))

    def requests(self) -> list[str]:
        """Addresses that the page asked for, the page itself and data of its own apart."""
        sent = [e["params"]["request"]["url"] for e in self.events
                if e.get("method") == "Network.requestWillBeSent"]  # fmt: skip
        return [url for url in sent if not url.startswith(("file:", "data:"))]

    def complaints(self) -> list[str]:
        """Errors and warnings of the console, and exceptions."""
        found = []
        for event in self.events:
            params = event.get("params", {})
            if event.get("method") == "Log.entryAdded":
                found.append(params["entry"]["text"])
            elif event.get("method") in ("Runtime.exceptionThrown", "Runtime.consoleAPICalled"):
                found.append(json.dumps(params))
        return found

    def close(self) -> None:
        """End this browser, and only this one."""
        try:
            self.session = None
            self.call("Browser.close")
            self.process.wait(20)
        except (TimeoutError, RuntimeError, OSError, subprocess.TimeoutExpired):
            self.process.kill()
            self.process.wait(20)
        for fd in (self.out, self.back):
            os.close(fd)
