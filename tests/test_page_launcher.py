"""Files to double-click: what they run, whatever the folder is called."""

import configparser
import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from nesting.cli import main
from nesting.page.launcher import (
    LauncherError,
    batch_script,
    desktop_entry,
    shell_script,
    write_launcher,
)

ODD = (
    "/a b/python",
    "-m",
    "it's",
    'a "b" c',
    "50% off",
    "$HOME `id` \\n \\\\",
    "; ls & é梨",
    "~",
    "",
)


def arguments(script: str) -> tuple[str, ...]:
    """The words that a POSIX shell takes a command line apart into."""
    code = "import sys; sys.stdout.write('\\0'.join(sys.argv[1:]))"
    command = f"{shlex.quote(sys.executable)} -c {shlex.quote(code)} {script}"
    run = subprocess.run(["sh", "-c", command], capture_output=True, text=True, check=True)
    return tuple(run.stdout.split("\0"))


def test_the_freedesktop_entry_runs_the_command() -> None:
    """Read by the rules of the specification: string, then field codes, then quotes as in a shell."""
    reader = configparser.ConfigParser(interpolation=None, delimiters=("=",))
    reader.optionxform = str  # type: ignore[assignment, method-assign]
    reader.read_string(desktop_entry(ODD))
    entry = reader["Desktop Entry"]
    assert (entry["Type"], entry["Terminal"]) == ("Application", "true")
    text = entry["Exec"].replace("\\\\", "\\")
    assert "%" not in text.replace("%%", "")
    assert arguments(text.replace("%%", "%")) == ODD


def test_the_shell_script_runs_the_command() -> None:
    """The script replaces itself by the command, so that closing its window ends that."""
    first, run, last = shell_script(ODD).split("\n")
    assert (first, last) == ("#!/bin/sh", "")
    assert arguments(run.removeprefix("exec ")) == ODD


def test_the_batch_script_runs_the_command() -> None:
    """Every part in quotes, percent signs doubled; a quote, which no name has there, is refused.

    A backslash before a quote takes it with it: that of a whole drive is doubled.
    """
    assert '\r\n"a" "E:\\\\" "b"\r\n' in batch_script(("a", "E:\\", "b"))
    script = batch_script(("C:\\a b\\python.exe", "-m", "50% & off", "ä"))
    assert '\r\n"C:\\a b\\python.exe" "-m" "50%% & off" "ä"\r\n' in script
    assert script.startswith("@echo off\r\nchcp 65001 >nul\r\n")
    with pytest.raises(LauncherError, match="double quote"):
        batch_script(ODD)


@pytest.mark.parametrize(
    ("platform", "ending"), [("linux", "desktop"), ("darwin", "command"), ("win32", "bat")]
)
def test_it_lies_in_the_folder_and_names_it(tmp_path: Path, platform: str, ending: str) -> None:
    """Made a second time it is the same file; it may be run, and starts this very Python."""
    folder = tmp_path / "my cards"
    folder.mkdir()
    path = write_launcher(folder, [], platform)
    assert path == folder / f"My cards.{ending}"
    assert write_launcher(folder, [], platform) == path
    assert os.access(path, os.X_OK)
    text = path.read_text("utf-8")
    assert sys.executable in text
    assert str(folder) in text
    assert [one.name for one in folder.iterdir()] == [path.name]


def test_a_file_of_hers_is_not_replaced(tmp_path: Path) -> None:
    """Another file of that name stays as it is, and is named."""
    hers = tmp_path / "My cards.desktop"
    hers.write_text("hers")
    with pytest.raises(LauncherError, match="is there already"):
        write_launcher(tmp_path, [], "linux")
    assert hers.read_text() == "hers"


def test_a_name_with_a_line_break_is_refused(tmp_path: Path) -> None:
    """It would end the command in the middle."""
    folder = tmp_path / "my\ncards"
    folder.mkdir()
    with pytest.raises(LauncherError, match="printable"):
        write_launcher(folder, [])
    assert not list(folder.iterdir())


def test_it_opens_the_page_as_the_command_would(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the command was told besides, the file says, too; an address that is none is refused."""
    monkeypatch.chdir(tmp_path)
    words = ["page", ".", "--launcher", "--stash", "drawer", "--no-browser", "--address"]
    refused = CliRunner().invoke(main, [*words, "here"])
    assert refused.exit_code == 2
    assert not list(tmp_path.iterdir())
    assert CliRunner().invoke(main, [*words, "192.168.1.4"]).exit_code == 0
    (path,) = tmp_path.iterdir()
    for said in ("--no-browser", "--stash", str(tmp_path / "drawer"), "--address", "192.168.1.4"):
        assert f'"{said}"' in path.read_text("utf-8")
