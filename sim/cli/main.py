"""The command `setdown` and its verbs.

Nothing slow is imported here: a verb's file is imported when the verb is run, so that
`setdown --help` answers at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from typing import Any

import click

from sim.cli import manner
from sim.cli.options import examples

VERBS = {
    "new": ("sim.cli.new", "Write a first scenario of your own, or a file of today's numbers."),
    "check": ("sim.cli.check", "Print every number that will be used, and what follows from them."),
    "fly": ("sim.cli.fly", "Fly one flight: events, trace, picture."),
    "disperse": ("sim.cli.disperse", "Fly an ensemble: landing box and touchdown statistics."),
    "sweep": ("sim.cli.sweep", "Fly an ensemble at each level of one or two inputs."),
    "watch": ("sim.cli.watch", "How the figures of a run settle while it works elsewhere."),
    "landing-box": ("sim.cli.landing_box", "Print the statistics of an ensemble again."),
    "howmany": ("sim.cli.howmany", "How many flights show a success, and how many may fail."),
    "tolerance": ("sim.cli.tolerance", "How far an input may go before success falls too low."),
    "pad-size": ("sim.cli.pad_size", "The smallest landing pad, where to put it, how to turn it."),
    "compare": ("sim.cli.compare", "Two designs flight by flight, and what is more than noise."),
    "budget": ("sim.cli.budget", "What each source of error costs, and what halving it gains."),
    "gains": ("sim.cli.gains", "Attitude gains: margins of the loop, and what they do in flight."),
    "ignition": ("sim.cli.ignition", "When to light, and how much throttle authority is enough."),
    "report": ("sim.cli.report", "Write an ensemble as one page to read, print and keep."),
    "card": ("sim.cli.card", "Write one printable page to take to the field."),
    "drop": ("sim.cli.drop", "Drop it in the workshop: does it stand, and what do the legs bear?"),
    "faults": ("sim.cli.faults", "What each fault does and costs, what noticing it is worth."),
    "hazard": ("sim.cli.hazard", "Where everything comes down, whatever fails: a clear area."),
    "worst": ("sim.cli.worst", "The likeliest ways to lose it, and what would have saved it."),
    "guide": ("sim.cli.guide", "What the words, the keys and the numbers mean."),
    "completion": ("sim.cli.completion", "Print what lets your shell complete setdown's words."),
}
"""Name of each verb, the file with it (its command is called `verb`), and its line of help."""


class Verbs(click.Group):
    """Group whose verbs are imported when they are asked for, and whose errors have one home."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """List verbs in the order in which a person needs them."""
        return list(VERBS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import one verb."""
        if cmd_name not in VERBS:
            return None
        verb: click.Command = import_module(VERBS[cmd_name][0]).verb
        return manner.add_to(verb)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find a verb; an unknown one gets the nearest named."""
        if args and args[0] not in VERBS and not args[0].startswith("-"):
            from difflib import get_close_matches

            near = get_close_matches(args[0], VERBS, n=1, cutoff=0.5)
            hint = f'did you mean "{near[0]}"?' if near else f"known verbs: {', '.join(VERBS)}"
            ctx.fail(f'there is no verb "{args[0]}"; {hint}')
        return super().resolve_command(ctx, args)

    def format_commands(
        self, ctx: click.Context, formatter: click.HelpFormatter,  # noqa: ARG002
    ) -> None:
        """List the verbs without importing them."""
        with formatter.section("Verbs"):
            formatter.write_dl([(name, line) for name, (_, line) in VERBS.items()])

    def main(self, args: Sequence[str] | None = None, *_: Any, **extra: Any) -> Any:
        """Run a verb; every error ends here."""
        from sim.cli.guard import guarded

        name = extra.get("prog_name") or "setdown"
        run = super().main
        return guarded(lambda: run(args=args, prog_name=name, standalone_mode=False))


def _show_version(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        from importlib.metadata import PackageNotFoundError, version

        try:
            click.echo(f"setdown {version('setdown')}")
        except PackageNotFoundError:
            click.echo("setdown, version unknown (not installed)")
        ctx.exit()


@click.command(
    cls=Verbs,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog=examples(
        "setdown check scenarios/heron.toml", "setdown disperse scenarios/heron.toml"
    ),
)
@click.option(
    "--version", is_flag=True, is_eager=True, expose_value=False, callback=_show_version,
    help="Print the version.",
)  # fmt: skip
def main() -> None:
    """Say where a small rocket comes down, how hard, how tilted, and how sure that is.

    setdown flies a small rocket that lands on its motor, some thousand times, each time with
    other errors of motor, sensors, launch pad and wind, and says what comes of it.

    Exit status: 0 done; 1 something went wrong; 2 a mistake that you can mend; 130 interrupted.
    Answers go to standard output, progress and notes to standard error. Colours are left out where
    there is no terminal, or where NO_COLOR is set.
    """


def program() -> None:
    """Run the command as a process of its own, with whose end all is over."""
    from sim.cli.leaving import leave_early

    leave_early()
    main()
