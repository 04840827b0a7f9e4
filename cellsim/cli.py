"""The command line: all commands together.

Exit codes: 0 done, 2 the description or the call is wrong (nothing was written), 3 the cell locks up, 4 it
has no steady state, 5 a night of cells fails, 70 a run broke one of its own laws (a fault of this program),
75 worker processes or a cluster were lost, 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import click

import cellsim
from cellsim.commands.acceptance import acceptance
from cellsim.commands.balance import balance
from cellsim.commands.buffers import buffers
from cellsim.commands.common import Commands
from cellsim.commands.compare import compare
from cellsim.commands.completion import completion
from cellsim.commands.crew import crew
from cellsim.commands.describe import check, resolve, schema
from cellsim.commands.draw import draw
from cellsim.commands.exercise import exercise
from cellsim.commands.guide import guide
from cellsim.commands.limits import limits
from cellsim.commands.load import load
from cellsim.commands.nightly import nightly
from cellsim.commands.observe import observe
from cellsim.commands.payback import payback
from cellsim.commands.report import report
from cellsim.commands.run import run, trace
from cellsim.commands.sensitivity import sensitivity
from cellsim.commands.stops import stops
from cellsim.commands.timestudy import timestudy
from cellsim.commands.verify import verify
from cellsim.commands.warmup import warmup
from cellsim.commands.workbook import workbook


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(cellsim.__version__, prog_name="cellsim")
def main() -> None:
    """How many good units an hour an assembly cell makes, hour by hour, with a band, and what limits it.

    A cell is described in one YAML file: stations, the places between them, people, robots, shifts, stops.
    The commands stand below in the order of the work: begin with check and run.

    \b
    Example:
      cellsim run scenarios/tape_measure.yaml
    """


# In the order of the work, in which the help lists them.
for command in (
    check, load, draw, timestudy, stops, balance, run, limits, compare, buffers, crew, payback, sensitivity,
    warmup, report, workbook, observe, nightly, acceptance, exercise, trace, resolve, schema, verify,
    guide, completion,
):  # fmt: skip
    main.add_command(command)
