"""The folder that the page is opened on: its batch files, each with its draft and its versions."""

import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from nesting.files import InputError, encoded_like, read_draft, read_text, write_whole
from nesting.page.folder.draft import Draft, new_batch
from nesting.page.folder.versions import Journal, Version
from nesting.papers import Paper
from nesting.stash import Stash, StashError

if TYPE_CHECKING:
    from nesting.units import Unit

_WHAT = "a batch file"
_ENDINGS = (".yaml", ".yml")


@dataclass(frozen=True, slots=True)
class Opened:
    """A batch file as it is now: its draft, and what can be undone and redone, in words."""

    path: Path
    draft: Draft
    version: int
    undo: str | None
    redo: str | None

    @property
    def name(self) -> str:
        """The file's name in the folder."""
        return self.path.name


class BatchFolder:
    """Opens, changes and writes the batch files of one folder."""

    def __init__(self, folder: Path, stash: Path | None = None) -> None:
        self.path = folder
        self.stash = stash
        self.journal = Journal(folder)
        self._drafts: dict[str, tuple[Draft, object]] = {}  # with when the stash was changed

    def names(self) -> list[str]:
        """The names of the files that may hold a batch."""
        files = (entry for entry in os.scandir(self.path) if entry.is_file())
        return sorted(
            entry.name for entry in files
            if entry.name.endswith(_ENDINGS) and not entry.name.startswith(".")
        )  # fmt: skip

    def title(self, file: str) -> str:
        """What a file's batch is called; the file's own name where it does not say."""
        try:
            found = re.search(
                r"^batch:\s*(.*?)\s*(?:\s#.*)?$", read_text(self.path / file, _WHAT), re.MULTILINE
            )
        except InputError:
            return file
        return found[1].strip("'\"") if found else file

    def begin(self, name: str, unit: "Unit") -> str:
        """Make the file of a new batch; its name.

        Raises
        ------
        InputError
            The batch has no name, or one that cannot stand in a file.
        """
        text = new_batch(name, unit)
        stem = re.sub(r"[^\w]+", "-", name.lower()).strip("-") or "batch"
        taken = {other.lower() for other in self.names()}
        numbers = (f"{stem[:60]}{f'-{n}' if n > 1 else ''}.yaml" for n in range(1, len(taken) + 2))
        file = next(one for one in numbers if one not in taken)
        self._write(file, "begun", text)
        return file

    def open(self, file: str) -> Opened:
        """A file as it is now; what another program has changed becomes a version.

        Raises
        ------
        KeyError
            There is no such file in the folder.
        InputError
            It is no YAML.
        """
        return self._opened(file, self._now(file))

    def _now(self, file: str) -> Version:
        """The version that a file is at, whether its text can be read as a batch or not."""
        if file not in self.names():
            raise KeyError(file)
        text = read_text(self.path / file, _WHAT)
        now = self.journal.now(file)
        if now is not None and not now.written:
            self._put(file, now.text)
        elif now is None or now.text != text:
            what = "opened" if now is None else "changed by another program"
            now = self.journal.add(file, what, text, written=True)
        return now

    def change(self, file: str, what: str, draft: Draft) -> Opened:
        """Have a file be what a draft says."""
        self._drafts[file] = draft, self._stash_changed()
        return self._opened(file, self._write(file, what, draft.text))

    def undo(self, file: str, shown: str | None = None) -> Opened:
        """Take back the last change.

        Raises
        ------
        InputError
            The file is at another version than the one that is shown.
        """
        return self._go(file, shown, self.journal.before)

    def redo(self, file: str, shown: str | None = None) -> Opened:
        """Make the change again that was taken back; raises what ``undo`` does."""
        return self._go(file, shown, self.journal.after)

    def before(self, opened: Opened) -> Draft | None:
        """What a file said before its last change; None where nothing is on record."""
        found = self.journal.before(opened.name, opened.version)
        return self._draft(opened.name, found.text) if found is not None else None

    def draft_of(self, file: str, version: int) -> Draft | None:
        """What a file said in one of its versions; None where that is not on record."""
        found = self.journal.version(file, version)
        return self._draft(file, found.text) if found is not None else None

    def stash_papers(self) -> tuple[str, ...]:
        """The names of the papers in the stash, where there is one that can be read."""
        if self.stash is None or not self.stash.exists():
            return ()
        try:
            with Stash(self.stash) as opened:
                return tuple(paper.name for paper in opened.papers())
        except StashError:  # said where a batch asks for it
            return ()

    def at_hand(self, paper: str) -> Paper | None:
        """What the stash has of a paper; it is never made here.

        Raises
        ------
        InputError
            The stash cannot be read.
        """
        if self.stash is None or not self.stash.exists():
            return None
        try:
            with Stash(self.stash) as opened:
                return opened.at_hand(paper)
        except StashError as error:
            raise InputError(*error.messages) from None

    def can_undo(self, file: str) -> bool:
        """Whether a file had another version before, also where it is no batch now."""
        try:
            now = self._now(file)
        except InputError:  # no text at all
            return False
        return self.journal.before(file, now.number) is not None

    def _go(
        self, file: str, shown: str | None, find: Callable[[str, int], Version | None]
    ) -> Opened:
        now = self._now(file)
        if shown not in (None, str(now.number)):
            raise InputError(f"version {shown}; expected {now.number}: changed elsewhere meanwhile")
        there = find(file, now.number)
        if there is not None:
            self.journal.go(file, there.number)
            self._put(file, there.text)
        return self.open(file)

    def _opened(self, file: str, now: Version) -> Opened:
        before = self.journal.before(file, now.number)
        after = self.journal.after(file, now.number)
        draft = self._draft(file, now.text)
        self._drafts[file] = draft, self._stash_changed()
        return Opened(
            self.path / file,
            draft,
            now.number,
            now.what if before is not None else None,
            after.what if after is not None else None,
        )

    def _draft(self, file: str, text: str) -> Draft:
        draft, stash_changed = self._drafts.get(file, (None, None))
        if draft is None or draft.text != text or stash_changed != self._stash_changed():
            draft = Draft(read_draft(text, file, self.at_hand))
        return draft

    def _stash_changed(self) -> object:
        """When the stash was last written: SQLite's log is beside it."""
        if self.stash is None:
            return None
        files = (self.stash, self.stash.with_name(f"{self.stash.name}-wal"))
        return [(one.stat().st_mtime_ns, one.stat().st_size) for one in files if one.exists()]

    def _write(self, file: str, what: str, text: str) -> Version:
        version = self.journal.add(file, what, text)
        self._put(file, text)
        return version

    def _put(self, file: str, text: str) -> None:
        path = self.path / file
        write_whole({path: encoded_like(path, text)})
        self.journal.mark_written(file)
