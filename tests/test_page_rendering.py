"""How the page's templates become HTML."""

import re
import shutil
from pathlib import Path

from project import SAMPLES
from starlette.testclient import TestClient

from nesting.draw.canvas.lettering import TIE
from nesting.page.folder.batch_folder import BatchFolder
from nesting.page.rendering import render
from nesting.page.serving import make_app


def texts_of(html: str) -> str:
    """What is read, without what is in tags."""
    return re.sub("<[^>]*>", "|", html)


def test_no_line_ends_within_a_size() -> None:
    """Whatever the text; what is in a tag is written into the file, and stays as it is."""
    html = render(
        "refused", words="3 3/4 x 10 1/8 in, not 1 in 4/5, 8 %\n<b>7 1/2", back="/?3 1/2>"
    )
    assert f"{'3 3/4 x 10 1/8 in'.replace(' ', TIE)}, not 1{TIE}in 4/5, 8{TIE}%" in html
    assert "7\N{NO-BREAK SPACE}1/2" in html
    assert "/?3 1/2&gt;" in html


def test_no_line_of_the_sheet_ends_within_a_size(tmp_path: Path) -> None:
    """Titles, tables, sentences, buttons; what is typed into fields has the space of the keyboard."""
    shutil.copy(SAMPLES / "orchard.yaml", tmp_path)
    sheet = "/batch/orchard.yaml"
    with TestClient(make_app(BatchFolder(tmp_path), lambda: None)) as client:
        client.post(f"{sheet}/set", data={"/cards/windfall supper/size": "4 1/2 x 5 1/2"})
        html = client.get(sheet).text
    assert not re.findall("[0-9] (?:[0-9]+/[0-9]|x).*", texts_of(html))
    assert f"Undo: windfall supper size: {'4 1/2 x 5 1/2'.replace(' ', TIE)}" in html
    assert 'value="4 1/2 x 5 1/2"' in html
