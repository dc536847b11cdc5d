"""The command that opens the page: the whole job in a browser."""

import shlex
from pathlib import Path

import click

from nesting.cli.options import FileName, stash_option


@click.command("page")
@click.argument("folder", type=FileName(exists=True), default=".")
@click.option("--address", default="127.0.0.1", show_default=True, help="Where to serve the page.")
@click.option("--browser/--no-browser", default=True, help="Whether to open the page at once.")
@click.option(
    "--launcher",
    is_flag=True,
    help="Write a file into FOLDER that opens the page when double-clicked.",
)
@stash_option
def page_command(
    folder: Path, address: str, browser: bool, launcher: bool, stash: Path | None
) -> None:
    """Do the whole job in a browser, with the batch files of FOLDER."""
    from nesting.cli.running import refuse, refusing
    from nesting.errors import NestingError
    from nesting.page.guard import address_warning
    from nesting.page.launcher import write_launcher
    from nesting.page.serving import serve
    from nesting.stash import usual_place

    if not folder.is_dir():
        refuse(
            f"{folder}: a file; expected its folder: nesting page {shlex.quote(str(folder.parent))}"
        )
    try:
        with refusing():
            warning = address_warning(address)
            if warning is not None:
                click.echo(warning, err=True)
            if launcher:
                options = ["--address", address]
                options += ["--stash", str(stash.absolute())] if stash else []
                options += [] if browser else ["--no-browser"]
                click.echo(f"Written to {write_launcher(folder, options)}.")
                return
            serve(folder, stash or usual_place(), say=click.echo, address=address, browser=browser)
    except NestingError as error:
        refuse(str(error))
