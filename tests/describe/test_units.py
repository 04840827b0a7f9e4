"""Values with units: what is read, what is refused and in which words, and that formatting reads back."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cellsim import units
from cellsim.units import DAY, HOUR, MINUTE, SECOND, Money, Rate, UnitError

TIMES = {
    "24 s": 24 * SECOND, "24s": 24 * SECOND, "1.5 min": 90 * SECOND, "2 h": 2 * HOUR, "1 d": DAY,
    "1 h 30 min": 90 * MINUTE, "1 h 30 min 2.5 s": 90 * MINUTE + 2_500_000, "450 ms": 450_000, "3 us": 3,
    "3 µs": 3, "1 TMU": 36_000, "100 TMU": 3_600_000, "1 cmin": 600_000, "0 s": 0, "1e3 s": 1000 * SECOND,
    "1 000 s": 1000 * SECOND, "1\u00a0000\u202fs": 1000 * SECOND, "0.1 TMU": 3_600, ".5 s": 500_000,
    "0.0000015 s": 2, "0.0000025 s": 2, "876600 h": 876_600 * HOUR,
}  # fmt: skip


@pytest.mark.parametrize("text", TIMES)
def test_times_are_exact_microseconds(text):
    """A time is an exact whole number of microseconds; 1 TMU = 0.036 s, 1 cmin = 0.6 s; halves go to even."""
    assert units.parse_time(text) == TIMES[text]
    assert isinstance(units.parse_time(text), int)


LOOKS = 'a time looks like "7 s" or "0.1 min" (units: us, ms, s, TMU, cmin, min, h, d)'
ORDER = 'several units go from large to small, as in "1 h 30 min", and only the last may have decimals'
WRONG_TIMES = {
    "7": f'"7" has no unit; {LOOKS}',
    "7 m": f'"m" is a length; {LOOKS}; did you mean "min"?',
    "7 Min": f'"Min" is not a unit of time; {LOOKS}; did you mean "min"?',
    "7 sec": f'"sec" is not a unit of time; {LOOKS}; did you mean "s"?',
    "7 m/s": f'"m/s" is a speed; {LOOKS}; did you mean "ms"?',
    "1,5 min": '"1,5 min" has a comma; use a point: "1.5 min"',
    "1,000 s": '"1,000 s" has a comma: write "1 000" for thousands or "1.000" for decimals',
    "-3 s": '"-3 s" is negative; a time cannot be',
    "0.9 us": '"0.9 us" is shorter than 1 us, the smallest step of time',
    "876601 h": '"876601 h" is longer than 100 years',
    "1e999 s": '"1e999 s" is longer than 100 years',
    "1.5 h 30 min": f'"1.5 h 30 min" is not a time; {ORDER}',
    "30 min 1 h": f'"30 min 1 h" is not a time; {ORDER}',
    "soon": '"soon" is not a time, which looks like "7 s" or "0.1 min"',
    "": '"" is not a time, which looks like "7 s" or "0.1 min"',
    "12 s + 3 s": '"12 s + 3 s" is not a time, which looks like "7 s" or "0.1 min"',
    "2**8 s": f'"**8" is not a unit of time; {LOOKS}',
    "٣ s": '"٣ s" is not a time, which looks like "7 s" or "0.1 min"',
    "inf s": '"inf s" is not a time, which looks like "7 s" or "0.1 min"',
}


@pytest.mark.parametrize("text", WRONG_TIMES)
def test_wrong_times_say_what_is_wrong(text):
    """A refused time says what was given, what is legal, and what was probably meant."""
    with pytest.raises(UnitError) as caught:
        units.parse_time(text)
    assert str(caught.value) == WRONG_TIMES[text]


FORMATTED = {
    0: "0 s", 1: "1 us", 999: "999 us", 1_500: "1.5 ms", 450_000: "450 ms", SECOND: "1 s",
    90 * SECOND: "90 s",
    1_500_000: "1.5 s", MINUTE: "1 min", 90 * MINUTE: "90 min", 2 * HOUR: "2 h", 3 * DAY: "72 h",
    61_000_001: "61.000001 s",
}  # fmt: skip


@pytest.mark.parametrize("time", FORMATTED)
def test_times_are_shown_in_the_unit_that_suits(time):
    """A time is shown in one unit, without needless digits."""
    assert units.format_time(time) == FORMATTED[time]


@given(st.integers(0, units.LONGEST))
def test_a_formatted_time_reads_back(time):
    """Formatting a time and reading it gives the same integer."""
    assert units.parse_time(units.format_time(time)) == time


@given(st.floats(0, 10))
def test_a_formatted_share_reads_back(value):
    """Formatting a share and reading it gives the same float."""
    assert units.parse_ratio(units.format_ratio(value)) == value


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_formatted_number_reads_back(value):
    """Formatting a number without exponent loses nothing."""
    assert float(units.format_number(value)) == value


@given(st.integers(0, 86_400))
def test_a_formatted_time_of_day_reads_back(seconds):
    """Formatting a time of day and reading it gives the same moment."""
    assert units.parse_clock(units.format_clock(seconds * SECOND)) == seconds * SECOND


@given(st.text(max_size=40))
def test_no_text_does_more_than_raise_unit_error(text):
    """Every parser answers any text with a value or a UnitError."""
    parsers = (
        units.parse_time, units.parse_clock, units.parse_rate, units.parse_share, units.parse_count,
        units.parse_length, units.parse_speed, units.parse_money, units.parse_number,
    )  # fmt: skip
    for parse in parsers:
        try:
            parse(text)
        except UnitError as error:
            assert str(error)


def test_times_of_day():
    """A time of day has two digits of minutes and lies in 00:00 to 24:00."""
    assert units.parse_clock("06:00") == 6 * HOUR
    assert units.parse_clock("6:05") == 6 * HOUR + 5 * MINUTE
    assert units.parse_clock("22:30:15") == 22 * HOUR + 30 * MINUTE + 15 * SECOND
    assert units.parse_clock("24:00") == DAY
    assert units.format_clock(26 * HOUR) == "02:00"
    for text, said in {
        "24:01": '"24:01" is no time of day: it must lie between 00:00 and 24:00',
        "06:60": '"06:60" is no time of day: it must lie between 00:00 and 24:00',
        "14.00": '"14.00" is not a time of day, which looks like "06:00" or "22:30"; did you mean "14:00"?',
        "840": '"840" is not a time of day, which looks like "06:00" or "22:30"',
    }.items():
        with pytest.raises(UnitError) as caught:
            units.parse_clock(text)
        assert str(caught.value) == said


def test_rates():
    """A rate is a count per time or per shift, with or without a word for what is counted."""
    assert units.parse_rate("120 per h") == Rate(Decimal(120), HOUR)
    assert units.parse_rate("120/h") == Rate(Decimal(120), HOUR)
    assert units.parse_rate("80 strokes per min") == Rate(Decimal(80), MINUTE, "strokes")
    assert units.parse_rate("900 per shift") == Rate(Decimal(900), None)
    assert units.parse_rate("1 000 per d") == Rate(Decimal(1000), DAY)
    for text, said in {
        "120": '"120" is not a rate, which looks like "120 per h" or "900 per shift"',
        "0 per h": '"0 per h": a rate must be above zero',
        "120 per hour": '"120 per hour": a rate is per s, min, h, d or shift; did you mean "h"?',
        "1,5 per h": '"1,5" has a comma; use a point: "1.5"',
    }.items():
        with pytest.raises(UnitError) as caught:
            units.parse_rate(text)
        assert str(caught.value) == said


def test_shares():
    """A share is written in percent, per something, or as a fraction, and lies between 0 and 1."""
    for text, value in {
        "3 %": 0.03,
        "3%": 0.03,
        "3 per 1000": 0.003,
        "0.03": 0.03,
        "2 ‰": 0.002,
        "1/4": 0.25,
        "100 %": 1.0,
        "0": 0.0,
    }.items():
        assert units.parse_share(text) == value
    assert units.parse_ratio("150 %") == 1.5
    for text, said in {
        "3": '"3" is more than the whole; a share lies between 0 and 100 %; did you mean "3 %"?',
        "120 %": '"120 %" is more than the whole; a share lies between 0 and 100 %',
        "-1 %": '"-1 %" is negative; a share cannot be',
        "few": '"few" is not a share, which looks like "3 %", "3 per 1000" or "0.03"',
        "1 per 0": '"1 per 0": the number after per must be above zero',
    }.items():
        with pytest.raises(UnitError) as caught:
            units.parse_share(text)
        assert str(caught.value) == said


def test_counts():
    """1e3 in all spellings, 1_000 and 1 000 are a thousand; 010 is ten and never eight; no commas."""
    for text in ("1e3", "1.0e3", "1e+3", "1.0e+3", "1_000", "1 000", "1000"):
        assert units.parse_count(text) == 1000
    assert units.parse_count("010") == 10
    assert units.parse_count("0755") == 755
    for text, said in {
        "1,000": '"1,000" has a comma: write "1 000" for thousands or "1.000" for decimals',
        "1,5": '"1,5" has a comma; use a point: "1.5"',
        "8.5": '"8.5" is not a whole number',
        "-1": '"-1" is negative; a count cannot be',
        "inf": '"inf" is not a number',
        "0x10": '"0x10" is not a number',
        "1__000": '"1__000" is not a number',
        "1e16": '"1e16" is more than 1e15, the largest count',
    }.items():
        with pytest.raises(UnitError) as caught:
            units.parse_count(text)
        assert str(caught.value) == said


def test_lengths_and_speeds():
    """Lengths are metres and may be negative, speeds metres per second above zero."""
    assert units.parse_length("3.5 m") == 3.5
    assert units.parse_length("-800 mm") == -0.8
    assert units.parse_speed("250 mm/s") == 0.25
    assert units.parse_speed("3.6 km/h") == 1.0
    assert units.parse_speed("60 m/min") == 1.0
    with pytest.raises(UnitError, match='"0 m/s": a speed must lie between 1 mm/s and 1000 m/s'):
        units.parse_speed("0 m/s")
    with pytest.raises(UnitError, match=r'^"s" is a time; a length looks like'):
        units.parse_length("3 s")


@pytest.mark.parametrize(
    ("parse", "text", "said"),
    [
        (units.parse_length, "-1e400 cm", '"-1e400 cm" is more than 10 km, the largest length'),
        (units.parse_speed, "1e400 m/s", '"1e400 m/s": a speed must lie between 1 mm/s and 1000 m/s'),
        (
            units.parse_rate,
            "1e400 per h",
            '"1e400 per h": the number of a rate must lie between 0.001 and 1e9',
        ),
        (
            units.parse_rate,
            "1e-400 per d",
            '"1e-400 per d": the number of a rate must lie between 0.001 and 1e9',
        ),
        (units.parse_share, "1e400 %", '"1e400 %" is more than the whole; a share lies between 0 and 100 %'),
    ],
)
def test_numbers_beyond_all_measure(parse, text, said):
    """Numbers that no float can hold are refused like all others outside the bounds."""
    with pytest.raises(UnitError) as caught:
        parse(text)
    assert str(caught.value) == said


def test_money():
    """Money has a code, may be per something, and one file has one currency."""
    assert units.parse_money("84 000 EUR") == Money(Decimal(84_000), "EUR")
    assert units.parse_money("31 EUR per h") == Money(Decimal(31), "EUR", "h")
    assert units.parse_money("35 EUR/h", "EUR") == Money(Decimal(35), "EUR", "h")
    for text, said in {
        "35 €/h": '"35 €/h": write the code of the currency, such as EUR, not "€"',
        "35": '"35" is not an amount of money, which looks like "84 000 EUR" or "31 EUR per h"',
        "35 USD": '"35 USD": this file counts money in EUR; one file has one currency',
        "5 EUR/yaer": '"5 EUR/yaer": money is per h, shift, d, year, unit or kWh; did you mean "year"?',
    }.items():
        with pytest.raises(UnitError) as caught:
            units.parse_money(text, "EUR")
        assert str(caught.value) == said


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (units.parse_money, "18.000 EUR"), (units.parse_money, "1.422 EUR per unit"),
        (units.parse_rate, "1.000 per h"), (units.parse_rate, "1.200 per shift"),
        (units.parse_count, "1.000"), (units.parse_count, "12.500"),
    ],
)  # fmt: skip
def test_a_point_between_thousands_is_no_decimal(parse, text):
    """Half of the world writes eighteen thousand like this; so it is refused, with both ways to write it."""
    with pytest.raises(UnitError, match="could be a decimal or a thousand; write "):
        parse(text)


def test_what_is_no_point_between_thousands():
    """Rates as they are spelled out, small prices, whole numbers with a point."""
    assert float(units.parse_rate("109.091 per h").count) == 109.091
    assert float(units.parse_money("0.125 EUR per kWh").amount) == 0.125
    assert float(units.parse_money("1.42 EUR per unit").amount) == 1.42
    assert units.parse_count("8.0") == 8
    assert units.parse_count("1 000") == 1000
