"""Long work in processes kept ready: what a change makes stale is stopped, what was found is kept."""

import asyncio
import hashlib
from collections import OrderedDict
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from nesting.batch import Batch
from nesting.workers import ReadyWorker, WorkerError

#: How many searches go on at once.
_AT_ONCE = 2
#: Of how many batches and plans what was found is kept: an evening of undoing and redoing.
_KEPT = 100
#: What a worker has loaded before it is asked for anything.
_LOADED = ("nesting.page.answers", "highspy", "numba")
_END = object()

#: The digest of a batch, the name of the work, a detail.
_Key = tuple[str, str, str]
T = TypeVar("T")


def digest_of(batch: Batch) -> str:
    """A few characters that tell a batch from all others."""
    return hashlib.sha256(repr(batch).encode()).hexdigest()[:16]


@dataclass(slots=True)
class Search(Generic[T]):
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
        self._kept: OrderedDict[_Key, Search[Any]] = OrderedDict()
        self._tasks: dict[_Key, asyncio.Task[None]] = {}
        self._listening: set[asyncio.Event] = set()

    async def get_ready(self) -> None:
        """Start the processes, so that the first answer does not wait for them."""
        starting = (asyncio.to_thread(ReadyWorker, _LOADED) for _ in range(_AT_ONCE))
        self._idle += await asyncio.gather(*starting)

    async def close(self) -> None:
        """Stop everything at once; what listens for news hears that it is over."""
        await self._stop(list(self._tasks))
        while self._idle:
            self._idle.pop().stop()

    def look(
        self, of: str, work: Callable[..., None], *args: Any, detail: str = "", keep: bool = True
    ) -> Search[Any]:
        """Begin some work, unless it is done or under way.

        Parameters
        ----------
        of
            The digest of the batch that it is for.
        detail
            Tells this work from other work of the same kind for that batch.
        keep
            Whether what is found is kept for the next time.
        """
        key = (of, work.__qualname__, detail)
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        search: Search[Any] = Search()
        self._kept[key] = search
        task = asyncio.create_task(self._run(search, work, args))
        self._tasks[key] = task
        task.add_done_callback(lambda _: self._over(key, keep=keep))
        return search

    def _over(self, key: _Key, *, keep: bool) -> None:
        """Forget what did not come to an end, and the oldest of what did."""
        del self._tasks[key]
        search = self._kept[key]
        if not search.done or search.failed or not keep:
            del self._kept[key]
        for old in list(self._kept)[: max(0, len(self._kept) - _KEPT)]:
            if self._kept[old].done:
                del self._kept[old]
        search.over.set()
        self._tell()

    async def only(self, of: str) -> None:
        """Stop all that is for another batch."""
        await self._stop([key for key in self._tasks if key[0] != of])

    async def _stop(self, keys: list[_Key]) -> None:
        stopped = [self._tasks[key] for key in keys]
        for task in stopped:
            task.cancel()
        await asyncio.gather(*stopped, return_exceptions=True)

    async def _run(
        self, search: Search[Any], work: Callable[..., None], args: tuple[Any, ...]
    ) -> None:
        """Do some work as soon as one of the processes is free."""
        async with self._places:
            if not self._idle:
                self._idle.append(await asyncio.to_thread(ReadyWorker, _LOADED))
            worker = self._idle.pop()
            try:
                worker.begin(work, *args)
                findings = worker.found()
                while (found := await asyncio.to_thread(next, findings, _END)) is not _END:
                    self._take(search, found)
            except WorkerError as error:
                worker.stop()
                search.failed = str(error)
            except asyncio.CancelledError:
                worker.stop()
                raise
            else:
                self._idle.append(worker)
            search.done, search.words = True, ""

    def _take(self, search: Search[Any], found: object) -> None:
        if isinstance(found, str):
            search.words = found
        else:
            search.found = found
        self._tell()

    def _tell(self) -> None:
        for news in self._listening:
            news.set()

    async def news(self) -> AsyncIterator[None]:
        """Tell at once, and then each time that something was found; what comes together is told once."""
        some = asyncio.Event()
        self._listening.add(some)
        try:
            while True:
                yield
                await some.wait()
                some.clear()
        finally:
            self._listening.discard(some)
