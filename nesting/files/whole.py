"""Files written whole or not at all."""

import errno
import os
import platform
import re
import secrets
import sys
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from hashlib import sha256
from pathlib import Path

#: The machine, as far as a name tells it: another one's processes have the same numbers.
_MACHINE = sha256(platform.node().encode()).hexdigest()[:8]
#: About as many bytes as a plan takes with all its pages.
_A_PLAN = 1_000_000
#: A file that is not in its place yet, by the machine and process that write it.
_PART = re.compile(r"\.nesting-([0-9a-f]{8})-(\d+)-[0-9a-f]{16}\.part")


def write_whole(files: Mapping[Path, bytes | str]) -> None:
    """Write files so that nobody ever sees half of one; text becomes UTF-8.

    Folders are made where they are missing. All files are first written beside their places,
    and then put there one by one: where writing fails, nothing that was there has changed.
    What a killed run has left beside the places is removed.

    Raises
    ------
    OSError
        A file cannot be written; it is the error's ``filename``.
    """
    with ExitStack() as clean_up:
        ready: list[tuple[Path, Path]] = []
        for path, data in files.items():
            target = Path(os.path.realpath(path))  # a link stays a link
            _make_folder(target.parent, clean_up)
            with _naming(path):
                if target.is_dir():
                    raise OSError(errno.EISDIR, os.strerror(errno.EISDIR))
                part = _part_beside(target)
                clean_up.callback(_remove_if_there, part)
                _write_through(part, data)
            ready.append((part, target))
        for folder in {target.parent for _, target in ready}:
            for left in filter(_is_left_over, folder.iterdir()):
                left.unlink(missing_ok=True)
        for part, target in ready:
            part.replace(target)


def try_folder(folder: Path) -> None:
    """Write as much into a folder as a plan takes, and take it away again.

    Raises
    ------
    OSError
        It cannot be written to, or has no room: better said before a long search than after it.
    """
    with ExitStack() as clean_up:
        _make_folder(folder, clean_up)
        with _naming(folder):
            part = _part_beside(folder / "plan.json")
            clean_up.callback(_remove_if_there, part)
            _write_through(part, bytes(_A_PLAN))


@contextmanager
def folder_to_oneself(folder: Path) -> Iterator[None]:
    """Write to a folder while no other run does: it waits, or this one does. Made where it is missing.

    Where the system has no such lock, nobody waits.
    """
    with ExitStack() as clean_up:
        _make_folder(folder, clean_up)
        if sys.platform != "win32":
            from fcntl import LOCK_EX, flock

            with suppress(OSError):
                opened = os.open(folder, os.O_RDONLY)
                clean_up.callback(os.close, opened)
                flock(opened, LOCK_EX)
        yield


def is_empty_folder(path: Path) -> bool:
    """Whether a path is a folder with nothing in it but what a killed run has left."""
    return path.is_dir() and all(map(_is_left_over, path.iterdir()))


def _make_folder(folder: Path, clean_up: ExitStack) -> None:
    """Make a folder and those above it; those that are still empty in the end go again."""
    missing = [one for one in (folder, *folder.parents) if not one.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    for one in reversed(missing):
        clean_up.callback(_remove_if_empty, one)


def _remove_if_empty(folder: Path) -> None:
    with suppress(OSError):
        folder.rmdir()


def _remove_if_there(part: Path) -> None:
    """Remove a file; that it cannot be removed from where none can be written is no news."""
    with suppress(OSError):
        part.unlink()


def _part_beside(target: Path) -> Path:
    return target.with_name(f".nesting-{_MACHINE}-{os.getpid()}-{secrets.token_hex(8)}.part")


def _write_through(part: Path, data: bytes | str) -> None:
    """Write a new file down to the disk."""
    with part.open("xb") as file:
        file.write(data.encode() if isinstance(data, str) else data)
        file.flush()
        os.fsync(file.fileno())


@contextmanager
def _naming(path: Path) -> Iterator[None]:
    """Have errors name the file that was asked for: a full disk's name none."""
    try:
        yield
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from error


def _is_left_over(path: Path) -> bool:
    """Whether a file was being written by a run on this machine that is no more."""
    part = _PART.fullmatch(path.name)
    return part is not None and part[1] == _MACHINE and not _is_running(int(part[2]))


def _is_running(process: int) -> bool:
    """Whether there is a process of a number; taken to be so where that cannot be asked harmlessly."""
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:  # somebody else's
        return True
    return True
