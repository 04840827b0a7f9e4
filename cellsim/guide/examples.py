"""The files of the tutorial, copied from the package into a folder of the reader."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from cellsim.errors import UsageError


def example_files() -> dict[str, bytes]:
    """Every file of the tutorial by its name; a name may have a folder before it (`cells/bell.yaml`)."""
    return dict(sorted(_below(resources.files("cellsim.guide") / "files", "")))


def _below(folder: Traversable, before: str) -> list[tuple[str, bytes]]:
    found = []
    for entry in folder.iterdir():
        if entry.is_dir():
            found += _below(entry, f"{before}{entry.name}/")
        else:
            found.append((before + entry.name, entry.read_bytes()))
    return found


def write_examples(folder: Path) -> list[Path]:
    """Copy the files into a folder, which is made where there is none; returns what was written.

    Raises:
        UsageError: one of the files is there already, or cannot be written; then none is written, or none
            after the one that could not be.
    """
    files = {folder / name: content for name, content in example_files().items()}
    there = [path for path in files if path.exists()]
    if there:
        raise UsageError(f"{there[0]} exists and is not overwritten; name another folder")
    for path, content in files.items():
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        except OSError as error:
            raise UsageError(f"{path} cannot be written: {error.strerror}") from None
    return list(files)
