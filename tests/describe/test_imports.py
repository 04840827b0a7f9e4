"""Reading a cell waits for nothing that reading does not need."""

import subprocess
import sys


def test_reading_a_cell_imports_nothing_heavy():
    """numpy, scipy, matplotlib, numba, rich, simpy and jsonschema stay unloaded after reading a cell."""
    code = (
        "import sys, cellsim.describe.resolve as r\n"
        "r.resolved_text(r.load_text('cell: x\\nroute: [a]\\nstations: {a: {cycle: 5 s}}'))\n"
        "heavy = {'numpy', 'scipy', 'matplotlib', 'numba', 'rich', 'simpy', 'jsonschema', 'click'}\n"
        "print(sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
