"""Files that make their reader run wild: it ends, says why, and nothing else is touched."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from bagtrail.domain.intake import sandbox
from bagtrail.domain.intake.sandbox import CannotRead, Sandbox, Stopped, TookTooLong

#: The reading process, with one function in it that does what a test asks for.
_WILD = """
import os, sys, time
from bagtrail.domain.intake import child

class CannotRead(ValueError):
    pass

def wild(how, report=None):
    if how == "hang":
        while True:
            time.sleep(0.01)
    if how == "crash":
        os.kill(os.getpid(), 9)
    if how == "memory":
        return len(bytearray(3_000_000_000))
    if how == "print":
        print("something that a library says")
        sys.stdout.flush()
        return {"said": True}
    if how == "garble":
        os.write(3 if os.path.exists("/proc/self/fd/3") else 1, b"{no json\\n")
        time.sleep(60)
    if how == "refuse":
        raise CannotRead("It is no table.")
    if how == "surprise":
        raise KeyError("/home/somebody/secret")
    if how == "big":
        return "x" * 3_000_000
    return how

child._called = lambda name: wild
child.main()
"""


@pytest.fixture
def wild(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Sandbox]:
    script = tmp_path / "wild.py"
    script.write_text(_WILD)
    monkeypatch.setattr(sandbox, "COMMAND", (sys.executable, str(script)))
    with Sandbox() as box:
        yield box


def ask(box: Sandbox, how: str, seconds: float = 20) -> object:
    return box.call("tables.look", seconds, {"how": how})


def test_one_that_hangs_is_ended_and_the_next_call_works(wild: Sandbox) -> None:
    assert ask(wild, "first") == "first"
    with pytest.raises(TookTooLong, match="longer"):
        ask(wild, "hang", 1)
    assert ask(wild, "after that") == "after that"


@pytest.mark.parametrize("how", ["crash", "garble"])
def test_one_that_crashes_or_garbles_is_told_and_the_next_call_works(
    wild: Sandbox, how: str
) -> None:
    with pytest.raises(CannotRead, match="damaged"):
        ask(wild, how)
    assert ask(wild, "after that") == "after that"


@pytest.mark.skipif(sys.platform == "win32", reason="no bound of memory there")
def test_one_that_wants_all_memory_does_not_get_it(wild: Sandbox) -> None:
    with pytest.raises(CannotRead, match="memory"):
        ask(wild, "memory")
    assert ask(wild, "after that") == "after that"


def test_what_a_library_prints_is_no_reply_and_long_replies_arrive(wild: Sandbox) -> None:
    assert ask(wild, "print") == {"said": True}
    assert len(str(ask(wild, "big"))) == 3_000_000


def test_a_refusal_keeps_its_words_and_a_surprise_shows_none(wild: Sandbox) -> None:
    with pytest.raises(CannotRead, match=r"^It is no table\.$"):
        ask(wild, "refuse")
    with pytest.raises(CannotRead) as said:
        ask(wild, "surprise")
    assert "secret" not in str(said.value)


def test_a_person_can_stop_it_at_once(
    wild: Sandbox, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = threading.Event()
    with Sandbox(asked.is_set) as box:
        threading.Timer(0.5, asked.set).start()
        began = time.monotonic()
        with pytest.raises(Stopped):
            ask(box, "hang", 60)
        assert time.monotonic() - began < 20


def test_only_readers_can_be_called() -> None:
    with Sandbox() as box, pytest.raises(CannotRead):
        box.call("os.system", 20, {"command": "true"})
