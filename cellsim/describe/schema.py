"""The JSON Schema of a cell file, for editors that complete and check while one types."""

from __future__ import annotations

from typing import Any

from cellsim.describe.reference import reference
from cellsim.describe.spec import CELL, TABLES

__all__ = ["cell_schema", "reference"]


def cell_schema() -> dict[str, Any]:
    """The schema (draft 2020-12) of a cell file; scalars may be text or what YAML makes of them.

    It knows keys, words and the form of values; names that stand for nothing, sums and all else that needs
    the whole cell is checked by loading the file.
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Cell file",
        **CELL.full_schema(),
        "$defs": {slug: table.full_schema() for slug, table in TABLES.items() if table is not CELL},
    }
