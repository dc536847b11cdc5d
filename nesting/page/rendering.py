"""How the page's templates become HTML."""

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

if TYPE_CHECKING:
    from jinja2 import Environment

HERE = Path(__file__).parent
#: Before a fraction or a percent sign, in a text: what is in a tag is as the file has it.
_WITHIN_NUMBER = re.compile(r"(?<=[0-9]) (?=(?:[0-9]+/[0-9]|%)[^<>]*<)")


def render(template: str, *view: Mapping[str, Any], **more: Any) -> str:
    """A template with what it shows put in, every text escaped.

    No line ends within a number: 3 3/4 could be read as 3.
    """
    html = _templates().get_template(f"{template}.html").render(*view, **more)
    return _WITHIN_NUMBER.sub("\N{NO-BREAK SPACE}", html)


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
