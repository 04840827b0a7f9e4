"""The paper check: limits by hand, estimates against exact values with their sources, refusals."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from cellsim.describe.resolve import load_text
from cellsim.published.cells import exponential_line, in_a_row
from cellsim.show.paper import estimate_on_paper, paper_words
from cellsim.study.paper import limit, paper_check, paper_figures
from cellsim.study.plain_line import NotPlain, plain_line
from cellsim.study.study import run
from cellsim.theory.estimates import EXACT
from cellsim.theory.steady_lines import EQUAL_ERROR, STEADY_ERROR, STOPPED_ERROR
from cellsim.theory.two_moments import TWO_MOMENT_ERRORS


def row(*stations: str, places: Sequence[int | str] = (), more: str = ""):
    """Stations S1, S2, ... in a row, each given by its keys, with so many places between neighbours or 0."""
    return load_text(in_a_row(stations, places or [0] * (len(stations) - 1)) + more)


UNLIMITED = "{places: unlimited}"
EXPONENTIAL = "cycle: {law: exponential, mean: 60 s}"
STOPPING = EXPONENTIAL + ", stops: {jam: {every: 50 min of running, lasts: 5 min, law: exponential}}"


class TestLimit:
    """The most that the time of the busiest allows, each worked out by hand."""

    def test_the_slowest_station(self):
        """24 s and 30 s: 120 an hour, by the second."""
        found = limit(row("cycle: 24 s", "cycle: 30 s", places=[4]))
        assert found.rate == pytest.approx(120)
        assert found.who == ("S2",)

    def test_equals_are_all_named(self):
        """Two stations of 24 s."""
        assert limit(row("cycle: 24 s", "cycle: 24 s", places=[4])).who == ("S1", "S2")

    def test_equal_machines(self):
        """Two machines of 40 s make 180 an hour."""
        assert limit(row("cycle: 40 s, machines: 2")).rate == pytest.approx(180)

    def test_stops_by_running_time(self):
        """20 min of running, then 4 min of repair: 5/6 of 150."""
        stops = "stops: {jam: {every: 20 min of running, lasts: 4 min}}"
        assert limit(row("cycle: 24 s, " + stops)).rate == pytest.approx(125)

    def test_stops_by_the_clock_cost_a_share_that_does_not_go_with_the_rate(self):
        """Up 20 min, down 5 min, working or not: 4/5 of 150."""
        stops = "stops: {jam: {every: 20 min of on time, lasts: 5 min}}"
        assert limit(row("cycle: 24 s, " + stops)).rate == pytest.approx(120)

    def test_scrap_makes_more_work_before_it(self):
        """Of ten units nine are good: the first station makes 10/9 for each."""
        found = limit(row("cycle: 24 s", "cycle: 3 s, rejects: {share: 10 %}", places=[4]))
        assert found.rate == pytest.approx(150 * 0.9)

    def test_one_person_for_two_stations(self):
        """Ann needs 10 + 20 s a unit: 120 an hour, though each station could make more."""
        found = limit(
            row("cycle: 10 s, by: ann", "cycle: 20 s, by: ann", places=[4], more="crew: {ann: {}}\n")
        )
        assert found.rate == pytest.approx(120)
        assert found.who == ("ann",)

    def test_people_who_can_do_the_same_count_together(self):
        """Ann does A and B, Ben B alone: 10 + 50 s for two people, 120 an hour; B has three benches."""
        crew = "crew: {ann: {skills: [fit]}, ben: {skills: [fit]}}\n"
        found = limit(row("cycle: 10 s, by: ann", "cycle: 50 s, by: fit, machines: 3", places=[4], more=crew))
        assert found.rate == pytest.approx(120)
        assert found.who == ("ann", "ben")

    def test_what_works_in_breaks_sets_no_limit(self):
        """Of 24 s, but it runs through breaks; the other of 20 s does not."""
        found = limit(row("cycle: 24 s, runs_through_breaks: yes", "cycle: 20 s", places=[4]))
        assert found.who == ("S2",)
        assert found.rate == pytest.approx(180)

    def test_a_runs_rate_never_lies_above(self):
        """Times that never vary reach it; the interval of those that do lies below."""
        for text in ("cycle: 24 s", "cycle: {mean: 24 s, spread: 30 %}"):
            cell = row(text, "cycle: 20 s", places=[4], more="study: {settle: 30 min, run: 4 h}\n")
            found = run(cell, replications=10)
            assert found["paper"]["limit"]["above_limit"] is False
            assert found["output_per_hour"]["mean"] == pytest.approx(150, rel=0.03)


ESTIMATES = [
    # three exponential stations, one place between each two: 8529/12721, Hillier and Boling (1967)
    (row(EXPONENTIAL, EXPONENTIAL, EXPONENTIAL, places=[1, 1]), 60 * 8529 / 12721, EXACT, "Markov"),
    # no places: 22/39, Hunt (1956)
    (row(EXPONENTIAL, EXPONENTIAL, EXPONENTIAL), 60 * 22 / 39, EXACT, "Markov"),
    # exponential work, stops and repairs, two places: stationary chain solved with numpy
    (row(*[STOPPING] * 3, places=[2, 2]), 60 * 0.623224, EXACT, "Markov"),
    # constant times: the slowest, whatever the places
    (row("cycle: 24 s", "cycle: 30 s", "cycle: 20 s"), 120.0, EXACT, "never vary"),
    # one station with three benches, any law
    (row("cycle: {mean: 90 s, spread: 40 %}, machines: 3"), 120.0, EXACT, "one station"),
    # a store without limit passes on what the slower side makes: 22/39 behind a station of 50 s
    (row(EXPONENTIAL, EXPONENTIAL, EXPONENTIAL, "cycle: 50 s", places=[0, 0, UNLIMITED]),
     60 * 22 / 39, EXACT, "slowest part"),
    # raw units come every 2 min to a line that could take more
    (row(EXPONENTIAL, EXPONENTIAL, places=[4], more="release: {every: 2 min}\n"),
     30.0, EXACT, "as they come"),
    # four equal exponential stations and six cards: n / (n + K - 1), Hopp and Spearman (1996)
    (row(*[EXPONENTIAL] * 4, places=[UNLIMITED] * 3,
         more="release: cards 6\n"), 60 * 6 / 9, EXACT, "mean value"),
]  # fmt: skip


@pytest.mark.parametrize(("cell", "rate", "error", "how"), ESTIMATES)
def test_exact_estimates(cell, rate: float, error, how: str):
    """Each against its own source, given beside it."""
    found = paper_check(cell)
    assert found.rate == pytest.approx(rate, rel=2e-6)
    assert found.usual_error is error
    assert how in found.how


STEADY = "cycle: {mean: 60 s, spread: 15 %}"
JAM = ", stops: {jam: {every: 20 min of running, lasts: 4 min, law: exponential}}"


@pytest.mark.parametrize(
    ("stations", "places", "error"),
    [
        ([STEADY] * 4, [2, 2, 2], STEADY_ERROR),
        (["cycle: 60 s" + JAM] * 3, [8, 8], EQUAL_ERROR),
        ([STEADY + JAM, "cycle: 55 s", STEADY], [4, 4], STOPPED_ERROR),
        (["cycle: {law: gamma, mean: 60 s, spread: 60 %}"] * 4, [1, 1, 1], TWO_MOMENT_ERRORS[0][1]),
    ],
    ids=["steady", "equal with stops", "steady with stops", "two moments"],
)  # fmt: skip
def test_the_runs_agree_within_the_usual_error(stations: list[str], places: list[int], error):
    """Estimates of each kind beside runs of the same cell; 20 runs of 20 h, seed fixed."""
    cell = row(*stations, places=places, more="study: {settle: 2 h, run: 20 h}\n")
    assert paper_check(cell).usual_error is error
    found = run(cell, replications=20)["paper"]["estimate"]
    assert found["agrees"] is True
    assert error.low / 100 - 0.01 <= -found["difference"] <= error.high / 100 + 0.01


def test_exact_chain_beside_runs():
    """The runs of an exponential line: their 95 % interval holds the chain's rate (this seed)."""
    cell = load_text(exponential_line([60, 60, 60], [1, 1], "settle: 2 h, run: 40 h"))
    found = run(cell, replications=30)
    assert found["paper"]["estimate"]["usual_error_percent"] == [0.0, 0.0]
    assert found["paper"]["estimate"]["agrees"] is True
    assert abs(found["paper"]["estimate"]["difference"]) < 0.01


NINE = "cycle: 9 s"
ANN = "cycle: 9 s, by: ann"
CREW = "crew: {ann: {}}\n"
JAM_FOR_ANN = ", stops: {jam: {every: 1 h of running, lasts: 1 min, cleared_by: ann}}"
STAY = "{places: 4, stays: at least 2 min}"
REASONS = [
    (row(NINE + ", batch: {size: 4}"), "batches at S1"),
    (row(NINE + ", rejects: {share: 3 %}"), "rejects at S1"),
    (row(NINE, NINE, places=[STAY]), "times to stay in after S1"),
    (row(ANN, ANN, more=CREW), "ann, who works at S1 and elsewhere"),
    (row(ANN + JAM_FOR_ANN, more=CREW), "ann, who works at S1 and clears stops"),
    (row(ANN + ", machines: 2", more=CREW), "S1, which has more machines than ann has people"),
    (
        row("cycle: 9 s, by: sew", more="crew: {ann: {skills: [sew]}, ben: {skills: [sew]}}\n"),
        "several posts that can do work at S1",
    ),
    (row(NINE + JAM_FOR_ANN, more=CREW), "the wait for somebody in the stop jam at S1"),
    (row(NINE + ", machines: 2", NINE, places=[3]), "equal machines side by side between limited stores"),
    (row(NINE, NINE, places=[3], more="release: cards 5\n"), "cards and stores with fewer places"),
    (row(NINE, more="release: cards 5\n"), "cards and times that are not exponential"),
]


@pytest.mark.parametrize(("cell", "reason"), REASONS, ids=[reason for _, reason in REASONS])
def test_where_paper_has_no_formula_it_says_why(cell, reason: str):
    """No estimate, the reason in words; the limit is there all the same."""
    found = paper_check(cell)
    assert found.rate is None
    assert found.how == f"no formula for {reason}"
    assert found.limit is not None


def test_somebody_of_his_own_does_not_stand_against_an_estimate():
    """Ann does A only and Ben B only: a plain line with their allowance of 10 % in the times."""
    crew = "crew: {ann: {}, ben: {}}\nallowance: 10 %\n"
    line = plain_line(row("cycle: 60 s, by: ann", "cycle: 50 s, by: ben", places=[2], more=crew))
    assert [station.mean_s for station in line.stations] == pytest.approx([66, 55])
    assert line.places == (2,)


def test_the_parts_of_a_plain_line():
    """Two elements add up, in mean and in variance; a stop by cycles counts their work as running time."""
    line = plain_line(
        row(
            "work: [{do: wind, time: {mean: 30 s, spread: 20 %}},"
            " {do: clip, time: {mean: 20 s, spread: 40 %}}], "
            "stops: {reel: {every: 100 cycles, lasts: {mean: 2 min, spread: 50 %}}}"
        )
    )
    station = line.stations[0]
    assert station.mean_s == pytest.approx(50)
    assert station.scv == pytest.approx((6**2 + 8**2) / 50**2)
    assert station.phases == 0
    assert station.stops[0].run_s == pytest.approx(5000)
    assert station.stops[0].repair_s == pytest.approx(120)
    assert station.stops[0].repair_scv == pytest.approx(0.25)
    with pytest.raises(NotPlain, match="several variants"):
        plain_line(row(NINE, more="variants: {red: 50 %, blue: 50 %}\n"))


class TestWords:
    """What is said when runs and paper differ; outputs given by hand."""

    LINE = row(EXPONENTIAL, EXPONENTIAL, EXPONENTIAL)  # paper: 33.846 an hour, limit 60

    def words(self, mean: float, low: float, high: float, starts_empty: bool = False) -> str:
        found = paper_figures(self.LINE, {"mean": mean, "interval": [low, high]})
        return " ".join(paper_words(found, starts_empty))

    def test_agreement(self):
        """33.9 in 33.5 to 34.3."""
        assert self.words(33.9, 33.5, 34.3) == (
            "On paper at most 60 good units per working hour (S1, S2, S3). For a cell like this paper gives"
            " about 33.8 (Markov chain of the line, exact in the long run). The runs give 0.2 % more."
        )

    def test_difference(self):
        """32 in 31.5 to 32.5 is too little, unless the cell fills meanwhile."""
        assert self.words(32, 31.5, 32.5).endswith(
            "The runs give 5.5 % less. That is more than usual: find out why before you rely on either."
        )
        assert self.words(32, 31.5, 32.5, starts_empty=True).endswith(
            "They count the time in which the cell fills; paper speaks of the long run."
        )

    def test_above_the_limit(self):
        """61 in 60.5 to 61.5, of at most 60."""
        assert "The runs lie above it" in self.words(61, 60.5, 61.5)
        assert "lie above" not in self.words(61, 59.5, 62.5)

    def test_without_runs(self):
        """As `check` says it."""
        found = paper_figures(row("cycle: 9 s, batch: {size: 4}"))
        assert estimate_on_paper(found) == "no estimate (no formula for batches at S1)"
        assert found["limit"]["above_limit"] is None
