"""``plan --after``: the plan to go on from, its record as it was read, and where to write the next."""

from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Self

import click
from click.core import ParameterSource

from nesting.cli.options import FileName
from nesting.cli.running import LISTS, read_sound_plan, refuse, refusing

if TYPE_CHECKING:
    from nesting.batch import Batch, Moved
    from nesting.papers import Sheet
    from nesting.plan import Plan
    from nesting.record import Record


class Continued(NamedTuple):
    """A plan that is cut in part, its file, the record of it, and what the stash knows of that already."""

    path: Path
    plan: "Plan"
    record: "Record"
    on_record: "Moved"

    def folder(self, batch: Path) -> Path:
        """Where the next plan is written unless said: in a folder of its own, by its number."""
        return Path(f"{batch.stem}-plan-{len(self.plan.after) + 2}")

    def with_stash(self, path: Path | None, batch: "Batch", papers: set[str]) -> Self:
        """With what is on record in the stash, where the batch takes papers from there.

        Not for a size of sheets whose number stands in the batch itself.
        """
        if not papers:
            return self
        from nesting.stash import Stash, moved_on_record, recorded, taken_together, usual_place

        with refusing(), Stash(path or usual_place()) as stash:
            record = taken_together(self.plan, recorded(stash, self.plan), self.record)
            moved = moved_on_record(stash, self.plan, papers)
            there = {_size_of(name, s) for name in papers for s in stash.paper(name).sheets}
            asked = {_size_of(p.name, s) for p in batch.papers for s in p.sheets if not s.offcut}
            known = {one[:3] for one in there & asked}
            gone = tuple(one for one in moved.gone if _size_of(one.paper, one.sheet)[:3] in known)
        return self._replace(record=record, on_record=replace(moved, gone=gone))

    def runner(self, batch: "Batch") -> "Callable[..., Plan]":
        """What plans the rest of a batch, given a limit, a seed and the like."""
        from nesting.going_on import go_on

        return partial(go_on, batch, self.plan, self.record, on_record=self.on_record)

    def say_back(self) -> None:
        """Say on standard error what the record was read as."""
        from nesting.draw.sheet.begun_words import record_lines

        for line in list(record_lines(self.plan, self.record)) or ["nothing is cut yet"]:
            click.echo(line, err=True)

    def seed_or(self, seed: int) -> int:
        """The seed of the plan so far, unless one was given."""
        source = click.get_current_context().get_parameter_source("seed")
        return self.plan.seed if source is ParameterSource.DEFAULT else seed


def _size_of(paper: str, sheet: "Sheet") -> tuple[str, int, int, int | None]:
    """A size of whole sheets, and how many there are of it."""
    return paper, sheet.width, sheet.height, sheet.have


def after_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options of a command that can go on from a plan."""
    for option in (
        click.option(
            "--spoilt",
            default="",
            help='With --after: what was spoilt, such as "6: step 3 of 1 sheet", or "6: stroke 7" where one '
            "part is lost; name a spoilt sheet here alone, not under --done.",
        ),
        click.option(
            "--done",
            default="",
            help='With --after: what is cut, such as "1-3, 4: 1 sheet, 5: step 4".',
        ),
        click.option(
            "--after",
            type=FileName(),
            help="Go on from this plan.json: what is in the bags counts, the rest is planned anew.",
        ),
    ):
        command = option(command)
    return command


def read_begun(after: Path | None, done: str, spoilt: str) -> Continued | None:
    """The plan to go on from, free of faults, and the record of it."""
    if after is None:
        if done or spoilt:
            raise click.UsageError("--done and --spoilt go with --after PLAN, which they tell of.")
        return None
    from nesting.batch import Moved

    plan = read_sound_plan(after, f"{after} has faults; nothing was planned after it.")
    record = read_record_of(after, plan, done, spoilt)
    return Continued(after, plan, record, Moved())


def read_record_of(file: Path, plan: "Plan", done: str, spoilt: str) -> "Record":
    """Read the record of the plan in a file, or refuse what is none of it."""
    from nesting.cutting.progress import progress_of
    from nesting.record import Record, RecordError, read_entries

    entries, faults = [], list[str]()
    for option, text in (("--done", done), ("--spoilt", spoilt)):
        try:
            entries.append(read_entries(text))
        except RecordError as error:
            faults += (f"{option}: {line}" for line in str(error).splitlines())
    if faults:
        refuse(*faults)
    record = Record(*entries)
    try:
        progress_of(plan, record)
    except RecordError as error:
        refuse(*(f"{file}: {line}" for line in str(error).splitlines()))
    return record


@contextmanager
def refusing_batch(file: Path) -> Iterator[None]:
    """Turn what a batch cannot be after what is cut into messages, placed in the file of its papers."""
    from nesting.batch import BatchError
    from nesting.files import read_text
    from nesting.files.yaml_source import FileText, parse_yaml

    try:
        yield
    except BatchError as error:
        with refusing():
            name = str(file)
            is_list = file.suffix.lower() in LISTS
            source = FileText(name) if is_list else parse_yaml(read_text(file, "batch file"), name)
            raise source.error(list(error.faults)) from error


def misfit_lines(plan: "Plan") -> Iterator[str]:
    """Say where the batch does not fit what was cut: it has fewer such sheets, or no such size or paper."""
    from nesting.sources import key_of_sheet
    from nesting.units import size_words

    begun = plan.asked.begun
    if begun is None:
        return
    papers = {paper.name: paper for paper in begun.papers}
    cut: Counter[tuple[str, Sheet]] = Counter()
    for one in begun.moved.gone:
        if not one.sheet.offcut:
            cut[one.paper, one.sheet] += one.count
    for one in begun.on_record.gone:
        cut[one.paper, one.sheet] -= one.count
    for (name, sheet), count in cut.items():
        paper, unit = papers.get(name), plan.asked.unit
        size = size_words(sheet.width, sheet.height, unit)
        cut_words = f"{name}: {count} of {size} {'is' if count == 1 else 'are'} cut"
        if paper is None:
            yield (
                f"{cut_words}; the batch has no paper of this name, and no other has fewer sheets for it"
            )
            continue
        key = key_of_sheet(paper, sheet)
        have = [one.have for one in paper.sheets if key_of_sheet(paper, one) == key]
        known = [number for number in have if number is not None]
        if not have and count > 0:
            yield f"{cut_words}; the batch has no sheets of this size"
        elif len(known) == len(have) and sum(known) < count:
            yield (
                f"{name}: the batch has {sum(known)} of {size}, and more are cut: {count}; add what "
                "was bought to its have, so that what is left of it is planned with"
            )
