"""The command completion."""

from __future__ import annotations

import click

# The line to add, and the file to add it to; fish reads its own folder of scripts.
LINES = {
    "bash": ('eval "$(cellsim completion bash)"', "~/.bashrc"),
    "zsh": ('eval "$(cellsim completion zsh)"', "~/.zshrc, below the line with compinit"),
    "fish": ("cellsim completion fish | source", "~/.config/fish/config.fish"),
}


@click.command(short_help="let the Tab key complete commands, options and files")
@click.argument("shell", type=click.Choice(list(LINES)))
@click.pass_context
def completion(ctx: click.Context, shell: str) -> None:
    """Print the script by which a shell completes commands, options and file names with the Tab key.

    Its last lines say which line to add to which file, so that every new shell has it.

    \b
    Examples:
      cellsim completion bash
      cellsim completion fish > cellsim.fish
    """
    from click.shell_completion import get_completion_class

    made = get_completion_class(shell)
    assert made is not None  # click has these three
    line, file = LINES[shell]
    root = ctx.find_root()
    click.echo(made(root.command, {}, "cellsim", "_CELLSIM_COMPLETE").source().strip())
    click.echo(f"# To have it in every new {shell}, add this line to {file}:\n#   {line}")
