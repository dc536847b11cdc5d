"""Options that several commands have."""

from pathlib import Path

import click

FORMATS = ("json", "pdf", "png", "svg")

out_option = click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to write to, made if it is not there (the file's name and -plan by default).",
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
    "--seed", type=int, default=0, show_default=True, help="Drives all chance."
)
seconds_option = click.option(
    "--seconds",
    type=click.FloatRange(min=0),
    help="End the search after this long (60 by default); the plan then depends on the machine.",
)
rounds_option = click.option(
    "--rounds",
    type=click.IntRange(min=0),
    help="End the search after so many rounds a paper; the same rounds give the same plan.",
)
prefer_option = click.option(
    "--prefer",
    type=click.Choice(["easy-cutting", "big-offcut"]),
    help="Of plans of equal cost, the easiest to cut or what is over in one piece (as in the file).",
)
workers_option = click.option(
    "--workers",
    type=click.IntRange(min=1),
    help="Processes for searches that take long; as many as there are processors by default.",
)


sheet_option = click.option("--sheet", help='For a CSV: the sheet to cut from, such as "12 x 12".')
papers_option = click.option(
    "--papers",
    type=click.Path(path_type=Path),
    help="For a CSV: a batch file whose papers and trimmer to use.",
)
unit_option = click.option(
    "--unit", type=click.Choice(["in", "mm", "cm"]), help="For a CSV with --sheet (in)."
)
