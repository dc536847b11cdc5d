"""The plans that are being cut, each with its record, in a folder beside the batch file."""

import re
from dataclasses import dataclass
from pathlib import Path

from nesting.cutting.begun import left_to_cut
from nesting.cutting.progress import progress_of
from nesting.files import plan_to_json, read_plan, read_text, write_whole
from nesting.mark import mark_of
from nesting.plan import Plan
from nesting.record import Record, entries_text, read_record

_WORDS = "done", "spoilt", "batch", "stash"
_HEAD = "# How far {plan} is cut, in the words of a record; and the digest of the batch it is for."


@dataclass(frozen=True, slots=True)
class Cutting:
    """A plan that is being cut: how far, and the digest of the batch that it is for.

    ``number`` counts the plans from 1; each goes on from the one before. ``in_stash`` has the
    numbers of the offcuts that were put into the stash; None while nothing was.
    """

    plan: Plan
    record: Record
    of: str
    number: int
    in_stash: tuple[int, ...] | None = None

    @property
    def left(self) -> Plan:
        """What of the plan is still to be cut."""
        return left_to_cut(self.plan, progress_of(self.plan, self.record))


class CuttingFolder:
    """Keeps what is cut of one batch file: whatever is ticked is on disk before it is answered."""

    def __init__(self, batch: Path) -> None:
        self.path = batch.with_name(f"{batch.stem}-cutting")
        self._read: dict[Path, tuple[int, Plan]] = {}

    def now(self) -> Cutting | None:
        """The latest plan; None where nothing is being cut."""
        every = self.all()
        return every[-1] if every else None

    def all(self) -> list[Cutting]:
        """Every plan, the first one first."""
        found: list[Cutting] = []
        while self._plan(len(found) + 1).exists():
            found.append(self._cutting(len(found) + 1))
        return found

    def begin(self, plan: Plan, of: str) -> None:
        """Begin to cut a plan, the first or one that goes on from the latest."""
        cutting = Cutting(plan, Record(), of, len(self.all()) + 1)
        self.keep(cutting)  # the record first: a plan without one would be of no batch
        write_whole({self._plan(cutting.number): plan_to_json(plan)})

    def keep(self, cutting: Cutting) -> None:
        """Keep how far a plan is cut, in place of what was kept of it so far."""
        write_whole({self._record(cutting.number): _text(cutting)})

    def go_back(self, cutting: Cutting) -> None:
        """Have a plan be as it was; those that went on from it are gone."""
        for later in range(len(self.all()), cutting.number, -1):
            self._plan(later).unlink()
            self._record(later).unlink()
        self.keep(cutting)

    def put_away(self) -> Path:
        """Give the folder a name of its own: another plan of the batch can be begun."""
        mark = mark_of(self.all()[0].plan).replace(" ", "-").lower()
        names = (f"{self.path.name}-{mark}{f'-{n}' if n > 1 else ''}" for n in range(1, 1000))
        free = next(one for name in names if not (one := self.path.with_name(name)).exists())
        return self.path.rename(free)

    def _plan(self, number: int) -> Path:
        return self.path / f"plan-{number}.json"

    def _record(self, number: int) -> Path:
        return self.path / f"record-{number}.txt"

    def _cutting(self, number: int) -> Cutting:
        path = self._plan(number)
        written = path.stat().st_mtime_ns
        if self._read.get(path, (0,))[0] != written:
            self._read[path] = written, read_plan(path)
        said = _said(read_text(self._record(number), "a record"))
        record = read_record(said["done"], said["spoilt"])
        in_stash = tuple(map(int, re.findall("[0-9]+", said["stash"]))) if said["stash"] else None
        return Cutting(self._read[path][1], record, said["batch"], number, in_stash)


def _text(cutting: Cutting) -> str:
    numbers = ", ".join(map(str, cutting.in_stash or ())) or "no offcuts"
    words = (
        entries_text(cutting.record.done),
        entries_text(cutting.record.spoilt),
        cutting.of,
        "" if cutting.in_stash is None else numbers,
    )
    lines = [f"{name}: {text}".rstrip() for name, text in zip(_WORDS, words, strict=True)]
    return "\n".join((_HEAD.format(plan=f"plan-{cutting.number}.json"), *lines, ""))


def _said(text: str) -> dict[str, str]:
    """What a record says, by its words."""
    said = dict.fromkeys(_WORDS, "")
    for line in text.splitlines():
        name, colon, words = line.partition(":")
        if colon and name in said:
            said[name] = words.strip()
    return said
