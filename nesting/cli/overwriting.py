"""What a command may write over: with ``--force`` what is there, but never what it reads."""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

import click

from nesting.cli.options import FileName, WrittenName
from nesting.cli.running import refuse, refusing


def refuse_overwriting(
    paths: Iterable[Path], *, force: bool | None, read: Iterable[Path] = ()
) -> None:
    """Exit 2 where a file to be written is one that the command reads, or is there without ``force``.

    Parameters
    ----------
    paths
        What is to be written.
    force
        Whether ``--force`` was said; None where the command has no such option.
    read
        What the command reads besides the files that it was called with.
    """
    named: set[Path] = set()
    there: list[Path] = []
    for path in paths:
        above = next(folder for folder in path.parents if folder.exists())
        if not above.is_dir():
            refuse(f"{above}: a file; expected a folder to write to")
        if path.resolve() in named:
            refuse(f"{path}: named twice; expected a name for each file")
        named.add(path.resolve())
        there += [path] if path.exists() else []
    if not there:
        return
    kept = [path for path in (*_called_with(click.get_current_context()), *read) if path.exists()]
    for path in there:
        if any(path.samefile(one) for one in kept):
            refuse(f"{path}: this command reads it; expected another place to write to")
    if not force:
        hint = "" if force is None else ", or --force to overwrite what an earlier run wrote"
        refuse(f"{there[0]}: is there already; expected another place{hint}")


def write_where_free(
    files: Mapping[Path, bytes | str], *, force: bool | None, read: Iterable[Path] = ()
) -> None:
    """Write files, every one whole, unless ``refuse_overwriting`` has by now something against it."""
    from nesting.files import write_whole

    refuse_overwriting(files, force=force, read=read)
    with refusing():
        write_whole(files)


def _called_with(context: click.Context) -> Iterator[Path]:
    """The files that a command was told to read; the stash with what SQLite keeps beside it."""
    from nesting.stash import usual_place

    for parameter in context.command.params:
        path = context.params.get(parameter.name or "")
        is_read = isinstance(parameter.type, FileName) and not isinstance(
            parameter.type, WrittenName
        )
        if parameter.name == "stash":
            yield from (Path(f"{path or usual_place()}{end}") for end in ("", "-wal", "-shm"))
        elif path is not None and is_read:
            yield path
