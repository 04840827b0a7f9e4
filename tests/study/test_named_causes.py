"""Small cells that lose output for one known reason each: the account of losses names it.

Lost is the part of the path that is not the planned work of the stations that would be left without the
cause.  Where somebody is waited for, the cause is what he does meanwhile: the account gives the wait to the
work, repair or handling that explains it.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine.record import Record
from cellsim.study.losses import loss_account
from cellsim.study.worker import Worker


@dataclass(frozen=True)
class Known:
    """A cell, the one cause of what it loses, and the stations whose planned work would be left without it.

    `without` turns the text into the same cell without the cause: pairs of what is replaced by what.
    """

    text: str
    ideal: tuple[str, ...]
    cause: tuple[str, str]
    without: tuple[tuple[str, str], ...]


KNOWN = {
    "variation": Known(
        """
cell: a station now quick, now slow, with no place behind it
route: [A, B]
stations: {A: {cycle: {listed: [10 s, 50 s]}}, B: {cycle: 30 s}}
study: {settle: 1 h, run: 20 h}
""",
        ("A", "B"),
        ("A", "work"),
        (("{listed: [10 s, 50 s]}", "30 s"),),
    ),
    "a stop": Known(
        """
cell: jams
route: [A, tray, B]
stations:
  A: {cycle: 30 s, stops: {jam: {every: 20 min of running, lasts: 8 min, law: exponential}}}
  B: {cycle: 20 s}
stores: {tray: 4}
study: {settle: 1 h, run: 40 h}
""",
        ("A",),
        ("A", "stop: jam"),
        (("stops: {jam: {every: 20 min of running, lasts: 8 min, law: exponential}}", "priority: 1"),),
    ),
    "a technician who is long in coming": Known(
        """
cell: far away
crew: {technician: {response: 20 min}}
route: [A]
stations: {A: {cycle: 30 s, stops: {jam: {every: 40 cycles, lasts: 1 s, exact: yes, cleared_by: technician}}}}
study: {settle: 1 h, run: 40 h}
""",
        ("A",),
        ("A", "waiting for repair: jam"),
        (("response: 20 min", "response: 0 s"),),
    ),
    "a technician who repairs something else": Known(
        """
cell: one technician for all
crew: {technician: {}}
route: [A]
lines: {beside: [X]}
stations:
  A:
    cycle: 1 s
    stops: {jam: {every: {listed: [5 s], of: running}, lasts: {listed: [1 ms]}, cleared_by: technician}}
  X:
    machines: 20
    cycle: 1 s
    stops: {jam: {every: {listed: [5 s], of: running}, lasts: 20 s, cleared_by: technician}}
study: {settle: 1 h, run: 10 h}
""",
        ("A",),
        ("X", "stop: jam"),
        (("machines: 20", "machines: 1"), ("lasts: 20 s", "lasts: {listed: [1 ms]}")),
    ),
    "an operator who works elsewhere": Known(
        """
cell: called away
crew: {ann: {works_at: [A, bench], serves: longest waiting}}
route: [A]
lines: {beside: [bench]}
stations:
  A: {cycle: 30 s, by: ann}
  bench: {cycle: 4 min, by: ann}
study: {settle: 1 h, run: 40 h}
""",
        ("A",),
        ("bench", "work"),
        (("cycle: 4 min, by: ann", "cycle: 4 min"), ("works_at: [A, bench]", "works_at: [A]")),
    ),
    "a robot that handles elsewhere": Known(
        """
cell: robot elsewhere
robots: {R1: {serves: longest waiting}}
route: [A]
lines: {beside: [N]}
stations:
  A: {cycle: 30 s, by: R1}
  N: {cycle: 1 s, visit: {by: R1, load: 60 s, unload: 60 s}}
study: {settle: 1 h, run: 40 h}
""",
        ("A",),
        ("N", "handling"),
        (("visit: {by: R1, load: 60 s, unload: 60 s}", "priority: 1"),),
    ),
    "changeover": Known(
        """
cell: small lots
variants: [small, large]
sequence: {campaigns: [{small: 10}, {large: 10}]}
route: [drill]
stations: {drill: {cycle: 60 s, changeover: {time: 12 min}}}
study: {settle: 1 h, run: 60 h}
""",
        ("drill",),
        ("drill", "changeover"),
        (("changeover: {time: 12 min}", "priority: 1"),),
    ),
    "batch forming": Known(
        """
cell: a batch that never fills
release: cards 4
route: [press, bin, oven]
stations:
  press: {cycle: 1 s}
  oven: {cycle: 5 min, batch: {size: 5, waits: 10 min}}
stores: {bin: 10}
study: {settle: 1 h, run: 100 h}
""",
        ("oven",),
        ("oven", "waiting for a batch"),
        (("size: 5", "size: 4"),),
    ),
    "a tray that never fills": Known(
        """
cell: a tray that never fills
release: cards 4
route: [press, trays, pack]
stations:
  press: {cycle: 1 s}
  pack: {cycle: 1 min}
stores: {trays: {places: 12, tray: 6, tray_waits: 10 min}}
study: {settle: 1 h, run: 100 h}
""",
        ("pack",),
        ("trays", "in a tray"),
        (("tray: 6, tray_waits: 10 min", "order: first in first out"),),
    ),
    "curing": Known(
        """
cell: cures
release: cards 10
route: [pour, rack, fit]
stations: {pour: {cycle: 1 s}, fit: {cycle: 1 min}}
stores: {rack: {places: 20, stays: at least 30 min}}
study: {settle: 1 h, run: 100 h}
""",
        ("fit",),
        ("rack", "curing or cooling"),
        ((", stays: at least 30 min", ""),),
    ),
    "breaks": Known(
        """
cell: long break
shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 08:00, for: 3 h}]}}
route: [A]
stations: {A: {cycle: 30 s}}
study: {shifts: 1}
""",
        ("A",),
        ("calendar", "breaks and off hours"),
        (("breaks: [{at: 08:00, for: 3 h}]", "start_up: 0 s"),),
    ),
    "repair in place": Known(
        """
cell: repairs what it rejects
route: [test]
stations: {test: {cycle: 30 s, rejects: {share: 20 %, to: here, repair: 3 min}}}
study: {settle: 1 h, run: 100 h}
""",
        ("test",),
        ("test", "repair in place"),
        (("share: 20 %", "share: 0 %"),),
    ),
    "a rework bench": Known(
        """
cell: rework
route: [test]
stations:
  test: {cycle: 30 s, rejects: {share: 40 %, after_rework: 0 %, to: bench, returns_to: test}}
  bench: {cycle: 10 min}
study: {settle: 1 h, run: 200 h}
""",
        ("test",),
        ("bench", "work"),
        (("share: 40 %", "share: 0 %"),),
    ),
    "a late bin": Known(
        """
cell: one bin
route: [A]
stations: {A: {cycle: 30 s}}
parts: {screws: {used_at: A, box: 40, bins: 1, delivery: 20 min}}
study: {settle: 1 h, run: 100 h}
""",
        ("A",),
        ("screws", "delivery"),
        (("delivery: 20 min", "delivery: 0 s"),),
    ),
    "carriers": Known(
        """
cell: two pallets
route: [A]
carriers: {pallet: {count: 2, from: A, to: A, returns: 5 min}}
stations: {A: {cycle: 30 s}}
study: {settle: 1 h, run: 40 h}
""",
        ("A",),
        ("pallet", "coming back"),
        (("returns: 5 min", "returns: 0 s"),),
    ),
    "too few cards": Known(
        """
cell: one card
release: cards 1
route: [A, tray, B]
stations: {A: {cycle: 30 s}, B: {cycle: 29 s}}
stores: {tray: 4}
study: {settle: 1 h, run: 40 h}
""",
        ("A",),
        ("B", "work"),
        (("cards 1", "cards 4"),),
    ),
    "a full finished-goods area": Known(
        """
cell: full
route: [pack]
stations: {pack: {cycle: 30 s}}
finished_goods: {places: 40, collected: {every: 60 min}}
study: {settle: 1 h, run: 100 h}
""",
        ("pack",),
        ("finished goods", "collection"),
        (("places: 40", "places: 400"),),
    ),
    "raw units that come too seldom": Known(
        """
cell: starved
release: every 1 min
route: [A]
stations: {A: {cycle: 20 s}}
study: {settle: 1 h, run: 40 h}
""",
        ("A",),
        ("release", "waiting for raw units"),
        (("every 1 min", "every 10 s"),),
    ),
    "a walk": Known(
        """
cell: far apart
crew: {ann: {walks: 1 m/s}}
layout: {A: [0 m, 0 m], B: [40 m, 0 m]}
route: [A, tray, B]
stations: {A: {cycle: 10 s, by: ann}, B: {cycle: 10 s, by: ann}}
stores: {tray: 1}
study: {settle: 1 h, run: 40 h}
""",
        ("A", "B"),
        ("ann", "walking"),
        (("40 m", "0 m"),),
    ),
}


def run(text: str) -> tuple[Worker, list[Record]]:
    """Two replications; both keep all laws."""
    worker = Worker(load_text(text))
    records = [worker.replicate(1, k) for k in range(2)]
    assert [r.violations for r in records] == [[], []]
    return worker, records


@pytest.mark.parametrize("name", KNOWN)
def test_the_cause_is_named(name: str) -> None:
    """It has more than 95 % of what is lost; without it the cell makes more, by no more than the path says.

    The path is what a cause costs at most: what else would limit without it need not be on the path.
    """
    known = KNOWN[name]
    worker, records = run(known.text)
    rows = {(row["who"], row["what"]): row for row in loss_account(worker.flat, records)["causes"]}
    planned = [rows[who, "work"]["ideal_share"] for who in known.ideal if (who, "work") in rows]
    lost = 1 - sum(planned)
    row = rows[known.cause]
    part = row["excess_share"] if known.cause[0] in known.ideal and row["what"] == "work" else row["share"]
    assert part > 0.95 * lost
    better = known.text
    for old, new in known.without:
        assert old in better
        better = better.replace(old, new)
    least, most = (sum(r.cell["good"] for r in each) for each in (records, run(better)[1]))
    assert 0.2 < 1 - least / most < lost + 0.01


def test_a_slow_station_is_its_planned_work() -> None:
    """Cycles that hardly vary, a station that takes twice as long: its plan is the path."""
    worker, records = run(
        "cell: slow\nroute: [A, one, B]\nstores: {one: 5}\nstudy: {settle: 1 h, run: 20 h}\n"
        "stations: {A: {cycle: 20 s}, B: {cycle: {mean: 40 s, spread: 2 %}}}\n"
    )
    first = loss_account(worker.flat, records)["causes"][0]
    assert (first["who"], first["what"]) == ("B", "work")
    assert first["ideal_share"] > 0.95
    assert abs(first["excess_share"]) < 0.01


def test_work_on_units_that_are_thrown_away_is_work() -> None:
    """Half of the units are scrapped at the test: no cause of their own, the test works for all of them."""
    worker, records = run(
        "cell: scrap\nroute: [test]\nstations: {test: {cycle: 1 min, rejects: {share: 50 %, to: scrap}}}\n"
        "study: {settle: 1 h, run: 20 h}\n"
    )
    (row,) = loss_account(worker.flat, records)["causes"]
    assert (row["who"], row["what"], row["share"]) == ("test", "work", 1.0)


def test_the_longest_wait_of_a_batch_began_with_its_first_unit() -> None:
    """Units at 1 and 4 min; the batch goes at 11, though not full: 1 min of work, 10 of waiting, 5 of work.

    By hand: A works 0-1 and 1-4, the bin gets units at 1 and 4, B starts at 1 + 10 and ends at 16.
    """
    for name, there, cause in (
        ("batch", "batch: {size: 5, waits: 10 min}", ("B", "waiting for a batch")),
        ("tray", "gives: 1", ("bin", "in a tray")),
    ):
        store = "5" if name == "batch" else "{places: 10, tray: 5, tray_waits: 10 min}"
        worker, records = run(
            f"cell: {name}\nrelease: {{at: [0 s, 0 s]}}\nroute: [A, bin, B]\nstores: {{bin: {store}}}\n"
            f"stations: {{A: {{cycle: {{listed: [1 min, 3 min]}}}}, B: {{cycle: 5 min, {there}}}}}\n"
            "study: {run: 1 h}\n"
        )
        minutes = {
            cause: time / 60e6
            for cause, time in zip(worker.flat.names.causes, records[0].path, strict=True)
            if time
        }
        units = 1 if name == "batch" else 2  # B takes the units of a tray one by one
        assert minutes == {("A", "work"): 1, cause: 10, ("B", "work"): 5 * units}
