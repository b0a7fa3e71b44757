"""`setdown completion`: what a shell needs to complete setdown's words."""

from __future__ import annotations

import click

from sim.cli import options


@click.command(
    "completion",
    epilog=options.examples(
        "setdown completion bash > ~/.setdown-completion",
        "setdown completion fish > ~/.config/fish/completions/setdown.fish",
    ),
)
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def verb(shell: str) -> None:
    """Print a script that lets your SHELL complete verbs, options and files with the tab key.

    bash and zsh: write it into a file once, and load that with a line `. ~/.setdown-completion` in
    ~/.bashrc or ~/.zshrc. fish: write it where the example says.
    """
    from click.shell_completion import get_completion_class

    from sim.cli.main import main

    kind = get_completion_class(shell)
    assert kind is not None, "click knows all three"
    click.echo(kind(main, {}, "setdown", "_SETDOWN_COMPLETE").source())
