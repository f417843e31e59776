"""A real browser, driven over its own pipe: no driver, no package, no network.

Invariant: the browser keeps all it writes in a folder of the test's, and ends with it.
The protocol: the Chrome DevTools Protocol, JSON ended by a zero byte on files 3 and 4
(`--remote-debugging-pipe`).
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
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

BROWSER = next(
    filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None
)
_WAIT_S = 120.0


class Page:
    """One page of the browser."""

    def __init__(self, to: int, back: int) -> None:
        self._to, self._back, self._rest, self._n = to, back, b"", 0
        self._session: str | None = None

    def ask(self, method: str, **params: Any) -> Any:
        """One request of the protocol, and its result."""
        self._n += 1
        asked = {"id": self._n, "method": method, "params": params}
        if self._session:
            asked["sessionId"] = self._session
        os.write(self._to, json.dumps(asked).encode() + b"\0")
        ends = time.monotonic() + _WAIT_S
        while time.monotonic() < ends:
            for said in self._said(ends):
                if said.get("id") == self._n:
                    assert "error" not in said, said
                    return said["result"]
        raise TimeoutError(method)

    def _said(self, ends: float) -> Iterator[dict[str, Any]]:
        ready, _w, _x = select.select([self._back], [], [], max(0.0, ends - time.monotonic()))
        if ready:
            self._rest += os.read(self._back, 1 << 20)
        *whole, self._rest = self._rest.split(b"\0")
        yield from map(json.loads, whole)

    def open(self, address: str) -> None:
        """Go to a page and wait until it stands."""
        self._session = None
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)[
            "sessionId"
        ]
        self.ask("Page.navigate", url=address)
        self.until("document.readyState === 'complete' && location.href !== 'about:blank'")

    def value(self, script: str) -> Any:
        """What a script of the page comes to."""
        found = self.ask(
            "Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in found, found
        return found["result"].get("value")

    def until(self, script: str) -> None:
        """Wait until a script of the page is true."""
        ends = time.monotonic() + _WAIT_S
        while not self.value(script):
            assert time.monotonic() < ends, script
            time.sleep(0.05)

    def choose(self, selector: str, file: Path) -> None:
        """Choose a file where the page asks for one, as a person does."""
        root = self.ask("DOM.getDocument")["root"]["nodeId"]
        node = self.ask("DOM.querySelector", nodeId=root, selector=selector)["nodeId"]
        self.ask("DOM.setFileInputFiles", nodeId=node, files=[str(file)])

    def phone(self, wide: int, high: int) -> None:
        """Be a phone's screen, in CSS pixels."""
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=wide, height=high, deviceScaleFactor=2, mobile=True,
        )  # fmt: skip

    def picture(self) -> bytes:
        """What is seen, as PNG."""
        return base64.b64decode(self.ask("Page.captureScreenshot")["data"])


@contextmanager
def browser(room: Path, language: str = "en-US") -> Iterator[Page]:
    """A browser of its own in a folder, ended afterwards; `language` is what it says to pages."""
    assert BROWSER is not None
    asked, answer = os.pipe(), os.pipe()
    # Beyond 3 and 4, which the browser's own ends become.
    reads, writes = (fcntl.fcntl(fd, fcntl.F_DUPFD, 20) for fd in (asked[0], answer[1]))
    command = [
        "bash", "-c", f'exec "$@" 3<&{reads} 4>&{writes}', "-", BROWSER, "--headless=new",
        "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
        "--remote-debugging-pipe", f"--user-data-dir={room / 'browser'}", f"--lang={language}",
        f"--accept-lang={language}",
    ]  # fmt: skip
    child = subprocess.Popen(
        command,
        pass_fds=(reads, writes),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "HOME": str(room), "LANGUAGE": language.replace("-", "_")},
    )
    try:
        for fd in (reads, writes, asked[0], answer[1]):
            os.close(fd)
        yield Page(asked[1], answer[0])
    finally:
        child.terminate()
        try:
            child.wait(10)
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
        os.close(asked[1])
        os.close(answer[0])
