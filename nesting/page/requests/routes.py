"""Every address of the page, on one screen."""

from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from nesting.page.rendering import HERE
from nesting.page.requests import downloads, news, paper_photos, ticking, writing


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
        Route("/batch/{file}/write-out", writing.write_out, methods=post),
        Route("/batch/{file}/photo", paper_photos.keep, methods=post),
        Route("/photo", paper_photos.show),
        Route("/batch/{file}/look", writing.look, methods=post),
        Route("/batch/{file}/undo", writing.undo, methods=post),
        Route("/batch/{file}/redo", writing.redo, methods=post),
        Route("/batch/{file}/news", news.tell),
        Route("/batch/{file}/changes", news.look_for_changes, methods=post),
        Route("/batch/{file}/apply", news.apply, methods=post),
        Route("/batch/{file}/choose", news.choose, methods=post),
        Route("/batch/{file}/hold", news.hold, methods=post),
        Route("/batch/{file}/plan.pdf", downloads.plan_pdf),
        Route("/batch/{file}/shopping.pdf", downloads.shopping_pdf),
        Route("/batch/{file}/cut-files.zip", downloads.cut_files_zip),
        Route("/batch/{file}/side-by-side.svg", downloads.side_by_side),
        Route("/batch/{file}/layout/{number:int}.svg", downloads.layout_svg),
        Route("/batch/{file}/card/{number:int}.{kind}", downloads.finished_card),
        Route("/batch/{file}/change/{number:int}/{when}.svg", downloads.change_svg),
        Route("/batch/{file}/trimmer", ticking.page),
        Route("/batch/{file}/trimmer/news", ticking.news),
        Route("/batch/{file}/trimmer/begin", ticking.begin, methods=post),
        Route("/batch/{file}/trimmer/done", ticking.done, methods=post),
        Route("/batch/{file}/trimmer/not-done", ticking.not_done, methods=post),
        Route("/batch/{file}/trimmer/spoilt", ticking.spoilt, methods=post),
        Route("/batch/{file}/trimmer/as-before", ticking.as_before, methods=post),
        Route("/batch/{file}/trimmer/found", ticking.found, methods=post),
        Route("/batch/{file}/trimmer/more", ticking.more, methods=post),
        Route("/batch/{file}/trimmer/anew", ticking.anew, methods=post),
        Route("/batch/{file}/trimmer/into-stash", ticking.into_stash, methods=post),
        Route("/batch/{file}/trimmer/labels.pdf", ticking.labels_pdf),
        Route("/batch/{file}/trimmer/put-away", ticking.put_away, methods=post),
        Mount("/static", StaticFiles(directory=HERE / "static")),
    ]
