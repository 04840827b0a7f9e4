"""What is not known about a cell: each input that was measured, stated or assumed, with its range."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, Literal

import numpy as np
from scipy.special import stdtrit

from cellsim.describe.cell import (
    Carrier,
    Cell,
    Changeover,
    Element,
    Faults,
    FinishedGoods,
    IndexingTable,
    Inspection,
    Law,
    Mispicks,
    Post,
    PurchasedPart,
    Recovery,
    Rejects,
    Release,
    Robot,
    Station,
    Stop,
    Yields,
)
from cellsim.describe.changes import Change
from cellsim.describe.laws import LAWS, mean, spread
from cellsim.study.improvements import scaled
from cellsim.study.screening import FloatArray
from cellsim.units import SECOND

STATED, ASSUMED = 0.10, 0.50  # half a range, as a share: of what the file states, of what the tool assumed
FEW = 15  # measured values below which resampling them says too little about their mean
FEWEST = 3  # below this nothing is said by their spread
RESAMPLES = 1000
INNER = 0.05  # of a bell-shaped law at each side, beyond the low and the high end that are shown

Known = Literal["measured", "stated", "assumed", "given range"]
Place = tuple[str | int, ...]

# Fields that hold times, with the words for them; the element's own name stands for its time.
TIMES: dict[type, dict[str, str]] = {
    Element: {"time": ""},
    Stop: {"every": "time between", "lasts": "how long"},
    Changeover: {"times": "changeover", "approval": "approval after changeover"},
    Yields: {"change": "change of bar, coil or sheet"},
    Robot: {"pick": "pick", "place": "place"},
    Mispicks: {"time": "help after a mis-pick"},
    Recovery: {"time": "recovery after a stop"},
    Post: {"response": "way to a repair"},
    PurchasedPart: {"delivery": "delivery", "trip": "trip"},
    FinishedGoods: {"every": "time between collections", "trip": "trip to collect"},
    Release: {"every": "time between raw units"},
    IndexingTable: {"index": "move to the next position"},
    Carrier: {"returns": "way back"},
}
# Fields that hold shares; those of one row are the same knowledge and vary together.
SHARES: dict[type, list[tuple[tuple[str, ...], str]]] = {
    Rejects: [(("share", "after_rework"), "rejects")],
    Faults: [(("share", "after_rework"), "faults"), (("lot_share",), "faulty lots")],
    Inspection: [(("finds",), "faults found"), (("false_rejects",), "false rejects")],
    Station: [(("mends",), "faults mended")],
    Mispicks: [(("share",), "mis-picks"), (("works",), "retries that work")],
    Post: [(("absent",), "absence")],
}
PLANS = {(Stop, "every"), (FinishedGoods, "every"), (Release, "every")}  # known where they are fixed


@dataclass(frozen=True, slots=True)
class Input:
    """A number of a cell that is not known exactly.

    Attributes:
        name: in words.
        known: whether it was measured, stated in the file, assumed by the tool, or has a range of the user's.
        unit: `s`, `share`, or what stands behind it in the file.
        now: its value in the cell as it is; None where the file does not say it.
        low, high: the ends of its range, in that unit.  All values between are alike likely; of a mean that
            was measured they are the 5 % and 95 % points of what it may be, which lie where a range with
            even chances of the same standard deviation would end (1.64 and 1.73 deviations).
        why: why the range is what it is.
        value_at: the value below which a share of all that is possible lies.
        put: the cell with that value.
        stands: what stands at its places now, to see whether something else changes it.
        bell: whether values far from the middle are less likely.
        change: the change of the file that puts the value there, instead of `put`.
    """

    name: str
    known: Known
    unit: str
    now: float | None
    low: float
    high: float
    why: str
    value_at: Callable[[float], float]
    put: Callable[[Cell, float], Cell]
    stands: tuple[float, ...] = ()
    bell: bool = False
    change: Callable[[float], Change] | None = None

    def share_at(self, position: float) -> float:
        """The share that goes with a place between the low (0) and the high end (1)."""
        return INNER + (1 - 2 * INNER) * position if self.bell else position

    def position(self, share: float) -> float:
        """Where between its low (0) and its high end (1) the value at a share lies."""
        return (self.value_at(share) - self.low) / (self.high - self.low)

    def positions(self, count: int = 501) -> FloatArray:
        """So many equally likely positions."""
        return np.array([self.position((k + 0.5) / count) for k in range(count)])


def inputs_of(cell: Cell) -> list[Input]:
    """Every mean time and spread, every time between stops and how long they last, every share of a cell.

    Left out are what is zero or certain, and times between planned or exactly repeated events: plans.
    """
    found: list[Input] = []
    names: dict[str, int] = {}
    for place, holder, who in _holders(cell, (), ""):
        for made in [*_times(cell, place, holder, who), *_shares(place, holder, who)]:
            names[made.name] = names.get(made.name, 0) + 1
            again = names[made.name]
            found.append(made if again == 1 else replace(made, name=f"{made.name} ({again})"))
    return _as_one(found)


def _as_one(inputs: Sequence[Input]) -> list[Input]:
    """The inputs, where those that rest on the same measured values are one: they are wrong together."""
    found: list[Input] = []
    for each in inputs:
        same = [
            k for k, other in enumerate(found) if each.known == "measured" and other.stands == each.stands
        ]
        if same:
            found[same[0]] = _both(found[same[0]], each)
        else:
            found.append(each)
    return found


def _both(one: Input, other: Input) -> Input:
    def put_it(cell: Cell, share: float) -> Cell:
        return other.put(one.put(cell, share), share)

    return replace(one, name=f"{one.name} and {other.name}", put=put_it)


def _holders(node: Any, place: Place, who: str) -> Iterator[tuple[Place, Any, str]]:
    """Every part of a cell with its place and the words for it, depth first."""
    if isinstance(node, tuple):
        for k, part in enumerate(node):
            yield from _holders(part, (*place, k), who)
    elif is_dataclass(node) and not isinstance(node, Law):
        own = "" if isinstance(node, Cell) else str(getattr(node, "name", ""))
        words = ": ".join(part for part in (who, own) if part)
        yield place, node, words
        for field in fields(node):
            yield from _holders(getattr(node, field.name), (*place, field.name), words)


def at(node: Any, place: Place) -> Any:
    """What stands at a place."""
    for step in place:
        node = node[step] if isinstance(step, int) else getattr(node, step)
    return node


def put(node: Any, place: Place, value: Any) -> Any:
    """The same with something else at a place."""
    if not place:
        return value
    step, rest = place[0], place[1:]
    if isinstance(step, int):
        return (*node[:step], put(node[step], rest, value), *node[step + 1 :])
    return replace(node, **{step: put(getattr(node, step), rest, value)})


def _each(cell: Cell, places: Sequence[Place], change: Callable[[Any], Any]) -> Cell:
    for place in places:
        cell = put(cell, place, change(at(cell, place)))
    return cell


def _times(cell: Cell, place: Place, holder: Any, who: str) -> Iterator[Input]:
    for field, words in TIMES.get(type(holder), {}).items():
        law = getattr(holder, field)
        name = ": ".join(part for part in (who or "release", words) if part)
        if isinstance(holder, Changeover) and field == "times":
            places = [(*place, field, k, 2) for k in range(len(law))]
            laws: list[Law] = [row[2] for row in law]
        else:
            places, laws = [(*place, field)], [] if law is None else [law]
            if isinstance(holder, Element):
                places += [(*place, "by_variant", k, 1) for k in range(len(holder.by_variant))]
                laws += [each for _, each in holder.by_variant]
        if not laws or (isinstance(holder, Stop) and field == "every" and (holder.planned or holder.at)):
            continue
        if (type(holder), field) in PLANS and laws[0].name == "fixed":
            continue
        counts = isinstance(holder, Stop) and field == "every" and holder.clock in ("cycles", "units")
        measured = list(dict.fromkeys(law for law in laws if _was_measured(law)))
        for k, each in enumerate(measured):
            own = [place for place, law in zip(places, laws, strict=True) if law == each]
            yield _measured(name if not k else f"{name}, {k + 1}", own, each)
        pairs = [(place, law) for place, law in zip(places, laws, strict=True) if law not in measured]
        if pairs and mean(pairs[0][1]) > 0:
            stated, rest = [place for place, _ in pairs], [law for _, law in pairs]
            yield _scaling(f"{name}, others" if measured else name, stated, rest, counts)
            if not counts:
                yield from _spread(cell, holder, field, name, stated, rest)


def _was_measured(law: Law) -> bool:
    """Whether a law holds enough measured values, and not all the same, to say how well they are known."""
    return law.name == "measured" and len(law.measured) >= FEWEST and len(set(law.measured)) > 1


def _even(
    name: str,
    known: Known,
    unit: str,
    now: float,
    half: float,
    why: str,
    change: Callable[[Any, float], Any],
    places: Sequence[Place],
    stands: tuple[float, ...],
    most: float = math.inf,
) -> Input:
    """An input that may be this share less or more than it is, every value alike likely."""
    low, high = now * (1 - half), min(most, now * (1 + half))

    def value_at(share: float) -> float:
        return low + share * (high - low)

    def put_it(cell: Cell, share: float) -> Cell:
        factor = value_at(share) / now
        return _each(cell, places, lambda there: change(there, factor))

    return Input(name, known, unit, now, low, high, why, value_at, put_it, stands)


def _words(half: float, what: str = "stated") -> str:
    return f"an assumption: {100 * half:.0f} % less or more than {what}"


def _scaling(name: str, places: Sequence[Place], laws: Sequence[Law], counts: bool) -> Input:
    """A mean that the file states: all laws are scaled alike."""

    def change(law: Law, factor: float) -> Law:
        longer = scaled(law, factor)
        return replace(longer, values=tuple(max(1.0, round(v)) for v in longer.values)) if counts else longer

    stands = tuple(map(mean, laws))
    unit, now = ("", stands[0]) if counts else ("s", stands[0] / SECOND)
    return _even(name, "stated", unit, now, STATED, _words(STATED), change, places, stands)


def _spread(
    cell: Cell, holder: Any, field: str, name: str, places: Sequence[Place], laws: Sequence[Law]
) -> Iterator[Input]:
    """The spread of times around their mean, where the law has one that can be wrong."""
    if not all(_spreadable(law) for law in laws):
        return
    assumed = (type(holder), field) == (Stop, "lasts") and any(
        a.path.endswith(f".stops.{holder.name}.lasts.law") and "spread" in a.value for a in cell.assumptions
    )
    half = ASSUMED if assumed else STATED
    why = _words(half, "the tool assumed") if assumed else _words(half)
    known: Known = "assumed" if assumed else "stated"
    stands = tuple(map(spread, laws))
    made = _even(f"{name}: spread", known, "share", stands[0], half, why, _with_spread, places, stands)
    if all(_is_law(_with_spread(law, factor)) for law in laws for factor in (1 - half, 1 + half)):
        yield made


def _spreadable(law: Law) -> bool:
    kinds = [row.name for row in LAWS[law.name].parameters]
    return ("spread" in kinds or "max" in kinds) and spread(law) > 0


def _with_spread(law: Law, factor: float) -> Law:
    """A law of the same mean that spreads so many times as much."""
    rows = LAWS[law.name].parameters
    if any(row.name == "spread" for row in rows):
        values = tuple(
            v * factor if row.name == "spread" else v for row, v in zip(rows, law.values, strict=True)
        )
    else:
        centre = mean(law)
        values = tuple(centre + factor * (v - centre) for v in law.values)
    return replace(law, values=values)


def _is_law(law: Law) -> bool:
    if min(law.values) < 0:
        return False
    given = {row.name: v for row, v in zip(LAWS[law.name].parameters, law.values, strict=True)}
    try:
        LAWS[law.name].check(given)
    except ValueError:
        return False
    return True


def _measured(name: str, places: Sequence[Place], law: Law) -> Input:
    """A time that was measured: what its values may be if they were measured again.

    Values are drawn from them with replacement; the resamples are ordered by their means, so that a share
    picks one.  Of few values only the mean is moved, by Student's law on the scale of its logarithm.
    """
    values = np.array(law.measured)
    count, now = len(values), mean(law)
    if count < FEW:
        error = float(values.std(ddof=1)) / now / math.sqrt(count)

        def factor(share: float) -> float:
            return math.exp(float(stdtrit(count - 1, min(max(share, 0.01), 0.99))) * error)

        def value_at(share: float) -> float:
            return now / SECOND * factor(share)

        def put_it(cell: Cell, share: float) -> Cell:
            return _each(cell, places, lambda there: scaled(there, factor(share)))

        why = f"{count} measured values, too few to resample; their mean by Student's law"
    else:

        def resample(number: int) -> tuple[int, ...]:
            picked = np.random.default_rng([count, number]).integers(count, size=count)
            return tuple(int(v) for v in values[picked])

        means = np.array([np.mean(resample(k)) for k in range(RESAMPLES)])
        order = np.argsort(means, kind="stable")

        def rank(share: float) -> int:
            return int(order[min(RESAMPLES - 1, int(share * RESAMPLES))])

        def value_at(share: float) -> float:
            return float(means[rank(share)]) / SECOND

        def put_it(cell: Cell, share: float) -> Cell:
            drawn = resample(rank(share))
            return _each(cell, places, lambda there: replace(there, measured=drawn))

        why = f"{count} measured values, drawn again from themselves"
    low, high, stands = value_at(INNER), value_at(1 - INNER), tuple(map(float, law.measured))
    return Input(name, "measured", "s", now / SECOND, low, high, why, value_at, put_it, stands, bell=True)


def _shares(place: Place, holder: Any, who: str) -> Iterator[Input]:
    for row, words in SHARES.get(type(holder), []):
        now = getattr(holder, row[0])
        if not 0 < now < 1:
            continue
        places = [(*place, field) for field in row]
        stands = tuple(getattr(holder, field) for field in row)
        yield _even(
            f"{who}: {words}",
            "stated",
            "share",
            now,
            STATED,
            _words(STATED),
            _times_factor,
            places,
            stands,
            1.0,
        )


def _times_factor(share: float, factor: float) -> float:
    return min(1.0, share * factor)
