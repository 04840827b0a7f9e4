"""What the tutorial quotes: commands with what they print, and the prose between.

    python tests/guide/quoted.py

runs all commands and puts what they print now in place of what is quoted, line for line; read the difference
before you commit it, and mend the prose, whose numbers are tested.
"""

from __future__ import annotations

import os
import re
import shlex
import sys
import tempfile
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from pathlib import Path

from click.testing import CliRunner

ROOT = Path(__file__).parents[2]
TUTORIAL = ROOT / "cellsim" / "guide" / "pages" / "tutorial"
LEFT_OUT = "..."
_FENCE = re.compile(r"^```(\w+)\n(.*?)^```$", re.M | re.S)


@dataclass
class Call:
    """A command of the tutorial and the pieces of its output that are quoted, in order."""

    words: list[str]
    pieces: list[str] = field(default_factory=list)
    printed: str = ""


def pieces_of(text: str) -> list[str]:
    """The pieces of a quotation, between the marks of what is left out."""
    parts = re.split(rf"^{re.escape(LEFT_OUT)}\n", text, flags=re.M)
    return [part.rstrip("\n") for part in parts if part.strip()]


def calls_of(text: str) -> list[Call]:
    """The commands of a page; a fence `output` goes on with what the command before it printed."""
    calls: list[Call] = []
    for kind, body in _FENCE.findall(text):
        if kind == "console":
            first, _, rest = body.partition("\n")
            calls.append(Call(shlex.split(first.removeprefix("$ ")), pieces_of(rest)))
        elif kind == "output":
            calls[-1].pieces += pieces_of(body)
    return calls


def run(call: Call) -> str:
    """What a command prints in 80 columns, without blanks at the ends of lines."""
    from cellsim.cli import main

    assert call.words[0] == "cellsim"
    done = CliRunner().invoke(main, call.words[1:])
    assert done.exit_code in (0, 2), (call.words, done.output)
    return "\n".join(line.rstrip() for line in done.output.splitlines())


def prose_of(text: str) -> str:
    """A page without its fences."""
    return _FENCE.sub("", text)


def nearest(piece: str, printed: list[str], begin: int) -> int:
    """Where in the lines of an output a piece of as many lines is most alike."""
    count = len(piece.splitlines())
    return max(
        range(begin, len(printed) - count + 1),
        key=lambda k: SequenceMatcher(None, piece, "\n".join(printed[k : k + count])).ratio(),
    )


def renew() -> None:
    """Put what the commands print now in place of what is quoted."""
    os.environ["COLUMNS"] = "80"
    with tempfile.TemporaryDirectory() as folder:
        from cellsim.guide.examples import write_examples

        write_examples(Path(folder))
        os.chdir(folder)
        for file in sorted(TUTORIAL.glob("*.md")):
            text = file.read_text(encoding="utf-8")
            for call in calls_of(text):
                printed, at = run(call).splitlines(), 0
                for piece in call.pieces:
                    at, count = nearest(piece, printed, at), len(piece.splitlines())
                    text = text.replace(piece, "\n".join(printed[at : at + count]), 1)
                    at += count
            file.write_text(text, encoding="utf-8")
        os.chdir(ROOT)


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    renew()
