"""Nested values as the lines of a cell file."""

from __future__ import annotations

import json
import re

from cellsim.describe.tree import BLANK

Value = object  # str, list of Value, or dict from str to Value
WIDTH = 110
_PLAIN = re.compile(r"[\w.(+/][\w .,'()/+&;%-]*(?:[>:][\w.(+/][\w .'()/+&%-]*)*")
_PLAIN_IN_BRACES = re.compile(
    r"[\w.(+/][\w .'()/+&%-]*(?:> ?[\w.(+/][\w .'()/+&%-]*)*|[0-9]{2}:[0-9]{2}(?::[0-9]{2})?"
)


def lines_of(key: str, value: Value, depth: int) -> list[str]:
    """One key and its value as lines; short values on one line, longer ones below it."""
    pad = "  " * depth
    flow = _flow(value)
    if isinstance(value, str):
        return [f"{pad}{_scalar(key, True)}: {_scalar(value, False)}"]
    head = f"{pad}{_scalar(key, True)}:"
    if depth > 0 and len(head) + 1 + len(flow) <= WIDTH:
        return [f"{head} {flow}"]
    if isinstance(value, dict) and value:
        return [head, *(line for name, inner in value.items() for line in lines_of(name, inner, depth + 1))]
    if isinstance(value, list) and any(isinstance(item, dict) for item in value):
        return [head, *(f"{pad}  - {_flow(item)}" for item in value)]
    if isinstance(value, list) and len(head) + 1 + len(flow) > WIDTH:
        return [f"{head}", *_wrapped([_flow(item) for item in value], pad + "  ")]
    return [f"{head} {flow}"]


def _wrapped(items: list[str], pad: str) -> list[str]:
    lines, line = [], "["
    for i, item in enumerate(items):
        piece = item + ("," if i < len(items) - 1 else "]")
        if len(pad) + len(line) + 1 + len(piece) > WIDTH and line != "[":
            lines.append(pad + line)
            line = ""
        line += (" " if line not in ("[", "") else "") + piece
    return [*lines, pad + line]


def _flow(value: Value) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_scalar(key, True)}: {_flow(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_flow(item) for item in value) + "]"
    return _scalar(str(value), True)


def _scalar(text: str, in_braces: bool) -> str:
    """The text as YAML: plain where that is safe, else in double quotes."""
    plain = (_PLAIN_IN_BRACES if in_braces else _PLAIN).fullmatch(text)
    if plain and text not in BLANK and not text.endswith(" ") and not text.startswith(("---", "...")):
        return text
    return json.dumps(text, ensure_ascii=False)
