"""Runs the notebooks of the repository in a fresh kernel; as a script it keeps their outputs.

python tests/notebooks/executed.py           # all, and writes them with their outputs
python tests/notebooks/executed.py 02        # those whose name begins so
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import nbformat
from nbclient import NotebookClient

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "notebooks"
LONGEST_CELL_S = 300
TEXTS = ("text/plain", "text/html")


def notebooks() -> list[Path]:
    """All notebooks in the order of their names."""
    return sorted(FOLDER.glob("*.ipynb"))


def executed(file: Path, bench: Path) -> Any:
    """A notebook with fresh outputs, run in a folder of its own beside the demo cells.

    Raises:
        CellExecutionError: a cell of it fails.
    """
    place = bench / "notebooks"
    place.mkdir(parents=True, exist_ok=True)
    if not (bench / "scenarios").exists():
        shutil.copytree(ROOT / "scenarios", bench / "scenarios")
    notebook = nbformat.read(file, as_version=4)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    client = NotebookClient(
        notebook,
        timeout=LONGEST_CELL_S,
        kernel_name="python3",
        record_timing=False,
        coalesce_streams=True,
        resources={"metadata": {"path": str(place)}},
    )
    client.execute()
    return notebook


def texts(notebook: Any) -> Iterator[tuple[int, str, str]]:
    """What each cell prints or shows as text: number of the cell, kind, text.  Pictures are left out."""
    for k, cell in enumerate(notebook.cells):
        streams: dict[str, str] = {}
        for output in cell.get("outputs", []):
            if output.output_type == "stream":
                streams[output.name] = streams.get(output.name, "") + output.text
            elif "image/png" not in output.data:
                for kind in TEXTS:
                    if kind in output.data:
                        yield k, kind, output.data[kind]
        yield from ((k, name, text) for name, text in streams.items())


def plain_form(notebook: Any) -> Any:
    """A notebook without what differs from run to run or from machine to machine."""
    notebook.metadata = {
        "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
        "language_info": {"name": "python"},
    }
    notebook.nbformat, notebook.nbformat_minor = 4, 5
    for k, cell in enumerate(notebook.cells):
        cell.id, cell.metadata = f"cell-{k + 1}", {}
    return notebook


def main(beginnings: list[str]) -> None:
    """Run the notebooks and write them with their outputs."""
    for file in notebooks():
        if beginnings and not any(file.name.startswith(text) for text in beginnings):
            continue
        with tempfile.TemporaryDirectory() as bench:
            notebook = plain_form(executed(file, Path(bench)))
        nbformat.validate(notebook)
        nbformat.write(notebook, file)
        print(f"{file.name}: {len(notebook.cells)} cells, {file.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main(sys.argv[1:])
