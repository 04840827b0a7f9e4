"""Where a result comes from: everything that is needed to make it again."""

from __future__ import annotations

import platform
from typing import Any

import cellsim


def versions() -> dict[str, Any]:
    """Version of the program and machine."""
    return {
        "version": cellsim.__version__,
        "python": platform.python_version(),
        "machine": platform.machine(),
    }


def provenance(sha256: str, seed: int, replications: int, clock: str, horizon_s: float) -> dict[str, Any]:
    """Version, seed, hash of the resolved description, clock and machine of a study."""
    return {
        "version": cellsim.__version__,
        "seed": seed,
        "replications": replications,
        "clock": clock,
        "horizon_s": horizon_s,
        "sha256": sha256,
        "python": platform.python_version(),
        "machine": platform.machine(),
    }
