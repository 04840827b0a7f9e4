"""Compiled twins: every rule's own code, compiled by numba, with the twins of other rules in its globals.

The rules stay ordinary functions in ordinary modules.  A twin is the same code object in a copy of its
module's globals, in which each rule is replaced by its twin.  The twins are compiled callees first, each for
the one signature that its annotations give; they are put together in one module and optimised once, as part
of the function that a clock calls from outside (its entry).
"""

from __future__ import annotations

import dis
import importlib
import inspect
import pkgutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FunctionType
from typing import Any

import llvmlite.binding as llvm
import numba
from numba.core import codegen, types

from cellsim.engine import draws, native_rows, rules
from cellsim.engine.native_rows import RECORD, Row, Rows

OPTIONS = {
    "nogil": True,
    "no_cpython_wrapper": True,
    "no_cfunc_wrapper": True,
    "error_model": "numpy",
}

# What the annotations of rules and draws mean; `c` and `table` are known by their names.
MEANINGS = {
    "int": types.int64,
    "float": types.float64,
    "bool": types.boolean,
    "Stream": Row("stream"),
    "LawRecord": Row("law"),
}
NAMED = {"c": Row(RECORD), "table": Rows("f8")}


def all_rules() -> list[FunctionType]:
    """Every rule and every function that draws, whatever has been imported so far."""
    for module in pkgutil.iter_modules(rules.__path__):
        importlib.import_module(f"{rules.__name__}.{module.name}")
    return [f for f in (*draws.COMPILABLE, *rules.RULES) if isinstance(f, FunctionType)]


def signature_of(function: Callable[..., Any]) -> tuple[Any, ...] | None:
    """The types of a function's arguments by its annotations; None where numba is to find them out."""
    found = []
    for name, parameter in inspect.signature(function).parameters.items():
        meaning = NAMED.get(name) or MEANINGS.get(str(parameter.annotation))
        if meaning is None:
            return None
        found.append(meaning)
    return tuple(found)


def fields_written(functions: list[FunctionType]) -> set[str]:
    """The names of all fields that some function gives a new value."""
    return {
        instruction.argval
        for function in functions
        for instruction in dis.get_instructions(function)
        if instruction.opname == "STORE_ATTR"
    }


class Twins:
    """The twins of all rules, and of the functions of a clock that call them."""

    def __init__(self, clock: list[FunctionType]) -> None:
        self.functions = all_rules() + clock
        native_rows.WRITTEN |= fields_written(self.functions)
        self._spaces: dict[str, dict[str, Any]] = {}
        self.of: dict[FunctionType, Any] = {f: numba.njit(**OPTIONS)(self._copy(f)) for f in self.functions}
        for space in self._spaces.values():
            for name, value in list(space.items()):
                if isinstance(value, FunctionType) and value in self.of:
                    space[name] = self.of[value]
        self._spaces[draws.__name__]["refill"] = self.of[_plain(draws.refill_compiled_body)]
        self._spaces[draws.__name__]["high_word"] = native_rows.high_word

    def _copy(self, function: FunctionType) -> FunctionType:
        space = self._spaces.setdefault(function.__module__, dict(vars(sys.modules[function.__module__])))
        twin = FunctionType(function.__code__, space, function.__name__, function.__defaults__)
        twin.__module__ = function.__module__
        twin.__annotations__ = function.__annotations__
        return twin

    def compile(self, entry: FunctionType, signature: tuple[Any, ...]) -> Any:
        """The entry, compiled for a signature together with all that it calls; it can be cached by numba."""
        twin = _outermost(self._copy(entry))
        with one_module(entry.__name__):
            for function in self._callees_first(entry):
                arguments = signature_of(function)
                if arguments is not None:
                    self.of[function].compile(arguments)
                    self.of[function].disable_compile()
            twin.compile(signature)
        return twin

    def _callees_first(self, entry: FunctionType) -> list[FunctionType]:
        by_twin = {id(twin): function for function, twin in self.of.items()}
        done: dict[FunctionType, bool] = {}
        order: list[FunctionType] = []

        def visit(function: FunctionType) -> None:
            done[function] = False
            space = self._spaces[function.__module__]
            for name in function.__code__.co_names:
                callee = by_twin.get(id(space.get(name)))
                if callee is not None and callee not in done:
                    visit(callee)
            order.append(function)

        visit(entry)
        return order[:-1]


def _outermost(function: FunctionType) -> Any:
    return numba.njit(nogil=True, no_cfunc_wrapper=True, error_model="numpy", cache=True)(function)


def compiled_entry(entry: FunctionType, signature: tuple[Any, ...]) -> Any | None:
    """The compiled entry as numba has kept it on disk, None where it has not."""
    twin = _outermost(FunctionType(entry.__code__, vars(sys.modules[entry.__module__]), entry.__name__))
    twin.py_func.__module__ = entry.__module__
    kept = twin._cache.load_overload(signature, twin.targetctx)
    if kept is None:
        return None
    twin.add_overload(kept)
    return twin


def _plain(function: Callable[..., Any]) -> FunctionType:
    assert isinstance(function, FunctionType)
    return function


@contextmanager
def one_module(entry: str) -> Iterator[None]:
    """Compile what follows into one module, that of the function named `entry`, and optimise only that.

    numba would optimise and translate every callee on its own before it does so again within each of its
    callers.  With some hundreds of rules that takes five times as long, for code that nobody calls.  Rules
    are many short loops over few rows: unrolling them only makes the code larger.
    """
    library, generator = codegen.JITCodeLibrary, codegen.JITCPUCodegen
    finalize, set_env = library.finalize, generator.set_env

    def gather(self: Any) -> None:
        if self.name.rsplit(".", 1)[-1] != entry:
            self._raise_if_finalized()
            self._finalized = True
            return
        everything: dict[int, Any] = {}
        waiting = list(self._linking_libraries)
        while waiting:
            callee = waiting.pop()
            if id(callee) not in everything:
                everything[id(callee)] = callee
                waiting.extend(callee._linking_libraries)
        self._linking_libraries = list(everything.values())
        called_from_outside = {function.name for function in self._final_module.functions}

        def optimize() -> None:
            for function in self._final_module.functions:
                if not function.is_declaration and function.name not in called_from_outside:
                    function.linkage = "internal"
            tuning = llvm.create_pipeline_tuning_options(speed_level=3)
            tuning.loop_unrolling = tuning.loop_vectorization = tuning.slp_vectorization = False
            passes = llvm.create_pass_builder(self._codegen._tm, tuning)
            passes.getModulePassManager().run(self._final_module, passes)

        self._optimize_final_module = optimize
        finalize(self)
        del self._optimize_final_module

    def set_env_where_compiled(self: Any, name: str, env: Any) -> None:
        if self._engine.get_global_value_address(name):
            set_env(self, name, env)

    library.finalize, generator.set_env = gather, set_env_where_compiled
    try:
        yield
    finally:
        library.finalize, generator.set_env = finalize, set_env
