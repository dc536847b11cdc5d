"""Every address of the page, on one screen."""

from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from nesting.page import writing
from nesting.page.steps import HERE


def routes() -> list[BaseRoute]:
    """The table of routes."""
    post = ["POST"]
    return [
        Route("/", writing.first),
        Route("/begin", writing.begin, methods=post),
        Route("/end", writing.end, methods=post),
        Route("/batch/{file}", writing.sheet),
        Route("/batch/{file}/set", writing.set_fields, methods=post),
        Route("/batch/{file}/add", writing.add, methods=post),
        Route("/batch/{file}/remove", writing.remove, methods=post),
        Route("/batch/{file}/move", writing.move, methods=post),
        Route("/batch/{file}/copy", writing.copy, methods=post),
        Route("/batch/{file}/rename", writing.rename, methods=post),
        Route("/batch/{file}/look", writing.look, methods=post),
        Route("/batch/{file}/undo", writing.undo, methods=post),
        Route("/batch/{file}/redo", writing.redo, methods=post),
        Mount("/static", StaticFiles(directory=HERE / "static")),
    ]
