"""What must be the same on two machines for the same figures to the last bit, and how they differ."""

from __future__ import annotations

import functools
import hashlib
import math
import platform
import struct
from collections.abc import Mapping
from importlib import metadata

import cellsim
from cellsim.study.kept import rules_name

LIBRARIES = ("distributed", "numpy", "numba")  # those on which figures or the way of records depend

Marks = Mapping[str, str]


@functools.cache
def marks() -> Marks:
    """What must be the same here and on every worker, so that records are the same to the last bit.

    Beside versions the results of the machine's functions, in which mathematical libraries may differ.
    """
    found = {"cellsim": cellsim.__version__, "rules": rules_name()}
    found["python"] = ".".join(platform.python_version_tuple()[:2])
    for name in LIBRARIES:
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            found[name] = "not installed"
    return found | {"arithmetic": arithmetic()}


@functools.cache
def arithmetic() -> str:
    """A hash of results of the machine's mathematical functions."""
    points = [k / 97 for k in range(1, 1000)]
    values = [f(x) for x in points for f in (math.exp, math.log, math.sqrt, math.sin, math.cos)]
    values += [x**0.37 for x in points]
    return hashlib.sha256(struct.pack(f"{len(values)}d", *values)).hexdigest()[:16]


def unlike(here: Marks, there: Marks) -> str:
    """How a worker differs from this process, in words; empty where it does not."""
    names = [name for name in here if there.get(name) != here[name]]
    return ", ".join(f"{name} {there.get(name, 'unknown')} (here {here[name]})" for name in names)
