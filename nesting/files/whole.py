"""Files written whole or not at all."""

import os
import secrets
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path


def write_whole(files: Mapping[Path, bytes | str]) -> None:
    """Write files so that nobody ever sees half of one; text becomes UTF-8.

    Folders are made where they are missing. All files are first written beside their places,
    and then put there one by one: where writing fails, nothing that was there has changed.

    Raises
    ------
    OSError
        A folder cannot be written to.
    """
    with ExitStack() as clean_up:
        ready: list[tuple[Path, Path]] = []
        for path, data in files.items():
            target = Path(os.path.realpath(path))  # a link stays a link
            target.parent.mkdir(parents=True, exist_ok=True)
            part = target.with_name(f".{secrets.token_hex(8)}.part")
            clean_up.callback(part.unlink, missing_ok=True)
            with part.open("xb") as file:
                file.write(data.encode() if isinstance(data, str) else data)
                file.flush()
                os.fsync(file.fileno())
            ready.append((part, target))
        for part, target in ready:
            part.replace(target)
