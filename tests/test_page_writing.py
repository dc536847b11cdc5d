"""The page's forms, with a browser and without its script."""

import re
import shutil
from collections.abc import Iterator
from html import unescape
from io import BytesIO
from pathlib import Path
from urllib.parse import quote

import pytest
from project import SAMPLES
from starlette.testclient import TestClient

from nesting.draw.canvas.lettering import TIE
from nesting.page.folder.batch_folder import BatchFolder
from nesting.page.serving import make_app
from nesting.papers import Face, Paper, Sheet
from nesting.stash import Stash, StashOffcut

SCRIPT = {"accept": "text/html-parts"}


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    """The page of a folder with the sample in it."""
    shutil.copy(SAMPLES / "orchard.yaml", tmp_path)
    with TestClient(make_app(BatchFolder(tmp_path), lambda: None)) as one:
        yield one


def written(folder: Path) -> str:
    """The sample as it is now."""
    return (folder / "orchard.yaml").read_text("utf-8")


def test_the_first_screen_has_the_batches_of_the_folder(client: TestClient) -> None:
    """By the names that they give themselves, with a form to begin another."""
    html = client.get("/").text
    assert '<a href="/batch/orchard.yaml">Orchard autumn cards</a>' in html
    assert 'action="/begin"' in html


def test_a_batch_is_begun_by_its_name(client: TestClient, tmp_path: Path) -> None:
    """The file is named after the batch, and never one that is there."""
    for file in ("orchard-2.yaml", "orchard-3.yaml"):
        answer = client.post("/begin", data={"name": "Orchard", "unit": "mm"})
        assert answer.url.path == f"/batch/{file}"
        assert (tmp_path / file).read_text().startswith("batch: Orchard\nunit: mm\ntrimmer:")
    refused = client.post("/begin", data={"name": " ", "unit": "mm"})
    assert refused.status_code == 422
    assert ">&#39;&#39;; expected a name" in refused.text


def test_a_change_is_written_at_once_and_answered_by_what_changed(
    client: TestClient, tmp_path: Path
) -> None:
    """One line of the file is another; only its step comes back."""
    client.get("/batch/orchard.yaml")
    before = written(tmp_path)
    data = {"/papers/pear toss/have": "4", "version": "1"}
    answer = client.post("/batch/orchard.yaml/set", data=data, headers=SCRIPT)
    assert written(tmp_path) == before.replace("have: 3", "have: 4", 1)
    assert re.findall(
        r'<(?:section|details class="entry"|span class="answer") id="([^"]*)"', answer.text
    ) == ["papers-answer", "%2Fpapers%2Fpear%20toss"]
    assert "Undo: pear toss how many" in answer.text


def test_a_form_without_script_changes_only_what_was_typed(
    client: TestClient, tmp_path: Path
) -> None:
    """A form that was shown before somebody else changed the file does not change that back."""
    client.get("/batch/orchard.yaml")
    text = written(tmp_path).replace("have: 10", "have: 11")
    (tmp_path / "orchard.yaml").write_text(text)
    data = {
        "/papers/pear toss/have": "4",
        "/papers/brick cardstock/have": "10",
        "/papers/brick cardstock/buy": "true",
        "version": "1",
        "step": "papers",
    }
    answer = client.post("/batch/orchard.yaml/set", data=data, follow_redirects=False)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/batch/orchard.yaml?open=papers#papers"
    assert written(tmp_path) == text.replace("have: 3", "have: 4", 1)


def test_what_cannot_be_read_is_kept_and_said_beside_its_field(
    client: TestClient, tmp_path: Path
) -> None:
    """Without the file's key, which the maker does not know: the field has its label."""
    data = {"/papers/pear toss/have": "a few"}
    answer = client.post("/batch/orchard.yaml/set", data=data, headers=SCRIPT)
    assert "    have: a few\n" in written(tmp_path)
    words = "&#39;a few&#39;; expected the number of sheets at hand, plenty, or stash"
    assert answer.text.count(f">{words}<") == 1


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        (
            "windfall supper/make",
            "",
            "nothing; expected the number of cards, or as many as possible",
        ),
        (
            "windfall supper/layers/1/face",
            "",
            "no face, and &#39;pear toss&#39; is printed on both; expected front or back",
        ),
    ],
)
def test_what_is_missing_is_said_beside_its_field(
    client: TestClient, field: str, text: str, words: str
) -> None:
    """There, too, without the file's key."""
    data = {f"/cards/{field}": text, "card": "windfall supper"}
    answer = client.post("/batch/orchard.yaml/set", data=data, headers=SCRIPT)
    assert f">{words}<" in answer.text.replace("\N{NO-BREAK SPACE}", " ")


def test_undo_names_what_it_takes_back_as_the_page_does(client: TestClient) -> None:
    """A layer goes by its own name, and what is ticked as yes is not called true."""
    for name, text, words in (
        ("/cards/windfall supper/layers/2/height", "1", "band height: 1"),
        ("/papers/pear toss/buy", "true", "pear toss can be bought again: yes"),
        ("/pieces/0/count", "7", "jar tag how many: 7"),
    ):
        answer = client.post("/batch/orchard.yaml/set", data={name: text}, headers=SCRIPT)
        assert f"Undo: {words}<" in answer.text
    pointer = {"pointer": "/cards/windfall supper/layers/2"}
    answer = client.post("/batch/orchard.yaml/remove", data=pointer, headers=SCRIPT)
    assert "Undo: band taken out<" in answer.text


def test_an_evening_is_taken_back_and_made_again(client: TestClient, tmp_path: Path) -> None:
    """Step by step to the file as it was opened, and forward again."""
    client.get("/batch/orchard.yaml")
    texts = [written(tmp_path)]
    for have in ("4", "5", "6"):
        client.post("/batch/orchard.yaml/set", data={"/papers/pear toss/have": have})
        texts.append(written(tmp_path))
    for text in texts[-2::-1]:
        client.post("/batch/orchard.yaml/undo")
        assert written(tmp_path) == text
    client.post("/batch/orchard.yaml/undo")
    assert written(tmp_path) == texts[0]
    for text in texts[1:]:
        client.post("/batch/orchard.yaml/redo")
        assert written(tmp_path) == text


def test_a_paper_is_added_and_taken_out(client: TestClient, tmp_path: Path) -> None:
    """Its name is text, whatever it is; a name that is there is refused, and nothing is lost."""
    client.get("/batch/orchard.yaml")
    before = written(tmp_path)
    name = '<script>alert("kraft #2")</script>'
    data = {"pointer": "/papers", "name": name}
    answer = client.post("/batch/orchard.yaml/add", data=data, headers=SCRIPT)
    assert "<script>alert" not in answer.text
    assert client.post("/batch/orchard.yaml/add", data=data, headers=SCRIPT).status_code == 422
    pointer = "/papers/" + name.replace("/", "~1")
    client.post("/batch/orchard.yaml/remove", data={"pointer": pointer})
    assert written(tmp_path) == before


def test_a_name_is_there_already_however_its_accents_are_typed(
    client: TestClient, tmp_path: Path
) -> None:
    """A letter and its accent are one character in what the page writes, and taken for it."""
    for name, status in (("pa\u0302te", 200), ("p\xe2te", 422)):
        data = {"pointer": "/papers", "name": name}
        answer = client.post("/batch/orchard.yaml/add", data=data, headers=SCRIPT)
        assert answer.status_code == status
    assert "p\xe2te:" in written(tmp_path)


def test_what_uses_a_paper_follows_its_new_name(client: TestClient, tmp_path: Path) -> None:
    """Layers and loose pieces name it as before."""
    data = {"name:/papers/cream cardstock": "pale, thick"}
    client.post("/batch/orchard.yaml/set", data=data)
    text = written(tmp_path)
    assert "cream cardstock" not in text
    assert "  pale, thick: {sheet: 8 1/2 x 11" in text
    assert "base: {paper: 'pale, thick', fold: left}" in text


def test_a_file_that_is_no_yaml_is_said_and_left(client: TestClient, tmp_path: Path) -> None:
    """Its faults have line and column; the file stays as it is."""
    (tmp_path / "torn.yaml").write_text("batch: [\n")
    answer = client.get("/batch/torn.yaml")
    assert answer.status_code == 422
    assert "torn.yaml:2:1" in answer.text
    assert (tmp_path / "torn.yaml").read_text() == "batch: [\n"
    (tmp_path / "torn.yaml").write_bytes(b"batch: \xff\n")
    assert "a byte that is not UTF-8" in client.get("/batch/torn.yaml").text


def test_only_files_of_the_folder_are_opened(client: TestClient) -> None:
    """No other name is there, however it is written."""
    for name in ("other.yaml", "..%2Forchard.yaml", ".nesting-page.sqlite"):
        assert client.get(f"/batch/{name}").status_code == 404


def test_another_unit_changes_no_size(client: TestClient, tmp_path: Path) -> None:
    """Lengths get the unit that they were in, the trimmer what one is in the other unit."""
    before = BatchFolder(tmp_path).open("orchard.yaml").draft.batch
    client.post("/batch/orchard.yaml/set", data={"/unit": "mm"})
    after = BatchFolder(tmp_path).open("orchard.yaml").draft.batch
    assert before is not None
    assert after is not None
    assert (after.unit, after.cards, after.papers) == ("mm", before.cards, before.papers)
    assert "trimmer: {kind: sliding, marks: 1, longest cut: 310," in written(tmp_path)
    assert "have: 3\n" in written(tmp_path)


def test_a_paper_named_like_a_key_keeps_its_numbers(client: TestClient, tmp_path: Path) -> None:
    """Only what is a length by its key gets a unit."""
    (tmp_path / "odd.yaml").write_text(
        "batch: 5 x 7\nunit: in\npapers:\n  size: {sheet: letter, have: 3, edge trim: {left: 1/8}}\n"
    )
    client.post("/batch/odd.yaml/set", data={"/unit": "cm"})
    assert (tmp_path / "odd.yaml").read_text() == (
        "batch: 5 x 7\nunit: cm\npapers:\n"
        "  size: {sheet: letter, have: 3, edge trim: {left: 1/8 in}}\n"
    )


def test_layers_over_a_layer_follow_its_new_name(client: TestClient, tmp_path: Path) -> None:
    """Those of its own card."""
    data = {"/cards/windfall supper/layers/1/name": "field"}
    client.post("/batch/orchard.yaml/set", data=data)
    text = written(tmp_path)
    assert text.count("name: panel") == 2
    assert text.count("over: field") == 2
    assert BatchFolder(tmp_path).open("orchard.yaml").draft.faults == {}


@pytest.mark.parametrize(
    ("name", "why"),
    [("", "no name"), ("Mat", "&#39;mat&#39;, which is there already")],
)
def test_a_layer_keeps_a_name_of_its_own(
    client: TestClient, tmp_path: Path, name: str, why: str
) -> None:
    """Others lie over it by that; what was typed is not lost."""
    before, field = written(tmp_path), "/cards/windfall supper/layers/1/name"
    answer = client.post("/batch/orchard.yaml/set", data={field: name}, headers=SCRIPT)
    assert f'class="fault">{why}; expected a new' in answer.text
    assert f'name="{field}" type="text" value="{name}"' in answer.text
    assert written(tmp_path) == before


def test_a_name_that_was_emptied_is_shown_so(client: TestClient) -> None:
    """With the old one in its field, typing that again changed nothing, and the fault stayed."""
    data = {"name:/cards/windfall supper": ""}
    answer = client.post("/batch/orchard.yaml/set", data=data, headers=SCRIPT)
    assert 'name="name:/cards/windfall supper" value=""' in answer.text


def test_a_name_that_is_there_is_refused_beside_its_field(
    client: TestClient, tmp_path: Path
) -> None:
    """What was typed stays in the field, with the script and without; the file stays as it was."""
    before = written(tmp_path)
    data = {"name:/papers/pear toss": "bee stripe"}
    for headers in ({}, SCRIPT):
        html = client.post("/batch/orchard.yaml/set", data=data, headers=headers).text
        assert 'name="name:/papers/pear toss" value="bee stripe"' in html
        assert "&#39;bee stripe&#39;, which is there already; expected a new name" in html
    assert written(tmp_path) == before
    assert (
        'name="name:/papers/pear toss" value="pear toss"' in client.get("/batch/orchard.yaml").text
    )


def test_a_name_may_have_any_signs(client: TestClient, tmp_path: Path) -> None:
    """Also where another one is refused."""
    client.post("/batch/orchard.yaml/set", data={"name:/papers/pear toss": "pear (toss"})
    before, field = written(tmp_path), "name:/papers/pear (toss"
    html = client.post("/batch/orchard.yaml/set", data={field: ""}, headers=SCRIPT).text
    assert "pear (toss" in before
    assert 'class="fault">no name; expected a new one' in html


@pytest.mark.parametrize(
    ("pointer", "name", "there"),
    [("/papers", "Pear Toss", "pear toss"), ("/cards", "Windfall Supper", "windfall supper")],
)
def test_a_name_in_other_capitals_is_there_already(
    client: TestClient, tmp_path: Path, pointer: str, name: str, there: str
) -> None:
    """Two papers would be counted where there is one; what is there may have its capitals changed."""
    before = written(tmp_path)
    data = {"pointer": pointer, "name": name, "size": "4 x 5"}
    answer = client.post("/batch/orchard.yaml/add", data=data, headers=SCRIPT)
    words = f"&#39;{there}&#39;, which is there already; expected a new name"
    assert answer.text.count(words) == 1
    assert 'class="fault">Not saved.<' in answer.text.partition("</form>")[0]
    assert f'name="name" value="{name}"' in answer.text
    assert written(tmp_path) == before
    client.post("/batch/orchard.yaml/set", data={f"name:{pointer}/{there}": name})
    assert f"  {name}:\n" in written(tmp_path)


def test_why_a_name_with_a_size_in_it_is_refused_is_said_once(client: TestClient) -> None:
    """Beside its field: a size is held together there, so the same words stood in the bar, too."""
    data = {"name:/papers/pear toss": "pear 3 3/4"}
    client.post("/batch/orchard.yaml/set", data=data)
    data = {"name:/papers/bee stripe": "Pear 3 3/4"}
    html = client.post("/batch/orchard.yaml/set", data=data, headers=SCRIPT).text
    assert html.count("which is there already") == 1
    assert 'class="fault">Not saved.<' in html.partition("</form>")[0]


def test_a_name_is_changed_with_what_else_was_typed(client: TestClient, tmp_path: Path) -> None:
    """Fields of the old name are put in place first."""
    data = {"name:/papers/pear toss": "pear tumble", "/papers/pear toss/have": "7"}
    client.post("/batch/orchard.yaml/set", data=data)
    paper = BatchFolder(tmp_path).open("orchard.yaml").draft.value("/papers/pear tumble")
    assert paper["have"] == "7"


def test_a_size_more_makes_a_list_of_sizes(client: TestClient, tmp_path: Path) -> None:
    """The one size that was there is the first of it, and can be taken out again."""
    pointer = "/papers/pear toss/sheets"
    client.post("/batch/orchard.yaml/add", data={"pointer": pointer})
    draft = BatchFolder(tmp_path).open("orchard.yaml").draft
    sizes = [{"size": "12 x 12", "have": "3"}, {"size": "12 x 12", "have": "0"}]
    assert draft.value(pointer) == sizes
    client.post(
        "/batch/orchard.yaml/set",
        data={f"{pointer}/1/price": "2", f"{pointer}/1/size": "6 x 12"},
    )
    client.post("/batch/orchard.yaml/remove", data={"pointer": f"{pointer}/0"})
    draft = BatchFolder(tmp_path).open("orchard.yaml").draft
    assert draft.value(pointer) == [{"size": "6 x 12", "have": "0", "price": "2"}]
    assert not draft.faults


def test_what_no_field_shows_is_named(client: TestClient, tmp_path: Path) -> None:
    """It is in the file, and stays in it."""
    (tmp_path / "odd.yaml").write_text(
        "batch: odd\nunit: in\nkeep from: [1 x 4, 2 x 2]\nfirst: windfall\n"
        "papers:\n  cream: {sheet: letter, have: 3, sheen: dull}\n"
    )
    html = client.get("/batch/odd.yaml").text.replace(TIE, " ")
    for words in ("sheen: dull", "keep from: 1 x 4, 2 x 2", "first: windfall"):
        assert f'<span class="also">{words}</span>' in html
    assert "unknown key &#39;sheen&#39;" in html


def test_a_photo_is_kept_shown_and_follows_its_paper(client: TestClient, tmp_path: Path) -> None:
    """Under the name of its paper; what is no photo is refused beside the field."""
    from PIL import Image

    data = BytesIO()
    Image.new("RGB", (40, 40), (10, 200, 10)).save(data, "PNG")
    files = {"pear toss": ("toss.png", data.getvalue()), "bee stripe": ("x.png", b"no photo")}
    html = client.post("/batch/orchard.yaml/photo", files=files).text
    assert "not read as a photo" in html
    address = re.search(r'href="(/photo\?of=pear%20toss[^"]*)"', html)
    assert address is not None
    shown = client.get(unescape(address[1]))
    assert shown.headers["content-type"] == "image/jpeg"
    assert client.get("/photo?of=bee%20stripe").status_code == 404
    client.post("/batch/orchard.yaml/set", data={"name:/papers/pear toss": "pear tumble"})
    assert client.get("/photo?of=pear%20tumble").content == shown.content


def test_the_stash_fills_in_papers_that_it_knows(tmp_path: Path) -> None:
    """A paper of that name is left to the stash, until it is written out."""
    with Stash(tmp_path / "stash.sqlite") as stash:
        sheets = (Sheet(304_800_000, 304_800_000, have=5),)
        stash.put_paper(Paper("pear toss", sheets, front=Face("two-way", "left")), "put in")
        stash.add_offcuts(StashOffcut(0, "pear toss", 76_200_000, 76_200_000))
    (tmp_path / "supper.yaml").write_text("batch: Supper\nunit: in\n")
    with TestClient(
        make_app(BatchFolder(tmp_path, tmp_path / "stash.sqlite"), lambda: None)
    ) as client:
        assert '<option value="pear toss">' in client.get("/batch/supper.yaml").text
        client.post("/batch/supper.yaml/add", data={"pointer": "/papers", "name": "pear toss"})
        assert (tmp_path / "supper.yaml").read_text().endswith("papers:\n  pear toss: stash\n")
        html = client.get("/batch/supper.yaml").text
        assert "5 sheets of 12 x 12 in, 1 offcut of 3 x 3 in</span>" in html.replace(TIE, " ")
        assert "1 paper</span>" in html  # sheets of the stash are counted there
        client.post("/batch/supper.yaml/write-out", data={"pointer": "/papers/pear toss"})
    draft = BatchFolder(tmp_path).open("supper.yaml").draft
    assert draft.value("/papers/pear toss/sheets/0/have") == "5"
    assert draft.value("/papers/pear toss/front") == {"print": "two-way", "up": "left"}
    assert draft.batch is not None


def test_a_new_entry_brings_its_whole_step(client: TestClient) -> None:
    """What is put in place has a place already; what else changes is brought by itself."""
    client.get("/batch/orchard.yaml")
    data = {"pointer": "/papers", "name": "new", "version": "1"}
    html = client.post("/batch/orchard.yaml/add", data=data, headers=SCRIPT).text
    assert '<section id="papers"' in html
    assert '<section id="trimmer"' not in html
    data = {"/papers/new/buy": "false", "version": "2"}
    html = client.post("/batch/orchard.yaml/set", data=data, headers=SCRIPT).text
    assert '<section id="papers"' not in html
    assert '<details class="entry" id="%2Fpapers%2Fnew"' in html


def test_as_many_as_possible_is_a_button(client: TestClient, tmp_path: Path) -> None:
    """It is pressed beside the number, which it takes the place of; its limits are asked then."""
    html = client.get("/batch/orchard.yaml").text
    pointer = "/cards/windfall supper/make"
    assert f'name="{pointer}" value="as many as possible"' in html
    assert "/cards/windfall supper/at most" not in html
    assert "none is bought for it" not in html
    fields = f"{quote(pointer)}=8&{quote(pointer)}=as%20many%20as%20possible"
    form = {"content-type": "application/x-www-form-urlencoded"}
    html = client.post("/batch/orchard.yaml/set", content=fields, headers=form).text
    assert "24 cards, as many windfall supper as possible" in html
    assert "none is bought for it" in html
    client.post(
        "/batch/orchard.yaml/set", data={"/cards/windfall supper/at most": "20", "/aim": "even"}
    )
    opened = BatchFolder(tmp_path).open("orchard.yaml").draft
    assert opened.batch is not None
    assert (opened.batch.cards[0].make, opened.batch.cards[0].at_most) == (None, 20)
    assert opened.batch.aim == "even"
    html = client.post("/batch/orchard.yaml/set", data={pointer: "6"}).text
    assert 'name="/cards/windfall supper/at most" type="text" value="20"' in html
    assert "at most" in str(BatchFolder(tmp_path).open("orchard.yaml").draft.faults)


def test_a_file_torn_elsewhere_can_be_had_as_it_was(client: TestClient, tmp_path: Path) -> None:
    """Its page says what is wrong with it, and takes it back; no change is made of it meanwhile."""
    client.get("/batch/orchard.yaml")
    before = written(tmp_path)
    (tmp_path / "orchard.yaml").write_text("batch: [")
    answer = client.post("/batch/orchard.yaml/set", data={"/unit": "mm"}, headers=SCRIPT)
    assert answer.status_code == 409
    assert 'action="/batch/orchard.yaml/undo"' in client.get("/batch/orchard.yaml").text
    assert client.post("/batch/orchard.yaml/undo").status_code == 200
    assert written(tmp_path) == before


def test_a_layer_is_not_taken_for_another_one(client: TestClient, tmp_path: Path) -> None:
    """Where layers were moved in another window, the number of an old form means another layer."""
    client.get("/batch/orchard.yaml")
    pointer = "/cards/windfall supper/layers/0"
    client.post(
        "/batch/orchard.yaml/move", data={"pointer": pointer, "to": "later", "version": "1"}
    )
    before = written(tmp_path)
    for address, data in (
        ("remove", {"pointer": pointer}),
        ("set", {f"{pointer}/reveal": "1/4"}),
    ):
        form = {**data, "version": "1"}
        answer = client.post(f"/batch/orchard.yaml/{address}", data=form)
        assert answer.status_code == 409
        assert written(tmp_path) == before


def test_nothing_is_put_into_a_card_that_is_gone(client: TestClient, tmp_path: Path) -> None:
    """A window that does not know its new name yet would begin a second one under the old."""
    card = "/cards/windfall supper"
    client.post("/batch/orchard.yaml/set", data={f"name:{card}": "late supper"})
    before = written(tmp_path)
    for address, data in (
        ("add?kind=circle", {"pointer": f"{card}/layers"}),
        ("set", {f"{card}/size": "4 x 5"}),
    ):
        assert client.post(f"/batch/orchard.yaml/{address}", data=data).status_code == 409
        assert written(tmp_path) == before


def test_what_was_taken_back_is_not_taken_for_what_came_instead(
    client: TestClient, tmp_path: Path
) -> None:
    """A window that still shows it cannot say which layer it means."""
    client.get("/batch/orchard.yaml")
    layers = "/cards/windfall supper/layers"
    client.post("/batch/orchard.yaml/set", data={"/papers/pear toss/have": "4"})
    client.post("/batch/orchard.yaml/undo")
    client.post("/batch/orchard.yaml/remove", data={"pointer": f"{layers}/0"})
    before = written(tmp_path)
    last = {"pointer": f"{layers}/3", "version": "2"}
    assert client.post("/batch/orchard.yaml/remove", data=last).status_code == 409
    assert written(tmp_path) == before


def test_only_what_is_shown_as_the_last_change_is_taken_back(
    client: TestClient, tmp_path: Path
) -> None:
    """The button of another window names an earlier one."""
    client.get("/batch/orchard.yaml")
    for have in "45":
        client.post("/batch/orchard.yaml/set", data={"/papers/pear toss/have": have})
    before = written(tmp_path)
    answer = client.post("/batch/orchard.yaml/undo", data={"version": "2"}, headers=SCRIPT)
    assert answer.status_code == 409
    assert written(tmp_path) == before
    client.post("/batch/orchard.yaml/undo", data={"version": "3"}, headers=SCRIPT)
    assert written(tmp_path) == before.replace("have: 5", "have: 4", 1)


def test_what_cannot_be_done_is_said_on_a_page(client: TestClient, tmp_path: Path) -> None:
    """With a way back: to the sheet, or to all batches where there is no such sheet."""
    sheet = "/batch/orchard.yaml"
    lost = client.get("/batch/other.yaml")
    stale = client.post(f"{sheet}/set", data={"/unit": "mm", "version": "7"})
    gone = client.get(f"{sheet}/plan.pdf", params={"of": "gone"})
    for answer, status, words, back in (
        (lost, 404, "What this is about is not there", "/"),
        (stale, 409, "This was changed elsewhere meanwhile", sheet),
        (gone, 404, "This plan is no longer at hand", sheet),
    ):
        assert answer.status_code == status
        assert words in answer.text
        assert f'<a class="button" href="{back}">' in answer.text
        assert "/static/page.css" in answer.text
    assert "unit: in" in written(tmp_path)


def test_a_mistake_of_the_program_is_said_on_a_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not in small letters, and without what only a programmer reads."""

    def break_down(*_: object) -> None:
        raise RuntimeError("a mistake")

    monkeypatch.setattr(BatchFolder, "names", break_down)
    app = make_app(BatchFolder(tmp_path), lambda: None)
    with TestClient(app, raise_server_exceptions=False) as client:
        answer = client.get("/")
    assert answer.status_code == 500
    assert "by a mistake of this program" in answer.text
    assert "RuntimeError" not in answer.text
    assert "/static/page.css" in answer.text


@pytest.mark.parametrize(
    ("how", "fields"),
    [
        ("add", {"pointer": "/papers", "name": "kraft"}),
        ("add", {"pointer": "/cards/windfall supper/layers", "kind": "circle"}),
        ("copy", {"pointer": "/cards/windfall supper"}),
        ("remove", {"pointer": "/cards/windfall supper/layers/1"}),
        ("move", {"pointer": "/cards/windfall supper/layers/1"}),
        ("set", {"/papers/pear toss/have": "4"}),
        ("undo", {}),
    ],
)
def test_one_press_is_done_once(
    client: TestClient, tmp_path: Path, how: str, fields: dict[str, str]
) -> None:
    """Where its answer is lost the script asks again, by the same name; what is there now is shown."""
    for have in ("5", "6", "7"):
        client.post("/batch/orchard.yaml/set", data={"/papers/pear toss/have": have})
    before = written(tmp_path)
    form = {**fields, "version": "4", "press": "0.5"}
    first = client.post(f"/batch/orchard.yaml/{how}", data=form, headers=SCRIPT)
    after = written(tmp_path)
    assert after != before
    again = client.post(f"/batch/orchard.yaml/{how}", data=form, headers=SCRIPT)
    assert written(tmp_path) == after
    assert again.status_code == first.status_code == 200
    copied = 'name="card" value="windfall supper 2"'
    assert (copied in again.text) is (copied in first.text) is (how == "copy")
