"""How much work reading a file is, counted in calls: the same on every machine, however busy it is."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

MOST_CALLS = 5_000_000  # of Python and C functions; some 0.7 s on the machine on which this was measured


@contextmanager
def little_work() -> Iterator[None]:
    """What is within takes at most MOST_CALLS calls."""
    calls = 0

    def count(frame: FrameType, event: str, argument: Any) -> None:
        nonlocal calls
        calls += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(count)
    try:
        yield
    finally:
        sys.setprofile(before)
    assert calls <= MOST_CALLS, f"{calls} calls"
