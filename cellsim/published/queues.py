"""Known results of one station and the queue before it."""

from __future__ import annotations

import math
from functools import partial

from cellsim.published.cells import exponential
from cellsim.published.queue_cells import (
    BLOCKED,
    PAST,
    TOKENS,
    TOPIC,
    WAIT,
    WAITING,
    erlang,
    limited_queue,
    poisson,
    queue,
)
from cellsim.published.rows import row
from cellsim.theory import stations as theory

KLEINROCK = (
    "Kleinrock, L. (1975), Queueing Systems, Volume 1: Theory, Wiley, New York (book seen, passage not read)"
)
POLLACZEK = "mean-value formula of Pollaczek and Khinchine (1930s), textbook form in " + KLEINROCK
ERLANG = "Erlang's delay formula, textbook form in " + KLEINROCK
CROMMELIN = (
    "Crommelin, C. D. (1932), Delay probability formulae when the holding times are constant, Post Office "
    "Electrical Engineers' Journal 25, 41-50 (from memory)"
)
BURKE = "Burke, P. J. (1956), The output of a queuing system, Operations Research 4, 699-704"
PHASES = "stationary Markov chain of the phases; textbook form of G/G/1 in " + KLEINROCK
TRIANGLE = (1 + 1.2**2 + 2.3**2 - 1.2 - 2.3 - 1.2 * 2.3) / 18  # variance of the triangular time below

known = partial(row, TOPIC)
M_M_1 = queue(poisson(0.8), exponential(1), "settle: 1 h, run: 130 h, replications: 64, seed: 1000")
M_M_1_HALF = queue(poisson(0.5), exponential(1), "settle: 10 min, run: 88 h, replications: 48, seed: 1001")
M_M_1_FULL = queue(poisson(0.95), exponential(1), "settle: 8 h, run: 1200 h, replications: 64, seed: 1002")
HOURS = queue(poisson(48 / 3600), exponential(60), "settle: 40 h, run: 9500 h, replications: 64, seed: 1003")
ONE_SERVER = [
    known(
        "mm1-80-percent-busy-time",
        "M/M/1, 0.8 arrivals per s, mean service 1 s: mean time in the system 1 / (mu - lambda)",
        5.0,
        M_M_1,
        "mean time inside, s",
        "",
        lambda: theory.mm1(0.8, 1).time_in_system,
        KLEINROCK,
        full_only=True,
    ),
    known(
        "mm1-80-percent-busy-number-waiting",
        "the same queue: mean number waiting rho^2 / (1 - rho)",
        3.2,
        M_M_1,
        WAITING,
        "release",
        lambda: theory.mm1(0.8, 1).number_waiting,
        KLEINROCK,
        full_only=True,
    ),
    known(
        "mm1-80-percent-busy-quickest-90-percent",
        "the same queue: the time in the system is exponential, 90 % take at most ln 10 / (mu - lambda)",
        11.51292546,
        M_M_1,
        "time inside of the quickest 90 %, s",
        "",
        lambda: theory.mm1_time_quantile(0.8, 1, 0.9),
        KLEINROCK,
        full_only=True,
    ),
    known(
        "mm1-half-busy-number-waiting",
        "M/M/1, 6 arrivals and 12 services an hour (in the cell the hour lasts 12 s): mean number waiting",
        0.5,
        M_M_1_HALF,
        WAITING,
        "release",
        lambda: theory.mm1(6, 1 / 12).number_waiting,
        KLEINROCK,
    ),
    known(
        "mm1-95-percent-busy-time",
        "M/M/1, 0.95 arrivals per s, mean service 1 s: mean time in the system",
        20.0,
        M_M_1_FULL,
        "mean time inside, s",
        "",
        lambda: theory.mm1(0.95, 1).time_in_system,
        KLEINROCK,
        full_only=True,
    ),
    known(
        "mm1-hourly-output-variance",
        "M/M/1, 48 arrivals an hour, mean service 1 min: units leave as a Poisson process, so that the "
        "number in an hour has a variance equal to its mean",
        48.0,
        HOURS,
        "variance of units per hour",
        "",
        lambda: theory.mmc_departure_variance(48, 1 / 60, 1, 1),
        BURKE,
        unit="units^2",
        full_only=True,
    ),
]
GENERAL = [
    known(
        "md1-half-busy-wait",
        "M/D/1, 0.5 arrivals per s, service 1 s: mean wait rho s / (2 (1 - rho))",
        0.5,
        queue(poisson(0.5), "1 s", "settle: 10 min, run: 30 h, replications: 48, seed: 1010"),
        WAIT,
        "release",
        lambda: theory.mg1(0.5, 1, 0).wait,
        POLLACZEK,
    ),
    known(
        "md1-80-percent-busy-wait",
        "M/D/1, 0.4 arrivals per s, service 2 s: mean wait",
        4.0,
        queue(poisson(0.4), "2 s", "settle: 1 h, run: 140 h, replications: 64, seed: 1011"),
        WAIT,
        "release",
        lambda: theory.mg1(0.4, 2, 0).wait,
        POLLACZEK,
        full_only=True,
    ),
    known(
        "mg1-uniform-wait",
        "M/G/1, 0.8 arrivals per s, service uniform from 0.5 to 1.5 s: mean wait "
        "lambda E[S^2] / (2 (1 - rho))",
        2.166666667,
        queue(
            poisson(0.8),
            "{law: uniform, min: 0.5 s, max: 1.5 s}",
            "settle: 1 h, run: 78 h, replications: 64, seed: 1012",
        ),
        WAIT,
        "release",
        lambda: theory.mg1(0.8, 1, 1 / 12).wait,
        POLLACZEK,
        full_only=True,
    ),
    known(
        "mg1-erlang-wait",
        "M/G/1, 0.75 arrivals per s, service Erlang with 3 phases and mean 1 s: mean wait",
        2.0,
        queue(
            poisson(0.75),
            erlang(1, 3),
            "settle: 1 h, run: 86 h, replications: 64, seed: 1013",
        ),
        WAIT,
        "release",
        lambda: theory.mg1(0.75, 1, 1 / 3).wait,
        POLLACZEK,
        full_only=True,
    ),
    known(
        "mg1-triangular-wait",
        "M/G/1, 0.6 arrivals per s, service triangular with 1, 1.2, 2.3 s (mean 1.5 s): mean wait",
        6.995,
        queue(
            poisson(0.6),
            "{law: triangular, min: 1 s, likely: 1.2 s, max: 2.3 s}",
            "settle: 2 h, run: 480 h, replications: 64, seed: 1014",
        ),
        WAIT,
        "release",
        lambda: theory.mg1(0.6, 1.5, TRIANGLE / 1.5**2).wait,
        POLLACZEK,
        full_only=True,
    ),
    known(
        "mg1-two-kinds-of-work-wait",
        "M/G/1, 0.5 arrivals per s, service exponential, mean 0.5 s for nine units in ten and 5.5 s for the "
        "tenth, at random: mean wait",
        3.25,
        """
cell: two kinds of work
variants: {short: 90 %, long: 10 %}
sequence: at random
release: {every: {law: exponential, mean: 2 s}}
route: [M]
stations:
  M: {cycle: {short: {law: exponential, mean: 0.5 s}, long: {law: exponential, mean: 5.5 s}}}
study: {settle: 1 h, run: 200 h, replications: 64, seed: 1015}
""",
        WAIT,
        "release",
        lambda: theory.mg1(0.5, 1, 5.5).wait,
        POLLACZEK,
        full_only=True,
    ),
]
TWO_SERVERS = queue(
    poisson(1.5), exponential(1), "settle: 30 min, run: 7 h, replications: 32, seed: 1020", 2, tokens=True
)
THREE_SERVERS = queue(
    poisson(2), exponential(1), "settle: 30 min, run: 42 h, replications: 64, seed: 1021", 3
)
FIVE_SERVERS = queue(
    poisson(4), exponential(1), "settle: 10 min, run: 4 h, replications: 48, seed: 1022", 5, tokens=True
)
SEVERAL_SERVERS = [
    known(
        "mm2-chance-of-waiting",
        "M/M/2, 1.5 arrivals per s, mean service 1 s: share of arrivals that wait, which is the share of "
        "time that both servers are busy",
        0.6428571429,
        TWO_SERVERS,
        TOKENS,
        "tokens",
        lambda: theory.erlang_c(2, 1.5),
        ERLANG,
    ),
    known(
        "mm2-wait",
        "the same queue: mean wait C / (c mu - lambda)",
        1.285714286,
        TWO_SERVERS,
        WAIT,
        "release",
        lambda: theory.mmc(1.5, 1, 2).wait,
        ERLANG,
        full_only=True,
    ),
    known(
        "mm3-wait",
        "M/M/3, 2 arrivals per s, mean service 1 s: mean wait",
        0.4444444444,
        THREE_SERVERS,
        WAIT,
        "release",
        lambda: theory.mmc(2, 1, 3).wait,
        ERLANG,
        full_only=True,
    ),
    known(
        "mm5-chance-of-waiting",
        "M/M/5, 4 arrivals in the mean time of a service: share of arrivals that wait",
        0.5541125541,
        FIVE_SERVERS,
        TOKENS,
        "tokens",
        lambda: theory.erlang_c(5, 4),
        ERLANG,
    ),
    known(
        "md2-wait",
        "M/D/2, 1.6 arrivals per s, service 1 s: mean wait, the number present being followed from service "
        "time to service time",
        0.9032838794,
        queue(poisson(1.6), "1 s", "settle: 1 h, run: 34 h, replications: 64, seed: 1023", 2),
        WAIT,
        "release",
        lambda: theory.mdc(1.6, 1, 2).wait,
        CROMMELIN,
        full_only=True,
    ),
    known(
        "md3-wait",
        "M/D/3, 2.7 arrivals per s, service 1 s: mean wait",
        1.377911974,
        queue(poisson(2.7), "1 s", "settle: 2 h, run: 68 h, replications: 64, seed: 1024", 3),
        WAIT,
        "release",
        lambda: theory.mdc(2.7, 1, 3).wait,
        CROMMELIN,
        full_only=True,
    ),
]
THREE_PLACES = limited_queue(0.8, 1, 1, 3, "settle: 10 min, run: 30 h, replications: 32, seed: 1030")
LIMITED = [
    known(
        "mm1k-three-places-loss",
        "M/M/1/3, 0.8 arrivals per s, mean service 1 s: share of arrivals turned away",
        0.1734417344,
        THREE_PLACES,
        BLOCKED,
        "A",
        lambda: theory.mmck(0.8, 1, 1, 3).loss,
        KLEINROCK,
    ),
    known(
        "mm1k-three-places-number",
        "the same queue: mean number present",
        1.224932249,
        THREE_PLACES,
        PAST,
        "A",
        lambda: theory.mmck(0.8, 1, 1, 3).number,
        KLEINROCK,
    ),
    known(
        "mm1k-five-places-number",
        "M/M/1/5, 1 arrival per s, mean service 1 s: mean number present K / 2",
        2.5,
        limited_queue(1, 1, 1, 5, "settle: 10 min, run: 8 h, replications: 32, seed: 1031"),
        PAST,
        "A",
        lambda: theory.mmck(1, 1, 1, 5).number,
        KLEINROCK,
    ),
    known(
        "mm1k-ten-places-loss",
        "M/M/1/10, 1.2 arrivals per s, mean service 1 s: share of arrivals turned away",
        0.1925864951,
        limited_queue(1.2, 1, 1, 10, "settle: 20 min, run: 40 h, replications: 48, seed: 1032"),
        BLOCKED,
        "A",
        lambda: theory.mmck(1.2, 1, 1, 10).loss,
        KLEINROCK,
        full_only=True,
    ),
]
PACED = [
    known(
        "dm1-wait",
        "D/M/1, an arrival every 1.25 s, mean service 1 s: mean wait sigma / (mu (1 - sigma)), "
        "sigma = exp(-1.25 (1 - sigma))",
        1.69273084,
        queue("1.25 s", exponential(1), "settle: 1 h, run: 120 h, replications: 64, seed: 1040"),
        WAIT,
        "release",
        lambda: theory.gm1(1.25, 1, lambda s: math.exp(-1.25 * s)).wait,
        KLEINROCK,
        full_only=True,
    ),
    known(
        "e2e2-wait",
        "E2/E2/1, Erlang times with 2 phases, 1.25 s between arrivals and 1 s of service: mean wait "
        "(the approximation by two moments gives 2)",
        1.865268048,
        queue(
            erlang(1.25, 2),
            erlang(1, 2),
            "settle: 1 h, run: 50 h, replications: 64, seed: 1041",
        ),
        WAIT,
        "release",
        lambda: theory.erlang_queue(1.25, 2, 1, 2).wait,
        PHASES,
    ),
    known(
        "e4e2-wait",
        "E4/E2/1, Erlang times, 4 phases and 1.11111 s between arrivals, 2 phases and 1 s of service: mean "
        "wait (the approximation by two moments gives 3.375)",
        3.169914451,
        queue(
            erlang(1.111111, 4),
            erlang(1, 2),
            "settle: 2 h, run: 240 h, replications: 64, seed: 1042",
        ),
        WAIT,
        "release",
        lambda: theory.erlang_queue(1 / 0.9, 4, 1, 2).wait,
        PHASES,
        full_only=True,
    ),
]
ENTRIES = [*ONE_SERVER, *GENERAL, *SEVERAL_SERVERS, *LIMITED, *PACED]
