"""Worker processes: none outlives its parent, and Ctrl-C ends a run with a plan and no traceback."""

import ctypes
import gc
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor, wait
from contextlib import contextmanager
from multiprocessing import active_children
from multiprocessing.process import BaseProcess
from pathlib import Path
from random import Random
from threading import Event, Thread
from threading import enumerate as all_threads

import pytest
from project import ROOT

from nesting.workers import ReadyWorker, WorkerError, worker_processes

#: How long something that has to happen is waited for: nothing is told from how long it takes.
PATIENCE = 300


@pytest.fixture(autouse=True)
def ctrl_c_is_heard() -> Iterator[None]:
    """Whatever a shell starts in the background is deaf to Ctrl-C, and so are its processes."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.fixture
def batch(tmp_path: Path) -> Path:
    """Many sizes that would fill two sheets to 99 %, on a fine grid: no search is soon done with them."""
    rng = Random(89)
    pieces = "".join(
        f"  - {{name: tag {n}, size: {rng.randint(20, 80)} x {rng.randint(20, 80)}, "
        "paper: pear toss, turn: never, count: 1}\n"
        for n in range(70)
    )
    path = tmp_path / "orchard.yaml"
    paper = "papers:\n  pear toss: {sheet: 300 x 300, have: plenty}\n"
    path.write_text(f"batch: Orchard market\nunit: mm\n{paper}pieces:\n{pieces}")
    return path


@contextmanager
def planning(batch: Path, *options: str, **environment: str) -> Iterator[subprocess.Popen[str]]:
    """The command at work, in a process group of its own as in a terminal."""
    out = ("--out", str(batch.parent / "plan"), "--format", "json", "--seconds", "3000")
    with subprocess.Popen(
        [sys.executable, "-m", "nesting.cli", "plan", str(batch), *out, *options],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env=os.environ | environment,
    ) as process:
        try:
            yield process
        finally:
            process.kill()


def wait_for(what: Callable[[], bool]) -> None:
    """Wait until something is so."""
    ends = time.monotonic() + PATIENCE
    while not what():
        assert time.monotonic() < ends, "it never came to that"
        time.sleep(0.05)


def parents() -> dict[int, int]:
    """The parent of each process that is alive."""
    found = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            _, _, rest = path.read_text().rpartition(")")
        except OSError:  # it has just ended
            continue
        state, parent, *_ = rest.split()
        if state != "Z":
            found[int(path.parent.name)] = int(parent)
    return found


def children(process: int) -> set[int]:
    """The processes that a process has started."""
    return {child for child, parent in parents().items() if parent == process}


def busy_workers(process: int) -> set[int]:
    """The workers of a process, once two of them have used some processor time for their work."""
    ticks = os.sysconf("SC_CLK_TCK")
    busy = set()
    for child in children(process):
        try:
            _, _, rest = Path(f"/proc/{child}/stat").read_text().rpartition(")")
        except OSError:
            continue
        if int(rest.split()[11]) > 0.5 * ticks:
            busy.add(child)
    return busy


def test_a_worker_looks_for_unused_objects_rarely() -> None:
    """A search makes hardly any that the reference count does not find."""
    with worker_processes(1) as executor:
        assert executor.submit(gc.get_threshold).result(PATIENCE)[0] == 100_000


@pytest.mark.parametrize("killed_by", [signal.SIGTERM, signal.SIGKILL])
def test_no_worker_outlives_a_killed_run(batch: Path, killed_by: signal.Signals) -> None:
    """However the command is killed, all that it has started end, too."""
    with planning(batch, "--workers", "2", "--restarts", "3") as process:
        wait_for(lambda: len(busy_workers(process.pid)) >= 2)
        started = children(process.pid)
        process.send_signal(killed_by)
        process.wait()
        wait_for(lambda: not started & parents().keys())


def assert_interrupted(process: subprocess.Popen[str], plan: Path) -> None:
    """Ctrl-C in the process's terminal: it ends with a plan and says nothing more."""
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=PATIENCE)
    assert said == ""
    assert process.returncode == 0
    assert json.loads((plan / "plan.json").read_text())["ended"] == "interrupted"


def test_ctrl_c_while_loops_compile(batch: Path, tmp_path: Path) -> None:
    """Interrupted at its first compilations, the command writes a plan, and no traceback."""
    cache = tmp_path / "cache"
    with planning(batch, "--workers", "1", NUMBA_CACHE_DIR=str(cache)) as process:
        wait_for(lambda: any(cache.rglob("*.nbi")))
        assert_interrupted(process, tmp_path / "plan")


@pytest.mark.parametrize("ready", [False, True], ids=["starting", "busy"])
def test_ctrl_c_while_workers_search(batch: Path, tmp_path: Path, ready: bool) -> None:
    """Interrupted as its workers start, and when they are at work: a plan, and no traceback."""
    with planning(batch, "--workers", "2", "--restarts", "3") as process:
        workers = busy_workers if ready else children
        wait_for(lambda: len(workers(process.pid)) >= 2)
        assert_interrupted(process, tmp_path / "plan")


def interrupted_in_a_callback() -> str:
    """What a process sees of a Ctrl-C that comes while a library calls it back."""
    ctypes.CFUNCTYPE(None)(lambda: signal.raise_signal(signal.SIGINT))()
    try:
        time.sleep(PATIENCE)
    except KeyboardInterrupt:
        return "interrupted"
    return "not told"


def test_ctrl_c_within_a_callback_is_not_lost(capfd: pytest.CaptureFixture[str]) -> None:
    """As where a compiled loop is being loaded, which printed a traceback and went on."""
    with worker_processes(1) as executor:
        assert executor.submit(interrupted_in_a_callback).result() == "interrupted"
    assert capfd.readouterr().err == ""


def test_ctrl_c_waits_until_a_process_has_started(monkeypatch: pytest.MonkeyPatch) -> None:
    """Starting is not broken off, also where another thread takes the signal; then it is told."""
    ended = Event()
    started = []

    def starts(*_: object) -> None:
        taken, told = socket.socketpair()
        with taken, told:
            told.setblocking(False)
            signal.set_wakeup_fd(told.fileno())
            os.kill(os.getpid(), signal.SIGINT)
            taken.recv(1)  # the other thread has taken it
            signal.set_wakeup_fd(-1)
        started.append(1)

    monkeypatch.setattr(ProcessPoolExecutor, "submit", starts)
    other = Thread(target=ended.wait)
    other.start()
    with worker_processes(1) as executor, pytest.raises(KeyboardInterrupt):
        executor.submit(print)
    ended.set()
    other.join()
    assert started


def naps(file: str) -> None:
    """Say that work has begun, and do not end."""
    Path(file).touch()
    time.sleep(10 * PATIENCE)


def test_what_works_is_not_waited_for(tmp_path: Path) -> None:
    """Left with work under way, the processes end with it, and the threads that look after them."""
    begun = tmp_path / "begun"
    before = children(os.getpid())
    threads = set(all_threads())
    with worker_processes(1) as executor:
        executor.submit(naps, str(begun))
        wait_for(begun.exists)
    assert set(all_threads()) <= threads
    tracker = 1  # multiprocessing's own, which stays until the end
    wait_for(lambda: len(children(os.getpid()) - before) <= tracker)


def test_what_is_cancelled_is_not_told_that_its_process_has_ended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However soon it has: what looks after the processes would break off with a traceback."""
    begun = tmp_path / "begun"
    terminate = BaseProcess.terminate
    with worker_processes(1) as executor:
        works, *others = [executor.submit(naps, str(begun)) for _ in range(5)]
        wait_for(begun.exists)
        assert others[-1].cancel()

        def end(process: BaseProcess) -> None:
            terminate(process)
            wait([works])

        monkeypatch.setattr(BaseProcess, "terminate", end)


def interrupted(file: str) -> str:
    """Say that work has begun, and what has ended it."""
    try:
        Path(file).touch()
        time.sleep(10 * PATIENCE)
    except KeyboardInterrupt:
        return "interrupted"
    return "not interrupted"


def test_ctrl_c_reaches_a_worker_only_at_work(tmp_path: Path) -> None:
    """While it is idle nothing happens to it; at work it can give what it has."""
    with worker_processes(1) as executor:
        worker = executor.submit(os.getpid).result()
        os.kill(worker, signal.SIGINT)
        begun = tmp_path / "begun"
        found = executor.submit(interrupted, str(begun))
        wait_for(begun.exists)
        os.kill(worker, signal.SIGINT)
        assert found.result(PATIENCE) == "interrupted"
        assert executor.submit(os.getpid).result() == worker


def tells(send: Callable[[object], None], *found: object) -> None:
    """Send all of it."""
    for one in found:
        send(one)


def breaks_off(send: Callable[[object], None]) -> None:
    """Send something, then break off."""
    send("begun")
    raise ValueError("this work is wrong")


def never_ends(send: Callable[[object], None]) -> None:
    """Send the number of the process, and then nothing any more."""
    send(os.getpid())
    time.sleep(10 * PATIENCE)


def tells_without_end(send: Callable[[object], None], found: object) -> None:
    """Send the same for ever."""
    while True:
        send(found)


def ends_itself(send: Callable[[object], None]) -> None:
    """End the process in the midst of the work."""
    os._exit(1)


@pytest.fixture
def ready_worker() -> Iterator[ReadyWorker]:
    """One that is stopped in the end."""
    worker = ReadyWorker()
    yield worker
    worker.stop()


def test_a_ready_worker_sends_what_it_finds(ready_worker: ReadyWorker) -> None:
    """What the work sends comes in its order, and the same process does the next work."""
    ready_worker.begin(tells, 1, "two", (3,))
    assert list(ready_worker.found()) == [1, "two", (3,)]
    ready_worker.begin(tells)
    assert list(ready_worker.found()) == []


def test_a_ready_worker_outlives_work_that_breaks_off(ready_worker: ReadyWorker) -> None:
    """The error's traceback is told, and the next work is done."""
    ready_worker.begin(breaks_off)
    with pytest.raises(WorkerError, match="this work is wrong"):
        list(ready_worker.found())
    ready_worker.begin(tells, "next")
    assert list(ready_worker.found()) == ["next"]


def test_a_ready_worker_that_has_ended_is_told(ready_worker: ReadyWorker) -> None:
    """Nobody waits for a process that is no more."""
    ready_worker.begin(ends_itself)
    with pytest.raises(WorkerError, match="has ended"):
        list(ready_worker.found())


def test_a_stopped_worker_is_gone() -> None:
    """It ends in the midst of its work, and leaves no process behind, not even a dead one."""
    worker = ReadyWorker()
    worker.begin(never_ends)
    process = next(worker.found())
    assert Path(f"/proc/{process}").exists()
    worker.stop()
    wait_for(lambda: not Path(f"/proc/{process}").exists())


@pytest.mark.parametrize("work", [tells, tells_without_end])
def test_a_worker_that_nobody_listens_to_ends_without_a_word(
    work: Callable[..., None], capfd: pytest.CaptureFixture[str]
) -> None:
    """As when its parent is killed while it waits for work or sends something: no traceback."""
    before = set(active_children())
    worker = ReadyWorker()
    (process,) = set(active_children()) - before
    worker.begin(work, "something")
    next(worker.found())
    del worker
    process.join()
    assert capfd.readouterr().err == ""


KEEPER = """
from nesting.workers import ReadyWorker
from test_workers import never_ends
if __name__ == "__main__":
    workers = [ReadyWorker(), ReadyWorker()]
    for worker in workers:
        worker.begin(never_ends)
    print(*(next(worker.found()) for worker in workers), flush=True)
    input()
"""


def test_no_ready_worker_outlives_a_killed_parent(tmp_path: Path) -> None:
    """With the process that started them killed, workers end, and what they are copies of."""
    script = tmp_path / "keeper.py"
    script.write_text(KEEPER)
    with subprocess.Popen(
        [sys.executable, str(script)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": f"{ROOT}{os.pathsep}{ROOT / 'tests'}"},
    ) as process:
        assert process.stdout is not None
        workers = {int(one) for one in process.stdout.readline().split()}
        started = children(process.pid) | workers
        assert len(workers) == 2
        process.kill()
        process.wait()
        wait_for(lambda: not started & parents().keys())
