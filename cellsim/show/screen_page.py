"""A page of the terminal: lines, headings and tables within a width."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

WIDTH = 100  # wider terminals are not filled
TEXT_WIDTH = 10  # the least width of a column of text


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
        """A table without lines; the columns `texts` are text, the others numbers that are never cut.

        Where the columns do not fit beside each other, the rest follows below with the first column again.
        """
        for k, chosen in enumerate(self._blocks(heads, rows, texts)):
            if k:
                self.line()
            self._block(
                [heads[c] for c in chosen],
                [[row[c] for c in chosen] for row in rows],
                [j for j, c in enumerate(chosen) if c in texts],
            )

    def _blocks(
        self, heads: Sequence[str], rows: Sequence[Sequence[str]], texts: Sequence[int]
    ) -> list[list[int]]:
        """The columns of each block of a table: all in one where they fit."""
        least = [
            max(len(part) for text in (head, *(row[k] for row in rows)) for part in text.split("\n"))
            for k, head in enumerate(heads)
        ]
        for k in (k for k in texts if k < len(heads)):
            least[k] = TEXT_WIDTH
        if sum(least) + _gap(len(heads)) * (len(heads) - 1) <= self.width:
            return [list(range(len(heads)))]
        blocks = [[0]]
        for k in range(1, len(heads)):
            if sum(least[c] + 2 for c in blocks[-1]) + least[k] > self.width:
                blocks.append([0])
            blocks[-1].append(k)
        return blocks

    def _block(self, heads: Sequence[str], rows: Sequence[Sequence[str]], texts: Sequence[int]) -> None:
        from rich.table import Table
        from rich.text import Text

        table = Table(box=None, padding=(0, _gap(len(heads)), 0, 0), pad_edge=False, header_style="underline")
        deepest = max(head.count("\n") for head in heads)
        for k, head in enumerate(heads):
            shown = Text(
                "\n" * (deepest - head.count("\n")) + head
            )  # one-line headings stand on the last line
            if k in texts:
                table.add_column(shown, overflow="fold", min_width=TEXT_WIDTH)
            else:
                table.add_column(shown, justify="right", no_wrap=True)
        for row in rows:
            table.add_row(*(Text(cell) for cell in row))
        self.console.print(table, width=self.width)


def _gap(columns: int) -> int:
    """Blanks between columns; many columns stand closer."""
    return 1 if columns > 8 else 2


def fixed(value: float | None) -> str:
    """A number of a table column: one decimal, so that the points stand below each other."""
    return "-" if value is None else f"{value:.1f}"
