"""The compiled code of the rulebook on disk: where it lies, whether it is there, and how it comes there."""

from __future__ import annotations

import atexit
import hashlib
import os
import platform
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Callable
from importlib import metadata, util
from pathlib import Path
from typing import Any

from cellsim.engine import layout

HERE = Path(__file__).parent
SOURCES = (
    "layout.py",
    "draws.py",
    "calendars.py",
    "native_rows.py",
    "twins.py",
    "clock_compiled.py",
    "compiled_code.py",
)
READY = "ready"  # a file in the folder of compiled code that is complete
USUAL_SECONDS = 30  # how long compiling usually takes
KEPT_DAYS = 30  # compiled code of other versions is thrown away when nobody has used it for so long

_loaded: dict[Any, Any] = {}  # entries that this process has already


def is_available() -> bool:
    """Whether numba is installed."""
    return util.find_spec("numba") is not None


def fingerprint() -> str:
    """A name for the compiled code: a hash of all sources that go into it, their place, and versions.

    Their place, because numba finds what it has kept by the path of the source.
    """
    digest = hashlib.sha256()
    for path in sorted([*(HERE / name for name in SOURCES), *HERE.glob("rules/*.py")]):
        digest.update(path.name.encode() + path.read_bytes())
    digest.update(
        repr((layout.SCALARS, layout.ARRAYS, layout.FIELDS)).encode()
    )  # with lengths from elsewhere
    versions = [str(HERE), sys.version, platform.machine(), platform.processor()]
    versions += [metadata.version(name) for name in ("numba", "llvmlite", "numpy")]
    digest.update("\n".join(versions).encode())
    return digest.hexdigest()[:16]


def folder() -> Path:
    """The folder of the compiled code of this version: CELLSIM_CACHE, else the user's folder for caches."""
    named = os.environ.get("CELLSIM_CACHE")
    if named:
        base = Path(named)
    elif sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home())) / "cellsim"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "cellsim"
    return base / f"compiled-{fingerprint()}"


def is_on_disk() -> bool:
    """Whether the compiled code of this version is on disk already."""
    return is_available() and (folder() / READY).exists()


def _usable(path: Path) -> Path:
    """The folder, made where it is not there, or one for this process where nothing can be written.

    What lies in a folder of compiled code is run, so it must belong to this user alone.
    """
    try:
        path.mkdir(parents=True, exist_ok=True, mode=0o700)
        found = path.stat()
        own = not hasattr(os, "getuid") or found.st_uid == os.getuid()
        if own and not found.st_mode & stat.S_IWOTH and os.access(path, os.W_OK):
            return path
    except OSError:
        pass
    base = Path(tempfile.mkdtemp(prefix="cellsim-"))
    atexit.register(shutil.rmtree, base, ignore_errors=True)
    os.environ["CELLSIM_CACHE"] = str(base)  # for the processes that this one starts
    (base / path.name).mkdir()
    return base / path.name


def load(
    entry: Any, clock: list[Any], signature: tuple[Any, ...], announce: Callable[[str], None] | None = None
) -> Any:
    """The compiled entry of a clock, read from disk, or made and written there.

    `announce` is told in words when compiling begins and when it is over.
    """
    if entry in _loaded:
        return _loaded[entry]
    import numba

    from cellsim.engine.twins import Twins, compiled_entry

    path = _usable(folder())
    before, numba.config.CACHE_DIR = numba.config.CACHE_DIR, str(path)
    try:
        found = compiled_entry(entry, signature)
        if found is None:
            say = announce or (lambda text: None)
            say(f"Compiling the rules for the fast clock, once on this machine (about {USUAL_SECONDS} s) ...")
            start = time.monotonic()
            found = Twins(clock).compile(entry, signature)
            (path / READY).touch()
            say(f"Compiled in {time.monotonic() - start:.0f} s; kept in {path}.")
            _clear_old(path)
    finally:
        numba.config.CACHE_DIR = before
    _loaded[entry] = found
    return found


def _clear_old(path: Path) -> None:
    """Throw away compiled code of other versions that nobody has used for long."""
    for other in path.parent.glob("compiled-*"):
        if other != path and time.time() - other.stat().st_atime > KEPT_DAYS * 86400:
            shutil.rmtree(other, ignore_errors=True)
