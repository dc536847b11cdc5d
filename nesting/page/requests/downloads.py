"""What is taken along from a plan: pages to print, cut files, pictures of layouts, cards and changes."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from nesting.cards.placing import place_layers
from nesting.file_names import numbered_name
from nesting.page.pictures.card_svg import card_picture
from nesting.page.pictures.layout_svg import layout_picture
from nesting.page.pictures.prints import Looks
from nesting.page.requests.asked import answering_of, state_of
from nesting.page.steps.at_trimmer import shown_as
from nesting.page.steps.my_plan import AS_IT_IS, HELD
from nesting.page.workers import printing
from nesting.page.workers.answers import Answer, Suggestions, find_answer, find_needs
from nesting.page.workers.searches import LongWork
from nesting.typed_lengths import LengthError, parse_length, parse_size

if TYPE_CHECKING:
    from nesting.advice.suggestions import Suggestion
    from nesting.cutfile.carrier import Setup
    from nesting.draw.pages.printed_plan import ChosenPage
    from nesting.units import Unit

_TYPES = {
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "png": "image/png",
    "zip": "application/zip",
}
_SIZES = ("letter", "A4")


async def plan_pdf(request: Request) -> Response:
    """The printed plan, or the chosen pages of it."""
    answer, asked = _answer(request), request.query_params
    only = [_page(one) for one in asked.getlist("only")]
    back_up = "face-down" in asked
    return await made(
        request, "plan.pdf", printing.plan_pages, answer.plan, asked_page(request), only, back_up
    )


def _page(text: str) -> "ChosenPage":
    """What a box to tick stands for: a layout by its number, or another page by name."""
    match text:
        case "summary" | "labels" | "recipes":
            return text
    if not text.isdecimal():
        raise HTTPException(400)
    return int(text)


async def shopping_pdf(request: Request) -> Response:
    """The page to take shopping."""
    answer, cutting = _answer(request), state_of(request).cut()
    if cutting is not None and _of(request) == shown_as(cutting.plan):
        answer = answer.of_left(cutting.left)
    if answer.needs is None:
        raise HTTPException(404)
    return await made(
        request, "shopping.pdf", printing.print_shopping, answer.needs, asked_page(request)
    )


async def cut_files_zip(request: Request) -> Response:
    """The files for a cutting machine."""
    plan, asked = _answer(request).plan, request.query_params
    try:
        setup = _setup(plan.asked.unit, request)
    except LengthError as error:
        raise HTTPException(422, str(error)) from None
    straight = "free" not in asked
    return await made(
        request, "cut-files.zip", printing.zip_cut_files, plan, setup, asked_page(request), straight
    )


def _setup(unit: "Unit", request: Request) -> "Setup":
    """How the cut files are wanted.

    Raises
    ------
    LengthError
        A length does not read.
    """
    from nesting.cutfile.carrier import USUAL_EDGE, Setup

    asked = request.query_params
    carrier = asked.get("carrier", "").strip()
    edge = asked.get("edge", "").strip() or (USUAL_EDGE[unit] if carrier else "0")
    return Setup(
        parse_length(asked.get("gap", "").strip() or "0", unit),
        parse_size(carrier, unit) if carrier else None,
        parse_length(edge, unit),
        back_up="face-down" in asked,
        lettering="lettering" in asked,
    )


async def finished_card(request: Request) -> Response:
    """The picture of a finished card, as SVG to show or as PNG to keep."""
    plan, kind = _answer(request).plan, request.path_params["kind"]
    number, cards = request.path_params["number"], plan.asked.cards
    if kind not in ("png", "svg") or number >= len(cards):
        raise HTTPException(404)
    card = cards[number].name
    name = f"{numbered_name(number + 1, card, 'card')}.{kind}"
    return await made(request, name, printing.draw_finished, plan, card, kind)


async def side_by_side(request: Request) -> Response:
    """All sheets of the plan as it is and of the one that is held, at one scale."""
    plan = _answer(request).plan
    held = state_of(request).held
    if held is None:
        raise HTTPException(404)
    plans = ((AS_IT_IS, plan), (HELD, held))
    return await made(request, "side-by-side.svg", printing.draw_sheets, plan.asked.name, plans)


async def layout_svg(request: Request) -> Response:
    """The picture of a layout."""
    plan = _answer(request).plan
    for layout in plan.layouts:
        if layout.id == request.path_params["number"]:
            return _picture(layout_picture(plan, layout))
    raise HTTPException(404)


async def change_svg(request: Request) -> Response:
    """A card before or after a small change, or the sheets that it saves."""
    plan, change, when = _answer(request).plan, _change(request), request.path_params["when"]
    if when == "sheets":
        return await made(request, "sheets.svg", printing.draw_saving, plan, change)
    batch = {"before": plan.asked, "after": change.plan.asked}.get(when)
    if batch is None or not change.looks:
        raise HTTPException(404)
    card = next(card for card in batch.cards if card.name == change.looks[0].card)
    return _picture(card_picture(Looks(batch, {}), card, place_layers(card)))


def _change(request: Request) -> "Suggestion":
    search: LongWork[Suggestions] | None = answering_of(request).changes(_of(request))
    number = request.path_params["number"]
    if search is None or search.found is None or number >= len(search.found.all):
        raise HTTPException(404)
    found: Suggestion = search.found.all[number]
    return found


def _picture(svg: str) -> Response:
    """A picture that stays what it is: the address has the digest of what it shows."""
    headers = {"cache-control": "private, max-age=86400, immutable"}
    return Response(svg, media_type=_TYPES["svg"], headers=headers)


def _answer(request: Request) -> Answer:
    """The answer that the address is about; a page that shows one no longer kept is to be loaded anew."""
    kept, of = answering_of(request).searches.kept, _of(request)
    search: LongWork[Answer] | None = kept(of, find_answer) or kept(of, find_needs)
    if search is None or search.found is None:
        raise HTTPException(404, "This plan is no longer at hand: load the sheet again.")
    return search.found


def _of(request: Request) -> str:
    """The digest of the batch that the address is about."""
    return request.query_params.get("of", "")


def asked_page(request: Request) -> str:
    """The printer's paper that was asked for."""
    size = request.query_params.get("size", "")
    return size if size in _SIZES else _SIZES[0]


async def made(request: Request, name: str, make: Callable[..., bytes], *args: Any) -> Response:
    """Have a file made by one of the workers, and hand it over."""
    detail = f"{request.url.path}?{request.url.query}"
    searches = answering_of(request).searches
    search: LongWork[printing.MadeFile] = searches.look(
        "a file", printing.make_file, make, *args, detail=detail, keep=False
    )
    await search.over.wait()
    if search.found is None:
        raise HTTPException(500)
    if search.found.refused:
        words = (*search.found.refused, "Nothing was made.")
        raise HTTPException(422, "\n".join(words))
    kind = name.rpartition(".")[2]
    headers = {"cache-control": "no-store"}
    if kind != "svg":
        headers["content-disposition"] = f'attachment; filename="{name}"'
    return Response(search.found.data, media_type=_TYPES[kind], headers=headers)
