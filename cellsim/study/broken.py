"""What ends a study: a run that broke one of its own laws."""

from __future__ import annotations

from collections.abc import Iterable

from cellsim.engine.record import Record
from cellsim.errors import AuditFailure


def stop_if_broken(records: Iterable[Record], seed: int, name: str = "") -> None:
    """Stop at the first replication that broke a law; `name` says of which cell, where there are several.

    Raises:
        AuditFailure: with the address of the run and the law.
    """
    for record in records:
        if record.violations:
            where = f"{name}, " if name else ""
            raise AuditFailure(
                f"this is a fault of the program, please report it: {where}seed {seed}, replication"
                f" {record.replication}: {record.violations[0]}"
            )
