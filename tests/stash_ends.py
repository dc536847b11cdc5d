"""Run by itself: writers of a stash that are killed, work at once, or have no room left."""

import json
import os
import random
import resource
import signal
import sys
import time
from pathlib import Path

import pytest

from nesting.papers import Paper, Sheet
from nesting.stash import Stash, StashError, StashOffcut
from nesting.stash.journal import KEYS

PAPER = Paper("plum dots", (Sheet(300, 300, 5),))


def prepared(path: Path) -> None:
    """Make a stash with one paper."""
    with Stash(path) as stash:
        if not stash.papers():
            stash.put_paper(PAPER, "a paper")


def write_on(path: Path, told: int) -> None:
    """Put three offcuts in and take one out, on and on; say each number once it is said to be in."""
    prepared(path)
    with Stash(path) as stash:
        while True:
            numbers = stash.add_offcuts(StashOffcut(0, "plum dots", 50, 70, note="x" * 500), 3)
            os.write(told, b"".join(b"+%d\n" % number for number in numbers))
            stash.take_offcuts(numbers[:1])
            os.write(told, b"-%d\n" % numbers[0])


def replayed(stash: Stash) -> dict[tuple[object, ...], object]:
    """The rows that the journal alone tells of."""
    rows: dict[tuple[object, ...], object] = {}
    for (changes,) in stash.connection.execute("SELECT changes FROM journal ORDER BY entry"):
        for table, before, after in json.loads(changes):
            some = before or after
            key = (table, *(some[column] for column in KEYS[table]))
            assert rows.get(key) == before
            rows[key] = after
    return {key: row for key, row in rows.items() if row is not None}


def stored(stash: Stash) -> dict[tuple[object, ...], object]:
    """The rows that are there."""
    return {
        (table, *(row[column] for column in keys)): dict(row)
        for table, keys in KEYS.items()
        for row in stash.connection.execute(f"SELECT * FROM {table}")  # noqa: S608 - our own names
    }


def sound(path: Path, said: str) -> None:
    """What was said to be in is in, what was said to be out is out, and all is on record."""
    with Stash(path) as stash:
        assert stash.connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        assert replayed(stash) == stored(stash)
        there = {offcut.number for offcut in stash.offcuts()}
    whole = said[: said.rfind("\n") + 1].split()
    out = {int(one[1:]) for one in whole if one[0] == "-"}
    last = {int(one[1:]) for one in whole if one[0] == "+"} - out
    assert not out & there
    # One that was being taken as the end came may be out without having been said to be.
    assert len(last - there) <= 1


def kills(folder: Path, count: int) -> None:
    """Kill a writer as often as that, on a new file and on one that grows."""
    chance = random.Random(0)
    for number in range(count):
        path = folder / ("grows" if number % 3 else f"new-{number}")
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reading)
            write_on(path, writing)
        os.close(writing)
        time.sleep(chance.uniform(0, 0.03))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        with os.fdopen(reading) as told:
            sound(path, told.read())
    with Stash(folder / "grows") as stash:
        assert stash.offcuts()


def at_once(folder: Path) -> None:
    """Several processes make one stash and each put offcuts in."""
    children = []
    for _ in range(4):
        child = os.fork()
        if child == 0:
            with Stash(folder / "one") as stash:
                stash.put_paper(PAPER, "a paper")
                for _ in range(25):
                    stash.add_offcuts(StashOffcut(0, "plum dots", 50, 70))
            os._exit(0)
        children.append(child)
    assert [os.waitpid(child, 0)[1] for child in children] == [0] * 4
    with Stash(folder / "one") as stash:
        assert len(stash.offcuts()) == 100
        assert replayed(stash) == stored(stash)


def fill(stash: Stash, said: list[int]) -> None:
    """Put offcuts in, on and on."""
    for _ in range(10_000):
        said += stash.add_offcuts(StashOffcut(0, "plum dots", 50, 70, note="x" * 3000))


def full(folder: Path) -> None:
    """No file may grow any more: what does not fit is refused, and the rest is there."""
    path = folder / "full"
    prepared(path)
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    said: list[int] = []
    with Stash(path) as stash:
        resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, resource.RLIM_INFINITY))
        with pytest.raises(StashError, match="full: "):
            fill(stash, said)
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    with Stash(path) as stash:
        assert [offcut.number for offcut in stash.offcuts()] == said
        assert said
        assert replayed(stash) == stored(stash)
        stash.add_offcuts(StashOffcut(0, "plum dots", 50, 70))


if __name__ == "__main__":
    where = Path(sys.argv[2])
    if sys.argv[1] == "kills":
        kills(where, 300)
    else:
        {"at_once": at_once, "full": full}[sys.argv[1]](where)
