"""Texts of cells that many entries share, and numbers as statements say them."""

from __future__ import annotations

from collections.abc import Sequence


def in_a_row(stations: Sequence[str], places: Sequence[int]) -> str:
    """Stations S1, S2, ... with these keys (as `cycle: 2 s`) and the places between them; no `study`.

    The stores are called after S1, after S2, ...
    """
    names = [f"S{k + 1}" for k in range(len(stations))]
    route = [names[0]]
    for k, name in enumerate(names[1:]):
        route += [f"after {names[k]}", name]
    rows = "".join(f"\n  {name}: {{{keys}}}" for name, keys in zip(names, stations, strict=True))
    stores = ", ".join(f"after {name}: {count}" for name, count in zip(names, places, strict=False))
    return f"""
cell: {len(stations)} stations in a row
route: [{", ".join(route)}]
stations: {rows}
stores: {{{stores}}}
"""


def line(stations: Sequence[str], places: Sequence[int], study: str) -> str:
    """Stations in a row with a study."""
    return in_a_row(stations, places) + f"study: {{{study}}}\n"


def exponential(mean: float) -> str:
    """Exponential times with a mean in seconds, as a law."""
    return f"{{law: exponential, mean: {mean} s}}"


def exponential_cycle(mean: float) -> str:
    """A cycle of exponential length, mean in seconds, as keys of a station."""
    return f"cycle: {exponential(mean)}"


def exponential_line(means: Sequence[float], places: Sequence[int], study: str) -> str:
    """Stations S1, S2, ... with exponential times (means in seconds), and the places between them."""
    return line([exponential_cycle(mean) for mean in means], places, study)


def listed(values: Sequence[float]) -> str:
    """Numbers as a statement says them."""
    return ", ".join(f"{value:g}" for value in values)


def percent(share: float) -> str:
    """A share as per cent."""
    return f"{100 * share:.8g} %"
