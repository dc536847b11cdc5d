"""A file to double-click that starts the page, in the way of the machine it is made on."""

import re
import shlex
import sys
from collections.abc import Sequence
from pathlib import Path

from nesting.errors import NestingError
from nesting.files import write_whole

_STEM = "My cards"


class LauncherError(NestingError, ValueError):
    """No file to double-click can be made for a folder."""


def write_launcher(folder: Path, options: Sequence[str], platform: str = sys.platform) -> Path:
    """Put a file into a folder that starts the page on it when double-clicked; where that is.

    Parameters
    ----------
    options
        Further words of the command.
    platform
        ``win32``, ``darwin``, or any other for a freedesktop entry.

    Raises
    ------
    LauncherError
        The folder or another word has characters that such a file cannot hold, or the file is there
        already and is another one.
    """
    folder = folder.absolute()
    command = (sys.executable, "-m", "nesting.cli", "page", str(folder), *options)
    for part in command:
        if not part.isprintable():
            raise LauncherError(f"{part!r}; expected a printable name")
    if platform == "win32":
        path, text = folder / f"{_STEM}.bat", batch_script(command)
    elif platform == "darwin":
        path, text = folder / f"{_STEM}.command", shell_script(command)
    else:
        path, text = folder / f"{_STEM}.desktop", desktop_entry(command)
    data = text.encode()
    if path.exists() and not _is_ours(path.read_bytes()):
        raise LauncherError(f"{path}: is there already; expected to be the first of this name")
    write_whole({path: data})
    path.chmod(0o755)
    return path


def _is_ours(data: bytes) -> bool:
    return b"nesting.cli" in data


def desktop_entry(command: Sequence[str]) -> str:
    """A freedesktop entry (Desktop Entry Specification 1.5, "The Exec key").

    Each part stands in double quotes, with a backslash before a quote, backslash, backtick and
    dollar sign; a percent sign is doubled; and, as in every string there, so is each backslash.
    """
    quoted = ('"' + re.sub(r'(["`$\\])', r"\\\1", part) + '"' for part in command)
    run = " ".join(quoted).replace("%", "%%").replace("\\", "\\\\")
    lines = (
        "[Desktop Entry]",
        "Type=Application",
        f"Name={_STEM}",
        "Comment=Plan the cutting of hand-made cards, in the browser",
        f"Exec={run}",
        "Terminal=true",
        "",
    )
    return "\n".join(lines)


def shell_script(command: Sequence[str]) -> str:
    """A script that opens in a terminal of its own (``.command``)."""
    return f"#!/bin/sh\nexec {shlex.join(command)}\n"


def batch_script(command: Sequence[str]) -> str:
    """A batch file; ``chcp 65001`` has the text after it read as UTF-8.

    A backslash at the end of a part, as of a whole drive, is doubled: alone it would take the quote with it.

    Raises
    ------
    LauncherError
        A part has a double quote, which no name has on that system.
    """
    if any('"' in part for part in command):
        raise LauncherError("a folder's name with a double quote; expected one without")
    quoted = ('"' + re.sub(r"(\\+)$", r"\1\1", part) + '"' for part in command)
    run = " ".join(quoted).replace("%", "%%")
    lines = ("@echo off", "chcp 65001 >nul", run, "if errorlevel 1 pause", "")
    return "\r\n".join(lines)
