"""Calls into the bounded child process (:mod:`.child`), with a clock on each."""

from __future__ import annotations

import contextlib
import json
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Any, Self

#: Memory of the child, in megabytes of address space.
MEGABYTES = 1_500
COMMAND = (sys.executable, "-m", "bagtrail.domain.intake.child")
#: How often a waiting parent asks whether it is to stop, in seconds.
_LOOK_S = 0.25
_PACKAGES = Path(__file__).resolve().parents[3]


class CannotRead(Exception):
    """The file cannot be read; the text says why and what would help, in plain words."""


class TookTooLong(CannotRead):
    """The clock ran out, and the child was ended."""


class Stopped(Exception):
    """A person stopped it; the child was ended."""


class Sandbox:
    """A child that is there when first needed, and again after it died.  Not for several threads.

    ``stop``: asked several times a second; once it says yes, the call under way ends in Stopped.
    """

    def __init__(self, stop: Callable[[], bool] = lambda: False, megabytes: int = MEGABYTES):
        self._stop = stop
        self._megabytes = megabytes
        self._child: subprocess.Popen[str] | None = None
        self._lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.end()

    def call(
        self,
        function: str,
        seconds: float,
        arguments: dict[str, Any],
        report: Callable[[int, int], None] | None = None,
    ) -> Any:
        """What a function of ``child.CALLS`` comes to, as JSON; ``report``: told done and total.

        Raises CannotRead, TookTooLong, Stopped.
        """
        child = self._begin()
        assert child.stdin is not None
        try:
            child.stdin.write(json.dumps({"call": function, "arguments": arguments}) + "\n")
            child.stdin.flush()
        except OSError:
            self.end()
            raise CannotRead(_DIED) from None
        deadline = time.monotonic() + seconds
        while True:
            reply = self._reply(deadline)
            if "result" in reply:
                return reply["result"]
            if "cannot" in reply:
                raise CannotRead(reply["cannot"])
            if "broken" in reply:
                # Not in the reader's plan: its state is in doubt, so the next call gets another.
                self.end()
                raise CannotRead(_BROKEN) from RuntimeError(reply["broken"])
            if report is not None:
                report(reply["done"], reply["total"])

    def end(self) -> None:
        child, self._child = self._child, None
        if child is None:
            return
        child.kill()
        child.wait()
        for pipe in (child.stdin, child.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()

    def _begin(self) -> subprocess.Popen[str]:
        if self._child is None or self._child.poll() is not None:
            self.end()
            known = {name: os.environ[name] for name in _PASSED_ON if name in os.environ}
            self._child = subprocess.Popen(
                [*COMMAND, str(self._megabytes)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env={**known, "PYTHONPATH": str(_PACKAGES), "PYTHONIOENCODING": "utf-8"},
                text=True,
                encoding="utf-8",
            )
            self._lines = queue.SimpleQueue()
            threading.Thread(target=_listen, args=(self._child, self._lines), daemon=True).start()
        return self._child

    def _reply(self, deadline: float) -> dict[str, Any]:
        while True:
            if self._stop():
                self.end()
                raise Stopped
            left = deadline - time.monotonic()
            if left <= 0:
                self.end()
                raise TookTooLong("It took longer to read than it may take.")
            try:
                line = self._lines.get(timeout=min(left, _LOOK_S))
            except queue.Empty:
                continue
            if line is None:
                self.end()
                raise CannotRead(_DIED)
            try:
                reply: dict[str, Any] = json.loads(line)
            except ValueError:
                self.end()
                raise CannotRead(_DIED) from None
            return reply


def _listen(child: subprocess.Popen[str], lines: queue.SimpleQueue[str | None]) -> None:
    assert child.stdout is not None
    # A pipe that is closed while it is read from ends the listening, too.
    with contextlib.suppress(OSError, ValueError):
        for line in child.stdout:
            lines.put(line)
    lines.put(None)


_DIED = "It made the program that reads it stop. It is damaged, or made to do that."
_BROKEN = "Something in it cannot be read. Save it anew with another program, and try again."
#: Without these, Python or its libraries do not start on some systems.
_PASSED_ON = ("PATH", "SYSTEMROOT", "LANG", "LC_ALL", "TMPDIR", "TEMP", "TMP", "VIRTUAL_ENV")
