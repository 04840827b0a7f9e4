"""The page of all commands, made from the commands themselves."""

from __future__ import annotations

import click


def commands_text(group: click.Group) -> str:
    """Every command in the order of the work: what it is for, how it is called, its examples, its options."""
    above = click.Context(group, info_name="cellsim", max_content_width=100)
    parts = [
        "# All commands",
        "In the order of the work. `cellsim COMMAND --help` prints one of them. What stands in capitals is"
        " yours to fill in; what stands in brackets may be left out. Every command ends with 0 when it is"
        " done and with another number when it is not: 2 the file or the call is wrong and nothing was"
        " written, 3 the cell locks up, 4 it has no steady state, 5 a night of cells fails, 70 a fault of"
        " this program, 75 worker processes were lost, 130 stopped by hand. Examples that name `scenarios/`"
        " are for the demo cells beside the source; with the files of the tutorial put `bell_4.yaml` in"
        " their place.",
    ]
    for name in group.list_commands(above):
        command = group.get_command(above, name)
        assert command is not None
        context = click.Context(command, info_name=name, parent=above)
        parts += [f"## {name}", f"```text\n{_usage(command, context)}\n```", *_help(command)]
        records = [param.get_help_record(context) for param in command.params]
        rows = [record for record in records if record is not None and record[1]]
        if rows:
            lines = ["| option | says |", "| --- | --- |"]
            parts.append(
                "\n".join(lines + [f"| `{_cell(used)}` | {_escaped(says)} |" for used, says in rows])
            )
    return "\n\n".join(parts) + "\n"


def _help(command: click.Command) -> list[str]:
    """The help as paragraphs; what stands line by line there, the examples, stands so here."""
    found = []
    for part in (command.help or "").strip().split("\n\n"):
        lines = part.strip("\n").splitlines()
        if lines and lines[0].strip() == "\b":
            found += _examples(lines[1:])
        elif lines:
            found.append(_escaped(" ".join(line.strip() for line in lines)))
    return found


def _examples(lines: list[str]) -> list[str]:
    heading, *calls = lines
    typed = (call.strip() for call in calls)
    text = "\n".join(f"$ {call}" if call.startswith("cellsim ") else f"    {call}" for call in typed)
    return [_escaped(heading.strip()), f"```console\n{text}\n```"]


def _usage(command: click.Command, context: click.Context) -> str:
    return " ".join(["cellsim", str(context.info_name), *command.collect_usage_pieces(context)])


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _escaped(text: str) -> str:
    """Words of a help, in which no sign has a meaning of its own."""
    return "".join(f"\\{c}" if c in "\\`*_[]<>|#~" else c for c in " ".join(text.split()))
