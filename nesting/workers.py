"""Worker processes that do not outlive the one that started them, and that Ctrl-C finds ready."""

import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from multiprocessing import forkserver, resource_tracker
from multiprocessing.connection import Connection
from threading import Thread, Timer, current_thread, main_thread
from threading import enumerate as all_threads
from traceback import format_exc
from typing import TYPE_CHECKING, Any

from nesting.collecting import collect_rarely
from nesting.errors import NestingError

if TYPE_CHECKING:
    from multiprocessing.context import ForkServerContext, SpawnContext
    from sys import UnraisableHookArgs

#: Seconds, for a library to come to the end of a callback.
_A_MOMENT = 0.01


@contextmanager
def worker_processes(count: int, load: Sequence[str] = ()) -> Iterator[ProcessPoolExecutor]:
    """Processes that start as work is handed to them, and end here, whatever they are doing.

    What all of them ``load`` is loaded from now on, beside what is done here until there is work.
    """
    before = set(multiprocessing.active_children())
    context = _copying(load)
    if load and context.get_start_method() == "forkserver":
        with _holding_back_ctrl_c():
            forkserver.ensure_running()
    executor = _Workers(count, mp_context=context, initializer=_set_up)
    try:
        yield executor
    finally:
        # Before its processes are ended: else its thread takes what was cancelled for work that failed.
        executor.shutdown(wait=False, cancel_futures=True)
        for process in set(multiprocessing.active_children()) - before:
            process.terminate()
        # Else the end of the program would wake its thread up while it ends by itself.
        for thread in executor.threads:
            thread.join()


def _copying(load: Sequence[str]) -> "ForkServerContext | SpawnContext":
    """How processes start: as copies of one that has loaded something, where the system can copy one.

    Another takes a few milliseconds then to be ready, and little memory of its own.
    """
    if not load or "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(list(load))
    return context


@contextmanager
def _holding_back_ctrl_c() -> Iterator[None]:
    """Ctrl-C waits meanwhile; a process that starts holds it back until it is set up.

    It is blocked for what starts, and put off here: another thread, such as one of the libraries',
    may take a signal that this one blocks.
    """
    resource_tracker.ensure_running()  # which lets Ctrl-C through again as it starts
    put_off: list[int] = []
    ours = current_thread() is main_thread()
    handler = signal.signal(signal.SIGINT, lambda *_: put_off.append(1)) if ours else None
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        if ours:
            signal.signal(signal.SIGINT, handler)
        if put_off:
            signal.raise_signal(signal.SIGINT)


class _Workers(ProcessPoolExecutor):
    """Ctrl-C reaches all processes of a terminal: a worker sees it only while it works.

    ``threads`` look after the processes.
    """

    threads: frozenset[Thread] = frozenset()

    def submit(self, work: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Hand over some work, for which a process may have to start."""
        with _holding_back_ctrl_c():
            before = set(all_threads())
            future = super().submit(_interruptible, work, *args, **kwargs)
            self.threads |= set(all_threads()) - before
            return future


def _interruptible(work: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
    """Do some work, which Ctrl-C may interrupt."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        return work(*args, **kwargs)
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)


def _set_up() -> None:
    """Make a new worker deaf to Ctrl-C while it is idle, and have it end with its parent."""
    sys.unraisablehook = _tell_again
    collect_rarely()
    _end_only_with_parent()
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})


def _tell_again(lost: "UnraisableHookArgs") -> None:
    """Where Ctrl-C comes within a callback of a library, which cannot pass it on, it comes once more."""
    if issubclass(lost.exc_type, KeyboardInterrupt):
        Timer(_A_MOMENT, os.kill, (os.getpid(), signal.SIGINT)).start()
    else:
        sys.__unraisablehook__(lost)


def _end_only_with_parent() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """Wait for the end of the process that started this one, however it ends, and end at once."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


class WorkerError(NestingError, RuntimeError):
    """Work that broke off in a worker: a mistake of ours; the message has its traceback."""


_ENDED = "the process that did the work has ended"


class ReadyWorker:
    """A process kept ready: it does one thing at a time, sends what it finds, and can be stopped at once.

    What all of them ``load`` is loaded once, where the system can copy a process.

    Raises
    ------
    WorkerError
        No process can be started here.
    """

    def __init__(self, load: Sequence[str] = ()) -> None:
        self._pipe, theirs = multiprocessing.Pipe()
        self._process = _copying(load).Process(target=_serve, args=(theirs,), daemon=True)
        try:
            self._process.start()
        except (OSError, RuntimeError) as error:  # also where a script has no main guard
            raise WorkerError(f"no process can be started here: {error}") from None
        theirs.close()

    def has_ended(self) -> bool:
        """Whether the process is no more, as where the system was short of memory."""
        return not self._process.is_alive()

    def begin(self, work: Callable[..., None], *args: Any) -> None:
        """Hand over some work: it is called with a way to send what it finds, then with ``args``.

        Raises
        ------
        WorkerError
            The process has ended.
        """
        try:
            self._pipe.send((work, args))
        except OSError:
            raise WorkerError(_ENDED) from None

    def found(self) -> Iterator[Any]:
        """Wait for what the work sends, until it is done.

        Raises
        ------
        WorkerError
            The work broke off, or the process has ended.
        """
        while True:
            try:
                done, found = self._pipe.recv()
            except (EOFError, OSError):
                raise WorkerError(_ENDED) from None
            if done and found:
                raise WorkerError(found)
            if done:
                return
            yield found

    def stop(self) -> None:
        """End it at once, whatever it is doing."""
        self._process.kill()
        self._process.join()
        self._process.close()


def _serve(pipe: Connection) -> None:
    """Do what is handed over, one thing after the other, as long as there is somebody to send it to."""
    collect_rarely()
    _end_only_with_parent()
    with suppress(EOFError, OSError):  # the other end is closed, maybe with something unread
        while True:
            work, args = pipe.recv()
            try:
                work(lambda found: pipe.send((False, found)), *args)
            except Exception:  # noqa: BLE001 - whatever it was, it is told where the work was asked for
                pipe.send((True, format_exc()))
            else:
                pipe.send((True, ""))
