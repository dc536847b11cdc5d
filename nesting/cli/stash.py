"""``stash``: what lies in the drawer, put in, taken, counted, cut from, and undone."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nesting.cli.continuing import read_record_of
from nesting.cli.options import FileName, WholeNumber, stash_option
from nesting.cli.running import read_sound_plan, refuse, refusing
from nesting.cli.stash_lists import export, history, labels, list_
from nesting.cli.stash_values import (
    EDGES,
    STRIP,
    count_of,
    length_unit_option,
    name_of,
    note_of,
    opened_stash,
    paper_name,
    paper_options,
    paper_with,
    parsed_size,
    price_of,
    put_on_record,
    refuse_larger,
    refuse_unfit,
)

if TYPE_CHECKING:
    from nesting.units import Unit

why_option = click.option("--why", default="", help="A word for the history.")
note_option = click.option("--note", help="What to remember of the offcut.")
strip_option = click.option(
    "--strip", type=STRIP, help="The edge of the offcut along which the barcode strip is still on."
)
top_option = click.option(
    "--top",
    type=EDGES,
    help="The edge of the offcut, front up, that is the top of the print; as the paper has it unless given.",
)


@click.group()
def stash() -> None:
    """Keep on record what is at hand: papers, sheets, offcuts."""


for command in (list_, history, export, labels):
    stash.add_command(command)


@stash.command()
@click.argument("paper", type=paper_name)
@click.argument("size")
@click.option("--count", default="1", show_default=True, help="How many; plenty of whole sheets.")
@click.option("--price", help="The price of one new sheet.")
@click.option("--offcut", "is_offcut", is_flag=True, help="These are offcuts.")
@strip_option
@top_option
@note_option
@paper_options
@length_unit_option
@why_option
@stash_option
def add(
    paper: str,
    size: str,
    count: str,
    price: str | None,
    is_offcut: bool,
    strip: Any,
    top: Any,
    note: str | None,
    unit: "Unit",
    why: str,
    stash: Path | None,
    **said: Any,
) -> None:
    """Put whole sheets of a PAPER in, SIZE width x height, or offcuts.

    A new paper is put on record with its first sheets; say what its faces are like.
    """
    from nesting.stash import StashOffcut, offcuts_told

    with opened_stash(stash) as opened, opened.writing():
        many, lying = count_of(count), parsed_size(size, unit)
        if not is_offcut and (strip or top or note):
            refuse("--strip, --top and --note go with --offcut")
        is_new = put_on_record(opened, name_of(paper), said, unit, is_offcut=is_offcut)
        if is_offcut:
            if many is None or many < 1 or price is not None:
                refuse("an offcut has no price, and is counted from 1: neither fits --offcut")
            lies = top or opened.paper(paper).top
            new = StashOffcut(0, paper, *lying, strip or "none", lies, note_of(note))
            refuse_larger(opened.paper(paper), new)
            put_in = offcuts_told(opened.add_offcuts(new, many, why))
        else:
            opened.add_sheets(paper, lying, many, price_of(price), why)
            put_in = f"{count} of {size}"
        refuse_unfit(opened, paper, unit)
    click.echo(f"Put in: {paper}{', a new paper' if is_new else ''}, {put_in}.")


@stash.command()
@click.argument("paper", required=False, type=paper_name)
@click.argument("size", required=False)
@click.option(
    "--count", type=WholeNumber(least=1), default=1, show_default=True, help="How many sheets."
)
@click.option(
    "--offcut",
    "numbers",
    type=WholeNumber(least=1),
    multiple=True,
    help="Its number; may be given again.",
)
@click.option("--all", "everything", is_flag=True, help="The paper is no longer kept.")
@length_unit_option
@why_option
@stash_option
def take(
    paper: str | None,
    size: str | None,
    count: int,
    numbers: tuple[int, ...],
    everything: bool,
    unit: "Unit",
    why: str,
    stash: Path | None,
) -> None:
    """Take whole sheets of a PAPER out, or offcuts by number."""
    from nesting.stash import offcuts_told

    with opened_stash(stash) as opened:
        if numbers and paper is None:
            opened.take_offcuts(tuple(dict.fromkeys(numbers)), why)
            click.echo(f"Taken: {offcuts_told(numbers)}.")
        elif paper is not None and size is not None and not numbers and not everything:
            opened.take_sheets(paper, parsed_size(size, unit), count, why)
            click.echo(f"Taken: {paper}, {count} of {size}.")
        elif paper is not None and size is None and everything:
            opened.forget_paper(paper, why)
            click.echo(f"{paper} is no longer kept.")
        else:
            raise click.UsageError("Give PAPER and SIZE, PAPER and --all, or --offcut NUMBER.")


@stash.command()
@click.argument("paper", required=False, type=paper_name)
@click.argument("size", required=False)
@click.option(
    "--offcut", "number", type=WholeNumber(least=1), help="The number of the offcut to change."
)
@click.option("--name", "new_name", type=paper_name, help="Another name for the paper.")
@click.option("--count", help="How many whole sheets there are.")
@click.option("--price", help="The price of one new sheet.")
@strip_option
@top_option
@note_option
@paper_options
@length_unit_option
@why_option
@stash_option
def change(
    paper: str | None,
    size: str | None,
    number: int | None,
    new_name: str | None,
    count: str | None,
    price: str | None,
    strip: Any,
    top: Any,
    note: str | None,
    unit: "Unit",
    why: str,
    stash: Path | None,
    **said: Any,
) -> None:
    """Change what is on record of a PAPER, a SIZE or an offcut.

    What a PAPER is like or called, how many whole sheets of a SIZE there are, or what an offcut is:
    with --offcut, what is given in place of PAPER is its size.
    """
    from nesting.papers import Sheet
    from nesting.stash import StashOffcut

    of_paper = any(value is not None for value in said.values())
    of_sheet, of_offcut = count or price, strip or top or note is not None
    with opened_stash(stash) as opened, opened.writing():
        if new_name is not None:
            if not paper or size or of_paper or of_sheet or of_offcut or number is not None:
                raise click.UsageError("--name goes with PAPER and nothing else.")
            opened.rename_paper(paper, name_of(new_name), why)
            click.echo(f"{paper} is now called {new_name}.")
            return
        if number is not None and not (size or of_paper or of_sheet):
            old = opened.offcut(number)
            width, height = parsed_size(paper, unit) if paper else (old.width, old.height)
            noted = old.note if note is None else note_of(note)
            edges = (strip or old.strip, top or old.top)
            new = StashOffcut(number, old.paper, width, height, *edges, noted)
            refuse_larger(opened.paper(old.paper), new)
            opened.change_offcut(new, why)
        elif number is None and paper and size and of_sheet and not (of_paper or of_offcut):
            sizes = {(one.width, one.height): one for one in opened.paper(paper).sheets}
            lying = parsed_size(size, unit)
            now = sizes.get(lying) or Sheet(*lying)
            have = count_of(count) if count else now.have
            cost = price_of(price) if price else now.price
            opened.change_sheets(paper, lying, have, cost, why)
        elif number is None and paper and not size and of_paper and not (of_sheet or of_offcut):
            new_paper = paper_with(opened.paper(paper), said, unit)
            opened.put_paper(new_paper, f"{paper} described anew", why)
            refuse_unfit(opened, paper, unit)
        else:
            raise click.UsageError(
                "Give PAPER and what it is like, PAPER, SIZE and --count or --price, or --offcut NUMBER."
            )
    click.echo("Changed.")


@stash.command()
@click.argument("entry", type=WholeNumber(least=1), required=False)
@why_option
@stash_option
def undo(entry: int | None, why: str, stash: Path | None) -> None:
    """Take a change back.

    The latest, or the one with the number that history gives.
    """
    with opened_stash(stash) as opened:
        click.echo(f"{opened.undo(entry, why).what}.")


@stash.command(name="import")
@click.argument("table", type=FileName())
@length_unit_option
@why_option
@stash_option
def import_(table: Path, unit: "Unit", why: str, stash: Path | None) -> None:
    """Put in everything that a table (CSV) lists, as export writes it."""
    from nesting.files import read_text
    from nesting.stash import read_table

    with refusing():
        text = read_text(table, "a table (CSV)")
    with opened_stash(stash) as opened:
        new = read_table(opened, text, unit, str(table), why)
    click.echo(f"{new} rows put in.")


@stash.command()
@click.argument("plan", type=FileName())
@click.option(
    "--done", help='What is cut, such as "1-3, 4: 1 sheet, 5: step 4"; all of it unless given.'
)
@click.option("--spoilt", help='What went wrong, such as "6: step 3 of 1 sheet" or "6: stroke 7".')
@why_option
@stash_option
def use(plan: Path, done: str | None, spoilt: str | None, why: str, stash: Path | None) -> None:
    """Take out what was cut from a PLAN, and put its offcuts in.

    PLAN is a plan.json, and offcuts are put in that are worth keeping. A part in hand goes in as an
    offcut until it is cut further. A record goes on from earlier ones of the same plan: say all that
    is cut so far. What is on record already is not taken again.
    """
    from nesting.stash import offcuts_told, use_plan
    from nesting.typed_lengths import exact_size

    answer = read_sound_plan(plan, "The plan has faults; the stash is as it was.")
    whole = done is None and spoilt is None
    record = None if whole else read_record_of(plan, answer, done or "", spoilt or "")
    with opened_stash(stash) as opened:
        taken = use_plan(opened, answer, record, why)
    for paper, size, count in taken.sheets:
        click.echo(f"Taken: {paper}, {count} of {exact_size(*size)}.")
    if taken.offcuts:
        click.echo(f"Taken: {offcuts_told(taken.offcuts)}.")
    for one in taken.kept:
        size_said = exact_size(one.width, one.height)
        click.echo(f"Put in: offcut {one.number}, {one.paper}, {size_said}, {one.note}.")
    for paper in taken.unknown:
        click.echo(f"{paper} is not in the stash: nothing of it was taken or put in.")
