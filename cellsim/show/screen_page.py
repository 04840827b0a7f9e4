"""A page of the terminal: lines, headings and tables within a width."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

WIDTH = 100  # wider terminals are not filled


class Page:
    """A console that takes names literally and keeps to a width."""

    def __init__(self, console: Console) -> None:
        self.console = console
        self.width = min(console.width, WIDTH)

    def line(self, text: str = "", style: str = "", indent: int = 0) -> None:
        """One paragraph, wrapped; what follows its first line stands further in."""
        from rich.text import Text

        for k, part in enumerate(Text(text, style=style).wrap(self.console, self.width - 2 * indent)):
            part.rstrip()
            self.console.print(Text(" " * (indent if k == 0 else 2 * indent)) + part)

    def head(self, text: str) -> None:
        """A heading below an empty line."""
        self.line()
        self.line(text, style="bold")

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[str]], texts: Sequence[int] = (0,)) -> None:
        """A table without lines; the columns `texts` are text, the others numbers that are never cut."""
        from rich.table import Table
        from rich.text import Text

        gap = 1 if len(heads) > 8 else 2
        table = Table(box=None, padding=(0, gap, 0, 0), pad_edge=False, header_style="underline")
        deepest = max(head.count("\n") for head in heads)
        for k, head in enumerate(heads):
            shown = Text(
                "\n" * (deepest - head.count("\n")) + head
            )  # one-line headings stand on the last line
            if k in texts:
                table.add_column(shown, overflow="fold", min_width=10)
            else:
                table.add_column(shown, justify="right", no_wrap=True)
        for row in rows:
            table.add_row(*(Text(cell) for cell in row))
        self.console.print(table, width=self.width)


def fixed(value: float | None) -> str:
    """A number of a table column: one decimal, so that the points stand below each other."""
    return "-" if value is None else f"{value:.1f}"
