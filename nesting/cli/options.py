"""Options that several commands have."""

from pathlib import Path

import click

FORMATS = ("json", "pdf", "png", "svg")

out_option = click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to write to, made if it is not there. By default the file's name with -plan.",
)
force_option = click.option("--force", is_flag=True, help="Overwrite what an earlier run wrote.")
page_option = click.option(
    "--page",
    type=click.Choice(["letter", "A4"], case_sensitive=False),
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
    type=click.FloatRange(min=0),
    help="End the search after so many seconds (60 by default); the plan then depends on the machine's "
    "speed.",
)
rounds_option = click.option(
    "--rounds",
    type=click.IntRange(min=0),
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
    type=click.IntRange(min=1),
    help="How many processes share long searches; by default as many as there are processors.",
)


sheet_option = click.option("--sheet", help='For a CSV: the sheet to cut from, such as "12 x 12".')
papers_option = click.option(
    "--papers",
    type=click.Path(path_type=Path),
    help="For a CSV: a batch file whose papers and trimmer to use.",
)
unit_option = click.option(
    "--unit",
    type=click.Choice(["in", "mm", "cm"]),
    help="For a CSV with --sheet: the unit of its lengths (in by default).",
)
