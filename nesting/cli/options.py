"""Options that several commands have."""

import errno
import os
import re
from math import nan
from pathlib import Path
from typing import Any

import click


class FileName(click.Path):
    """A file or folder by a name that there can be."""

    def __init__(self, *, exists: bool = False) -> None:
        super().__init__(exists=exists, path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Refuse what the system would fail at, or take for the folder where we are."""
        name = os.fsdecode(value)
        if not name.strip() or "\0" in name:
            self.fail(f"{name!r} is no name of a file or folder.", param, ctx)
        try:
            Path(name).stat()
        except OSError as error:
            if error.errno in (errno.ELOOP, errno.ENAMETOOLONG):
                self.fail(f"{name}: {error.strerror}.", param, ctx)
        return super().convert(value, param, ctx)


class WrittenName(FileName):
    """A file or folder that the command writes."""


class WholeNumber(click.ParamType):  # type: ignore[type-arg] # early releases of click have no argument
    """A whole number within limits, in plain words."""

    name = "whole number"

    def __init__(self, *, least: int, most: int | None = None) -> None:
        self.least, self.most = least, most

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """Read its digits."""
        text = str(value).strip()
        number = int(text) if re.fullmatch("[0-9]{1,12}", text) else -1
        if number < self.least or (self.most is not None and number > self.most):
            limits = (
                f"{self.least} or more" if self.most is None else f"{self.least} to {self.most}"
            )
            self.fail(f"{value!r}; expected a whole number, {limits}.", param, ctx)
        return number


class Amount(click.ParamType):  # type: ignore[type-arg] # as above
    """A number that is not negative; ``nan`` is none, as no time reaches it."""

    name = "number"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Read it."""
        try:
            number = float(value)
        except ValueError:
            number = nan
        if not number >= 0:
            self.fail(f"{value!r}; expected a number, 0 or more.", param, ctx)
        return number


FORMATS = ("json", "pdf", "png", "svg")
#: More processes than a machine has room for are a slip.
WORKERS = WholeNumber(least=1, most=256)

out_option = click.option(
    "--out",
    type=WrittenName(),
    help="Folder to write to, made if it is not there. By default the file's name with -plan, where "
    "you are.",
)
force_option = click.option("--force", is_flag=True, help="Overwrite what an earlier run wrote.")
page_option = click.option(
    "--page",
    type=click.Choice(["letter", "A4"], case_sensitive=False),
    metavar="[letter|A4]",
    default="letter",
    show_default=True,
    help="Paper size of the printed pages.",
)
seed_option = click.option(
    "--seed",
    type=int,
    default=0,
    show_default=True,
    help="Any whole number: the same one gives the same plan, another may find another plan.",
)
seconds_option = click.option(
    "--seconds",
    type=Amount(),
    help="End the search after so many seconds (60 by default); the plan then depends on the machine's "
    "speed.",
)
rounds_option = click.option(
    "--rounds",
    type=WholeNumber(least=0),
    help="End the search for each paper after so many rounds; the same number gives the same plan.",
)
prefer_option = click.option(
    "--prefer",
    type=click.Choice(["easy-cutting", "big-offcut"]),
    help="Of plans that cost the same, take the one that is easiest to cut, or the one that leaves the "
    "largest offcut. By default what the batch file says.",
)
workers_option = click.option(
    "--workers",
    type=WORKERS,
    help="How many processes share long searches; by default as many as there are processors.",
)


stash_option = click.option(
    "--stash",
    type=FileName(),
    help="The file of the stash; the usual one unless given.",
)
sheet_option = click.option("--sheet", help='For a CSV: the sheet to cut from, such as "12 x 12".')
papers_option = click.option(
    "--papers",
    type=FileName(),
    help="For a CSV: a batch file whose papers and trimmer to use.",
)
unit_option = click.option(
    "--unit",
    type=click.Choice(["in", "mm", "cm"]),
    help="For a CSV with --sheet: the unit of its lengths (in by default).",
)
