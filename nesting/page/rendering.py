"""How the page's templates become HTML."""

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from nesting.draw.canvas.lettering import TIE, WITHIN_SIZE

if TYPE_CHECKING:
    from jinja2 import Environment

HERE = Path(__file__).parent
#: Within a size, in a text: what is in a tag is as the file has it.
_WITHIN_SIZE = re.compile(f"{WITHIN_SIZE.pattern}(?=[^<>]*<)")


def render(template: str, *view: Mapping[str, Any], **more: Any) -> str:
    """A template with what it shows put in, every text escaped.

    No line ends within a size: 3 3/4 could be read as 3.
    """
    html = _templates().get_template(f"{template}.html").render(*view, **more)
    return _WITHIN_SIZE.sub(TIE, html)


@cache
def _templates() -> "Environment":
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["id"] = lambda pointer: quote(pointer, safe="")
    return environment
