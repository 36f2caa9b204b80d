"""The process in which files are read: `python -m bagtrail.domain.intake.child MEGABYTES`.

A broken or hostile file can make a reader run wild or crash.  Here it does so alone, within bounds
of memory, with nothing open that matters: the parent (:mod:`.sandbox`) hands in one call a line and
reads replies a line, all JSON.
"""

from __future__ import annotations

import dataclasses
import importlib
import json
import os
import sys
from collections.abc import Callable
from typing import Any

#: What may be called, and nothing else.
CALLS = {"tables.look", "tables.read", "texts.findings", "manual.look", "manual.page",
         "manual.findings"}  # fmt: skip
#: Calls that tell how far they are.
_REPORTING = {"tables.read"}
#: Bytes of a file written at most: the picture of a page.
_FILE_MAX = 200_000_000


def main() -> None:
    _bound(int(sys.argv[1]))
    # What a library prints must not get between the replies.
    replies = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)

    def reply(**what: Any) -> None:
        replies.write(json.dumps(what, default=_plain) + "\n")
        replies.flush()

    for line in sys.stdin:
        asked = json.loads(line)
        name, arguments = asked["call"], asked["arguments"]
        if name in _REPORTING:
            arguments["report"] = _reporter(reply)
        try:
            reply(result=_called(name)(**arguments))
        except MemoryError:
            reply(cannot="It takes more memory to read than it may have.")
        except Exception as why:
            if type(why).__name__ == "CannotRead":
                reply(cannot=str(why))
            else:
                reply(broken=f"{type(why).__name__}: {why}"[:500])


def _bound(megabytes: int) -> None:
    try:
        import resource
    except ImportError:  # Windows: the parent's clock is the only bound there
        return
    for what, most in (
        (resource.RLIMIT_AS, megabytes * 1_000_000),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_FSIZE, _FILE_MAX),
    ):
        resource.setrlimit(what, (most, most))
    os.nice(10)


def _called(name: str) -> Callable[..., Any]:
    if name not in CALLS:
        raise ValueError(f"{name} cannot be called here")
    module, _, function = name.partition(".")
    found: Callable[..., Any] = getattr(
        importlib.import_module(f"bagtrail.domain.intake.{module}"), function
    )
    return found


def _reporter(reply: Callable[..., None]) -> Callable[[int, int], None]:
    def report(done: int, total: int) -> None:
        reply(done=done, total=total)

    return report


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return dataclasses.asdict(value)
    raise TypeError(f"{type(value).__name__} is no JSON")


if __name__ == "__main__":
    main()
