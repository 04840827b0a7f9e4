"""Pictures: files of the right size whose artists carry the numbers of the dictionary and nothing else."""

from __future__ import annotations

import json
import struct
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest
from matplotlib.colors import to_hex
from matplotlib.patches import Rectangle, StepPatch

from cellsim.show.palette import CREW_STATES, STATION_STATES
from cellsim.show.plots import save_pictures
from cellsim.show.plots_output import draw_output
from cellsim.show.plots_shares import draw_shares

ROOT = Path(__file__).parents[2]


def size_of(path):
    """Width and height in the header of a PNG file (ISO/IEC 15948, 11.2.2)."""
    data = path.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    return struct.unpack(">II", data[16:24])


def texts(figure):
    """All texts of a figure outside axes."""
    return [text.get_text() for text in figure.texts]


def named(axes, gid):
    """The artists of axes with this gid."""
    return [artist for artist in axes.get_children() if artist.get_gid() == gid]


def segments(axes):
    """Row and state of each segment of the bars with its left edge, width and patch."""
    return {
        tuple(p.get_gid().split("/")): (p.get_x(), p.get_width(), p)
        for p in axes.patches
        if isinstance(p, Rectangle) and p.get_gid()
    }


def test_two_files_of_1600_pixels(result, tmp_path):
    """Both pictures are written, 1600 pixels wide, and returned in order."""
    paths = save_pictures(result, tmp_path)
    assert [path.name for path in paths] == ["output_per_hour.png", "state_shares.png"]
    assert [size_of(path)[0] for path in paths] == [1600, 1600]
    assert size_of(paths[0])[1] == 896
    assert sorted(path.name for path in tmp_path.iterdir()) == ["output_per_hour.png", "state_shares.png"]


def test_equal_results_give_equal_files(result, tmp_path):
    """A picture holds no date and no random part."""
    (tmp_path / "b").mkdir()
    first, second = save_pictures(result, tmp_path), save_pictures(result, tmp_path / "b")
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]


def test_pictures_leave_no_global_state(result, tmp_path):
    """pyplot is not imported, and settings are as before."""
    code = (
        "import sys, json, matplotlib; from pathlib import Path\n"
        "from cellsim.show.picture_files import STYLE\nfrom cellsim.show.plots import save_pictures\n"
        "read = lambda: {key: matplotlib.rcParams[key] for key in STYLE}; before = read()\n"
        "save_pictures(json.load(sys.stdin), Path(sys.argv[1]))\n"
        "print('matplotlib.pyplot' in sys.modules, before == read())"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)],
        input=json.dumps(result),
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == ["False", "True"]


# Output hour by hour


def test_title_and_subtitle_say_the_answer(result):
    """The title names cell, rate and band; below stand the number of shifts, seed, interval and chances."""
    found = texts(draw_output(result))
    assert found[0] == "Tin whistle: 104.4 good units per working hour, in 9 of 10 hours 81 to 123"
    assert found[1] == (
        "Studied: 40 shifts of 2.75 working hours, seed 7. 95 % interval of the mean 102.8 to 106."
    )
    assert found[2].startswith("The target of 100 per hour is reached in 64 % of the hours (59 to 69 %)")
    assert "cellsim 0.1.0, description 0123456789ab" in found[-1]


def test_each_hour_carries_its_numbers(result):
    """Band, median, mean, interval of every hour are those of the dictionary."""
    axes = draw_output(result).axes[0]
    hours = result["output_per_hour"]["by_clock_hour"]
    bands = named(axes, "band")
    assert [(b.get_y(), b.get_y() + b.get_height()) for b in bands] == [(h["p05"], h["p95"]) for h in hours]
    assert [list(line.get_ydata()) for line in named(axes, "median")] == [[h["p50"]] * 2 for h in hours]
    assert [list(line.get_ydata()) for line in named(axes, "mean")] == [[h["mean"]] for h in hours]
    assert [list(line.get_ydata()) for line in named(axes, "interval")] == [h["interval"] for h in hours]
    centres = [b.get_x() + b.get_width() / 2 for b in bands]
    assert centres == pytest.approx([0, 1, 2])
    assert axes.get_ylim()[0] == 0 and axes.get_ylim()[1] > 124


def test_the_target_steps_with_the_minutes_worked(result):
    """The target line has the target of each hour: 100, 75 in the hour with 45 minutes of work, 100."""
    axes = draw_output(result).axes[0]
    (steps,) = [patch for patch in axes.patches if isinstance(patch, StepPatch)]
    assert list(steps.get_data().values) == [100, 75, 100]
    assert list(steps.get_data().edges) == [-0.5, 0.5, 1.5, 2.5]


def test_short_hours_are_marked(result):
    """The hour with a break says how long it works and stands on grey; the others do not."""
    axes = draw_output(result).axes[0]
    labels = [label.get_text().strip() for label in axes.get_xticklabels()]
    assert labels == ["06:00-07:00", "07:00-08:00\n45 min worked", "08:00-09:00"]
    legend = [text.get_text() for text in axes.get_legend().get_texts()]
    assert legend == [
        *["P5 to P95 (9 of 10 hours)", "median", "mean with 95 % interval", "target"],
        "less than 60 min worked",
    ]


def test_without_a_target_there_is_no_line(result):
    """No target in the dictionary: no line, no legend entry, no sentence."""
    out = result["output_per_hour"]
    out["target"] = None
    for row in out["by_clock_hour"]:
        del row["target"], row["chance_of_target"]
    figure = draw_output(result)
    axes = figure.axes[0]
    assert not [patch for patch in axes.patches if isinstance(patch, StepPatch)]
    assert "target" not in [text.get_text() for text in axes.get_legend().get_texts()]
    assert not any("target" in text for text in texts(figure))


@pytest.mark.parametrize("target", range(60, 140, 2))
def test_the_target_line_cuts_no_number(result, target):
    """Wherever the target lies, each hour shows both ends of its band, and no number crosses the line."""
    hours = result["output_per_hour"]["by_clock_hour"]
    for row in hours:
        row["target"] = target
    figure = draw_output(result)
    figure.canvas.draw()
    axes = figure.axes[0]
    line = axes.transData.transform((0, target))[1]
    boxes = {text.get_text(): text.get_window_extent() for text in axes.texts}
    assert {str(row[key]) for row in hours for key in ("p05", "p95")} <= set(boxes)
    assert [number for number, box in boxes.items() if box.y0 < line < box.y1] == []


def test_one_run_has_means_without_intervals(single):
    """Without intervals the mean is a dot, and the legend promises no interval."""
    figure = draw_output(single)
    axes = figure.axes[0]
    assert len(named(axes, "mean")) == 3 and named(axes, "interval") == []
    assert "mean" in [text.get_text() for text in axes.get_legend().get_texts()]
    assert not any("95 % interval" in text for text in texts(figure))


def test_hours_without_shifts_are_numbered(result):
    """Where there are no shifts the labels are hour 1, hour 2, ..., and runs are counted."""
    for k, row in enumerate(result["output_per_hour"]["by_clock_hour"]):
        row["hour"] = f"hour {k + 1}"
    figure = draw_output(result)
    labels = [label.get_text().split("\n")[0] for label in figure.axes[0].get_xticklabels()]
    assert labels == ["hour 1", "hour 2", "hour 3"]
    assert texts(figure)[1].startswith("Studied: 40 runs of 2.75 working hours, seed 7.")


@pytest.mark.parametrize("count", [12, 15, 24, 168])
def test_many_hours_stay_readable(result, count):
    """Labels never overlap, however many hours there are, and every hour is drawn."""
    row = result["output_per_hour"]["by_clock_hour"][0]
    result["output_per_hour"]["by_clock_hour"] = [
        {**row, "hour": f"{k % 24:02d}:00-{(k + 1) % 24:02d}:00"} for k in range(count)
    ]
    figure = draw_output(result)
    figure.canvas.draw()
    axes = figure.axes[0]
    boxes = [label.get_window_extent() for label in axes.get_xticklabels()]
    assert len(named(axes, "band")) == count and len(boxes) >= 7
    assert all(left.x1 < right.x0 for left, right in pairwise(boxes))


def test_a_locked_study_says_so_in_the_picture(locked):
    """Below the title stands in how many runs the cell locked."""
    assert texts(draw_output(locked))[1] == (
        "The cell or a part of it LOCKED in 2 of 40 runs; the time after is included."
    )


# State shares


def test_bars_carry_the_shares(result):
    """Segment widths are the shares in %, stacked without gaps, and every bar adds up to 100 %."""
    stations, crew = draw_shares(result).axes
    for axes, table in ((stations, result["stations"]), (crew, {**result["people"], **result["robots"]})):
        found = segments(axes)
        assert set(found) == {(name, state) for name, row in table.items() for state in row["shares"]}
        for name, row in table.items():
            at = 0.0
            for state in [s for s in (*STATION_STATES, *CREW_STATES) if s in row["shares"]]:
                if (name, state) in found:
                    x, width, _ = found.pop((name, state))
                    assert x == pytest.approx(at)
                    assert width == pytest.approx(100 * row["shares"][state]["mean"])
                    at += width
            assert at == pytest.approx(100)


def test_segments_wear_colour_hatch_and_letter(result):
    """Fill and hatch are those of the palette; wide segments show letter and share, slim ones the letter."""
    axes = draw_shares(result).axes[0]
    for (_, state), (_, _, patch) in segments(axes).items():
        assert to_hex(patch.get_facecolor()).upper() == STATION_STATES[state].colour
        assert (patch.get_hatch() or "") == STATION_STATES[state].hatch
    written = [text.get_text() for text in axes.texts]
    assert written[:5] == ["W 50", "A 25", "B 10", "D 10", "T"]
    assert "S 72" in written


def test_a_sliver_has_no_letter(result):
    """A segment narrower than its letter shows none."""
    shares = result["stations"]["press"]["shares"]
    shares["working"]["mean"], shares["waiting for repair"]["mean"] = 0.54, 0.01
    written = [text.get_text() for text in draw_shares(result).axes[0].texts]
    assert written[:4] == ["W 54", "A 25", "B 10", "D 10"] and "T" not in written


def test_rows_stand_in_route_order(result):
    """The first station is on top; equal machines and people are counted behind the name."""
    stations, crew = draw_shares(result).axes
    assert [label.get_text() for label in stations.get_yticklabels()] == ["press", "glue (2)", "test"]
    assert [label.get_text() for label in crew.get_yticklabels()] == ["fitter (2)", "setter", "R1"]
    assert stations.get_ylim()[0] > stations.get_ylim()[1]


def test_the_legend_explains_every_letter_that_occurs(result):
    """Each panel has its own legend, in stack order, with every state that occurs in it and no other."""
    figure = draw_shares(result)
    swatches = [artist for artist in figure.patches + figure.artists if artist.get_gid()]
    assert [artist.get_gid() for artist in swatches] == [f"legend/{letter}" for letter in "WAHSBORDTNWGFU"]
    fills = [to_hex(artist.get_facecolor()).upper() for artist in swatches]
    assert fills[0] == STATION_STATES["working"].colour and fills[-1] == CREW_STATES["free"].colour
    found = texts(figure)
    first = found.index("working alone")
    labels = [text for text in found[first:] if len(text) > 1]
    assert labels[:10] == [
        *["working alone", "working, attended", "loaded or unloaded", "starved", "blocked"],
        *["waiting for operator", "waiting for robot", "down, being repaired", "down, waiting for repair"],
        "not on shift",
    ]
    assert labels[-4:] == ["working", "going", "fixing a stop", "unoccupied"]


def test_the_legend_leaves_out_what_cannot_be_seen(result):
    """A state whose segments are all thinner than the line between two of them is in no legend."""
    shares = result["stations"]["press"]["shares"]
    shares["changeover"], shares["planned service"] = {"mean": 0.0015}, {"mean": 0.0}
    found = texts(draw_shares(result))
    assert "working alone" in found and not {"changeover", "planned service"} & set(found)
    shares["changeover"] = {"mean": 0.003}
    assert "changeover" in texts(draw_shares(result))


def test_titles_of_the_panels(result):
    """The title names the station that works most, the panels say what they show."""
    found = texts(draw_shares(result))
    assert found[0] == "Tin whistle: press works most, 75 % of the time"
    assert "Stations, in the order of the route" in found and "People and robots" in found


def test_without_people_there_is_one_panel(result):
    """No people and no robots: one panel; robots alone have their own heading."""
    result["people"] = {}
    assert "Robots" in texts(draw_shares(result))
    result["robots"] = {}
    assert len(draw_shares(result).axes) == 1


@pytest.mark.parametrize("count", [2, 7, 25])
def test_any_number_of_long_names_fits(result, count, tmp_path):
    """From 2 to 25 stations names stay inside the picture and do not run into each other."""
    row = result["stations"]["press"]
    result["stations"] = {
        f"{10 * k} heat treatment of springs in the chamber oven": row for k in range(count)
    }
    figure = draw_shares(result)
    figure.canvas.draw()
    boxes = [label.get_window_extent() for label in figure.axes[0].get_yticklabels()]
    assert len(boxes) == count and min(box.x0 for box in boxes) >= 0
    assert all(low.y0 >= high.y1 for low, high in pairwise(boxes))
    assert all(0 <= text.get_position()[1] <= 1 for text in figure.texts)
    assert size_of(save_pictures(result, tmp_path)[1])[0] == 1600


def test_long_names_stand_on_two_lines_of_about_one_length(result):
    """A name breaks between words near its middle; only what two lines cannot hold is cut."""
    row, glue = result["stations"]["press"], result["stations"]["glue"]
    short, even = "rivet the hinge to the lid", "rivet the brass hinge to the lid"
    counted = "leak test under water, first chamber"
    most = "leak test of the whole housing under water, second chamber"
    endless = "Waermebehandlungskammerofenanlagenfundament nord"
    cut = "Endkontrollarbeitsplatz Schraubenfederspannwerk Vormontage"
    result["stations"] = {short: row, even: row, counted: glue, most: row, endless: row, cut: row}
    labels = [label.get_text() for label in draw_shares(result).axes[0].get_yticklabels()]
    assert labels == [
        "rivet the hinge to the lid",
        "rivet the brass\nhinge to the lid",
        "leak test under water,\nfirst chamber (2)",
        "leak test of the whole housing\nunder water, second chamber",
        "Waermebehandlungskammerofenanlag\nenfundament nord",
        "Endkontrollarbeitsplatz\nSchraubenfederspannwerk ...",
    ]


def test_names_are_not_read_as_formulas(result, tmp_path):
    """Dollar signs and unknown scripts in names are drawn as they are, without an error or warning."""
    result["cell"]["name"] = "cost $x_$ \\frac"
    result["stations"] = {"R$1_$": result["stations"]["press"], "压机": result["stations"]["glue"]}
    save_pictures(result, tmp_path)
    figure = draw_shares(result)
    assert figure.texts[0].get_text().startswith("cost $x_$ \\frac")
    assert figure.axes[0].get_yticklabels()[0].get_text() == "R$1_$"


def test_an_unknown_state_is_drawn_under_its_name(result):
    """A state that the palette does not know keeps its share and its name."""
    shares = result["stations"]["press"]["shares"]
    shares["changeover"] = shares.pop("blocked")
    figure = draw_shares(result)
    assert segments(figure.axes[0])["press", "changeover"][1] == pytest.approx(10)
    assert "changeover" in texts(figure)
