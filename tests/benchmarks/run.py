"""Benchmarks of the engine against fixed yardsticks: each figure is printed beside its goal.

    python tests/benchmarks/run.py [--quick] [--json FILE]

Nothing here passes or fails: times depend on the machine, ratios of runs taken in turn much less so.  Single
runs are measured in CPU time, whole studies and processes on the wall clock: let nothing else run meanwhile.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from importlib import metadata
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # the package of this folder

from timing import NotMeasured
from yardsticks import FULL, MEASUREMENTS, QUICK, Budget, Measurement

Values = dict[str, float | None]
Details = dict[str, Mapping[str, Any]]


def calibration_ms() -> float:
    """CPU milliseconds of a fixed loop in plain Python, best of 5: how fast this machine is."""

    def once() -> float:
        start = time.process_time()
        total = 0
        for number in range(500_000):
            total += number & 7
        return 1e3 * (time.process_time() - start)

    return min(once() for _ in range(5))


def version(package: str) -> str | None:
    """The version of a package, None where it is not installed."""
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return None


def machine() -> dict[str, Any]:
    """What the figures were measured on."""
    return {
        "machine": platform.machine(),
        "system": platform.system(),
        "cores": os.cpu_count(),
        "load_1_min": os.getloadavg()[0] if hasattr(os, "getloadavg") else None,
        "calibration_ms": calibration_ms(),
        "python": f"{platform.python_implementation()} {platform.python_version()}",
        "versions": {name: version(name) for name in ("simpy", "numpy", "numba")},
    }


def measure(
    measurements: Sequence[Measurement], budget: Budget, show: Callable[[str], None]
) -> tuple[Values, Details]:
    """Values and details by key; each figure is shown as soon as it is there."""
    values: Values = {}
    details: Details = {}
    for each in measurements:
        try:
            values[each.key], details[each.key] = each.how(budget)
        except NotMeasured as reason:
            values[each.key], details[each.key] = None, {"not_measured": str(reason)}
        for line in lines_of(each, values[each.key], details[each.key]):
            show(line)
    return values, details


def number_text(value: float | None) -> str:
    """A figure as it stands in the table."""
    if value is None:
        return "-"
    return f"{value:.2f}" if value < 1000 else f"{value:,.0f}".replace(",", " ")


def lines_of(measurement: Measurement, value: float | None, details: Mapping[str, Any]) -> Iterator[str]:
    """The lines that are printed of a figure: itself, below it what it was made of."""
    goal, verdict = measurement.goal_text(), measurement.verdict(value)
    yield f"{measurement.key:<28}{number_text(value):>12}  {goal:<8}{verdict}".rstrip()
    yield f"    {measurement.what}"
    for name, part in details.items():
        if isinstance(part, Mapping) and "cpu_ms" in part:
            cpu = part["cpu_ms"]
            yield (
                f"    {name:<28}{cpu['median']:8.2f} ms a run "
                f"(middle half {cpu['p25']:.2f} to {cpu['p75']:.2f}, {part['rounds']} rounds), "
                f"{part['units_mean']:.1f} units, {part['station_cycles_mean']:.0f} station cycles"
            )
    if "remark" in details:
        yield f"    {details['remark']}"
    if "cpu_seconds" in details:
        yield f"    {details['cpu_seconds']:.2f} CPU seconds"
    if details.get("cut_off"):
        yield "    CUT OFF: it takes longer than that"
    if "not_measured" in details:
        yield f"    NOT MEASURED: {details['not_measured']}"
    gap = details.get("output_gap_standard_errors", 0.0)
    if gap > 4:
        yield f"    NOT COMPARABLE: the two outputs lie {gap:.1f} standard errors apart"


def content(values: Values, details: Details) -> dict[str, Any]:
    """What stands in the JSON file: figures by key (null: not measured), goals, details."""
    goals = {each.key: each.goal_text() for each in MEASUREMENTS if each.goal is not None}
    return {**values, "goals": goals, "details": {**details, "machine": machine()}}


def prepare() -> None:
    """The compiled code is on disk before anything is timed."""
    from cellsim.engine import compiled_code
    from cellsim.engine.clocks import COMPILED, prepare

    if compiled_code.is_available():
        prepare(COMPILED, lambda text: print(text, file=sys.stderr))


def show(line: str) -> None:
    """Print a line at once, also into a file."""
    print(line, flush=True)


def main(arguments: list[str] | None = None) -> int:
    """Measure, print the table, write the JSON file; 0, or 2 where the file cannot be written."""
    parser = argparse.ArgumentParser(description="Time the engine against its yardsticks.")
    parser.add_argument(
        "--quick",
        action="store_true",
        help="a first impression within a minute, once the rules have been compiled",
    )
    parser.add_argument("--json", type=Path, metavar="FILE", help="write figures and details to FILE")
    options = parser.parse_args(arguments)
    if options.json and not options.json.parent.is_dir():
        print(f"{options.json}: the folder {options.json.parent} does not exist", file=sys.stderr)
        return 2
    prepare()
    values, details = measure(MEASUREMENTS, QUICK if options.quick else FULL, show)
    if options.json:
        try:
            options.json.write_text(json.dumps(content(values, details), indent=2) + "\n", encoding="utf-8")
        except OSError as error:
            print(f"{options.json}: cannot be written: {error.strerror}", file=sys.stderr)
            return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
