"""Serves the page on this machine: a free port, an address to open, an end."""

import socket
import webbrowser
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

from nesting.page.folder.batch_folder import BatchFolder
from nesting.page.guard import LOOPBACK, Guard, seen_address

if TYPE_CHECKING:
    from starlette.applications import Starlette

#: How long requests that are being answered are waited for at the end, in seconds.
_PATIENCE = 2


def make_app(folder: BatchFolder, end: Callable[[], None]) -> "Starlette":
    """The page of a folder, as an application of its own; ``end`` ends the program."""
    from starlette.applications import Starlette
    from starlette.exceptions import HTTPException

    from nesting.page.refusing import refused
    from nesting.page.requests.answering import Answering
    from nesting.page.requests.routes import routes

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        async with Answering(folder) as answering:
            app.state.answering = answering
            yield

    app = Starlette(
        routes=routes(),
        exception_handlers={HTTPException: refused, Exception: refused},
        lifespan=lifespan,
    )
    app.state.folder = folder
    app.state.end = end
    app.state.pressed = set()  # what was pressed and is done, by the names that the script gave
    return app


def serve(
    path: Path,
    stash: Path | None,
    *,
    say: Callable[[str], None],
    address: str = LOOPBACK,
    browser: bool = True,
) -> None:
    """Serve the page of a folder until it is ended by its button or Ctrl-C.

    Parameters
    ----------
    say
        Is told the address to open, and how to end.

    Raises
    ------
    OSError
        The address is none of this machine's.
    """
    import uvicorn

    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    with socket.create_server((address, 0), family=family) as listening:
        port = listening.getsockname()[1]

        def end() -> None:
            server.should_exit = True

        class Server(uvicorn.Server):
            async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
                app.state.answering.searches.end_news()  # which else would be waited for
                await super().shutdown(sockets)

        app = make_app(BatchFolder(path, stash), end)
        guard = Guard(app, port)
        config = uvicorn.Config(
            guard, log_level="warning", server_header=False, timeout_graceful_shutdown=_PATIENCE
        )
        server = Server(config)
        url = guard.first_address(seen_address(address))
        say(f"The page is at {url}\nCtrl-C ends it.")
        if browser:
            Thread(target=webbrowser.open, args=(url,), daemon=True).start()
        with suppress(KeyboardInterrupt):  # Ctrl-C has ended it, as it should
            server.run(sockets=[listening])
