"""An executor that kills one of its workers."""

import os
import signal
from concurrent.futures import Executor, Future
from typing import Any

import distributed


class KillingOne(Executor):
    """The client's executor, which kills the worker that has got a search when it has handed out so many."""

    def __init__(self, client: distributed.Client, after: int) -> None:
        self._client = client
        self._executor = client.get_executor(pure=False)
        self._after = after
        self.handed_out = 0
        self.killed: list[int] = []

    def submit(self, *args: Any, **kwargs: Any) -> Future[Any]:
        """Hand a search out."""
        future: Future[Any] = self._executor.submit(*args, **kwargs)
        self.handed_out += 1
        if self.handed_out == self._after:
            self._kill_one()
        return future

    def _kill_one(self) -> None:
        """Kill a worker that has something to do."""
        processes = self._client.run(os.getpid)
        at_work = [worker for worker, tasks in self._client.processing().items() if tasks]
        process = processes[(at_work or list(processes))[0]]
        os.kill(process, signal.SIGKILL)
        self.killed.append(process)
