"""Stops for a cell file from logs: figures by hand, cases with known answers, and laws found again."""

from __future__ import annotations

import json
import math
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
import yaml
from click.testing import CliRunner
from scipy import optimize, stats

from cellsim import cli
from cellsim.commands.stops import _iso
from cellsim.describe import laws
from cellsim.describe.ranges import aimed, read_range_file
from cellsim.describe.reader import read_text
from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.errors import CellsimError
from cellsim.evidence.fitting import sample
from cellsim.evidence.stop_inputs import stop_study
from cellsim.evidence.stop_laws import lengths_estimate, two_kinds
from cellsim.evidence.stop_remarks import quiet_chance
from cellsim.evidence.stop_words import planned_work
from cellsim.evidence.worktime import running_share
from cellsim.show.plots_quantiles import draw_quantiles
from cellsim.study.unknowns import unknowns
from cellsim.units import MINUTE

CELL = load_text("""cell: x
shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 10:00, for: 20 min}], clean_up: 10 min}}
crew: {A: [press, rivet], technician: {response: 5 min}}
route: [press, rivet]
stations:
  press: {cycle: 20 s, by: A, stops: {jam: {every: 1 h of running, lasts: 1 min, cleared_by: technician}}}
  rivet: {cycle: 20 s, by: A}
""")
ROUND_THE_CLOCK = load_text("cell: x\nroute: [mill]\nstations: {mill: {machines: 5, cycle: 20 s}}\n")
HEAD = "start,end,station,cause,cleared by\n"
MON, TUE = "2026-03-02", "2026-03-03"
THREE = HEAD + (
    f"{MON} 07:00,{MON} 07:01,press,jam,A\n{MON} 09:00,{MON} 09:02,press,jam,A\n"
    f"{TUE} 07:00,{TUE} 07:03,press,jam,A\n"
)


def study(tmp_path: Path, text: str = THREE, cell=CELL, **how):
    """The study of a log with this text."""
    path = tmp_path / "log.csv"
    path.write_text(text)
    return stop_study(path, cell, **how)


def log_of(minutes, every: int = 10, station: str = "press", cause: str = "jam") -> str:
    """A log with a stop of each length, one every so many minutes after 06:00, round the clock."""
    at, rows = datetime(2026, 3, 2, 6), []
    for length in minutes:
        end = at + timedelta(minutes=float(length))
        rows.append(f"{at.isoformat(' ')},{end.isoformat(' ')},{station},{cause},\n")
        at = at + timedelta(minutes=every + math.ceil(length))
    return HEAD + "".join(rows)


def test_figures_by_hand(tmp_path: Path):
    """Two shifts of 470 min on, three jams of 1, 2, 3 min: every (940 - 6) / 3 min, 2 min long.

    Bounds a second way: means for which 3 stops or more, or 3 or fewer, have a chance of 2.5 % (Poisson);
    means for which three exponential lengths sum to 6 min with that chance (gamma).
    """
    (jam,) = study(tmp_path).causes
    watched = 934 * 60
    assert (jam.count, jam.watched_s, jam.every.bounds.mean) == (3, watched, watched / 3)
    low = watched / optimize.brentq(lambda m: stats.poisson.cdf(3, m) - 0.025, 0.1, 50)
    high = watched / optimize.brentq(lambda m: stats.poisson.sf(2, m) - 0.025, 0.1, 50)
    assert (jam.every.bounds.low, jam.every.bounds.high) == pytest.approx((low, high))
    assert jam.lasts is not None
    assert jam.lasts.bounds.mean == 120
    ends = [optimize.brentq(lambda m, q=q: stats.gamma.cdf(360 / m, 3) - q, 1, 1e5) for q in (0.975, 0.025)]
    assert (jam.lasts.bounds.low, jam.lasts.bounds.high) == pytest.approx(ends)
    assert jam.lost_share == pytest.approx(6 / 900)
    assert jam.cleared_by == "A"


def test_a_missing_end_counts_as_a_stop_and_not_as_a_length(tmp_path: Path):
    """A fourth jam whose end is missing: every 934 / 4 min, still 2 min long and no bound of a length."""
    (jam,) = study(tmp_path, THREE + f"{MON} 08:00,,press,jam,A\n").causes
    assert jam.every.bounds.mean == 934 * 60 / 4
    assert jam.lasts is not None
    assert jam.lasts.bounds.mean == 120
    assert jam.not_ended == 0
    assert "the length of 1 of 4 is not known; in lost it counts with the mean of the others" in jam.remarks
    assert jam.lost_s == 4 * 120
    assert jam.lost_share == pytest.approx(8 / 900)


def test_a_stop_still_open_at_the_end_of_the_log_lasted_at_least_so_long(tmp_path: Path):
    """A fourth jam from 13:40 to the end of work at 13:50: 16 min of stops, three ends seen."""
    (jam,) = study(tmp_path, THREE + f"{TUE} 13:40,,press,jam,A\n").causes
    assert jam.lasts is not None
    assert jam.lasts.bounds.mean == pytest.approx(16 * 60 / 3)
    low, high = (960 / optimize.brentq(lambda m, k=k, q=q: stats.poisson.cdf(k, m) - q, 0.1, 50)
                 for k, q in ((3, 0.025), (2, 0.975)))  # fmt: skip
    assert (jam.lasts.bounds.low, jam.lasts.bounds.high) == pytest.approx((low, high))
    assert jam.not_ended == 1


def test_the_clock_of_running_time(tmp_path: Path):
    """80 % of 940 min on, three stops."""
    (jam,) = study(tmp_path, clock="running", running={"press": 0.8}).causes
    assert jam.every.bounds.mean == pytest.approx(0.8 * 940 * 60 / 3)
    with pytest.raises(CellsimError, match="say which share of its on time press works"):
        study(tmp_path, clock="running")
    with pytest.raises(CellsimError, match='no station or robot "pres"; did you mean "press"'):
        study(tmp_path, clock="running", running={"pres": 0.8})


def test_the_share_that_a_run_says():
    """Working and attended, of all time but that off duty."""
    shares = {"working": 0.45, "attended": 0.15, "starved": 0.15, "off": 0.25}
    result = {"stations": {"press": {"shares": {name: {"mean": mean} for name, mean in shares.items()}}}}
    assert running_share(result, "press") == pytest.approx(0.8)
    with pytest.raises(CellsimError, match='the run has no station "rivet"'):
        running_share(result, "rivet")


def test_the_share_that_a_run_says_is_what_the_clock_of_a_stop_counts():
    """A stop after every hour of running, exactly: on time x share is so many hours, loading apart."""
    cell = load_text("""cell: x
shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 10:00, for: 20 min}], clean_up: 10 min}}
crew: {A: {}}
route: [press]
stations:
  press:
    work: [{do: load, time: 60 s, by: A, phase: load}, {do: press, time: 200 s}]
    stops: {jam: {every: 60 min of running, lasts: 2 min, exact: yes}}
""")
    run = SimpyRun(compile_cell(cell), 1, 0, trace=True)
    run.advance(5 * 24 * 3600 * 1_000_000)
    stops = sum(what == L.N_STOP for _, what, _, _ in run.notes)
    totals = run.state.machines[0].totals
    shares = {
        name: {"mean": total / sum(totals)} for name, total in zip(L.MACHINE_STATES, totals, strict=True)
    }
    on = (sum(totals) - totals[L.M_OFF]) / 3.6e9
    hours = on * running_share({"stations": {"press": {"shares": shares}}}, "press")
    assert stops > 20
    assert stops <= hours < stops + 1


def test_a_longer_period_has_fewer_stops_an_hour(tmp_path: Path):
    """Four days watched instead of two; --to is a day that is watched itself."""
    found = study(tmp_path, begin="2026-03-02", end="2026-03-05")
    assert found.causes[0].watched_s == (4 * 470 - 6) * 60
    assert found.assumed == []
    with pytest.raises(CellsimError, match=r"2 March.* is no date"):
        study(tmp_path, begin="2 March")


def test_five_machines_of_which_three_fail(tmp_path: Path):
    """Stops after 20, 50 and 80 h that are never cleared, two machines run on to 100 h: 350 / 3 h."""
    rows = "".join(
        f"{(datetime(2026, 3, 2) + timedelta(hours=hours)).isoformat(' ')},,mill.{k},fault,\n"
        for k, hours in enumerate((20, 50, 80), start=1)
    )
    (fault,) = study(
        tmp_path, HEAD + rows, ROUND_THE_CLOCK, begin="2026-03-02", end="2026-03-06T04:00"
    ).causes
    assert fault.every.bounds.mean == pytest.approx(350 / 3 * 3600)
    assert fault.lasts is None
    assert "no end of such a stop was seen" in fault.remarks[0]


def test_short_stops_that_were_never_logged(tmp_path: Path):
    """3, 5, 10, 4, 8 min, logged from 2 min on: mean 4 min, 39.3 % unseen, so stops come more often."""
    text = log_of([3, 5, 10, 4, 8])
    (jam,) = study(tmp_path, text, unseen_below=2 * MINUTE).causes
    assert jam.lasts is not None
    assert jam.lasts.bounds.mean == pytest.approx(240)
    assert jam.unseen_share == pytest.approx(1 - math.exp(-0.5))
    assert jam.every.bounds.mean == pytest.approx(jam.seen_every_s * math.exp(-0.5))
    assert jam.every.bounds.low < jam.every.bounds.mean < jam.every.bounds.high
    (plain,) = study(tmp_path, text).causes
    assert plain.lasts is not None
    assert plain.lasts.bounds.mean == pytest.approx(360)  # exponential without a beginning of its own
    with pytest.raises(CellsimError, match="no stop of the log is as long"):
        study(tmp_path, text, unseen_below=20 * MINUTE)


def test_lengths_of_nothing_count(tmp_path: Path):
    """Four of 0 and four of 2 min: mean 1 min, and it is said."""
    (jam,) = study(tmp_path, log_of([0, 2] * 4)).causes
    assert jam.lasts is not None
    assert jam.lasts.bounds.mean == 60
    assert "4 of 8 have a length of 0; they count as that" in jam.remarks
    with pytest.raises(CellsimError, match="press, jam: all stops have a length of 0"):
        study(tmp_path, log_of([0, 0]))


def test_laws_begin_at_nothing():
    """Twenty lengths: Weibull of shape 2.0692 and scale 9.9814 (a free beginning gives 1.84 and 9.08)."""
    lengths = [
        1.59, 2.79, 3.65, 4.39, 5.05, 5.67, 6.27, 6.86, 7.44, 8.03, 8.63, 9.25, 9.9, 10.6, 11.36, 12.21,
        13.2, 14.42, 16.09, 19.21,
    ]  # fmt: skip
    found = lengths_estimate(sample(lengths))
    weibull = next(row for row in found.fits if row["law"] == "weibull")
    assert weibull["mean_s"] == pytest.approx(9.9814 * math.gamma(1 + 1 / 2.0692), rel=1e-4)
    assert found.law in ("weibull", "gamma")
    assert found.bounds.low < 8.84 < found.bounds.high


def test_laws_of_lengths():
    """All alike: fixed.  Two clusters far apart: no law fits, the lengths themselves are drawn."""
    assert lengths_estimate(sample([40.0] * 20)).value == {"law": "fixed", "time": 40.0}
    luck = np.random.default_rng(4)
    clusters = np.concatenate([luck.normal(10, 0.2, 30), luck.normal(100, 2, 30)])
    found = lengths_estimate(sample(clusters))
    assert found.law == "measured"
    assert found.bounds.mean == pytest.approx(clusters.mean())


def test_a_length_of_nothing_does_not_hide_another_law():
    """40 lengths of a wide lognormal law and one of 0 s: still no exponential law; the step is 1 s."""
    lengths = np.ceil(np.random.default_rng(3).lognormal(4, 1.8, 40))
    assert lengths_estimate(sample(lengths), 0).law == "lognormal"
    found = lengths_estimate(sample([*lengths, 0.0]), 0)
    assert found.law == "lognormal"
    assert found.bounds == lengths_estimate(sample([*lengths, 0.5]), 0).bounds


def test_exponential_is_seldom_given_up():
    """60 samples of 30 exponential lengths: another law at most four times (chance of more: 0.3 % at 2 %)."""
    luck = np.random.default_rng(8)
    others = [lengths_estimate(sample(luck.exponential(60, 30)), 0).law for _ in range(60)]
    assert sum(law != "exponential" for law in others) <= 4


def test_bounds_of_a_lognormal_mean():
    """40 samples of 40 lengths of spread 80 %: 95 % bounds miss at most seven times (more: 0.07 %)."""
    luck, sigma = np.random.default_rng(9), math.sqrt(math.log(1.64))
    missed = 0
    for _ in range(40):
        found = lengths_estimate(sample(luck.lognormal(math.log(60) - sigma**2 / 2, sigma, 40)), 0)
        missed += not found.bounds.low <= 60 <= found.bounds.high
    assert missed <= 7


def test_two_kinds_of_stops(tmp_path: Path):
    """Jams of about 40 s and breakdowns of 20 to 40 min: proposed, then parted; the parts add up."""
    luck = np.random.default_rng(6)
    lengths = [*luck.lognormal(math.log(0.7), 0.5, 40), *luck.lognormal(math.log(28), 0.3, 12)]
    text = log_of([round(length, 3) for length in luck.permutation(lengths)], cause="")
    cell = load_text("cell: x\nroute: [press]\nstations: {press: {cycle: 20 s}}\n")
    (both,) = study(tmp_path, text, cell, resamples=0).causes
    proposal = next(remark for remark in both.remarks if remark.startswith("two kinds of stops"))
    assert '--split "' in proposal
    minor, breakdown = study(tmp_path, text, cell, split=5 * MINUTE, resamples=0).causes
    assert [(cause.cause, cause.count) for cause in (minor, breakdown)] == [("minor", 40), ("breakdown", 12)]
    assert breakdown.lost_s + minor.lost_s == pytest.approx(both.lost_s)
    assert minor.thin is False
    named = study(
        tmp_path, text.replace(",press,,", ",press,belt,"), cell, split=5 * MINUTE, resamples=0
    ).causes
    assert [cause.cause for cause in named] == ["belt minor", "belt breakdown"]


def test_one_kind_of_stops_is_not_parted():
    """40 samples of 60 exponential or lognormal lengths: two kinds at most once (own bound; seen: never)."""
    luck = np.random.default_rng(7)
    samples = [luck.exponential(60, 60) for _ in range(20)] + [luck.lognormal(4, 0.8, 60) for _ in range(20)]
    assert sum(two_kinds(lengths) is not None for lengths in samples) <= 1


def test_waits_are_told_from_work(tmp_path: Path):
    """Requested, arrived, end: 4 and 8 min of wait, 10 and 20 min of work; without arrivals it is said."""
    head = "start,end,station,cause,cleared_by,requested,arrived\n"
    rows = (
        f"{MON} 07:00,{MON} 07:15,press,belt,Technician,{MON} 07:01,{MON} 07:05\n"
        f"{MON} 09:00,{MON} 09:28,press,belt,technician,,{MON} 09:08\n"
    )
    found = study(tmp_path, head + rows)
    assert found.causes[0].hands_on
    assert found.causes[0].lasts is not None
    assert found.causes[0].lasts.bounds.mean == 15 * 60
    assert found.causes[0].lost_s == 43 * 60
    (wait,) = found.waits
    assert (wait.post, wait.count, wait.waits.bounds.mean) == ("technician", 2, 360)
    silent = study(tmp_path, HEAD + f"{MON} 07:00,{MON} 07:15,press,belt,technician\n")
    assert any("whose response the cell file counts again" in text for text in silent.causes[0].remarks)
    stranger = study(tmp_path, HEAD + f"{MON} 07:00,{MON} 07:15,press,belt,Smith\n")
    assert stranger.causes[0].cleared_by == ""
    assert any("no post or skill of the cell" in text for text in stranger.causes[0].remarks)


def test_thin_data_is_said(tmp_path: Path):
    """19 stops of the main cause of a station are thin, 20 are not."""
    assert "Stop data thin; the band is wider than shown" in study(tmp_path, log_of([1] * 19)).cautions[0]
    assert study(tmp_path, log_of([1] * 20)).cautions == []


def test_a_hole_in_the_log_is_asked_about(tmp_path: Path):
    """A stop an hour in two weeks with a week without any, and one in the year before."""
    days = [f"2026-03-{day:02d}" for day in (2, 3, 4, 5, 6, 16, 17, 18, 19, 20)]
    rows = [f"{day} {hour:02d}:{(7 * hour) % 60:02d},{day} {hour:02d}:59,press,jam,A\n" for day in days
            for hour in range(6, 13)]  # fmt: skip
    found = study(tmp_path, HEAD + "".join(rows))
    (told,) = found.quiet
    assert told.startswith("No stop at all from 2026-03-06 12:24 to 2026-03-16 06:42 (5 shifts; line 36 and")
    assert found.cautions[0] == told
    assert study(tmp_path, HEAD + "".join(rows), closed=["2026-03-09 to 2026-03-13"]).quiet == []
    assert study(tmp_path, HEAD + "".join(rows[:35])).quiet == []
    slip = study(tmp_path, HEAD + "".join(rows[:35]) + rows[3].replace("2026", "2025"))
    assert "line 37 and line 2): a slip of the pen" in slip.quiet[0]


def test_the_chance_of_a_quiet_time():
    """40 stops at random in a time of 1: gaps of more than 0.2 as often as said, by 20 000 drawn logs.

    On a circle n (1 - g)^(n-1) to first order, 0.66 %; n exp(-n g) is above it, so it flags less.
    """
    at = np.sort(np.random.default_rng(8).random((20_000, 40)), axis=1)
    gaps = np.diff(np.hstack([at, at[:, :1] + 1]), axis=1).max(axis=1)
    share = float(np.mean(gaps > 0.2))
    assert share == pytest.approx(40 * 0.8**39, abs=4 * math.sqrt(0.0066 / 20_000))
    assert share < quiet_chance(0.2, 40, 1.0) < 3 * share


def test_people_of_the_log_are_posts_of_the_cell(tmp_path: Path):
    """Smith is the technician; a post or a person that is not there is told."""
    text = HEAD + f"{MON} 07:00,{MON} 07:15,press,belt,Smith\n"
    assert study(tmp_path, text, people={"smith": "technician"}).causes[0].cleared_by == "technician"
    with pytest.raises(CellsimError, match='no post or skill "technicain"; did you mean "technician"'):
        study(tmp_path, text, people={"Smith": "technicain"})
    with pytest.raises(CellsimError, match='nobody called "Jones"'):
        study(tmp_path, text, people={"Jones": "A"})


def test_planned_rests_are_no_stops():
    """Lunch, a meeting and a break by itself; a wire break is a stop."""
    assert [planned_work(cause) for cause in ("Lunch", "team meeting", "Break")] == [("break", True)] * 3
    assert [planned_work(cause)[0] for cause in ("wire break", "break of belt")] == [None, None]


def test_dates_of_options_as_people_write_them(tmp_path: Path):
    """21.9.2026 is day first, 9/21/2026 can only be month first, 9/4/2026 is asked back."""
    assert _iso("21.9.2026 to 22.9.2026", None) == "2026-09-21 to 2026-09-22"
    assert _iso("9/21/2026", None) == _iso("21/9/2026", None) == "2026-09-21"
    assert _iso("9/4/2026", None) == "9/4/2026"
    assert _iso("9/4/2026", "day-first") == "2026-04-09"
    assert _iso("2026-04-09T06:00", None) == "2026-04-09T06:00"
    arguments = ["stops", "scenarios/records/bell_stops.csv", "--cell", "scenarios/bicycle_bell.yaml", "-q"]
    assert CliRunner().invoke(cli.main, [*arguments, "--closed", "9/4/2026"]).exit_code == 2
    assert CliRunner().invoke(cli.main, [*arguments, "--closed", "4.3.2026"]).exit_code == 0


TRUTH = {("jam", "every"): 9600, ("jam", "lasts"): 180, ("fault", "every"): 21600, ("fault", "lasts"): 1500}
SIMULATED = load_text("""cell: Round trip
shifts:
  day:
    {from: 06:00, to: 14:00, breaks: [{at: 08:30, for: 10 min}, {at: 11:30, for: 20 min}], clean_up: 10 min}
crew: {A: [press], technician: {}}
route: [press]
stations:
  press:
    cycle: 20 min
    stops:
      jam: {every: 160 min of on time, lasts: 3 min, law: exponential, cleared_by: A}
      fault: {every: 6 h of on time, lasts: 25 min, law: exponential, cleared_by: technician}
""")


def simulated_log(replication: int) -> str:
    """The stops of a simulated week as the shop floor would write them."""
    run = SimpyRun(compile_cell(SIMULATED), 77, replication, trace=True)
    run.advance(5 * 24 * 3600 * 1_000_000)
    monday = datetime(2026, 3, 2) + timedelta(microseconds=run.flat.start_of_run)
    stops: list[dict[int, str]] = []
    going: dict[int, dict[int, str]] = {}
    for at, what, who, _ in run.notes:
        if what == L.N_STOP:
            going[who] = {-1: run.flat.names.stops[who][1]}
            stops.append(going[who])
        if what in (L.N_STOP, L.N_REPAIR_BEGINS, L.N_REPAIR_ENDS):
            going[who][what] = (monday + timedelta(microseconds=at)).isoformat(" ")
    rows = (
        ",".join([*(stop.get(key, "") for key in (L.N_STOP, L.N_REPAIR_BEGINS, L.N_REPAIR_ENDS)), stop[-1]])
        for stop in stops
    )
    return "start,arrived,end,cause,station\n" + "".join(f"{row},press\n" for row in rows)


def test_laws_of_a_simulated_cell_are_found_again(tmp_path: Path):
    """40 weeks with shifts and breaks: each of four 95 % intervals misses at most six times.

    More has a chance of 0.34 % for each, 1.4 % for all four, if they hold what they say.
    """
    missed = dict.fromkeys(TRUTH, 0)
    estimates: dict[tuple[str, str], list[float]] = {key: [] for key in TRUTH}
    for replication in range(40):
        found = study(
            tmp_path, simulated_log(replication), SIMULATED, begin="2026-03-02", end="2026-03-06", resamples=0
        )
        for cause in found.causes:
            for key, estimate in (("every", cause.every), ("lasts", cause.lasts)):
                assert estimate is not None
                truth = TRUTH[cause.cause, key]
                missed[cause.cause, key] += not estimate.bounds.low <= truth <= estimate.bounds.high
                estimates[cause.cause, key].append(estimate.bounds.mean / truth)
    assert max(missed.values()) <= 6, missed
    assert len(estimates["jam", "every"]) == 40
    # 40 x 14 jams: their mean within 4 standard errors of 1 / root 560 (and the bias of 1 / n of a rate)
    assert np.mean(estimates["jam", "every"]) == pytest.approx(1, abs=0.042 * 4 + 1 / 14)
    assert np.mean(estimates["jam", "lasts"]) == pytest.approx(1, abs=0.042 * 4)


def test_the_command_writes_what_a_cell_file_takes(tmp_path: Path):
    """The demo log: lines that load in place of the stops of its cell, JSON, nothing overwritten."""
    out, answer = tmp_path / "stops.yaml", tmp_path / "answer.json"
    arguments = ["stops", "scenarios/records/bell_stops.csv", "--cell", "scenarios/bicycle_bell.yaml",
                 "--out", str(out), "--json", str(answer)]  # fmt: skip
    result = CliRunner().invoke(cli.main, arguments)
    assert result.exit_code == 0, result.output
    assert max(map(len, result.stdout.split("For the cell file")[0].splitlines())) <= 80
    told = " ".join(result.stdout.split())
    assert "line 32: the same as line 31; left out" in told
    assert "Words looked for: blocked (blocking," in told
    assert "--exclude CAUSE" in told
    assert "Stop data thin" in told
    figures = json.loads(answer.read_text())
    whole = yaml.load(Path("scenarios/bicycle_bell.yaml").read_text(), yaml.BaseLoader)
    found = yaml.load(out.read_text(), yaml.BaseLoader)
    assert set(found) == {"crew", "stations"}
    whole["crew"]["technician"] |= found["crew"]["technician"]
    for name, station in found["stations"].items():
        whole["stations"][name] |= station
    cell = load_text(yaml.safe_dump(whole, sort_keys=False))
    loaded = {(s.name, stop.name): stop for s in cell.stations for stop in s.stops}
    for cause in figures["causes"]:
        stop = loaded[cause["station"], cause["cause"]]
        assert stop.clock == "on time"
        assert laws.mean(stop.every) / 1e6 == pytest.approx(cause["every"]["bounds"]["mean"], rel=1e-3)
        assert laws.mean(stop.lasts) / 1e6 == pytest.approx(cause["lasts"]["bounds"]["mean"], rel=1e-3)
    assert any(text.text.startswith("measured, bell_stops.csv, ") for text in cell.origins)
    again = CliRunner().invoke(cli.main, arguments)
    assert again.exit_code == 2
    assert "exists and is not overwritten" in again.stderr


OPTIONS = [
    (["--merge", "30"], "--merge: "),
    (["--closed", "9999-12-31"], '--closed: "9999-12-31" is no date such as'),
    (["--to", "9999-12-31"], '--to: "9999-12-31" is no date such as'),
    (["--running", "press 80 %"], "does not look like 'press: 80 %'"),
    (["--running", "press: 180 %"], "--running: "),
    (["--station", "press"], 'does not look like "PRESS 1=press"'),
    (["--person", "Smith"], 'does not look like "Smith=technician"'),
    (["--zone", "Nowhere/Town"], "is no zone such as Europe/Berlin"),
    (["--result", "pyproject.toml"], "is no result.json of a run"),
]


@pytest.mark.parametrize(("options", "said"), OPTIONS)
def test_wrong_options(options: list[str], said: str):
    """Each is told; nothing is written."""
    arguments = ["stops", "scenarios/records/bell_stops.csv", "--cell", "scenarios/bicycle_bell.yaml"]
    result = CliRunner().invoke(cli.main, [*arguments, *options])
    assert result.exit_code == 2
    assert said in result.stderr


def test_causes_that_cannot_be_names(tmp_path: Path):
    """Codes with signs, and words with a meaning of their own, become names that a cell file takes."""
    log, out = tmp_path / "log.csv", tmp_path / "out.yaml"
    log.write_text(
        HEAD + f"{MON} 07:00,{MON} 07:01,press,E:17 / *door*,A\n{MON} 08:00,{MON} 08:01,press,scrap,A\n"
    )
    arguments = ["stops", str(log), "--cell", "scenarios/bicycle_bell.yaml", "--out", str(out), "--quiet"]
    assert CliRunner().invoke(cli.main, arguments).exit_code == 0
    stops = yaml.load(out.read_text(), yaml.BaseLoader)["stations"]["press"]["stops"]
    whole = {"cell": "x", "crew": {"A": ["press"]}, "route": ["press"],
             "stations": {"press": {"cycle": "20 s", "stops": stops}}}  # fmt: skip
    assert [stop.name for stop in load_text(yaml.safe_dump(whole)).stations[0].stops] == [
        "E 17 / door",
        "scrap stop",
    ]


def test_closed_days_as_people_write_them(tmp_path: Path):
    """A day, days from and to, moments; what is none is told."""
    text = THREE + "2026-03-09 07:00,2026-03-09 07:01,press,jam,A\n"
    whole = study(tmp_path, text).shift_h
    day = study(tmp_path, text, closed=["2026-03-04"]).shift_h
    assert whole - day == pytest.approx(470 / 60)
    days = study(tmp_path, text, closed=["2026-03-04 to 2026-03-05", "2026-03-06T13:00 to 2026-03-08"])
    assert whole - days.shift_h == pytest.approx((2 * 470 + 50) / 60)
    for wrong in ("Easter", "2026-03-05 to 2026-03-04", ""):
        with pytest.raises(CellsimError, match="--closed"):
            study(tmp_path, text, closed=[wrong])


def test_the_picture_of_a_stop_log(tmp_path: Path):
    """A panel for each stop with a fitted law, its points those of the answer; a taken name is told."""
    picture, answer = tmp_path / "stops.png", tmp_path / "stops.json"
    scenarios = Path(__file__).parents[2] / "scenarios"
    call = [
        "stops",
        str(scenarios / "records/bell_stops.csv"),
        "--cell",
        str(scenarios / "bicycle_bell.yaml"),
    ]
    call += ["--picture", str(picture), "--json", str(answer), "-q"]
    done = CliRunner().invoke(cli.main, call)
    assert done.exit_code == 0, done.output
    assert picture.stat().st_size > 20_000
    found = json.loads(answer.read_text())
    panels = draw_quantiles(found).axes
    titles = [axes.get_title(loc="left") for axes in panels]
    assert "press, jam lasts: lognormal" in titles
    drawn = panels[titles.index("press, jam lasts: lognormal")].lines[1].get_xydata()
    (jam,) = [cause for cause in found["causes"] if (cause["station"], cause["cause"]) == ("press", "jam")]
    assert drawn[:, 1] * 60 == pytest.approx([value for value, _ in jam["lasts"]["quantiles"]])
    assert len(drawn) == jam["count"] - jam["not_ended"]
    answer.unlink()
    assert CliRunner().invoke(cli.main, call).exit_code == 2
    assert not answer.exists()


def test_bounds_go_to_sensitivity(tmp_path: Path):
    """The bounds that a log gives are ranges of the file into which its stops were pasted."""
    scenarios = Path(__file__).parents[2] / "scenarios"
    bell = scenarios / "bicycle_bell.yaml"
    lines, ranges, answer = (tmp_path / name for name in ("stops.yaml", "ranges.yaml", "stops.json"))
    call = ["stops", str(scenarios / "records/bell_stops.csv"), "--cell", str(bell), "-q"]
    call += ["--out", str(lines), "--ranges", str(ranges), "--json", str(answer)]
    assert CliRunner().invoke(cli.main, call).exit_code == 0
    described = yaml.load(bell.read_text(encoding="utf-8"), yaml.BaseLoader)
    for name, part in yaml.load(lines.read_text(), yaml.BaseLoader)["stations"].items():
        described["stations"][name]["stops"] = part["stops"]
    cell = tmp_path / "bell.yaml"
    cell.write_text(yaml.safe_dump(described, sort_keys=False))
    found = read_range_file(ranges.read_text(), "ranges")
    jam = next(one for one in json.loads(answer.read_text())["causes"] if one["station"] == "rivet")
    every = next(one for one in found if one.path == "stations.rivet.stops.jam.every")
    assert float(every.low) / 1e6 == pytest.approx(jam["every"]["bounds"]["low"], rel=1e-3)
    assert (every.after, len(found)) == (" of on time", 2 * len(json.loads(answer.read_text())["causes"]))
    aims = aimed(found, read_text(cell.read_text(), str(cell)))
    unknown = unknowns(lambda changes: load_text(cell.read_text(), changes=changes), aims, only=True)
    assert [one.name for one in unknown.inputs] == [one.path for one, _ in aims]
    (every,) = [one for one in unknown.inputs if one.name == "stations.rivet.stops.jam.every"]
    stands = jam["every"]["bounds"]["mean"]
    assert (every.low < every.high, every.now) == (True, pytest.approx(stands, rel=1e-3))
