"""Steps 5 and 6 of the page: the bar at the foot, what to buy, small changes, the plan, what is printed."""

import asyncio
import re
from collections.abc import AsyncIterator, Iterator, MutableMapping
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from page_served import PATIENCE, wait_for
from project import SAMPLES
from pypdf import PdfReader
from starlette.testclient import TestClient

import nesting
from nesting.batch import Prefer
from nesting.draw.canvas.lettering import TIE
from nesting.files import read_draft
from nesting.page.folder.batch_folder import BatchFolder
from nesting.page.folder.draft import Draft
from nesting.page.requests.answering import Answering
from nesting.page.requests.news import choose_papers
from nesting.page.serving import make_app
from nesting.page.steps import my_plan
from nesting.page.steps.how_many import PREFER
from nesting.page.workers.answers import Answer
from nesting.page.workers.searches import LongWork

SCRIPT = {"accept": "text/html-parts"}
SHEET = "/batch/supper.yaml"

SUPPER = """\
# One design, of a paper that nobody sells any more.
batch: Orchard supper
unit: in
papers:
  pear toss: {sheet: 12 x 12, have: 1, buy: false, front: four-way}
  plum dots: {sheet: 12 x 12, have: 2}
cards:
  windfall:
    make: 12
    size: 4 1/4 x 5 1/2
    layers:
      - {name: panel, paper: pear toss, reveal: 1/8}
      - {name: band, paper: plum dots, height: 1}
"""


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    """The page of a folder with one batch in it."""
    with TestClient(make_app(supper_in(tmp_path), lambda: None)) as one:
        yield one


def bar(html: str) -> str:
    """What the bar at the foot says."""
    found = re.search(r'<p id="bar".*?</p>', html, re.DOTALL)
    assert found is not None
    return " ".join(re.sub("<[^>]*>", " ", found[0]).split())


def supper_in(folder: Path) -> BatchFolder:
    """A folder with one batch in it."""
    (folder / "supper.yaml").write_text(SUPPER)
    return BatchFolder(folder)


def of(html: str) -> str:
    """The digest of what a sheet answers."""
    found = re.search(r'name="of" value="(\w+)"', html)
    assert found is not None
    return found[1]


def test_the_bar_says_what_is_complete_and_what_lacks(client: TestClient) -> None:
    """In the words of the command line, with how sure it is."""
    html = wait_for(client, SHEET, "at hand</th>")
    # there are none: a phone has no room for empty columns
    assert not {"offcuts used</th>", "to buy</th>"} & set(re.findall("[a-z ]*</th>", html))
    plan = nesting.solve(nesting.read_batch(SAMPLES / "orchard.yaml"))
    assert plan.ended == "proven"
    html = wait_for(client, SHEET, "proven</span>")
    assert bar(html) == "6 of 12 cards; pear toss lacks 1 sheet. proven"


def test_none_is_possible(client: TestClient, tmp_path: Path) -> None:
    """As when the last of a paper is cut and on record: no papers are listed, and nothing can be begun."""
    text = SUPPER.replace("make: 12", "make: as many as possible").replace("have: 1", "have: 0")
    (tmp_path / "supper.yaml").write_text(text)
    html = wait_for(client, SHEET, "proven</span>")
    assert "at hand</th>" not in html
    assert "ruler settings</th>" not in html
    assert '<th scope="row">windfall</th>' in html
    assert "Begin to cut this plan" not in html


@pytest.mark.parametrize(
    ("prefer", "other"), [("easy-cutting", "big-offcut"), ("big-offcut", "easy-cutting")]
)
def test_what_else_could_be_preferred_is_said_in_the_words_of_the_choice(
    prefer: Prefer, other: Prefer
) -> None:
    """On the page and on what is printed from it; the words of the file say nothing to who has no file."""
    batch = replace(nesting.read_batch(SAMPLES / "orchard.yaml"), prefer=prefer)
    plan = nesting.solve(batch)
    said = my_plan.view(LongWork(Answer(plan)), None)["sentences"]
    note = next(one for one in said if f"laid out for {PREFER[prefer]}" in one)
    assert PREFER[other] in note.lower()
    assert "prefer:" not in "".join(plan.notes)


def test_a_change_is_answered_at_once_and_undoing_it_shows_the_earlier_answer(
    tmp_path: Path,
) -> None:
    """First the bar says that it counts; what was found before is there with the undoing."""
    folder = supper_in(tmp_path)

    async def story() -> None:
        async with Answering(folder) as answering:
            news = answering.news("supper.yaml")
            async for _ in until_proven(news):
                pass
            six = read_draft(SUPPER.replace("make: 12", "make: 6"), "supper.yaml")
            answering.look_again(folder.change("supper.yaml", "make: 6", Draft(six)))
            changed = await anext(news)
            assert bar(changed["bar"]) == "Counting the sheets … Look again"
            async for parts in until_proven(news):
                changed = parts
            assert bar(changed["bar"]).startswith("All 6 cards")
            answering.look_again(folder.undo("supper.yaml"))
            undone = await anext(news)
            assert bar(undone["bar"]).startswith("6 of 12 cards")
            assert "Layout 1 of 2" in undone["my_plan"]

    asyncio.run(asyncio.wait_for(story(), PATIENCE))


@pytest.mark.parametrize(
    ("pointer", "value", "step"),
    [
        ("/cards/windfall/make", "many", "how_many"),
        ("/cards/windfall/make", "0", "how_many"),
        ("/cards/windfall/size", "5", "cards"),
        ("/papers/pear toss/have", "some", "papers"),
        ("/trimmer/marks", "0", "trimmer"),
        ("/lap", "wide", "how_many"),
    ],
)
def test_what_is_wrong_comes_first(client: TestClient, pointer: str, value: str, step: str) -> None:
    """While something is to be put right, nothing is counted, and the bar leads to its step."""
    wait_for(client, SHEET, "6 of 12 cards")
    client.post(f"{SHEET}/set", data={pointer: value}, headers=SCRIPT)
    html = client.get(SHEET).text
    assert bar(html) == "First, 1 thing to put right above."
    assert f'<a href="#{step}"><strong>First' in html


def test_what_there_is_to_buy(client: TestClient, tmp_path: Path) -> None:
    """With its sheets and envelopes, and a page to take along."""
    text = SUPPER.replace("buy: false", "price: 1.20")
    (tmp_path / "supper.yaml").write_text(text.replace("make: 12", "make: 12\n    envelope: A2"))
    html = wait_for(client, SHEET, "A page to take shopping").replace(TIE, " ")
    assert "<li>pear toss: 1 sheet of 12 x 12 in, 1.20</li>" in html
    assert "<li>12 envelopes A2" in html
    pdf = client.get(f"{SHEET}/shopping.pdf", params={"of": of(html), "size": "A4"})
    assert pdf.headers["content-type"] == "application/pdf"
    assert "To buy" in PdfReader(BytesIO(pdf.content)).pages[0].extract_text()


def test_offcuts_that_are_cut_are_counted_as_sheets(client: TestClient, tmp_path: Path) -> None:
    """In the line of the plan and in its table alike."""
    text = SUPPER.replace(
        "{sheet: 12 x 12, have: 1, buy: false,",
        "{buy: false, sheets: [{size: 12 x 12, have: 0}, {size: 12 x 12, have: 1, offcut: true}],",
    )
    (tmp_path / "supper.yaml").write_text(text)
    plan = wait_for(client, SHEET, "2 sheets to cut").partition('id="my_plan"')[2]
    assert re.findall("(pear toss|plum dots)</th><td>(.*?)</td>", plan)[:2] == [
        ("pear toss", "1"),
        ("plum dots", "1"),
    ]


def test_a_small_change_is_shown_and_made(client: TestClient, tmp_path: Path) -> None:
    """It is written into the file at its place, and the file is otherwise as it was."""
    text = SUPPER.replace("have: 1, buy: false", "have: 2").replace("make: 12", "make: 7")
    (tmp_path / "supper.yaml").write_text(text)
    html = wait_for(client, SHEET, "All 7 cards")
    assert "Look for small changes" in html
    client.post(f"{SHEET}/changes", data={"step": "enough"}, headers=SCRIPT)
    html = wait_for(client, SHEET, "Make this change")
    number = re.findall(r"<h4>(.*?)</h4>", html).index("windfall: 6 cards instead of 7")
    asked = {"of": of(html), "number": str(number)}
    answer = client.post(f"{SHEET}/apply", data=asked, headers=SCRIPT).text
    assert "Undo: windfall: 6 cards instead of 7" in answer
    changed = (tmp_path / "supper.yaml").read_text()
    assert changed == text.replace("make: 7", "make: 6")
    assert client.get(f"{SHEET}/change/{number}/sheets.svg", params=asked).text.count("<svg")


def test_a_small_change_that_changes_a_card_is_shown_on_it(
    client: TestClient, tmp_path: Path
) -> None:
    """Before and after, drawn to scale."""
    (tmp_path / "supper.yaml").write_text(SUPPER.replace("reveal: 1/8", "reveal: 1/16"))
    wait_for(client, SHEET, "4 of 12 cards")
    client.post(f"{SHEET}/changes", headers=SCRIPT)
    html = wait_for(client, SHEET, "before.svg")
    before, after = (
        client.get(re.search(rf'src="([^"]*{when}\.svg[^"]*)"', html)[1]).text  # type: ignore[index]
        for when in ("before", "after")
    )
    assert before.startswith("<svg")
    assert before != after


def test_a_change_that_was_found_for_another_state_is_not_made(
    client: TestClient, tmp_path: Path
) -> None:
    """It is said, and the file stays as it is."""
    wait_for(client, SHEET, "6 of 12 cards")
    answer = client.post(f"{SHEET}/apply", data={"of": "0", "number": "0"}, headers=SCRIPT)
    assert "look again" in answer.text
    assert (tmp_path / "supper.yaml").read_text() == SUPPER


def test_a_layer_may_choose_its_paper(client: TestClient, tmp_path: Path) -> None:
    """Of a paper that is short, the others can be ticked; what was chosen is said."""
    html = wait_for(client, SHEET, "Choose among these")
    assert 'name="may be plum dots"' in html
    ticked = {"may be pear toss": "yes", "may be plum dots": "yes", "alike": "each"}
    pointer = "/cards/windfall/layers/0"
    client.post(f"{SHEET}/choose", data={"pointer": pointer, **ticked}, headers=SCRIPT)
    layer = nesting.read_batch(tmp_path / "supper.yaml").cards[0].layers[0]
    assert [option.paper for option in layer.options] == ["pear toss", "plum dots"]
    html = wait_for(client, SHEET, "windfall, panel: 6 of pear toss, 6 of plum dots.")
    assert "All 12 cards" in html
    one = {"pointer": pointer, "may be plum dots": "yes"}
    client.post(f"{SHEET}/choose", data=one, headers=SCRIPT)
    layer = nesting.read_batch(tmp_path / "supper.yaml").cards[0].layers[0]
    assert (layer.paper, layer.choice) == ("plum dots", None)
    none = client.post(f"{SHEET}/choose", data={"pointer": pointer}, headers=SCRIPT)
    assert "no paper is ticked" in none.text


def test_the_plan_with_its_layouts_and_strokes(client: TestClient) -> None:
    """Each layout has its picture and the words of its printed page, each stroke the number that it has there."""
    html = wait_for(client, SHEET, "Layout 1 of 2: pear toss")
    assert "Drops off:" in html
    assert re.search(r"<li><b>1\b[^<]*</b>: ruler at", html)
    picture = re.search(r'src="([^"]*/layout/1\.svg[^"]*)"', html)
    assert picture is not None
    svg = client.get(picture[1])
    assert svg.headers["content-type"].startswith("image/svg+xml")
    assert "Layout 1 of 2, pear toss" in svg.text
    assert client.get(f"{SHEET}/layout/9.svg", params={"of": of(html)}).status_code == 404


def test_chosen_pages_are_printed(client: TestClient) -> None:
    """All of them, but the sheet for whoever types commands, or those that are ticked, for the printer's paper."""
    html = wait_for(client, SHEET, "Make the PDF")
    asked = {"of": of(html), "size": "A4", "only": ["1", "labels"]}
    some = PdfReader(BytesIO(client.get(f"{SHEET}/plan.pdf", params=asked).content)).pages
    whole = client.get(f"{SHEET}/plan.pdf", params={"of": of(html)}).content
    assert len(some) == 2
    assert "pear toss" in some[0].extract_text()
    assert float(some[0].mediabox.width) == pytest.approx(595.28, abs=0.01)
    texts = [page.extract_text() for page in PdfReader(BytesIO(whole)).pages]
    assert len(texts) > 4
    assert not any("nesting plan" in text for text in texts)
    asked["only"] = ["all of it"]
    assert client.get(f"{SHEET}/plan.pdf", params=asked).status_code == 400


def test_a_plan_that_is_forgotten_is_told(client: TestClient) -> None:
    """An address of an answer that is no longer kept says so."""
    wait_for(client, SHEET, "6 of 12 cards")
    answer = client.get(f"{SHEET}/plan.pdf", params={"of": "0123456789abcdef"})
    assert answer.status_code == 404
    assert "load the sheet again" in answer.text


def test_cut_files_come_packed(client: TestClient) -> None:
    """With the page that says how to use them; what cannot be made is said in words."""
    html = wait_for(client, SHEET, "Make the files")
    asked = {"of": of(html), "gap": "0", "lettering": "yes"}
    packed = client.get(f"{SHEET}/cut-files.zip", params=asked).content
    names = ZipFile(BytesIO(packed)).namelist()
    assert names[-2:] == ["test-squares.svg", "cut-files.pdf"]
    assert "01-pear-toss.svg" in names
    wide = client.get(f"{SHEET}/cut-files.zip", params=asked | {"gap": "2"})
    assert wide.status_code == 422
    assert "Nothing was made" in wide.text
    wrong = client.get(f"{SHEET}/cut-files.zip", params=asked | {"gap": "a bit"})
    assert wrong.status_code == 422
    assert "a bit" in wrong.text


def test_pictures_of_finished_cards(client: TestClient) -> None:
    """As SVG to look at, as PNG to keep."""
    html = wait_for(client, SHEET, "Pictures of the finished cards")
    asked = {"of": of(html)}
    assert "<svg" in client.get(f"{SHEET}/card/0.svg", params=asked).text
    png = client.get(f"{SHEET}/card/0.png", params=asked)
    assert png.content[1:4] == b"PNG"
    assert png.headers["content-disposition"] == 'attachment; filename="01-windfall.png"'
    assert client.get(f"{SHEET}/card/7.png", params=asked).status_code == 404
    assert client.get(f"{SHEET}/card/0.gif", params=asked).status_code == 404


def test_two_plans_side_by_side(client: TestClient) -> None:
    """The plan that is held stands beside the plan of the batch as it is, until it is let go."""
    html = wait_for(client, SHEET, "Hold this plan")
    client.post(f"{SHEET}/hold", data={"of": of(html)}, headers=SCRIPT)
    assert "A plan is held." in client.get(SHEET).text
    client.post(f"{SHEET}/set", data={"/cards/windfall/make": "6"}, headers=SCRIPT)
    html = wait_for(client, SHEET, "All 6 cards")
    assert re.search(r"complete cards</th><td>6 of 6\*?\s*</td><td>6 of 12", html)
    assert "<svg" in client.get(f"{SHEET}/side-by-side.svg", params={"of": of(html)}).text
    client.post(f"{SHEET}/hold", data={"let-go": "yes"}, headers=SCRIPT)
    assert "side-by-side.svg" not in client.get(SHEET).text
    assert client.get(f"{SHEET}/side-by-side.svg", params={"of": of(html)}).status_code == 404


def test_what_is_found_comes_as_news(tmp_path: Path) -> None:
    """The parts that show the answer are told as it is found, and then only those that change."""
    folder = supper_in(tmp_path)

    async def story() -> None:
        async with Answering(folder) as answering:
            told = [part async for part in until_proven(answering.news("supper.yaml"))]
            assert bar(told[0]["bar"]).startswith("Counting the sheets")
            assert any("Layout 1 of 2" in parts.get("my_plan", "") for parts in told[1:])
            assert all("changes-words" not in parts for parts in told[1:])

    asyncio.run(asyncio.wait_for(story(), PATIENCE))


def breaks_off(_send: object, _batch: object) -> None:
    """Work with a mistake in it."""
    raise ArithmeticError("this work is wrong")


def test_a_mistake_of_ours_is_said_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """On the page for as long as the batch is as it is, and not tried over and over again."""
    folder = supper_in(tmp_path)

    async def story() -> None:
        async with Answering(folder) as answering:
            monkeypatch.setattr("nesting.page.requests.answering.find_suggestions", breaks_off)
            news = answering.news("supper.yaml")
            async for _ in until_proven(news):
                pass
            opened = folder.open("supper.yaml")
            answering.searches.look(answering.of(opened), breaks_off, None)
            async for parts in news:
                if "by a mistake of this program" in parts.get("changes-words", ""):
                    break
            assert "by a mistake of this program" in answering.parts(opened)["enough"]

    asyncio.run(asyncio.wait_for(story(), PATIENCE))
    assert capfd.readouterr().err.count("this work is wrong\n") == 1


async def until_proven(news: AsyncIterator[dict[str, str]]) -> AsyncIterator[dict[str, str]]:
    """News up to the whole answer."""
    async for parts in news:
        yield parts
        if "proven</span>" in parts.get("bar", "") and "aria-busy" not in parts["bar"]:
            break


def test_news_is_sent_as_lines_of_data(tmp_path: Path) -> None:
    """A browser reads it as server-sent events, behind no cache."""
    folder = supper_in(tmp_path)
    app = make_app(folder, lambda: None)
    sent: list[bytes] = []

    async def story() -> None:
        enough = asyncio.Event()

        async def receive() -> dict[str, str]:
            await enough.wait()
            return {"type": "http.disconnect"}

        async def send(message: MutableMapping[str, Any]) -> None:
            sent.append(message.get("body", b""))
            if b"proven" in sent[-1]:
                enough.set()

        scope = {
            "type": "http", "method": "GET", "path": f"{SHEET}/news", "headers": [],
            "query_string": b"", "app": app,
        }  # fmt: skip
        async with Answering(folder) as answering:
            app.state.answering = answering
            await app(scope, receive, send)

    asyncio.run(asyncio.wait_for(story(), PATIENCE))
    lines = b"".join(sent).decode().splitlines()
    assert all(not line or line.startswith("data: ") for line in lines)
    assert 'data: <p id="bar" data-version="1" aria-busy="true">' in lines


def test_news_goes_on_after_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    """Another program may have written half of it: a browser that is refused once asks no more."""
    folder = supper_in(tmp_path)
    file = tmp_path / "supper.yaml"
    file.write_text("papers: [")

    async def story() -> str:
        async with Answering(folder) as answering:
            news = answering.news(file.name)
            told = asyncio.ensure_future(anext(news))
            await asyncio.sleep(0)
            file.write_text(SUPPER)
            answering.searches.tell()
            parts = await told
            await news.aclose()
            return parts["bar"]

    assert 'id="bar"' in asyncio.run(asyncio.wait_for(story(), PATIENCE))


def test_names_are_text(client: TestClient, tmp_path: Path) -> None:
    """A name that looks like markup is shown as it is written."""
    text = SUPPER.replace("pear toss", "'<b>pear & toss</b>'")
    (tmp_path / "supper.yaml").write_text(text)
    html = wait_for(client, SHEET, "6 of 12 cards")
    assert "<b>pear" not in html
    assert "&lt;b&gt;pear &amp; toss&lt;/b&gt; lacks 1 sheet" in html


def test_an_empty_batch_has_nothing_to_count(client: TestClient, tmp_path: Path) -> None:
    """Papers and no cards yet: the bar says what comes first."""
    (tmp_path / "supper.yaml").write_text(SUPPER[: SUPPER.index("cards:")])
    assert bar(client.get(SHEET).text) == "First, your cards."


def test_a_face_is_chosen_with_its_paper() -> None:
    """Of a paper that is printed on both sides, the one face that is ticked stands in the file."""
    text = SUPPER.replace("front: four-way", "front: four-way, back: four-way")
    draft = Draft(read_draft(text, "supper.yaml"))
    fields = {"pointer": "/cards/windfall/layers/0", "may be pear toss/back": "yes"}
    changed, words = choose_papers(draft, fields)
    assert changed.batch is not None
    layer = changed.batch.cards[0].layers[0]
    assert (layer.paper, layer.face) == ("pear toss", "back")
    assert words == "pear toss/back for windfall"
