"""Step 3: cards that grow by layers, with and without the script."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from project import SAMPLES
from starlette.testclient import TestClient

from nesting.files import read_batch, read_draft
from nesting.page.folder.batch_folder import BatchFolder
from nesting.page.folder.draft import Draft
from nesting.page.serving import make_app
from nesting.page.steps import cards
from nesting.page.steps.card_sizes import laid_down, named_sizes
from nesting.page.steps.layer_kinds import LAYER_KINDS
from nesting.page.steps.showing import Showing
from nesting.papers import Edges, Face, Paper, Sheet
from nesting.stash import Stash
from nesting.typed_lengths import parse_card_size, parse_length

SCRIPT = {"accept": "text/html-parts"}
CARD = "/cards/windfall supper"
LAYERS = f"{CARD}/layers"


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    """The page of a folder with the sample in it."""
    shutil.copy(SAMPLES / "orchard.yaml", tmp_path)
    with TestClient(make_app(BatchFolder(tmp_path), lambda: None)) as one:
        yield one


def change(client: TestClient, how: str, **fields: str) -> str:
    """Do as the script does; the HTML of the steps that changed."""
    answer = client.post(f"/batch/orchard.yaml/{how}", data=fields, headers=SCRIPT)
    assert answer.status_code == 200
    return answer.text


def put(client: TestClient, **fields: str) -> str:
    """Type into fields of the first card's layers, named by what comes after ``layers/``."""
    typed = {
        f"{LAYERS}/{key.replace('__', '/').replace('_', ' ')}": text for key, text in fields.items()
    }
    return change(client, "set", **typed)


def draft_of(folder: Path) -> Draft:
    """The sample as it is now."""
    return Draft(read_draft((folder / "orchard.yaml").read_text("utf-8"), "orchard.yaml"))


def sizes_in(html: str) -> list[str]:
    """The sizes beside the layers' names."""
    sizes = re.findall(r'class="size"[^>]*>([^<]*)<', html)
    return [one.replace("\N{NO-BREAK SPACE}", " ") for one in sizes]


def drawn_in(html: str) -> list[str]:
    """The layers in the pictures, from the bottom up."""
    return re.findall(r'data-layer="([^"]*)"', html)


def test_one_card_is_shown_whole_and_the_others_by_name(client: TestClient) -> None:
    """Its pictures, its layers with their sizes; a link leads to each other card."""
    html = client.get("/batch/orchard.yaml").text
    assert drawn_in(html) == ["mat", "panel", "band", "moon", "inside"]
    assert sizes_in(html)[:4] == ["4 x 5 1/4 in", "3 3/4 x 5 in", "3 3/4 x 1 1/4 in", "2 in circle"]
    assert "card=cider%20market#cards" in html
    other = client.get("/batch/orchard.yaml?open=cards&card=honey thanks").text
    assert drawn_in(other) == ["panel", "label"]


@pytest.mark.parametrize("unit", ["in", "mm", "cm"])
def test_every_named_size_reads_back_as_it_is(unit: str) -> None:
    """What a name stands for is written so that the file's unit does not change it."""
    of_inches = dict(parse for _, sizes in named_sizes("in") for parse in sizes.items())
    here = [text for _, sizes in named_sizes(unit) for text in sizes]  # type: ignore[arg-type]
    read = {parse_card_size(text, unit) for text in here}  # type: ignore[arg-type]
    assert read == {parse_card_size(text, "in") for text in of_inches}


def test_a_name_of_two_sizes_stands_with_its_measures() -> None:
    """A6 is 4 1/2 x 6 1/4 in where cards are sold by the inch, and 105 x 148 mm in ISO 216."""
    words = [shown for _, sizes in named_sizes("in") for shown in sizes.values()]
    assert "A6 of the trade: 4 1/2 x 6 1/4 in" in words
    assert "A6 of ISO: 105 x 148 mm" in words


@pytest.mark.parametrize(
    ("size", "lying"),
    [
        ("4 1/4 x 5 1/2", "5 1/2 x 4 1/4"),
        ("105 x 148 mm", "148 x 105 mm"),
        ("5 x 7 in", "7 x 5 in"),
    ],
)
def test_a_size_is_laid_on_its_side(size: str, lying: str) -> None:
    """Width and height change places, the unit stays behind them."""
    assert laid_down(size) == lying


def test_a_card_starts_from_its_size(client: TestClient, tmp_path: Path) -> None:
    """With a base of the first plain paper, folded as it stands; it is the card that is shown."""
    html = change(client, "add", pointer="/cards", name="perry night", size="5 x 7", lies="yes")
    assert "<legend>perry night</legend>" in html
    card = draft_of(tmp_path).file.value(("cards", "perry night"))
    base = {"paper": "brick cardstock", "fold": "top"}
    assert card == {"make": "8", "size": "7 x 5", "base": base}


def test_a_card_starts_from_what_the_stash_has(tmp_path: Path) -> None:
    """What is printed on both faces, as the stash says, is no base, and its layers say which face shows.

    Its papers are known however their names are typed.
    """
    sheets = (Sheet(304_800_000, 304_800_000, have=2),)
    with Stash(tmp_path / "stash.sqlite") as stash:
        stash.put_paper(
            Paper("pear toss", sheets, front=Face("four-way"), back=Face("one-way")), "put in"
        )
        stash.put_paper(Paper("cream", sheets), "put in")
    (tmp_path / "orchard.yaml").write_text("batch: Supper\nunit: in\npapers: {pear toss: stash}\n")
    folder = BatchFolder(tmp_path, tmp_path / "stash.sqlite")
    with TestClient(make_app(folder, lambda: None)) as client:
        change(client, "add", pointer="/papers", name="Cream")
        change(client, "add", pointer="/cards", name="perry night", size="5 x 5")
        html = change(client, "add", pointer="/cards/perry night/layers", kind="mat")
    assert "back, one-way" in html
    batch = folder.open("orchard.yaml").draft.batch
    assert batch is not None
    base, (layer,) = batch.cards[0].base, batch.cards[0].layers
    assert (base and base.paper, layer.paper, layer.face) == ("cream", "pear toss", "front")


@pytest.mark.parametrize("kind", LAYER_KINDS)
def test_every_kind_of_layer_can_be_cut_as_it_starts(
    client: TestClient, tmp_path: Path, kind: str
) -> None:
    """On a card with layers and on one without any, its name is new and its paper another one."""
    change(client, "add", pointer="/cards", name="perry night", size="5 x 7")
    for card in ("windfall supper", "perry night"):
        html = change(client, "add", pointer=f"/cards/{card}/layers", kind=kind, card=card)
        assert "aria-invalid" not in html
    batch = read_batch(tmp_path / "orchard.yaml")
    for card in (batch.cards[0], batch.cards[-1]):
        layer = card.layers[-1]
        assert layer.paper != (card.base and card.base.paper) or layer.over != "card"
        assert layer.where == {"inside": "inside", "behind": "behind"}.get(kind, "outside")


def test_layers_grow_one_on_another(client: TestClient, tmp_path: Path) -> None:
    """Two mats, a band on the upper one, a circle on that one too, not on the band."""
    change(client, "add", pointer="/cards", name="perry night", size="5 x 7")
    for kind in ("mat", "mat", "band", "circle"):
        change(client, "add", pointer="/cards/perry night/layers", kind=kind)
    layers = read_batch(tmp_path / "orchard.yaml").cards[-1].layers
    assert [(layer.name, layer.over) for layer in layers] == [
        ("mat", "card"), ("panel", "mat"), ("band", "panel"), ("circle", "panel"),
    ]  # fmt: skip


def test_a_print_is_not_taken_for_a_mat(client: TestClient, tmp_path: Path) -> None:
    """Plain on the card itself and on a print, a print on what is plain: the first paper may be the scarcest."""
    change(client, "add", pointer="/cards", name="perry night", size="5 x 7")
    for kind in ("mat", "mat", "mat", "circle", "inside"):
        change(client, "add", pointer="/cards/perry night/layers", kind=kind)
    change(client, "add", pointer="/pieces")
    batch = read_batch(tmp_path / "orchard.yaml")
    layers, papers = batch.cards[-1].layers, batch.papers_by_name
    printed = [bool(papers[one.paper].printed_faces) for one in (*layers, batch.pieces[-1])]
    assert printed == [False, True, False, True, False, False]


def test_a_layer_beside_the_card_is_asked_about_where_its_place_is_typed(
    client: TestClient,
) -> None:
    """It was told in the picture and in the plan alone."""
    asked = "lies wholly beside the card; is that meant?"
    assert asked not in put(client, **{"2__at__bottom": "5"})
    assert f"band: {asked}" in put(client, **{"2__at__bottom": "6"})


def test_a_faulty_layer_leaves_the_rest_of_the_picture(client: TestClient) -> None:
    """What lies on it goes with it; what has its own size and place stays, and so does the inside."""
    html = put(client, **{"1__reveal": "much"})
    assert drawn_in(html) == ["mat", "moon", "inside"]
    assert html.count("&#39;much&#39;; expected a length") == 1
    assert sizes_in(html)[:5] == ["4 x 5 1/4 in", "", "", "2 in circle", "4 x 5 1/4 in"]


def test_a_layer_of_an_unknown_paper_keeps_its_place(client: TestClient) -> None:
    """It is white, and what lies on it stays."""
    html = put(client, **{"1__paper": "quince dots"})
    assert drawn_in(html) == ["mat", "panel", "band", "moon", "inside"]
    panel = re.search(r'data-layer="panel">(.*?)</g>', html)
    assert panel is not None
    assert "#ffffff" in panel[1]


def test_what_no_sheet_is_large_enough_for_is_drawn(client: TestClient) -> None:
    """It is as large as it was asked for; what is wrong with it stands below its fields."""
    html = put(client, **{"2__width": "13", "2__height": "13"})
    assert drawn_in(html) == ["mat", "panel", "band", "moon", "inside"]
    assert "this is larger than every sheet of its paper" in html


def test_a_layer_without_any_size_is_not_drawn(client: TestClient) -> None:
    """Every way to say a size is offered, and nothing is made of what is not known."""
    html = put(client, **{"0__reveal": ""})
    assert drawn_in(html) == ["moon", "inside"]
    for key in ("reveal", "width", "height", "circle"):
        assert f'name="{LAYERS}/0/{key}"' in html


def test_no_fault_of_a_layer_is_hidden(client: TestClient) -> None:
    """What is seldom needed is unfolded where something in it is wrong."""
    html = put(client, **{"2__over": "panle"})
    more = re.search(r'<details id="[^"]*2-more"([^>]*)>', html)
    assert more is not None
    assert more[1].strip() == "open data-fault"
    assert "the nearest is &#39;panel&#39;" in html


def test_the_names_of_layers_are_followed(client: TestClient, tmp_path: Path) -> None:
    """Bands and circles stay on a layer that gets another name."""
    put(client, **{"1__name": "field"})
    overs = [layer.over for layer in read_batch(tmp_path / "orchard.yaml").cards[0].layers]
    assert overs == ["card", "mat", "field", "field", "card"]


def test_layers_change_places(client: TestClient, tmp_path: Path) -> None:
    """A layer that is put one higher changes places with the one above it."""
    change(client, "move", pointer=f"{LAYERS}/2")
    names = [layer.name for layer in read_batch(tmp_path / "orchard.yaml").cards[0].layers]
    assert names == ["mat", "panel", "moon", "band", "inside"]


def test_a_copy_is_shown_and_its_papers_changed_alone(client: TestClient, tmp_path: Path) -> None:
    """The copy has all layers; another paper for one of them leaves the first card as it was."""
    html = change(client, "copy", pointer=CARD, card="windfall supper")
    assert "<legend>windfall supper 2</legend>" in html
    typed = {"/cards/windfall supper 2/layers/0/paper": "bee stripe"}
    change(client, "set", **typed | {"/cards/windfall supper 2/layers/0/face": "back"})
    before, *_, after = read_batch(tmp_path / "orchard.yaml").cards
    assert [layer.name for layer in after.layers] == [layer.name for layer in before.layers]
    assert (before.layers[0].paper, after.layers[0].paper) == ("brick cardstock", "bee stripe")


def test_what_is_being_typed_is_looked_at_and_not_kept(client: TestClient, tmp_path: Path) -> None:
    """Sizes and picture as they would be; nothing while it is no length; the file stays as it is."""
    text = (tmp_path / "orchard.yaml").read_text("utf-8")
    fields = {f"{LAYERS}/1/reveal": "1/4", "card": "windfall supper"}
    answer = client.post("/batch/orchard.yaml/look", data=fields)
    assert sizes_in(answer.text)[:2] == ["4 x 5 1/4 in", "3 1/2 x 4 3/4 in"]
    fields[f"{LAYERS}/1/reveal"] = "1/"
    assert client.post("/batch/orchard.yaml/look", data=fields).status_code == 204
    assert (tmp_path / "orchard.yaml").read_text("utf-8") == text


def data_of(html: str, layer: str) -> dict[str, str]:
    """What the script is told of a layer that can be moved."""
    group = re.search(rf'<g class="layer movable" data-layer="{layer}"([^>]*)>', html)
    assert group is not None
    return dict(re.findall(r'data-([a-z-]+)="([^"]*)"', group[1]))


def test_a_layer_goes_to_the_rulers_marks(client: TestClient) -> None:
    """From edge to edge of the card: the marks are the file's own numbers, 1/16 in apart."""
    html = client.get("/batch/orchard.yaml").text
    band = data_of(html, "band")
    assert band["across-pointer"] == f"{LAYERS}/2/at/left"
    assert band["across-texts"] == "0|1/16|1/8|3/16|1/4|5/16|3/8|7/16|1/2"
    assert float(band["across-first"]) == -4 * float(band["across-apart"])
    assert band["up-pointer"] == f"{LAYERS}/2/at/bottom"
    assert (band["up-texts"].split("|")[0], band["up-texts"].split("|")[-1]) == ("0", "4 1/4")


def test_what_is_measured_from_the_right_falls_to_the_right(client: TestClient) -> None:
    """The apple's marks count from the card's right edge, its middle's height from the bottom."""
    html = client.get("/batch/orchard.yaml?card=cider market").text
    apple = data_of(html, "apple")
    texts = apple["across-texts"].split("|")
    assert apple["across-pointer"].endswith("/at/right")
    assert (texts[0], texts[-1]) == ("4", "0")
    here = round(-float(apple["across-first"]) / float(apple["across-apart"]))
    assert texts[here] == "3/4"


@pytest.mark.parametrize("layer", ["band", "moon"])
def test_every_mark_puts_the_layer_where_it_is_drawn(
    client: TestClient, tmp_path: Path, layer: str
) -> None:
    """What is written for the last marks moves the layer as far as the script has moved it."""
    html = client.get("/batch/orchard.yaml").text
    data = data_of(html, layer)
    across, up = data["across-texts"].split("|"), data["up-texts"].split("|")
    if data["across-pointer"] == data["up-pointer"]:
        fields = {data["across-pointer"]: f"{across[-1]} x {up[-1]}"}
    else:
        fields = {data["across-pointer"]: across[-1], data["up-pointer"]: up[-1]}
    before = place_in(html, layer)
    after = place_in(change(client, "set", **fields), layer)
    by = float(data["across-first"]) + (len(across) - 1) * float(data["across-apart"])
    up_by = float(data["up-first"]) + (len(up) - 1) * float(data["up-apart"])
    assert after[0] - before[0] == pytest.approx(by, abs=0.1)
    assert before[1] - after[1] == pytest.approx(up_by, abs=0.1)
    assert read_batch(tmp_path / "orchard.yaml")


def place_in(html: str, layer: str) -> tuple[float, float]:
    """Where a layer is drawn: its left edge or centre, and how far down."""
    group = re.search(rf'data-layer="{layer}".*?</g>(?!<circle)', html, re.DOTALL)
    assert group is not None
    found = re.findall(r'<(?:rect x|circle cx)="([\d.]+)" c?y="([\d.]+)"', group[0])
    return float(found[-1][0]), float(found[-1][1])


def test_metric_marks_are_millimetres(tmp_path: Path) -> None:
    """A file in millimetres has marks of 1 mm, without a unit."""
    shutil.copy(SAMPLES / "cider.yaml", tmp_path / "orchard.yaml")
    html = str(cards.view(Showing("orchard.yaml", 1, draft_of(tmp_path)))["card"]["pictures"][0][1])
    title = data_of(html, "title")
    assert title["up-pointer"].endswith("/layers/2/at/top")
    assert title["up-texts"].split("|")[-2:] == ["1", "0"]
    assert parse_length(title["up-texts"].split("|")[0], "mm") == 118_000_000


def test_papers_to_choose_from(client: TestClient, tmp_path: Path) -> None:
    """The plan may choose; another paper joins, one is left out again, until one alone is no choice."""
    html = change(client, "add", pointer=f"{LAYERS}/1/paper/one of")
    assert "The plan chooses among these" in html
    change(client, "add", pointer=f"{LAYERS}/1/paper/one of")
    layer = read_batch(tmp_path / "orchard.yaml").cards[0].layers[1]
    assert [(one.paper, one.face) for one in layer.options] == [
        ("pear toss", "front"), ("pear toss", "back"), ("bee stripe", "front"),
    ]  # fmt: skip
    change(client, "remove", pointer=f"{LAYERS}/1/paper/one of/0")
    put(client, **{"1__paper__alike": "each"})
    choice = read_batch(tmp_path / "orchard.yaml").cards[0].layers[1].choice
    assert choice is not None
    assert (choice.alike, choice.options[0].face) == ("each", "back")


def test_a_piece_needs_no_card(client: TestClient, tmp_path: Path) -> None:
    """Tags and labels are asked for by themselves, below the cards."""
    html = change(client, "add", pointer="/pieces")
    assert "Pieces that need no card: 2" in html
    change(client, "set", **{"/pieces/1/size": "3 x 1", "/pieces/1/count": "9"})
    piece = read_batch(tmp_path / "orchard.yaml").pieces[-1]
    assert (piece.name, piece.count, piece.height) == ("tag", 9, parse_length("1", "in"))


def test_without_the_script_a_layer_is_added_with_what_was_typed(
    client: TestClient, tmp_path: Path
) -> None:
    """The button's form has all fields of the step; the answer leads back to the same card."""
    fields = {
        "/cards/honey thanks/layers/1/width": "3", "pointer": "/cards/honey thanks/layers",
        "/cards/honey thanks/layers/1/where": "outside", "/cards/honey thanks/base/fold": "left",
        "card": "honey thanks", "step": "cards", "version": "1",
    }  # fmt: skip
    client.get("/batch/orchard.yaml")
    answer = client.post("/batch/orchard.yaml/add?kind=tag", data=fields, follow_redirects=False)
    assert answer.headers["location"] == "/batch/orchard.yaml?open=cards&card=honey%20thanks#cards"
    layers = read_batch(tmp_path / "orchard.yaml").cards[-1].layers
    assert [layer.name for layer in layers] == ["panel", "label", "tag"]
    assert layers[1].width == parse_length("3", "in")
    assert "where: outside" not in (tmp_path / "orchard.yaml").read_text("utf-8")


@pytest.mark.parametrize("fields", [{"kind": "kite", "pointer": LAYERS}, {"pointer": LAYERS}])
def test_no_other_kind_of_layer_is_added(client: TestClient, fields: dict[str, str]) -> None:
    """A kind that there is not is refused, and nothing is written."""
    assert client.post("/batch/orchard.yaml/add", data=fields).status_code == 400


def test_a_card_without_papers_can_be_begun(client: TestClient, tmp_path: Path) -> None:
    """It has a size and a picture; layers wait for a first paper."""
    (tmp_path / "orchard.yaml").write_text("batch: Orchard\nunit: in\npapers: {}\n")
    html = change(client, "add", pointer="/cards", name="perry night", size="5 x 7")
    assert "Layers need a paper" in html


@pytest.mark.parametrize(
    "sample", ["orchard", "cider", "orchard-choice", "orchard-short", "orchard-hidden"]
)
def test_all_of_a_card_is_shown(client: TestClient, tmp_path: Path, sample: str) -> None:
    """Nothing that the samples say of cards and loose pieces is left to be written by hand."""
    shutil.copy(SAMPLES / f"{sample}.yaml", tmp_path / "orchard.yaml")
    for card in read_batch(tmp_path / "orchard.yaml").cards:
        html = client.get("/batch/orchard.yaml", params={"card": card.name}).text
        assert f"<legend>{card.name}</legend>" in html
        assert "Also in the file" not in html


def test_how_many_is_asked_elsewhere(client: TestClient, tmp_path: Path) -> None:
    """As many as possible, at most and at least are fields of the next step, faults and all."""
    text = (tmp_path / "orchard.yaml").read_text("utf-8")
    most = "    make: as many as possible\n    at most: lots\n    at least: 2\n"
    (tmp_path / "orchard.yaml").write_text(text.replace("    make: 8\n", most, 1))
    step = client.get("/batch/orchard.yaml").text.partition('id="cards"')[2]
    step = step.partition("</section>")[0]
    assert drawn_in(step)[:2] == ["mat", "panel"]
    assert "Also in the file" not in step
    assert "lots" not in step


def test_a_card_gets_another_name_where_it_stands(client: TestClient, tmp_path: Path) -> None:
    """It stays the card that is shown, in another window, too, and the third in the file; also when that is undone."""
    html = change(client, "set", **{"name:/cards/pruning day": "graft day", "card": "pruning day"})
    assert "<legend>graft day</legend>" in html
    assert [card.name for card in read_batch(tmp_path / "orchard.yaml").cards][2] == "graft day"
    other = change(client, "set", version="1", card="pruning day")
    assert "<legend>graft day</legend>" in other
    now = {"version": "2", "card": "graft day"}
    assert "<legend>pruning day</legend>" in change(client, "undo", **now)


def test_a_band_is_made_a_belt_and_a_layer_again(client: TestClient, tmp_path: Path) -> None:
    """One choice; a belt has no ends to fold behind, and its thickness has a field once it is said."""
    html = put(client, **{"2__over": "card", "2__at/bottom": "1"})
    assert f'name="{LAYERS}/2/belt" value="false" checked' in html
    html = put(client, **{"2__belt": "true"})
    assert f'name="{LAYERS}/2/belt" value="true" checked' in html
    assert f'name="{LAYERS}/2/wrap"' not in html
    assert read_batch(tmp_path / "orchard.yaml").cards[0].layers[2].belt == parse_length(
        "1/16", "in"
    )
    html = put(client, **{"2__belt": "false"})
    assert f'name="{LAYERS}/2/wrap"' in html
    text = (tmp_path / "orchard.yaml").read_text("utf-8")
    (tmp_path / "orchard.yaml").write_text(text.replace("belt: false", "belt: {thickness: 1/4}"))
    html = put(client, **{"2__belt/thickness": "1/8"})
    assert f'name="{LAYERS}/2/belt/thickness"' in html
    assert read_batch(tmp_path / "orchard.yaml").cards[0].layers[2].belt == parse_length(
        "1/8", "in"
    )


def test_a_belt_is_drawn_whatever_comes_before_it(client: TestClient) -> None:
    """It goes round the card and lies on no layer: neither on one that is there nor on one with a fault."""
    html = put(client, **{"2__over": "", "2__belt": "yes"})
    assert "band" in drawn_in(html)
    assert "" not in sizes_in(html)
    assert drawn_in(put(client, **{"1__reveal": "nothing"})) == ["mat", "band", "moon", "inside"]


def test_what_goes_behind_at_each_edge_has_a_field(client: TestClient, tmp_path: Path) -> None:
    """Four fields where the file has lengths by edge, and what is changed stays by edge."""
    path = tmp_path / "orchard.yaml"
    band = "height: 1 1/4,"
    text = path.read_text("utf-8")
    assert text.count(band) == 1
    path.write_text(text.replace(band, f"{band} wrap: {{left: 2, right: 1}},"))
    html = put(client, **{"2__wrap/right": "1 1/2"})
    assert all(f'name="{LAYERS}/2/wrap/{edge}"' in html for edge in ("left", "right", "top"))
    wrap = read_batch(path).cards[0].layers[2].wrap
    assert wrap == Edges(left=parse_length("2", "in"), right=parse_length("1 1/2", "in"))


def test_middles_are_saved_by_touch(client: TestClient, tmp_path: Path) -> None:
    """The batch says whether what layers hide is used, then each layer may say otherwise."""
    change(client, "set", **{"/save middles": "true"})
    html = put(client, **{"0__middle": "keep"})
    assert "may be cut out and used" in html
    batch = read_batch(tmp_path / "orchard.yaml")
    assert batch.save_middles
    assert batch.cards[0].layers[0].middle == "keep"
    put(client, **{"0__middle": ""})
    change(client, "set", **{"/save middles": "false"})
    assert read_batch(tmp_path / "orchard.yaml") == read_batch(SAMPLES / "orchard.yaml")


def test_a_join_is_allowed_by_touch(client: TestClient, tmp_path: Path) -> None:
    """A layer that may be cut as two ends says so in the file, and no more where it is one piece again."""
    html = put(client, **{"2__join": "may"})
    assert "or as two ends where that saves a sheet" in html
    assert read_batch(tmp_path / "orchard.yaml").cards[0].layers[2].join == "may"
    put(client, **{"2__join": "never"})
    assert read_batch(tmp_path / "orchard.yaml") == read_batch(SAMPLES / "orchard.yaml")


def test_the_frame_is_asked_for_where_middles_are_saved(client: TestClient, tmp_path: Path) -> None:
    """Its length goes into the file beside the key that it belongs to."""
    html = change(client, "set", **{"/save middles": "true"})
    assert "What stays round a middle" in html
    change(client, "set", **{"/frame": "3/8"})
    assert read_batch(tmp_path / "orchard.yaml").frame == parse_length("3/8", "in")


def test_a_layer_is_turned_and_then_placed_by_its_middle(
    client: TestClient, tmp_path: Path
) -> None:
    """Its angle has a field; turned, it is put by its centre, and what does not go then can be emptied."""
    html = put(client, **{"2__angle": "30"})
    assert "in the place of an aslant layer" in html
    assert f'name="{LAYERS}/2/at/bottom"' in html
    html = put(client, **{"2__at/bottom": ""})
    assert "1 1/4 in wide, 30° clockwise" in sizes_in(html)
    assert f'name="{LAYERS}/2/at/centre"' in html
    assert f'name="{LAYERS}/2/at/left"' not in html
    assert read_batch(tmp_path / "orchard.yaml").cards[0].layers[2].angle == 30_000


def test_an_aslant_layer_is_dragged_by_its_middle(client: TestClient, tmp_path: Path) -> None:
    """The marks go from edge to edge of the card, and one text has both."""
    path = tmp_path / "orchard.yaml"
    put(client, **{"2__at/bottom": "", "2__angle": "-20"})
    html = put(client, **{"2__at/centre": "2 x 3"})
    group = re.search(r'<g class="layer movable" data-layer="band"[^>]*>', html)
    assert group is not None
    for axis, last in (("across", "4 1/4"), ("up", "5 1/2")):
        assert f'data-{axis}-pointer="{LAYERS}/2/at/centre"' in group[0]
        texts = re.search(rf'data-{axis}-texts="([^"]*)"', group[0])
        assert texts is not None
        assert texts[1].split("|")[0] == "0"
        assert texts[1].split("|")[-1] == last
        first, apart = (
            float(re.search(rf'data-{axis}-{name}="([^"]*)"', group[0])[1])  # type: ignore[index]
            for name in ("first", "apart")
        )
        middle = texts[1].split("|").index("2" if axis == "across" else "3")
        assert first + middle * apart == pytest.approx(0, abs=0.1)
    assert read_batch(path).cards[0].layers[2].at is not None


def test_an_envelope_is_cut_from_a_paper_of_the_batch(client: TestClient, tmp_path: Path) -> None:
    """From none, from the smallest that is sold, from a named one; and it is bought again, or left out."""

    def said(**changes: str) -> str:
        change(client, "set", **{f"{CARD}/envelope{key}": text for key, text in changes.items()})
        text = (tmp_path / "orchard.yaml").read_text("utf-8")
        found = re.search(r"^ *(envelope: .*)$", text, re.MULTILINE)
        return found[1] if found else ""

    select = f'name="{CARD}/envelope/paper"'
    html = client.get("/batch/orchard.yaml").text
    assert "no envelope</option>" in html[html.index(select) :][:300]
    assert said(**{"/paper": "brick cardstock"}) == "envelope: {paper: brick cardstock}"
    assert said(**{"/size": "A2"}) == "envelope: {paper: brick cardstock, size: A2}"
    assert said(**{"/paper": "pear toss"}) == "envelope: {paper: pear toss, size: A2, face: front}"
    assert "The face of it that is outside" in client.get("/batch/orchard.yaml").text
    assert read_batch(tmp_path / "orchard.yaml").cards[0].envelope is not None
    assert said(**{"/paper": ""}) == "envelope: {size: A2}"
    assert said(**{"/size": ""}) == ""
    assert said(**{"": "yes"}) == "envelope: yes"
    assert said(**{"/paper": "pear toss"}) == "envelope: {paper: pear toss, face: front}"
    assert said(**{"/paper": ""}) == ""
    assert said(**{"": "A2"}) == "envelope: A2"
    assert said(**{"/paper": "brick cardstock"}) == "envelope: {size: A2, paper: brick cardstock}"


def test_a_card_gets_an_envelope_and_a_liner(client: TestClient, tmp_path: Path) -> None:
    """Named, then made; what lies in it is drawn on a picture of its own, and papers keep their names."""
    assert 'value="envelope"' not in client.get("/batch/orchard.yaml").text
    html = change(client, "set", **{f"{CARD}/envelope": "yes"})
    assert "Envelope: yes for the smallest that takes it" in html
    assert read_batch(tmp_path / "orchard.yaml").cards[0].envelope is not None
    html = change(client, "set", **{f"{CARD}/envelope": "A2"})
    assert f'name="{CARD}/envelope"' in html
    assert 'value="envelope"' in html
    put(client, **{"4__where": "envelope"})
    assert "envelope, its flap open" in client.get("/batch/orchard.yaml").text
    put(client, **{"4__where": "inside"})
    text = (tmp_path / "orchard.yaml").read_text("utf-8")
    made = text.replace("envelope: A2", "envelope: {size: A2, paper: brick cardstock}")
    (tmp_path / "orchard.yaml").write_text(made, "utf-8")
    html = client.get("/batch/orchard.yaml").text
    assert f'name="{CARD}/envelope/size"' in html
    change(client, "set", **{"name:/papers/brick cardstock": "terracotta"})
    assert "envelope: {size: A2, paper: terracotta}" in (tmp_path / "orchard.yaml").read_text(
        "utf-8"
    )
