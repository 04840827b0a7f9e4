"""How often the units that come to a station change from one variant to another."""

from __future__ import annotations

from cellsim.describe.cell import Cell, Station
from cellsim.study.passages import takes_variant

MOST_SHOWN = 1000  # units of a sequence in ratio that are laid out to count its changes of variant


def changes(cell: Cell, station: Station, released: float) -> dict[tuple[str, str], float]:
    """Changes of each pair (from, to) per good unit, `released` raw units being needed for one.

    Campaigns follow each other for ever; at random a change from a to b has the chance p_a p_b.  Every
    machine of the station is taken to meet all of them.
    """
    shares = {
        variant.name: variant.share for variant in cell.variants if takes_variant(station, variant.name)
    }
    if cell.sequence.order == "at random":
        total = sum(shares.values())
        return {(a, b): released * shares[a] * shares[b] / total for a in shares for b in shares if a != b}
    order = [name for name, _ in cell.sequence.campaigns] or _in_ratio(cell)
    units = sum(count for _, count in cell.sequence.campaigns) or len(order)
    order = [name for name in order if name in shares]
    found: dict[tuple[str, str], float] = {}
    for before, after in zip(order, order[1:] + order[:1], strict=True):
        if before != after:
            found[before, after] = found.get((before, after), 0.0) + released / units
    return found


def _in_ratio(cell: Cell) -> list[str]:
    """Variants one by one, each time the one that is furthest behind its share."""
    made = {variant.name: 0 for variant in cell.variants}
    shares = {variant.name: variant.share for variant in cell.variants}
    order = []
    for k in range(1, MOST_SHOWN + 1):
        name = max(made, key=lambda v: shares[v] * k - made[v])
        made[name] += 1
        order.append(name)
    return order
