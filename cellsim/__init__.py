"""cellsim: how many good units an hour an assembly cell makes, with a band, and what limits it.

    import cellsim
    cell = cellsim.load("cell.yaml")
    result = cellsim.run(cell, replications=200)
    result["output_per_hour"]["mean"]
    result.hourly.to_frame()

Names are imported when they are first used, so that checking a file never waits for numpy.
"""

from __future__ import annotations

import importlib
from typing import Any

__version__ = "0.1.0"

_PUBLIC = {
    "load": "cellsim.describe.resolve",
    "load_text": "cellsim.describe.resolve",
    "load_plan": "cellsim.describe.work_plan",
    "run": "cellsim.notebook.calls",
    "compare": "cellsim.notebook.calls",
    "size_buffers": "cellsim.notebook.calls",
    "limits": "cellsim.notebook.calls",
    "sensitivity": "cellsim.notebook.calls",
    "balance": "cellsim.notebook.calls",
    "payback": "cellsim.notebook.calls",
    "workload": "cellsim.notebook.calls",
    "trace": "cellsim.notebook.calls",
    "timestudy": "cellsim.notebook.records",
    "stops": "cellsim.notebook.records",
    "report": "cellsim.notebook.page",
    "compile_cell": "cellsim.engine.model",
    "SimpyRun": "cellsim.engine.clock_simpy",
}

__all__ = [
    "SimpyRun",
    "balance",
    "compare",
    "compile_cell",
    "limits",
    "load",
    "load_plan",
    "load_text",
    "payback",
    "report",
    "run",
    "sensitivity",
    "size_buffers",
    "stops",
    "timestudy",
    "trace",
    "workload",
]


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        return getattr(importlib.import_module(_PUBLIC[name]), name)
    raise AttributeError(f"module 'cellsim' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *_PUBLIC})
