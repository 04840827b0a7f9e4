"""Figures of what units hide: faults, what inspections make of them, and what leaves the cell."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.statistics import entry, ratio_interval, t_interval


def hidden_figures(flat: FlatCell, records: Sequence[Record]) -> dict[str, Any]:
    """What units hide: where faults arise, what inspections make of them, how many leave as good units.

    A false reject is a rejected unit without any fault; a missed unit was accepted with a fault that the
    inspection looks for.  Escapes are faulty units among the good output.
    """
    out: dict[str, Any] = {}

    def sums(key: str, k: int, unit: str) -> dict[str, Any]:
        return entry(t_interval([r.stations[key][k] for r in records]), unit)

    rows = list(zip(flat.names.stations, flat.state.stations, strict=True))
    faults = {name: sums("faulted", k, "units") for k, (name, row) in enumerate(rows) if row.fault_bit}
    if faults:
        out["made_faulty"] = faults
        out["mended"] = {name: sums("mended", k, "units") for k, (name, row) in enumerate(rows) if row.mends}
    tests: dict[str, Any] = {}
    for k, (name, row) in enumerate(rows):
        if row.inspects:
            rejected, judged = ([r.stations[key][k] for r in records] for key in ("rejected", "judged"))
            false = [r.stations["false_rejects"][k] for r in records]
            accepted = [a - b for a, b in zip(judged, rejected, strict=True)]
            true = [a - b for a, b in zip(rejected, false, strict=True)]
            missed = [r.stations["missed"][k] for r in records]
            tests[name] = {
                "faulty_rejected": entry(t_interval(true), "units"),
                "good_rejected": entry(t_interval(false), "units"),
                "faulty_accepted": entry(t_interval(missed), "units"),
                "good_among_rejected": entry(ratio_interval(false, rejected), "share of rejected units"),
                "faulty_among_accepted": entry(ratio_interval(missed, accepted), "share of accepted units"),
            }
    if tests:
        out["inspections"] = tests
    samples = {
        name: {"tested": sums("sampled", k, "units"), "faulty": sums("sampled_faulty", k, "units")}
        for k, (name, row) in enumerate(rows)
        if row.sample_every
    }
    if samples:
        out["samples"] = samples
    if faults:
        escapes = [r.cell["escapes"] for r in records]
        out["escapes"] = entry(t_interval(escapes), "faulty units among the good output")
        out["escapes_per_million"] = entry(
            ratio_interval([1_000_000 * x for x in escapes], [r.cell["good"] for r in records]),
            "faulty per million good units",
        )
    return out
