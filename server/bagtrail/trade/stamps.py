"""Hybrid logical clock stamps as text.

48 bits of milliseconds since 1970 UTC, 16 bits of counter, 64 bits of clock identity, written as
fixed-width lower-case hex, so that stamps sort as text.  After Kulkarni et al., "Logical Physical
Clocks and Consistent Snapshots" (2014); the width of the parts is this program's.
"""

from __future__ import annotations

MAX_MS = 2**48 - 1
MAX_TICK = 2**16 - 1


def make(ms: int, tick: int, clock: str) -> str:
    """Stamp from milliseconds, counter and clock (16 hex digits).  ValueError if out of range."""
    if not 0 <= ms <= MAX_MS or not 0 <= tick <= MAX_TICK:
        raise ValueError("a stamp holds 48 bits of milliseconds and 16 bits of counter")
    return f"{ms:012x}{tick:04x}{clock}"


def parts(stamp: str) -> tuple[int, int, str]:
    """(milliseconds, counter, clock) of a stamp."""
    return int(stamp[:12], 16), int(stamp[12:16], 16), stamp[16:]


def above(floor: str | None, ms: int, tick: int, clock: str) -> str:
    """Smallest stamp of ``clock`` at or after (ms, tick) that sorts above ``floor``."""
    if floor is not None:
        floor_ms, floor_tick, _ = parts(floor)
        if (floor_ms, floor_tick) >= (ms, tick):
            ms, tick = floor_ms, floor_tick + 1
    if tick > MAX_TICK:
        ms, tick = ms + 1, 0
    return make(ms, tick, clock)
