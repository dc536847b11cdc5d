"""At the trimmer: stroke after stroke is ticked, something is spoilt, found, wanted besides."""

import re
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from page_served import wait_for
from page_trimmer import SUPPER
from pypdf import PdfReader
from starlette.testclient import TestClient

import nesting
from nesting.files import read_draft
from nesting.page.folder.batch_folder import BatchFolder
from nesting.page.folder.cutting_folder import Cutting
from nesting.page.folder.into_stash import put_into_stash
from nesting.page.serving import make_app
from nesting.page.steps.at_trimmer import view
from nesting.record import Entry, Record, read_record
from nesting.stash import Stash, StashError, use_plan

SHEET = "/batch/supper.yaml"
TRIMMER = f"{SHEET}/trimmer"


def page_of(folder: Path) -> TestClient:
    """The page of a folder."""
    return TestClient(make_app(BatchFolder(folder), lambda: None))


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    """The page of a folder with one batch in it, its plan begun."""
    (tmp_path / "supper.yaml").write_text(SUPPER)
    with page_of(tmp_path) as one:
        wait_for(one, SHEET, "Begin to cut this plan")
        one.post(f"{TRIMMER}/begin")
        yield one


def at(html: str) -> str:
    """The step that a page shows."""
    return re.findall(r'name="at" value="([^"]*)"', html)[0]


def say(client: TestClient, what: str, **fields: str) -> str:
    """The page after something was said about the step that comes next."""
    html = client.get(TRIMMER).text
    return client.post(f"{TRIMMER}/{what}", data={"at": at(html), **fields}).text


def record(folder: Path, number: int = 1) -> str:
    """The words that are kept."""
    return (folder / "supper-cutting" / f"record-{number}.txt").read_text()


def test_a_stroke_fills_the_screen(client: TestClient) -> None:
    """Its picture, the ruler setting, what drops off, and the printed line of caution."""
    html = client.get(TRIMMER).text
    assert '<div class="stroke"><svg' in html
    assert "Ruler at <strong>" in html
    assert "Drops off" in html
    assert "The trimmer's own instructions come first." in html.replace("&#39;", "'")
    assert "trimmer.js" in html
    assert "2 alike. Make each step on all of them." in html
    assert "5\N{NO-BREAK SPACE}1/4" in say(client, "done")  # no line ends within a size


def test_a_tick_is_kept_at_once(client: TestClient, tmp_path: Path) -> None:
    """In the words of a record; a touch twice is a touch once, and a step can be taken back."""
    html = client.get(TRIMMER).text
    first = {"at": at(html)}
    client.post(f"{TRIMMER}/done", data=first)
    assert "done: 1: step 1\n" in record(tmp_path)
    client.post(f"{TRIMMER}/done", data=first)
    assert "done: 1: step 1\n" in record(tmp_path)
    say(client, "not-done")
    assert "done:\n" in record(tmp_path)


def test_what_is_ticked_survives_the_program(client: TestClient, tmp_path: Path) -> None:
    """Another program goes on at the same step."""
    after = say(client, "done")
    with page_of(tmp_path) as other:
        assert at(other.get(TRIMMER).text) == at(after)


def test_strokes_of_a_step_come_one_at_a_time(client: TestClient) -> None:
    """The step is ticked with the last of them."""
    html = client.get(TRIMMER).text
    while ", stroke " not in html:
        html = say(client, "done")
    pictures, number = set(), 0
    while (link := f'stroke={number + 1}">') in html:
        pictures.add(html[html.index("<svg") : html.index("</svg>")])
        assert ">Done</button>" not in html
        number += 1
        assert link in html
        html = client.get(TRIMMER, params={"at": at(html), "stroke": str(number)}).text
    assert number == len(pictures)
    assert ">Done</button>" in html


def test_all_is_cut_in_the_end(client: TestClient, tmp_path: Path) -> None:
    """The sheet then tells what is in the bags and what is left over; the plan is put away."""
    html = client.get(TRIMMER).text
    while "All is cut" not in html:
        html = say(client, "done")
    sheet = client.get(SHEET).text
    assert "A panel</th><td>8</td><td>8</td>" in sheet
    assert "Offcuts to keep" in sheet
    assert "another plan begins with the papers that step 2 counts" in sheet
    client.post(f"{TRIMMER}/put-away")
    assert "Begin to cut this plan" in client.get(SHEET).text
    assert not (tmp_path / "supper-cutting").exists()


def test_a_spoilt_part_is_planned_anew(client: TestClient, tmp_path: Path) -> None:
    """What is in the bags stays, letters stay, and another sheet is taken."""
    before = say(client, "done")
    assert "layout 1" in before.lower()
    say(client, "spoilt")
    html = wait_for(client, TRIMMER, "Ruler at")
    assert "spoilt: 1: step 2 of 1 sheet" in record(tmp_path)
    rest = nesting.read_plan(tmp_path / "supper-cutting" / "plan-2.json")
    assert [piece.letter for piece in rest.pieces] == ["A"]
    assert "as it is cut" in client.get(SHEET).text
    assert rest.cards[0].complete == 8
    assert at(html).startswith("2.")


def test_the_sheet_says_one_thing_of_a_plan_that_is_cut(tmp_path: Path) -> None:
    """What was spoilt counts in the bar and in step 5; the plan of step 6 is that of the beginning."""
    (tmp_path / "supper.yaml").write_text(SUPPER.replace("have: 3", "have: 2"))
    beginning = "This counts from the beginning"
    small_changes = "Small changes that save paper"
    with page_of(tmp_path) as client:
        html = wait_for(client, SHEET, "Begin to cut this plan")
        assert "from the beginning" not in html
        assert small_changes in html
        client.post(f"{TRIMMER}/begin")
        say(client, "spoilt")
        wait_for(client, TRIMMER, "Ruler at")
        html = client.get(SHEET).text
        client.post(f"{SHEET}/set", data={"/cards/windfall/make": "9"})
        changed = wait_for(client, SHEET, small_changes)
    assert changed.count(beginning) == 2  # in step 5 and step 6: the batch is another now
    assert '<span class="state">from the beginning; ' in changed  # and in the bar
    assert html.count("6 of 8 cards") >= 3  # in step 5, in step 7, in the bar
    assert "All 8 cards" not in html
    assert html.count(beginning) == 1
    assert re.search(
        r'<span class="answer">2 sheets to cut, \d+ strokes, from the beginning<', html
    )
    assert small_changes not in html  # some of it is cut as it was
    assert '<th scope="row">windfall</th><td>8</td><td>6</td>' in html
    assert '<th scope="row">pear toss</th><td>2</td><td>1</td><td>1</td>' in html


def test_what_is_cut_is_not_to_buy_any_more(tmp_path: Path) -> None:
    """Step 5 and the page to take shopping count the sheets that are still to be cut."""
    one_at_hand = SUPPER.replace("have: 3, buy: false", "have: 1, price: 1.20")
    (tmp_path / "supper.yaml").write_text(one_at_hand)
    with page_of(tmp_path) as client:
        wait_for(client, SHEET, "Begin to cut this plan")
        client.post(f"{TRIMMER}/begin")
        html = wait_for(client, SHEET, "A page to take shopping")
        assert html.count("All 8 cards; to buy: 1 sheet of pear toss.") == 3
        (of,) = re.findall(r'shopping\.pdf"[^/]*name="of" value="([^"]*)"', html)
        path = f"{SHEET}/shopping.pdf"
        pages = [client.get(path, params={"of": of}).content]
        while "All is cut" not in say(client, "done"):
            pass
        html = client.get(SHEET).text
        pages.append(client.get(path, params={"of": of}).content)
    assert html.count("All 8 cards; nothing to buy.") == 3
    assert '<th scope="row">pear toss</th><td>0</td><td>0</td>' in html
    for page, row in zip(pages, ("pear toss 2 1 1 0", "pear toss 0 0 0 of 4 0 0"), strict=True):
        text = PdfReader(BytesIO(page)).pages[0].extract_text()
        assert row in text.replace("\N{NO-BREAK SPACE}", " ")


NOT_SPOILT = "Nothing was spoilt: go on as before"


def go_back(client: TestClient, **fields: str) -> str:
    """The page after what was said last was taken back."""
    before = re.findall(r'name="before" value="([^"]*)"', client.get(TRIMMER).text)
    data = {"before": before[0] if before else "", **fields}
    return client.post(f"{TRIMMER}/as-before", data=data).text


def test_what_is_not_spoilt_after_all(client: TestClient, tmp_path: Path) -> None:
    """One touch goes back to the plan before, until more is done; what is asked again is done once."""
    assert NOT_SPOILT not in say(client, "done")
    before = record(tmp_path)
    first = client.get(TRIMMER).text
    say(client, "spoilt")
    html = wait_for(client, TRIMMER, "Ruler at")
    assert NOT_SPOILT in html
    assert "One step back" not in html
    html = go_back(client, press="0.5")
    assert at(html) == at(first)
    assert record(tmp_path) == before
    assert not list((tmp_path / "supper-cutting").glob("*-2.*"))
    say(client, "spoilt")
    wait_for(client, TRIMMER, "Ruler at")
    assert at(go_back(client, press="0.5")).startswith("2.")
    assert NOT_SPOILT not in say(client, "done")
    assert "This was not taken down" in go_back(client)
    assert "spoilt: 1: step 2 of 1 sheet" in record(tmp_path)


def test_a_stroke_spoils_the_part_in_hand_alone(client: TestClient, tmp_path: Path) -> None:
    """On two sheets one row of two is cut, the other is lost on one: 4 in the bags, 2 still in hand.

    What is not spoilt after all is gone on with at the same stroke.
    """
    assert 'name="stroke"' not in client.get(TRIMMER).text
    say(client, "done")
    place, before = at(say(client, "done")), record(tmp_path)
    second = client.get(TRIMMER, params={"at": place, "stroke": "1"}).text
    (stroke,) = set(re.findall(r'name="stroke" value="([0-9]+)"', second))
    assert "Only the part in hand at this stroke is lost." in second
    client.post(f"{TRIMMER}/spoilt", data={"at": place, "stroke": stroke})
    wait_for(client, TRIMMER, "Ruler at")
    assert "done: 1: stroke 4\nspoilt: 1: stroke 5 of 1 sheet\n" in record(tmp_path)
    plan = nesting.read_plan(tmp_path / "supper-cutting" / "plan-2.json")
    assert plan.pieces[0].in_bags == 4
    assert len([one for one in plan.layouts if one.source.kind == "offcut"]) == 1
    assert "stroke 2 of 2" in go_back(client)
    assert record(tmp_path) == before.replace("step 2", "stroke 4")


def test_more_are_wanted_in_the_middle_of_a_step(client: TestClient, tmp_path: Path) -> None:
    """The strokes that are made count: 4 are in the bags, also once it is taken back."""
    say(client, "done")
    place = at(say(client, "done"))
    fields = {"at": place, "stroke": "5", "card": "windfall", "count": "1"}
    client.post(f"{TRIMMER}/more", data=fields)
    wait_for(client, TRIMMER, "Ruler at")
    assert "done: 1: stroke 4\n" in record(tmp_path)
    plan = nesting.read_plan(tmp_path / "supper-cutting" / "plan-2.json")
    assert plan.pieces[0].in_bags == 4
    assert "stroke 2 of 2" in go_back(client)
    assert "One step back" in client.get(TRIMMER, params={"at": place, "stroke": "0"}).text
    client.post(f"{TRIMMER}/not-done", data={"at": place})
    assert "done: 1: step 1\n" in record(tmp_path)


def test_parts_in_a_stack_are_spoilt_together(tmp_path: Path) -> None:
    """Of sheets in one stack the part in hand is lost; equal parts of a sheet are not told apart."""
    stack = "trimmer: {stack: 2}\npapers:"
    (tmp_path / "supper.yaml").write_text(SUPPER.replace("papers:", stack))
    with page_of(tmp_path) as client:
        wait_for(client, SHEET, "Begin to cut this plan")
        client.post(f"{TRIMMER}/begin")
        place = at(say(client, "done"))
        html = client.get(TRIMMER, params={"at": place, "stroke": "1"}).text
        assert "(2 lie in one stack)" in html
        assert 'max="2" value="2"' in html
        assert 'name="stroke" value="3"' in html
        assert "Only the part in hand at this stroke is lost." in html
        html = say(client, "done")
        assert "all that this step takes in hand counts as lost" in html
        assert 'name="stroke"' not in html


def test_what_is_not_spoilt_while_the_rest_is_planned(client: TestClient, tmp_path: Path) -> None:
    """The search is stopped, and its plan does not take the place of the one that is cut."""
    say(client, "done")
    before = record(tmp_path)
    assert NOT_SPOILT in say(client, "spoilt")
    go_back(client)
    assert record(tmp_path) == before
    say(client, "done")
    assert record(tmp_path) != before
    say(client, "spoilt")
    assert at(wait_for(client, TRIMMER, "Ruler at")).startswith("2.")
    assert not (tmp_path / "supper-cutting" / "plan-3.json").exists()


def test_what_is_not_spoilt_just_when_the_rest_is_planned(
    client: TestClient, tmp_path: Path
) -> None:
    """A touch that was on its way means the same."""
    say(client, "done")
    before = record(tmp_path)
    shown = say(client, "spoilt")
    (touched,) = re.findall(r'name="before" value="([^"]*)"', shown)
    wait_for(client, TRIMMER, "Ruler at")
    client.post(f"{TRIMMER}/as-before", data={"before": touched})
    assert record(tmp_path) == before


def test_what_is_asked_again_because_its_answer_was_lost(
    client: TestClient, tmp_path: Path
) -> None:
    """It is the same press: one part is spoilt, and nothing is said to be not taken down."""
    fields = {"at": at(client.get(TRIMMER).text), "press": "0.25"}
    for _ in range(2):
        assert "not taken down" not in client.post(f"{TRIMMER}/spoilt", data=fields).text
    wait_for(client, TRIMMER, "Ruler at")
    assert "not taken down" not in client.post(f"{TRIMMER}/spoilt", data=fields).text
    assert "spoilt: 1: step 1 of 1 sheet\n" in record(tmp_path)
    assert "spoilt:\n" in record(tmp_path, 2)


def test_a_touch_on_a_plan_that_was_taken_back_is_none_on_the_next(
    client: TestClient, tmp_path: Path
) -> None:
    """A screen without a connection still shows the first of two plans that are the second of the row."""
    say(client, "done")
    say(client, "spoilt")
    shown = at(wait_for(client, TRIMMER, "Ruler at"))
    go_back(client)
    say(client, "more", card="windfall", count="1")
    assert at(wait_for(client, TRIMMER, "Ruler at")).startswith("2.")
    client.post(f"{TRIMMER}/done", data={"at": shown})
    assert "done:\n" in record(tmp_path, 2)


def test_what_is_said_of_an_earlier_step_is_not_taken_for_the_next(
    client: TestClient, tmp_path: Path
) -> None:
    """Another screen ticks a step: the link to its second stroke does not skip the next step's first."""
    html = client.get(TRIMMER).text
    while ", stroke " not in html:
        html = say(client, "done")
    first = {"at": at(html)}
    after = client.post(f"{TRIMMER}/done", data=first).text
    assert "stroke 1 of" in after
    before = record(tmp_path)
    assert client.get(TRIMMER, params=first | {"stroke": "1"}).text == after
    html = client.post(f"{TRIMMER}/spoilt", data=first).text
    assert "This was not taken down" in html
    assert record(tmp_path) == before
    assert "This was not taken down" not in say(client, "not-done")


def test_a_kill_before_the_rest_is_planned(client: TestClient, tmp_path: Path) -> None:
    """What was spoilt is on record: the next program plans the rest by itself."""
    say(client, "done")
    words = record(tmp_path).replace("spoilt:", "spoilt: 1: step 2 of 1 sheet")
    (tmp_path / "supper-cutting" / "record-1.txt").write_text(words)
    with page_of(tmp_path) as other:
        wait_for(other, TRIMMER, "Ruler at")
    assert (tmp_path / "supper-cutting" / "plan-2.json").exists()


def test_more_are_wanted(client: TestClient, tmp_path: Path) -> None:
    """The batch asks for them, and the rest is planned with them."""
    say(client, "done")
    say(client, "more", card="windfall", count="4")
    wait_for(client, TRIMMER, "Ruler at")
    batch = nesting.read_batch(tmp_path / "supper.yaml")
    assert batch.cards[0].make == 12
    rest = nesting.read_plan(tmp_path / "supper-cutting" / "plan-2.json")
    assert rest.cards[0].complete == 12


@pytest.mark.parametrize(
    ("count", "why"),
    [
        ("a few", "a few; expected a number of cards"),
        ("0", "0; expected a number of cards"),
        ("", "nothing; expected a number of cards"),
        (
            "1000000",
            "windfall in all: &#39;1000008&#39;; expected a whole number of at most 999999",
        ),
    ],
)
def test_a_number_that_is_refused_stays_in_its_field(
    client: TestClient, tmp_path: Path, count: str, why: str
) -> None:
    """Why is said beside it and nowhere else; the batch is as it was."""
    html = say(client, "more", card="windfall", count=count)
    assert why in re.findall(r'id="count-faults">(.*?)</span>', html, re.DOTALL)[0]
    assert html.count(why) == 1
    assert f'type="number" value="{count}"' in html
    assert nesting.read_batch(tmp_path / "supper.yaml").cards[0].make == 8


def test_what_was_said_is_taken_back(client: TestClient, tmp_path: Path) -> None:
    """One touch each: what was found, and more that are wanted, while the rest is planned or after."""
    say(client, "done")
    texts, before = [], record(tmp_path)
    for what, fields in (
        ("more", {"card": "windfall", "count": "4"}),
        ("found", {"paper": "pear toss", "size": "12 x 5 1/4"}),
    ):
        texts.append((tmp_path / "supper.yaml").read_text())
        say(client, what, **fields)
        wait_for(client, TRIMMER, "Ruler at")
    html = client.get(TRIMMER).text
    for words, text, number in (
        ("pear toss: 12 x 5 1/4 found", texts[1], 2),
        ("4 more of windfall", texts[0], 1),
    ):
        assert f"Undo: {words}; go on as before" in html.replace("\N{NO-BREAK SPACE}", " ")
        html = go_back(client)
        assert (tmp_path / "supper.yaml").read_text() == text
        assert at(html).startswith(f"{number}.")
    assert record(tmp_path) == before
    assert "go on as before" not in html
    assert "go on as before" in say(client, "more", card="windfall", count="4")
    go_back(client)
    assert (tmp_path / "supper.yaml").read_text() == texts[0]
    assert record(tmp_path) == before


def test_what_was_said_last_is_taken_back_first(client: TestClient, tmp_path: Path) -> None:
    """A part is spoilt, then one is found, at once taken back; then nothing was spoilt either."""
    say(client, "done")
    text, before = (tmp_path / "supper.yaml").read_text(), record(tmp_path)
    say(client, "spoilt")
    wait_for(client, TRIMMER, "Ruler at")
    assert NOT_SPOILT not in say(client, "found", paper="pear toss", size="12 x 5 1/4")
    assert NOT_SPOILT in go_back(client)
    assert (tmp_path / "supper.yaml").read_text() == text
    go_back(client)
    assert record(tmp_path) == before


def test_what_is_not_changed_at_the_trimmer_is_not_undone_there(
    client: TestClient, tmp_path: Path
) -> None:
    """A change of the sheet shows no way back before the rest is planned with it, nor after another one."""
    text = SUPPER.replace("make: 8", "make: 6")
    (tmp_path / "supper.yaml").write_text(text)
    assert "go on as before" not in client.get(TRIMMER).text
    say(client, "more", card="windfall", count="1")
    html = wait_for(client, TRIMMER, "Ruler at")
    assert "go on as before" not in html
    assert "not taken down" in go_back(client)
    assert at(html) == at(client.get(TRIMMER).text)


def test_as_many_as_possible_are_no_more(client: TestClient, tmp_path: Path) -> None:
    """Of a design that is made as often as can be, no more can be asked for."""
    text = SUPPER.replace("make: 8", "make: as many as possible")
    (tmp_path / "supper.yaml").write_text(text)
    assert "as many as possible" in say(client, "more", card="windfall", count="4")
    assert (tmp_path / "supper.yaml").read_text() == text


def test_a_piece_was_found(client: TestClient, tmp_path: Path) -> None:
    """It stands in the batch file as an offcut, and is cut before whole sheets are."""
    found = {"paper": "pear toss", "size": "12 x 5 1/4", "at": at(client.get(TRIMMER).text)}
    client.post(f"{TRIMMER}/found", data=found)
    wait_for(client, TRIMMER, "Ruler at")
    (paper,) = nesting.read_batch(tmp_path / "supper.yaml").papers
    assert [(sheet.have, sheet.offcut) for sheet in paper.sheets] == [(3, False), (1, True)]
    assert (tmp_path / "supper.yaml").read_text().startswith("# One design")
    rest = nesting.read_plan(tmp_path / "supper-cutting" / "plan-2.json")
    assert "offcut" in {layout.source.kind for layout in rest.layouts}
    assert "not taken down" in client.post(f"{TRIMMER}/found", data=found).text
    assert ">nothing; expected a size" in say(client, "found", paper="pear toss", size="")
    html = say(client, "found", paper="pear toss", size="some")
    (said,) = re.findall(r'id="size-faults">\s*<strong class="fault">([^<]*)', html)
    assert "expected a size, width first" in said
    assert "size: " not in said
    assert 'value="some"' in html
    assert nesting.read_batch(tmp_path / "supper.yaml").papers == (paper,)
    text = (tmp_path / "supper.yaml").read_text()
    (tmp_path / "supper.yaml").write_text(text.replace("make: 8", "make: a few"))
    html = say(client, "found", paper="pear toss", size="3 x 3")
    (said,) = re.findall(r'id="size-faults">\s*<strong class="fault">([^<]*)', html)
    assert said == "First, put right what is wrong on the sheet."


def test_a_piece_of_a_paper_in_the_stash_was_found(tmp_path: Path) -> None:
    """The paper is written out with it; in the end the stash has what is cut taken out.

    The plan then still answers for the batch, in which another paper is left to the stash.
    """
    own = "{sheet: 12 x 12, have: 3, buy: false, front: four-way}"
    text = SUPPER.replace(own, "stash\n  plum dots: stash")
    text += "pieces:\n  - {name: tag, size: 6 x 12, paper: plum dots, count: 2}\n"
    (tmp_path / "supper.yaml").write_text(text)
    batch = read_draft(SUPPER, "supper.yaml").batch
    assert batch is not None
    with Stash(tmp_path / "stash.sqlite") as stash:
        for name in ("pear toss", "plum dots"):
            stash.put_paper(replace(batch.papers[0], name=name), "put in")
    folder = BatchFolder(tmp_path, tmp_path / "stash.sqlite")
    with TestClient(make_app(folder, lambda: None)) as client:
        wait_for(client, SHEET, "Begin to cut this plan")
        client.post(f"{TRIMMER}/begin")
        say(client, "found", paper="pear toss", size="12 x 5 1/4")
        html = wait_for(client, TRIMMER, "Ruler at")
        sheets = folder.open("supper.yaml").draft.value("/papers/pear toss/sheets")
        assert sheets == [
            {"size": "12 x 12 in", "have": "3"},
            {"size": "12 x 5 1/4", "have": "1", "offcut": "true"},
        ]
        while "All is cut" not in html:
            html = say(client, "done")
        client.post(f"{TRIMMER}/into-stash")
        html = wait_for(client, SHEET, "as it is cut").replace("\u2068", "").replace("\u2069", "")
        assert re.search(r"<li>pear toss: [^<]*, offcut 1</li>", html)
    with Stash(tmp_path / "stash.sqlite") as stash:
        (whole,) = (sheet for sheet in stash.papers()[0].sheets if not sheet.offcut)
        assert whole.have == 2


def test_what_cannot_be_planned_is_said(client: TestClient, tmp_path: Path) -> None:
    """Of a file that has fewer sheets than were cut, the rest is not planned; nothing is lost."""
    html = client.get(TRIMMER).text
    while "Layout 2" not in html and "All is cut" not in html:
        html = say(client, "done")
    text = SUPPER.replace("have: 3", "have: 0").replace("make: 8", "make: 9")
    (tmp_path / "supper.yaml").write_text(text)
    assert "Plan the rest anew" in client.get(SHEET).text
    client.post(f"{TRIMMER}/anew")
    html = wait_for(client, TRIMMER, 'role="alert"')
    assert "expected" in html
    assert not (tmp_path / "supper-cutting" / "plan-2.json").exists()


def cut_all(client: TestClient) -> None:
    """Tick every step."""
    while "All is cut" not in say(client, "done"):
        pass


def stashed(folder: Path) -> tuple[list[int | None], list[tuple[int, int, int]]]:
    """The counts of whole sheets in the stash, and the number and size of each offcut."""
    with Stash(folder / "stash.sqlite") as stash:
        counts = [sheet.have for paper in stash.papers() for sheet in paper.sheets]
        return counts, [(one.number, one.width, one.height) for one in stash.offcuts()]


@contextmanager
def begun_beside_a_stash(folder: Path) -> Iterator[TestClient]:
    """The supper's plan, begun, with a stash beside it."""
    (folder / "supper.yaml").write_text(SUPPER)
    app = make_app(BatchFolder(folder, folder / "stash.sqlite"), lambda: None)
    with TestClient(app) as client:
        wait_for(client, SHEET, "Begin to cut this plan")
        client.post(f"{TRIMMER}/begin")
        yield client


def test_offcuts_go_to_the_stash_with_labels(tmp_path: Path) -> None:
    """A paper that it does not know is put in as the batch has it, less what was cut; once."""
    with begun_beside_a_stash(tmp_path) as client:
        cut_all(client)
        plan = nesting.read_plan(tmp_path / "supper-cutting" / "plan-1.json")
        html = client.post(f"{TRIMMER}/into-stash").text
        assert html.index("In the stash as offcuts 1") < html.index("Offcuts to keep")
        counts, offcuts = stashed(tmp_path)
        assert counts == [1]
        kept = [layout.alike for layout in plan.layouts for _ in layout.offcuts]
        assert len(offcuts) == sum(kept) > 0
        labels = client.get(f"{TRIMMER}/labels.pdf", params={"size": "A4"}).content
        assert "pear toss" in PdfReader(BytesIO(labels)).pages[0].extract_text()
        assert "In the stash as offcuts 1" in client.post(f"{TRIMMER}/into-stash").text
        assert stashed(tmp_path) == (counts, offcuts)


def test_the_bar_forgets_a_plan_that_is_cut_no_more(tmp_path: Path) -> None:
    """Half of it went into the stash: it no longer makes all its cards."""
    with begun_beside_a_stash(tmp_path) as client:
        say(client, "done")
        assert "as it is cut" in client.get(SHEET).text
        client.post(f"{TRIMMER}/into-stash")
        assert "as it is cut" not in client.get(SHEET).text


def test_offcuts_of_a_plan_that_goes_on_are_counted_once(tmp_path: Path) -> None:
    """What the first plan left over and the second was cut from is not in the drawer."""
    with begun_beside_a_stash(tmp_path) as client:
        say(client, "done")
        say(client, "spoilt")
        wait_for(client, TRIMMER, "Ruler at")
        cut_all(client)
        client.post(f"{TRIMMER}/into-stash")
    with Stash(tmp_path / "stash.sqlite") as stash:
        for number in (1, 2):
            plan = nesting.read_plan(tmp_path / "supper-cutting" / f"plan-{number}.json")
            words = (tmp_path / "supper-cutting" / f"record-{number}.txt").read_text()
            with pytest.raises(StashError, match="on record already"):
                use_plan(stash, plan, read_record(_said(words, "done"), _said(words, "spoilt")))
    counts, offcuts = stashed(tmp_path)
    cut = area("12 x 12") * (3 - (counts[0] or 0))
    pieces = 8 * area("4 x 5 1/4")
    left = sum(width * height for _, width, height in offcuts)
    assert pieces + left <= cut
    assert counts[0] is not None
    assert counts[0] < 3


def test_offcuts_to_keep_are_those_that_go_to_the_stash(tmp_path: Path) -> None:
    """Those of earlier plans, too, and equal ones in one line; not what is still to be cut from."""
    path = tmp_path / "supper.yaml"
    path.write_text(SUPPER)
    batch = nesting.read_batch(path)
    plan = nesting.solve(batch)
    done = Record((Entry(1, 1, None, 1),), ())
    rest = nesting.go_on(batch, plan, done)
    all_of_it = Record(tuple(Entry(layout.id, layout.id) for layout in rest.layouts), ())
    plans = [Cutting(plan, done, "", 1), Cutting(rest, all_of_it, "", 2)]
    with Stash(tmp_path / "stash.sqlite") as stash:
        put_into_stash(stash, plans)
        there = Counter((one.width, one.height) for one in stash.offcuts())
    lines = [
        re.findall("pear toss: (.*) in(?:, (.*) of them)?$", line)[0]
        for line in view(plans[1], None, "", has_stash=True)["offcuts"]
    ]
    assert len(lines) == len(there)
    assert {nesting.parse_size(size, "in"): int(count or 1) for size, count in lines} == there
    none_yet = view(replace(plans[1], record=Record()), None, "", has_stash=True)["offcuts"]
    assert none_yet != view(plans[1], None, "", has_stash=True)["offcuts"]


def test_a_paper_that_cannot_go_into_the_stash_keeps_all_out_of_it(tmp_path: Path) -> None:
    """Its last paper is there in other capitals; those before it were put in, and nothing was said of them."""
    path = tmp_path / "supper.yaml"
    path.write_text(SUPPER.replace("papers:", "papers:\n  cream: {sheet: letter, have: 3}"))
    plan = nesting.solve(nesting.read_batch(path))
    last = plan.asked.papers[-1]
    with Stash(tmp_path / "stash.sqlite") as stash:
        stash.put_paper(replace(last, name=last.name.upper(), sheets=()), "put in")
        before = stash.history()
        with pytest.raises(StashError, match="capitals"):
            put_into_stash(stash, [Cutting(plan, Record((Entry(1, 1),)), "", 1)])
        assert stash.history() == before


def test_sheets_at_hand_for_what_is_not_cut_stay_in_the_stash(tmp_path: Path) -> None:
    """Only what was to be bought is cut: the page leaves the two sheets there, as ``stash use`` does."""
    path = tmp_path / "supper.yaml"
    path.write_text(
        "batch: Orchard market\nunit: in\npapers:\n  kraft: {sheet: 12 x 12, have: 2}\npieces:\n"
        "  - {name: board, size: 12 x 11, paper: kraft, count: 2}\n"
        "  - {name: tag, size: 6 x 6, paper: kraft, count: 12}\n"
    )
    batch = nesting.read_batch(path)
    plan = nesting.solve(batch)
    (bought,) = (layout for layout in plan.layouts if layout.to_buy == layout.alike)
    cut = Record((Entry(bought.id, bought.id),), ())
    left = []
    for name in ("page", "command"):
        with Stash(tmp_path / f"{name}.sqlite") as stash:
            stash.put_paper(batch.papers[0], "bought at the market")
            if name == "page":
                put_into_stash(stash, [Cutting(plan, cut, "", 1)])
            else:
                use_plan(stash, plan, cut)
            left += [
                sheet.have for paper in stash.papers() for sheet in paper.sheets if not sheet.offcut
            ]
    assert left == [2, 2]


def test_a_plan_that_is_cut_no_more_lists_what_is_in_the_stash(tmp_path: Path) -> None:
    """What of it was in hand, too; and it is no longer said at which step it is, or that all cards are made."""
    path = tmp_path / "supper.yaml"
    path.write_text(SUPPER)
    plan = nesting.solve(nesting.read_batch(path))
    half = Cutting(plan, read_record("1: step 1", ""), "", 1)
    with Stash(tmp_path / "stash.sqlite") as stash:
        numbers = put_into_stash(stash, [half])
    before = view(half, None, "", has_stash=True)
    after = view(replace(half, in_stash=numbers), None, "", has_stash=True)
    assert len(before["offcuts"]) < len(after["offcuts"]) <= len(numbers)
    assert (after["answer"], after["line"]) == ("no more is cut", "no more of it is cut.")


def _said(words: str, name: str) -> str:
    """What a record says under one of its words."""
    return next(
        line.partition(":")[2].strip() for line in words.splitlines() if line.startswith(name)
    )


def area(size: str) -> int:
    """The area of a size in inches."""
    width, height = nesting.parse_size(size, "in")
    return width * height


def test_a_record_that_does_not_read_is_told(client: TestClient, tmp_path: Path) -> None:
    """The sheet is there all the same, and nothing is begun in its place."""
    path = tmp_path / "supper-cutting" / "record-1.txt"
    path.write_text("done: all of it\n")
    assert "all of it" in client.get(SHEET).text
    client.post(f"{TRIMMER}/begin")
    client.post(f"{TRIMMER}/put-away")
    assert path.read_text() == "done: all of it\n"


def test_nothing_is_cut_without_a_plan(tmp_path: Path) -> None:
    """Nothing is begun for a batch that has no cards yet."""
    (tmp_path / "supper.yaml").write_text(SUPPER[: SUPPER.index("cards:")])
    with page_of(tmp_path) as client:
        assert client.post(f"{TRIMMER}/begin").status_code == 409
        assert "At the trimmer" in client.get(TRIMMER).text
        assert "At the trimmer" in client.post(f"{TRIMMER}/done").text


MATS = """\
batch: Orchard supper
unit: mm
save middles: true
papers:
  pear toss: {sheet: 120 x 160, have: 2}
  plum: {sheet: 200 x 200, have: 3}
cards:
  windfall:
    make: 4
    size: 60 x 80
    layers:
      - {name: mat, size: 60 x 80, paper: pear toss}
      - {name: cover, reveal: 2, paper: plum}
      - {name: tag, size: 40 x 60, paper: pear toss, where: inside}
"""


def test_covered_middles_are_told_as_on_paper(tmp_path: Path) -> None:
    """The plan and the step at the trimmer say out of what a middle is cut, and when."""
    (tmp_path / "supper.yaml").write_text(MATS)
    told = "Cut it out of 4 A, mat of windfall, with knife and steel rule"
    with page_of(tmp_path) as client:
        assert told in wait_for(client, SHEET, "Begin to cut this plan").replace(
            "\u2068", ""
        ).replace("\u2069", "")
        client.post(f"{TRIMMER}/begin")
        assert (
            "&amp;size=A4" in client.get(SHEET).text
        )  # its lengths are in mm, and so is the printer's paper
        html = client.get(TRIMMER).text
        assert told not in html
        while "Covered middle" not in html:
            html = say(client, "done")
        assert told in html.replace("\u2068", "").replace("\u2069", "")
