"""Long work in processes kept ready: what a change makes stale is stopped, what was found is kept."""

import asyncio
import hashlib
import sys
from collections import OrderedDict
from collections.abc import AsyncIterator, Callable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from nesting.batch import Batch
from nesting.workers import ReadyWorker, WorkerError

#: How many searches go on at once.
_AT_ONCE = 2
#: Of how many batches and plans what was found is kept: an evening of undoing and redoing.
_KEPT = 100
#: What a worker has loaded before it is asked for anything.
_LOADED = ("nesting.page.workers.answers", "nesting.advice.suggestions", "highspy", "numba")
_END = object()

#: What it is for, the name of the work, a detail.
_Key = tuple[str, str, str]
T = TypeVar("T")


def digest_of(batch: Batch) -> str:
    """A few characters that tell a batch from all others."""
    return hashlib.sha256(repr(batch).encode()).hexdigest()[:16]


@dataclass(slots=True)
class LongWork(Generic[T]):
    """Some long work: what it found so far, in a few words how far it is, and whether it is done.

    ``failed`` has what went wrong, a mistake of ours.
    """

    found: T | None = None
    words: str = ""
    failed: str = ""
    done: bool = False
    over: asyncio.Event = field(default_factory=asyncio.Event)


class Searches:
    """All long work of one page; used from its event loop only.

    Work is a function of this package that runs in another process. It is called with a way to
    send what it finds, and sends a text to say how far it is, anything else as its finding so far.
    """

    def __init__(self) -> None:
        self._places = asyncio.Semaphore(_AT_ONCE)
        self._idle: list[ReadyWorker] = []
        self._kept: OrderedDict[_Key, LongWork[Any]] = OrderedDict()
        self._going_on: dict[_Key, asyncio.Task[None]] = {}
        self._ending: set[asyncio.Task[None]] = set()
        self._listening: set[asyncio.Event] = set()
        self._news_over = False

    async def get_ready(self) -> None:
        """Start the processes, so that the first answer does not wait for them."""
        await asyncio.gather(*(self._get_one_ready() for _ in range(_AT_ONCE)))

    async def _get_one_ready(self) -> None:
        async with self._places:
            with suppress(WorkerError):  # told where there is work for it
                self._idle.append(await asyncio.to_thread(ReadyWorker, _LOADED))

    async def close(self) -> None:
        """Stop everything at once."""
        for of in {key[0] for key in self._going_on}:
            self.stop(of)
        await asyncio.gather(*self._ending, return_exceptions=True)
        while self._idle:
            self._idle.pop().stop()

    def look(
        self,
        of: str,
        work: Callable[..., None],
        *args: Any,
        detail: str = "",
        keep: bool = True,
        known: Any = None,
    ) -> LongWork[Any]:
        """Begin some work, unless it is done or under way.

        Parameters
        ----------
        of
            What it is for, mostly the digest of a batch: ``stop`` ends all that is for the same.
        detail
            Tells this work from other work of the same kind for the same.
        keep
            Whether what is found is kept for the next time.
        known
            What is known of it before anything is found.
        """
        key = (of, work.__qualname__, detail)
        before = self._kept.pop(key, None)
        if before is not None and (before.done or key in self._going_on):
            self._kept[key] = before
            return before
        search: LongWork[Any] = LongWork(known if before is None else before.found)
        self._kept[key] = search
        task = asyncio.create_task(self._run(search, work, args))
        self._going_on[key] = task
        task.add_done_callback(lambda _: self._over(key, search, keep=keep))
        return search

    def kept(self, of: str, work: Callable[..., None], detail: str = "") -> LongWork[Any] | None:
        """Some work that is done or under way; None where it was not begun, or is forgotten."""
        return self._kept.get((of, work.__qualname__, detail))

    def _over(self, key: _Key, search: LongWork[Any], *, keep: bool) -> None:
        """Forget what is not to be kept, and the oldest of what is; a mistake would only be made again."""
        if key in self._going_on and self._kept.get(key) is search:
            del self._going_on[key]
            if not keep:
                del self._kept[key]
        done = [old for old in self._kept if old not in self._going_on]
        for old in done[: max(0, len(done) - _KEPT)]:
            del self._kept[old]
        search.over.set()
        self.tell()

    def stop(self, of: str) -> None:
        """Stop all that is under way for something; what was found so far is kept for going on."""
        for key in [key for key in self._going_on if key[0] == of]:
            if self._kept[key].found is None:
                del self._kept[key]
            task = self._going_on.pop(key)
            task.cancel()
            self._ending.add(task)
            task.add_done_callback(self._ending.discard)

    async def _run(
        self, search: LongWork[Any], work: Callable[..., None], args: tuple[Any, ...]
    ) -> None:
        """Do some work as soon as one of the processes is free."""
        async with self._places:
            try:
                await self._do(search, await self._free_worker(), work, args)
            except WorkerError as error:
                search.failed = str(error)
                sys.stderr.write(f"{error}\n")
            search.done, search.words = True, ""

    async def _free_worker(self) -> ReadyWorker:
        """A process that waits for work, or a new one."""
        while self._idle:
            worker = self._idle.pop()
            if not worker.has_ended():
                return worker
            worker.stop()
        return await asyncio.to_thread(ReadyWorker, _LOADED)

    async def _do(
        self,
        search: LongWork[Any],
        worker: ReadyWorker,
        work: Callable[..., None],
        args: tuple[Any, ...],
    ) -> None:
        """Have a process do some work; it waits for more only where it came to the end of that."""
        try:
            worker.begin(work, *args)
            findings = worker.found()
            while (found := await asyncio.to_thread(next, findings, _END)) is not _END:
                self._take(search, found)
        except BaseException:
            worker.stop()
            raise
        self._idle.append(worker)

    def _take(self, search: LongWork[Any], found: object) -> None:
        if isinstance(found, str):
            search.words = found
        else:
            search.found = found
        self.tell()

    def tell(self) -> None:
        """Wake up whoever waits for news."""
        for news in self._listening:
            news.set()

    def end_news(self) -> None:
        """There is no more to tell: whoever listens comes to an end."""
        self._news_over = True
        self.tell()

    async def news(self) -> AsyncIterator[None]:
        """Tell at once, and then each time that something was found; what comes together is told once."""
        some = asyncio.Event()
        self._listening.add(some)
        try:
            while not self._news_over:
                yield
                await some.wait()
                some.clear()
        finally:
            self._listening.discard(some)
