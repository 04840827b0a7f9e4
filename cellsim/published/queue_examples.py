"""Worked examples of textbooks and table values about queues, with the digits that are printed there."""

from __future__ import annotations

from functools import partial

from cellsim.published.cells import exponential
from cellsim.published.queue_cells import (
    BLOCKED,
    NO_LINE,
    PAST,
    TOKENS,
    TOPIC,
    WAIT,
    WAITING,
    delay,
    erlang,
    limited_queue,
    lost_calls,
    poisson,
    queue,
)
from cellsim.published.queues import THREE_SERVERS
from cellsim.published.rows import decimals, row
from cellsim.theory import stations as theory

TABLES = (
    "Erlang, A. K. (1917), loss formula, in tables of traffic to be carried by so many lines (from memory)"
)
MOLINA = "Molina, E. C. (1942), Poisson's Exponential Binomial Limit, Van Nostrand (from memory)"
LITTLE = (
    "Little, J. D. C. and Graves, S. C. (2008), Little's Law, in Building Intuition, Springer, the rack of "
    "wine (from memory)"
)
TAHA = "Taha, H. A., Operations Research: An Introduction, Prentice Hall, chapter on queues (from memory)"
WINSTON = (
    "Winston, W. L., Operations Research: Applications and Algorithms, Duxbury, chapter on queues (from "
    "memory)"
)
GROSS = "Gross, D. and Harris, C. M., Fundamentals of Queueing Theory, Wiley, examples (from memory)"
HEIZER = (
    "Heizer, J. and Render, B., Operations Management, Prentice Hall, module on waiting lines (from memory)"
)
STEVENSON = (
    "Stevenson, W. J., Operations Management, McGraw-Hill, table of infinite-source values (from memory)"
)
HOPP = (
    "Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, chapter on variability, two machines of "
    "the same availability (from memory)"
)
known = partial(row, TOPIC)
LOAD = 0.0005  # relative change of the losses below with the last digit of the load
BARBER = limited_queue(4, 1, 1, 10, "settle: 10 min, run: 1 h, replications: 32, seed: 1107")
TWO_TELLERS = queue(
    poisson(1.6), exponential(1), "settle: 20 min, run: 7 h, replications: 48, seed: 1100", 2, tokens=True
)
LOSSES = [
    known(
        "five-lines-lose-ten-percent",
        "5 lines, nobody waits: at a load of 2.881 erlang 10 % of calls are lost",
        0.1,
        lost_calls(2.881, exponential(1), 5, "settle: 5 min, run: 10 h, replications: 32, seed: 1101"),
        NO_LINE,
        "A",
        lambda: theory.erlang_b(5, 2.881),
        TABLES,
        exactness="the load has three decimals",
        rounding=LOAD,
    ),
    known(
        "ten-lines-lose-ten-percent",
        "10 lines, nobody waits: at a load of 7.511 erlang 10 % of calls are lost",
        0.1,
        lost_calls(7.511, exponential(1), 10, "settle: 5 min, run: 8 h, replications: 32, seed: 1102"),
        NO_LINE,
        "A",
        lambda: theory.erlang_b(10, 7.511),
        TABLES,
        exactness="the load has three decimals",
        rounding=LOAD,
        full_only=True,
    ),
    known(
        "two-lines-constant-times",
        "2 lines, nobody waits, 1 erlang: one call in five is lost, whatever the law of its length (here all "
        "are of the same length)",
        0.2,
        lost_calls(1, "1 s", 2, "settle: 5 min, run: 7 h 30 min, replications: 32, seed: 1103"),
        NO_LINE,
        "A",
        lambda: theory.erlang_b(2, 1),
        TABLES,
    ),
    known(
        "parking-places",
        "5 parking places and 3 to wait, 6 cars an hour, 30 min each, exponential; who finds all taken goes "
        "away: mean number of cars (in the cell 30 min last 1 s)",
        3.1286,
        limited_queue(3, 1, 5, 8, "settle: 10 min, run: 3 h, replications: 32, seed: 1104"),
        PAST,
        "A",
        lambda: theory.mmck(6, 0.5, 5, 8).number,
        TAHA,
        exactness="four decimals",
        rounding=decimals(3.1286, 4),
    ),
    known(
        "car-inspection",
        "3 stalls of 6 min and 4 places to wait, one car a minute, exponential; who finds all taken goes "
        "away: mean number of cars (in the cell 6 min last 1 s)",
        6.06,
        limited_queue(6, 1, 3, 7, "settle: 10 min, run: 1 h, replications: 32, seed: 1105"),
        PAST,
        "A",
        lambda: theory.mmck(1, 6, 3, 7).number,
        GROSS,
        exactness="two decimals",
        rounding=decimals(6.06, 2),
    ),
    known(
        "car-wash-lost",
        "car wash, 4 cars an hour, 10 min each, exponential, 4 places to wait: share of cars that find no "
        "place (in the cell 10 min last 1 s)",
        0.04812,
        limited_queue(2 / 3, 1, 1, 5, "settle: 10 min, run: 112 h, replications: 32, seed: 1106"),
        BLOCKED,
        "A",
        lambda: theory.mmck(4, 1 / 6, 1, 5).loss,
        TAHA,
        full_only=True,
        exactness="five decimals",
        rounding=decimals(0.04812, 5),
    ),
    known(
        "barber-lost",
        "one barber and 10 seats in all, 20 customers an hour, 12 min each, exponential: share that finds no "
        "seat (in the cell 12 min last 1 s)",
        0.75,
        BARBER,
        BLOCKED,
        "A",
        lambda: theory.mmck(20, 0.2, 1, 10).loss,
        WINSTON,
        exactness="two decimals",
        rounding=decimals(0.75, 2),
    ),
    known(
        "barber-number",
        "the same barber: mean number of customers present",
        9.67,
        BARBER,
        PAST,
        "A",
        lambda: theory.mmck(20, 0.2, 1, 10).number,
        WINSTON,
        exactness="two decimals",
        rounding=decimals(9.67, 2),
    ),
]
DELAYS = [
    known(
        "two-tellers-chance-of-waiting",
        "bank with 2 tellers, 80 customers an hour, 1.2 min each, exponential: share of customers that wait "
        "(in the cell 1.2 min last 1 s)",
        0.71,
        TWO_TELLERS,
        TOKENS,
        "tokens",
        lambda: theory.erlang_c(2, 80 / 50),
        WINSTON,
        exactness="two decimals",
        rounding=decimals(0.71, 2),
    ),
    known(
        "four-cabs-wait",
        "2 cab companies, 8 calls an hour and 2 cabs each, 12 min a ride, exponential, put together: mean "
        "wait 0.149 h, apart 0.356 h (in the cell 1 h lasts 5 s)",
        0.745,
        queue(poisson(3.2), exponential(1), "settle: 30 min, run: 50 h, replications: 64, seed: 1110", 4),
        WAIT,
        "release",
        lambda: 5 * theory.mmc(16, 0.2, 4).wait,
        TAHA,
        exactness="three decimals of the hour",
        rounding=decimals(0.149, 3),
        full_only=True,
    ),
    known(
        "two-mechanics-number",
        "2 mechanics, 2 cars an hour, 3 an hour each, exponential: mean number of cars (in the cell 20 min "
        "last 1 s)",
        0.75,
        queue(poisson(2 / 3), exponential(1), "settle: 10 min, run: 14 h, replications: 32, seed: 1111", 2),
        "mean number at the station",
        "M",
        lambda: theory.mmc(2, 1 / 3, 2).number,
        HEIZER,
    ),
    known(
        "one-mechanic-number",
        "one mechanic, 2 cars an hour, 3 an hour, exponential: mean number of cars (in the cell 20 min "
        "last 1 s)",
        2.0,
        queue(poisson(2 / 3), exponential(1), "settle: 20 min, run: 50 h, replications: 48, seed: 1112"),
        "mean number at the station",
        "M",
        lambda: theory.mm1(2, 1 / 3).number,
        HEIZER,
        full_only=True,
    ),
    known(
        "recycling-trucks-wait",
        "8 trucks an hour, Poisson, emptied in 5 min each, always the same: mean wait 5 min (in the cell 1 "
        "min lasts 0.2 s)",
        1.0,
        queue(poisson(2 / 3), "1 s", "settle: 20 min, run: 66 h, replications: 48, seed: 1113"),
        WAIT,
        "release",
        lambda: 0.2 * 60 * theory.mg1(8, 1 / 12, 0).wait,
        HEIZER,
        full_only=True,
    ),
    known(
        "drive-up-window-wait",
        "drive-up window, 16 cars an hour, Poisson, Erlang times with 2 phases and mean 2.5 min: mean wait "
        "3.75 min (in the cell 2.5 min last 1 s)",
        1.5,
        queue(
            poisson(2 / 3),
            erlang(1, 2),
            "settle: 20 min, run: 66 h, replications: 48, seed: 1114",
        ),
        WAIT,
        "release",
        lambda: theory.mg1(16 / 60, 2.5, 0.5).wait / 2.5,
        GROSS,
        full_only=True,
    ),
    known(
        "table-load-2-three-servers",
        "M/M/3 at a load of 2: mean number waiting, as in the table",
        0.889,
        THREE_SERVERS,
        WAITING,
        "release",
        lambda: theory.mmc(2, 1, 3).number_waiting,
        STEVENSON,
        full_only=True,
        exactness="three decimals",
        rounding=decimals(0.889, 3),
    ),
    known(
        "ten-or-more-inside",
        "M/D/infinity, 1 arrival per s, each stays 10 s: at least 10 are inside with the chance of the table "
        "of Poisson's law",
        0.542070,
        delay("10 s", "settle: 10 min, run: 8 h, replications: 48, seed: 1115"),
        "share of time with ten or more in the store",
        "rack",
        lambda: theory.mginf_exceedance(1, 10, 9),
        MOLINA,
        exactness="six decimals",
        rounding=decimals(0.542070, 6),
    ),
    known(
        "rack-of-wine",
        "8 bottles a month are bought and there are 160 on average: a bottle stays 20 months, and the other "
        "way round (in the cell a month lasts 8 s)",
        160.0,
        delay("160 s", "settle: 10 min, run: 3 h, replications: 32, seed: 1116"),
        WAITING,
        "rack",
        lambda: theory.littles_number(8, 20),
        LITTLE,
    ),
]
ON_PAPER = [
    known(
        "two-tellers-number-waiting",
        "bank with 2 tellers, 80 customers an hour, 1.2 min each, exponential: mean number waiting",
        2.84,
        "",
        "",
        "",
        lambda: theory.mmc(80, 1 / 50, 2).number_waiting,
        WINSTON,
        exactness="two decimals",
        rounding=decimals(2.84, 2),
    ),
    known(
        "table-load-4-five-servers",
        "M/M/5 at a load of 4: mean number waiting, as in the table",
        2.216,
        "",
        "",
        "",
        lambda: theory.mmc(4, 1, 5).number_waiting,
        STEVENSON,
        exactness="three decimals",
        rounding=decimals(2.216, 3),
    ),
    known(
        "long-rare-stops-wait",
        "a machine of 20 min with an SCV of 6.25 (long, rare stops), 2.875 arrivals an hour with an SCV of "
        "1: mean wait",
        27.79,
        "",
        "",
        "",
        lambda: theory.ggm(2.875, 1 / 3, 1, 1, 6.25).wait,
        HOPP,
        unit="h",
        exactness="two decimals",
        rounding=decimals(27.79, 2),
    ),
    known(
        "short-frequent-stops-wait",
        "a machine of 20 min with an SCV of 1 (short, frequent stops), 2.875 arrivals an hour with an SCV of "
        "1: mean wait",
        7.67,
        "",
        "",
        "",
        lambda: theory.ggm(2.875, 1 / 3, 1, 1, 1).wait,
        HOPP,
        unit="h",
        exactness="two decimals",
        rounding=decimals(7.67, 2),
    ),
]
ENTRIES = [*LOSSES, *DELAYS, *ON_PAPER]
