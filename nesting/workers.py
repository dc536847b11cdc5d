"""Worker processes that do not outlive the one that started them, and that Ctrl-C finds ready."""

import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import resource_tracker
from threading import Thread
from typing import Any


@contextmanager
def worker_processes(count: int) -> Iterator[ProcessPoolExecutor]:
    """Processes that start as work is handed to them, and end here, whatever they are doing."""
    before = set(multiprocessing.active_children())
    context = multiprocessing.get_context("spawn")
    executor = _Workers(count, mp_context=context, initializer=_set_up)
    try:
        yield executor
    finally:
        executor.shutdown(wait=False, cancel_futures=True)
        for process in set(multiprocessing.active_children()) - before:
            process.terminate()


class _Workers(ProcessPoolExecutor):
    """Ctrl-C reaches all processes of a terminal: a worker sees it only while it works."""

    def submit(self, work: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Hand over some work; a process that starts for it holds Ctrl-C back until it is set up."""
        resource_tracker.ensure_running()  # which lets Ctrl-C through again as it starts
        mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        try:
            return super().submit(_interruptible, work, *args, **kwargs)
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, mask)


def _interruptible(work: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
    """Do some work, which Ctrl-C may interrupt."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        return work(*args, **kwargs)
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)


def _set_up() -> None:
    """Make a new worker deaf to Ctrl-C while it is idle, and have it end with its parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """Wait for the end of the process that started this one, however it ends, and end at once."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
