"""The command line: parse, call, print, exit code.

Exit 0: all is cut from what is at hand. Exit 1: a piece is uncut or a sheet to buy, or a fault was
found. Exit 2: the input cannot be used; nothing was written.
"""

import shlex
import sys
from pathlib import Path
from typing import Any

import click

from nesting.cli import bench, comparing, cutfile, draw, enough, page, planning, stash
from nesting.cli.running import LISTS
from nesting.collecting import collect_rarely
from nesting.version import __version__


class _Commands(click.Group):
    """The commands, those of the first evening first; of a file in place of one it says what is meant."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's own name
        """Keep the order in which they are added."""
        return list(self.commands)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that the first word names."""
        first = Path(args[0])
        is_file = first.is_file() or first.suffix.lower() in (".yaml", ".yml", ".json", *LISTS)
        if is_file and args[0] not in self.commands:
            command = "draw" if first.suffix.lower() == ".json" else "plan"
            ctx.fail(
                f"{first}: no command before the file. Type: nesting {command} {shlex.join(args)}"
            )
        return super().resolve_command(ctx, args)

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """Run a command; where its answer cannot be written, as to a full disk, say so in a line."""
        collect_rarely()
        try:
            return super().main(*args, **kwargs)
        except OSError as error:
            click.echo(f"{error.filename or 'the answer'}: {error.strerror}", err=True)
            sys.exit(1)


@click.group(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="nesting")
def main() -> None:
    """Plan the cutting of hand-made cards: sizes, sheets, layouts, diagrams for the trimmer."""


for command in (
    planning.plan_command,
    enough.enough_command,
    planning.check_command,
    draw.draw_command,
    cutfile.cutfile_command,
    comparing.compare_command,
    comparing.suggest_command,
    stash.stash,
    page.page_command,
    planning.schema_command,
    bench.bench_command,
):
    main.add_command(command)
