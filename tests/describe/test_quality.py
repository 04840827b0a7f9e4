"""Hidden faults in a description: defaults with their reasons, what they resolve to, cautions."""

from __future__ import annotations

import pytest

from cellsim.describe.cell import Cell, Element, Faults, Inspection, Law, Need, Rejects, Samples
from cellsim.describe.resolve import load_text, resolved_text
from cellsim.errors import DescriptionError

SECOND = 1_000_000


def cell(stations: str, route: str = "[make, test]", more: str = "") -> Cell:
    """A cell of these stations that resolves to itself."""
    found = load_text(f"cell: x\nroute: {route}\nstations:\n{stations}{more}")
    assert load_text(resolved_text(found)) == found
    return found


def assumed(found: Cell) -> dict[str, str]:
    """What was assumed, by path."""
    return {a.path: a.value for a in found.assumptions}


@pytest.mark.parametrize(
    ("crew", "finds", "false"),
    [("", 0.99, 0.01), ("\ncrew: {ann: [test]}", 0.8, 0.02)],
    ids=["machine", "hand"],
)
def test_an_inspection_without_numbers(crew: str, finds: float, false: float) -> None:
    """A machine finds 99 % and rejects 1 % of good ones, a person 80 % and 2 %; both are assumed."""
    found = cell("  make: {cycle: 5 s, faults: 3 %}\n  test: {cycle: 5 s, inspects: yes}", more=crew)
    make, test = found.stations
    assert make.faults == Faults(0.03, 0.03)
    assert test.inspects == Inspection(finds, false, ("make",))
    assert test.rejects == Rejects()
    kind = "a machine" if not crew else "hand"
    why = {a.path: a.why for a in found.assumptions}["stations.test.inspects.finds"]
    assert why == f"common practice for inspection {'by ' + kind}"
    said = assumed(found)
    assert said["stations.test.inspects.finds"] == f"{100 * finds:.0f} %"
    assert said["stations.test.inspects.false_rejects"] == f"{100 * false:.0f} %"
    assert said["stations.test.inspects.of"] == "make"
    assert said["stations.test.rejects.to"] == "scrap"


def test_numbers_that_are_given_are_not_assumed() -> None:
    """Only the key that is left out is assumed."""
    found = cell("  make: {cycle: 5 s, faults: 3 %}\n  test: {cycle: 5 s, inspects: {finds: 70 %, of: make}}")
    assert found.stations[1].inspects == Inspection(0.7, 0.01, ("make",))
    assert [a.path for a in found.assumptions if "inspects" in a.path] == [
        "stations.test.inspects.false_rejects"
    ]


def test_benches_and_repairs_mend_unless_said() -> None:
    """A bench that gets rejects, and a repair in place, put every faulty unit right; a station does not."""
    found = cell(
        "  make: {cycle: 5 s, faults: {share: 3 %, after_rework: 1 %}}\n"
        "  look: {cycle: 5 s, inspects: yes, rejects: {to: here, repair: 9 s, attempts: 2, then: strip}}\n"
        "  test: {cycle: 5 s, inspects: yes, rejects: {to: bench, returns_to: test}}\n"
        "  bench: {cycle: 5 s}\n"
        "  strip: {cycle: 5 s, goes_to: make, mends: 40 %}\n",
        "[make, look, test]",
    )
    assert {station.name: station.mends for station in found.stations} == {
        "make": 0.0, "look": 1.0, "test": 0.0, "bench": 1.0, "strip": 0.4,
    }  # fmt: skip
    said = assumed(found)
    assert said["stations.look.mends"] == said["stations.bench.mends"] == "100 %"
    assert "stations.strip.mends" not in said and "stations.make.mends" not in said
    look = next(station for station in found.stations if station.name == "look")
    repair = Element("repair", Law("fixed", (9.0 * SECOND,)))
    assert look.rejects == Rejects(attempts=2, repair=repair, then="strip's rework", then_in_front=True)


def test_without_faults_nothing_is_said_of_them() -> None:
    """A cell without hidden faults has no assumption about rework that mends, and no key for it."""
    found = cell(
        "  make: {cycle: 5 s}\n  test: {cycle: 5 s, rejects: {share: 4 %, to: b, returns_to: test}}\n"
        "  b: {cycle: 5 s}"
    )
    assert not any("mends" in path or "faults" in path for path in assumed(found))
    assert "mends" not in resolved_text(found)


def test_whoever_does_the_last_element_repairs_and_tests_samples() -> None:
    """Without `by` the people of the last element are taken; nobody where the station works alone."""
    crew = "\ncrew: {ann: [test], bob: {}}"
    found = cell(
        "  make: {cycle: 5 s, samples: {every: 9, time: 4 s}}\n"
        "  test: {cycle: 5 s, rejects: {share: 4 %, to: here, repair: 9 s}, samples: "
        "{every: 50, time: 40 s, by: bob, destroys: yes}}",
        more=crew,
    )
    make, test = found.stations
    assert make.samples == Samples(9, Element("test of a sample", Law("fixed", (4.0 * SECOND,))))
    assert test.rejects is not None and test.rejects.repair is not None
    assert test.rejects.repair.by == (Need("ann"),)
    assert test.samples is not None
    assert (test.samples.test.by, test.samples.destroys) == ((Need("bob"),), True)
    said = assumed(found)
    assert said["stations.test.rejects.by"] == "ann"
    assert said["stations.make.samples.by"] == "nobody"
    assert said["stations.make.samples.destroys"] == "no"
    assert [post.name for post in found.posts] == ["ann", "bob"]
    assert not any("attends nothing" in caution for caution in found.cautions)


def test_cautions_of_what_is_never_found() -> None:
    """Faults that nobody looks for, an inspection with nothing to find, a store that nothing empties."""
    nothing = cell("  make: {cycle: 5 s}\n  test: {cycle: 5 s, inspects: yes}")
    assert (
        "Station test inspects, but no station makes faults: it rejects good units only." in nothing.cautions
    )
    other = cell(
        "  make: {cycle: 5 s, faults: 3 %}\n  fit: {cycle: 5 s, lot_faults: 1 %}\n"
        "  test: {cycle: 5 s, inspects: {of: fit}, rejects: {to: hold}}\n",
        "[make, fit, test]",
        "\nstores: {hold: 8}",
    )
    assert "No inspection looks for the faults that station make makes." in other.cautions
    full = "Nothing takes units out of store hold. When its 8 places are full, whoever fills it stands still."
    assert full in other.cautions


def test_more_origins_than_a_unit_can_remember() -> None:
    """A unit remembers the faults of 60 stations."""
    names = [f"s{k}" for k in range(61)]
    text = "".join(f"  {name}: {{cycle: 5 s, faults: 1 %}}\n" for name in names)
    with pytest.raises(DescriptionError) as caught:
        cell(text, f"[{', '.join(names)}]")
    assert "stations.s60.faults: 61 stations make faults; at most 60 are possible" in str(caught.value)
    assert cell(text.replace("s60: {cycle: 5 s, faults: 1 %}", "s60: {cycle: 5 s}"), f"[{', '.join(names)}]")


def test_who_works_inside_machine_time_does_not_repair() -> None:
    """The last element of the cycle is the last one that the machine waits for: nobody's here, not bob's."""
    found = cell(
        "  make: {cycle: 5 s}\n"
        "  test:\n"
        "    work: [{do: load, time: 2 s, by: ann}, {do: run, time: 9 s},"
        " {do: pack, time: 3 s, by: bob, inside_machine_time: yes}]\n"
        "    rejects: {share: 4 %, to: here, repair: 9 s}",
        more="\ncrew: {ann: {}, bob: {}}",
    )
    rejects = found.stations[1].rejects
    assert rejects is not None and rejects.repair is not None
    assert rejects.repair.by == ()
    assert assumed(found)["stations.test.rejects.by"] == "nobody"
