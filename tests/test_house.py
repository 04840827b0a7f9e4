"""The house itself: rooms import only rooms to their left, checking stays light, the code is clean."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ROOMS = [
    "describe",
    "engine",
    "theory",
    "study",
    "published",
    "evidence",
    "money",
    "classroom",
    "show",
    "notebook",
    "guide",
    "commands",
    "cli",
    "__main__",
]  # left to right
EVERYWHERE = {"cellsim", "cellsim.errors", "cellsim.units"}


def imports_of(file: Path) -> set[str]:
    """Every module of the package that a file imports, inside functions too."""
    found = set()
    for part in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(part, ast.Import):
            found |= {name.name for name in part.names}
        elif isinstance(part, ast.ImportFrom) and part.module:
            found.add(part.module)
            found |= {f"{part.module}.{name.name}" for name in part.names if part.module == "cellsim"}
    return {name for name in found if name.split(".")[0] == "cellsim"}


def room_of(name: str) -> str | None:
    """The room of a module; None for what every room may import."""
    parts = name.split(".")
    return None if name in EVERYWHERE or len(parts) < 2 or parts[1] in ("errors", "units") else parts[1]


def wrong_imports(files: list[Path], root: Path = ROOT) -> list[str]:
    """Imports that go to the right, in words."""
    wrong = []
    for file in files:
        here = room_of(".".join(file.relative_to(root).with_suffix("").parts))
        for name in sorted(imports_of(file)):
            there = room_of(name)
            if here is None and there is not None and file.name != "__init__.py":
                wrong.append(f"{file.name} imports {name}")
            elif here and there and ROOMS.index(there) > ROOMS.index(here):
                wrong.append(f"{here}/{file.name} imports {name}")
    return wrong


def test_rooms_import_only_to_their_left():
    """Data flows one way, from the description through engine and studies to what is shown."""
    files = sorted((ROOT / "cellsim").rglob("*.py"))
    assert len(files) > 30
    assert wrong_imports(files) == []


def test_an_import_to_the_right_is_seen(tmp_path):
    """The check above can fail: a study that imports a picture is reported."""
    file = tmp_path / "cellsim" / "study" / "wrong.py"
    file.parent.mkdir(parents=True)
    file.write_text("def f():\n    from cellsim.show import plots\n")
    assert wrong_imports([file], tmp_path) == ["study/wrong.py imports cellsim.show"]


def test_the_reader_is_the_only_importer_of_yaml():
    """One place touches the YAML library."""
    users = [
        file.name
        for file in (ROOT / "cellsim").rglob("*.py")
        if any(
            (isinstance(part, ast.Import) and any(name.name == "yaml" for name in part.names))
            or (isinstance(part, ast.ImportFrom) and part.module == "yaml")
            for part in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        )
    ]
    assert users == ["reader.py"]


def test_checking_a_file_imports_nothing_heavy():
    """`cellsim check` never waits for scipy, matplotlib, simpy, rich, numba, pandas or dask."""
    code = (
        "import sys; from click.testing import CliRunner; from cellsim.cli import main\n"
        "result = CliRunner().invoke(main, ['check', 'scenarios/tape_measure.yaml'])\n"
        "assert result.exit_code == 0, result.output\n"
        "print(sorted({m.split('.')[0] for m in sys.modules} &"
        " {'scipy', 'matplotlib', 'simpy', 'rich', 'numba', 'pandas', 'dask', 'distributed'}))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    "command", [["ruff", "check", "."], ["ruff", "format", "--check", "."], ["mypy"]], ids=" ".join
)
def test_the_code_is_clean(command):
    """Linter, formatter and type checker find nothing."""
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
