"""One replication of a cell under the compiled clock in a process of its own; prints as JSON what it took.

    python tests/benchmarks/one_run.py CELL

Seconds are wall time.  `code_s` is the time until the compiled code is there: read from disk, or compiled.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # the package of this folder


def peak_bytes() -> int:
    """The most memory that this process has used so far.

    `ru_maxrss` begins with the memory of the process that started this one, so Linux is asked for its own.
    """
    status = Path("/proc/self/status")
    if status.exists():
        lines = dict(line.split(":", 1) for line in status.read_text().splitlines())
        if "VmHWM" in lines:
            return 1024 * int(lines["VmHWM"].split()[0])
    import resource

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most if sys.platform == "darwin" else 1024 * most


def main(file: str) -> None:
    """Run replication 0 and print what it took."""
    from cellsim.describe.resolve import load
    from cellsim.engine.clocks import COMPILED, clock_named
    from cellsim.study.worker import Worker

    worker = Worker(load(Path(file)), COMPILED)
    start = time.perf_counter()
    clock_named(COMPILED).prepare()
    code_there = time.perf_counter()
    before = peak_bytes()
    record = worker.replicate(1, 0)
    answer = {
        "code_s": code_there - start,
        "run_s": time.perf_counter() - code_there,
        "peak_bytes": peak_bytes(),
        "peak_bytes_before_the_run": before,
        "units": sum(record.hourly),
        "events": record.events,
    }
    print(json.dumps(answer))


if __name__ == "__main__":
    main(sys.argv[1])
