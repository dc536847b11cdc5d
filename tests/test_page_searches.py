"""Long work of the page: at most two at once, stale work is stopped, what was found is kept."""

import asyncio
import os
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from multiprocessing import active_children
from multiprocessing.process import BaseProcess
from pathlib import Path

import pytest
from project import SAMPLES

import nesting
from nesting.page.workers.searches import LongWork, Searches, digest_of

#: How long something that has to happen is waited for: nothing is told from how long it takes.
PATIENCE = 300

Send = Callable[[object], None]


def run(story: Callable[[Searches], Awaitable[None]]) -> None:
    """Tell a story with searches of its own, which are closed in the end."""

    async def told() -> None:
        async with opened() as searches:
            await asyncio.wait_for(story(searches), PATIENCE)

    asyncio.run(told())


@asynccontextmanager
async def opened() -> AsyncIterator[Searches]:
    """Searches that are closed in the end."""
    searches = Searches()
    try:
        yield searches
    finally:
        await searches.close()


async def found(searches: Searches, search: LongWork[object]) -> object:
    """Wait until a search has found something."""
    async for _ in searches.news():
        if search.found is not None:
            return search.found
    raise AssertionError


def counts(send: Send, folder: str, name: str) -> None:
    """Leave a mark in a folder, and send the name."""
    (Path(folder) / f"{name}-{os.getpid()}-{time.monotonic_ns()}").touch()
    send((name,))


def never_ends(send: Send) -> None:
    """Tell the number of the process, and then nothing any more."""
    send((os.getpid(),))
    time.sleep(10 * PATIENCE)


def says_how_far(send: Send) -> None:
    """Say how far it is, find something, go on for ever."""
    send((1,))
    send("half of it")
    time.sleep(10 * PATIENCE)


def breaks_off(send: Send) -> None:
    """Break off."""
    raise ValueError("this work is wrong")


def test_what_was_found_is_kept(tmp_path: Path) -> None:
    """The same work for the same batch is done once; other details are other work."""

    async def story(searches: Searches) -> None:
        for detail in ("a", "a", "b", "a"):
            search = searches.look("batch", counts, str(tmp_path), detail, detail=detail)
            await search.over.wait()
            assert search.done
            assert search.found == (detail,)

    run(story)
    assert sorted(path.name[0] for path in tmp_path.iterdir()) == ["a", "b"]


def test_what_is_not_to_be_kept_is_done_again(tmp_path: Path) -> None:
    """A large result is given once, to the one who waits for it."""

    async def story(searches: Searches) -> None:
        for _ in range(2):
            search = searches.look("batch", counts, str(tmp_path), "pages", keep=False)
            await search.over.wait()
            assert search.found == ("pages",)

    run(story)
    assert len(list(tmp_path.iterdir())) == 2


def test_a_change_stops_what_it_makes_stale() -> None:
    """The process of a stale search ends; that of the batch as it is goes on."""

    async def story(searches: Searches) -> None:
        stale = searches.look("before", never_ends)
        wanted = searches.look("now", never_ends)
        gone, stays = await found(searches, stale), await found(searches, wanted)
        searches.stop("before")
        await stale.over.wait()
        assert not stale.done
        assert not wanted.over.is_set()
        assert not Path(f"/proc/{gone[0]}").exists()
        assert Path(f"/proc/{stays[0]}").exists()

    run(story)


def test_what_a_stopped_search_found_is_there_when_it_goes_on() -> None:
    """Undoing a change shows at once what there was, while the search begins anew."""

    async def story(searches: Searches) -> None:
        first = await found(searches, searches.look("batch", never_ends))
        searches.stop("batch")
        again = searches.look("batch", never_ends)
        assert again.found == first
        assert not again.done

    run(story)


def test_a_stopped_search_begins_anew() -> None:
    """Undoing a change starts the search that the change had stopped."""

    async def story(searches: Searches) -> None:
        first = await found(searches, searches.look("batch", never_ends))
        searches.stop("batch")
        again = searches.look("batch", never_ends)
        async for _ in searches.news():
            if again.found != first:
                break

    run(story)


def test_two_searches_at_most(tmp_path: Path) -> None:
    """A third one waits until one of two is stopped."""

    async def story(searches: Searches) -> None:
        both = [searches.look(name, never_ends) for name in ("one", "two")]
        third = searches.look("two", counts, str(tmp_path), "third")
        for search in both:
            await found(searches, search)
        assert not list(tmp_path.iterdir())
        searches.stop("one")
        await third.over.wait()
        assert third.found == ("third",)

    run(story)


def test_words_of_how_far_it_is() -> None:
    """A text that the work sends is how far it is, beside what it has found so far."""

    async def story(searches: Searches) -> None:
        search = searches.look("batch", says_how_far)
        async for _ in searches.news():
            if search.words:
                break
        assert search.words == "half of it"
        assert search.found == (1,)

    run(story)


def test_work_that_breaks_off_is_told(capfd: pytest.CaptureFixture[str]) -> None:
    """The search says what went wrong, and the terminal; it is not made over and over again."""

    async def story(searches: Searches) -> None:
        search = searches.look("batch", breaks_off)
        await search.over.wait()
        assert "this work is wrong" in search.failed
        assert searches.look("batch", breaks_off) is search

    run(story)
    assert "this work is wrong" in capfd.readouterr().err


def test_where_no_process_can_start_it_is_told_once(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """A machine that forbids processes: work is not begun again and again, as nothing else would come."""

    def forbidden(_: object) -> None:
        raise PermissionError("no more processes")

    monkeypatch.setattr(BaseProcess, "start", forbidden)

    async def story(searches: Searches) -> None:
        await searches.get_ready()
        search = searches.look("batch", breaks_off)
        await search.over.wait()
        assert "no more processes" in search.failed
        assert searches.look("batch", breaks_off) is search

    run(story)
    assert capfd.readouterr().err == "no process can be started here: no more processes\n"


def test_a_process_that_ended_while_it_waited_does_no_harm(tmp_path: Path) -> None:
    """Another takes its place."""

    async def story(searches: Searches) -> None:
        await searches.get_ready()
        for process in active_children():
            process.kill()
            process.join()
        search = searches.look("batch", counts, str(tmp_path), "seen")
        await search.over.wait()
        assert (search.found, search.failed) == (("seen",), "")

    run(story)


def test_closing_stops_all_processes() -> None:
    """Nothing that was started is left, neither what works nor what waits for work."""
    left = []

    async def story() -> None:
        async with opened() as searches:
            await searches.get_ready()
            left.append(await found(searches, searches.look("batch", never_ends)))

    asyncio.run(story())
    assert not Path(f"/proc/{left[0][0]}").exists()


def test_news_ends_for_those_who_leave() -> None:
    """Whoever no longer listens is forgotten."""

    async def story(searches: Searches) -> None:
        news = searches.news()
        await anext(news)
        assert searches._listening
        await news.aclose()
        assert not searches._listening

    run(story)


def test_a_digest_is_of_the_batch_alone() -> None:
    """Two readings of a file have one digest; any change of what is asked has another."""
    batch = nesting.read_batch(SAMPLES / "orchard.yaml")
    short = nesting.read_batch(SAMPLES / "orchard-short.yaml")
    assert digest_of(batch) == digest_of(nesting.read_batch(SAMPLES / "orchard.yaml"))
    assert digest_of(batch) != digest_of(short)
