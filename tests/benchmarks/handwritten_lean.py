"""The line of `handwritten.py` without a breakdown process: the station splits its own work at the stops.

A machine can stop only while it works, so the work itself can count down the running time to the next stop.
This saves a process and all interrupts per machine; it no longer does once something else may stop one.
"""

from __future__ import annotations

from typing import Any

import handwritten
from handwritten import Life, Station


class LeanStation(Station):
    """One machine whose only process waits for the next stop or the end of its work, whichever is first."""

    def start(self) -> None:
        """Set the machine going."""
        self.env.process(self.work())

    def work(self) -> Life:
        """The life of the machine, one part after the other."""
        env = self.env
        part = 0
        until_stop = next(self.running_times)
        for work in self.work_times:
            if self.inlet is None:
                part += 1
            else:
                part = yield self.inlet.get()
            self.enter("busy")
            while until_stop < work:
                yield env.timeout(until_stop)
                self.enter("down")
                yield env.timeout(next(self.repair_times))
                self.enter("busy")
                work -= until_stop
                until_stop = next(self.running_times)
            yield env.timeout(work)
            until_stop -= work
            self.cycles += 1
            if self.outlet is None:
                self.finished.append(env.now)
            else:
                self.enter("blocked")
                yield self.outlet.put(part)
            self.enter("starved")


def run(seed: int, hours: float = 8) -> dict[str, Any]:
    """One run of the ten-station line from empty; the answer is that of `handwritten.report`."""
    return handwritten.run(seed, hours, LeanStation)
