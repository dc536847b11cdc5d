"""Plans on disk: what is written can be read, and what cannot be read is said."""

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pack_cases import solved
from plans import harvest_plan, inches, short_plan, stopped_plan
from project import SAMPLE_BATCHES

from nesting.files import (
    InputError,
    plan_to_json,
    read_batch,
    read_plan,
    read_plan_with_faults,
    write_plan,
)
from nesting.files.cut_tree import MOST_NESTED
from nesting.layouts import Blank, Cut, Layout, Node, Offcut
from nesting.plan import Plan

PLANS = {"harvest": harvest_plan, "short": short_plan, "stopped": stopped_plan}


def data_of(plan: Plan) -> Any:
    """The plan's file as plain data."""
    return json.loads(plan_to_json(plan))


def read_data(tmp_path: Path, data: Any) -> tuple[Plan, tuple[str, ...]]:
    """The plan of a file with that data."""
    path = tmp_path / "plan.json"
    path.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
    return read_plan_with_faults(path)


def fault(tmp_path: Path, data: Any) -> str:
    """What is said of a file that cannot be read, without the folder."""
    with pytest.raises(InputError) as caught:
        read_data(tmp_path, data)
    return caught.value.messages[0].removeprefix(f"{tmp_path}/")


def with_tree(tree: Node) -> Plan:
    """The harvest plan with another first tree."""
    plan = harvest_plan()
    return replace(plan, layouts=(replace(plan.layouts[0], tree=tree), *plan.layouts[1:]))


def nested(cuts: int) -> Node:
    """A band of blanks cut one after the other."""
    tree: Node = Offcut(keep=False)
    for _ in range(cuts):
        tree = Cut("x", 10, Blank("tag"), tree)
    return tree


@pytest.mark.parametrize("name", PLANS)
def test_a_plan_comes_back_equal(tmp_path: Path, name: str) -> None:
    """Writing and reading changes nothing, and equal plans give equal files."""
    plan, path = PLANS[name](), tmp_path / "plan.json"
    write_plan(plan, path)
    again, faults = read_plan_with_faults(path)
    assert again == plan == read_plan(path)
    assert not faults
    assert plan_to_json(again) == path.read_text(encoding="utf-8")


def test_a_plan_that_says_nothing_of_strips_on_sheets_is_read(tmp_path: Path) -> None:
    """In older plans a whole sheet has its paper's strip and an offcut none, without saying so."""
    data = data_of(harvest_plan())
    for one in data["layouts"]:
        assert one["source"].pop("strip") is None
    for paper in data["asked"]["papers"]:
        for sheet in paper["sheets"]:
            assert sheet.pop("strip") is None
    assert read_data(tmp_path, data) == (harvest_plan(), ())


@pytest.mark.parametrize("path", SAMPLE_BATCHES, ids=lambda path: path.stem)
def test_what_was_asked_comes_back_equal(tmp_path: Path, path: Path) -> None:
    """Everything that a batch file can say is kept in the plan."""
    plan = Plan("by hand", 7, "limit", read_batch(path), (), (), (), (), (), ("hold it flat",))
    again, faults = read_data(tmp_path, data_of(plan))
    assert again == plan
    assert not faults


def test_a_cost_of_many_digits_comes_back(tmp_path: Path) -> None:
    """One sheet to buy beside plenty of others, of odd sizes: the cost takes a long number."""
    plan = solved(read_batch(Path(__file__).parent / "batches" / "bought-beside-plenty.yaml"))
    (figures,) = plan.papers
    assert figures.bound.value > 10**12
    large = replace(plan, papers=(replace(figures, bound=replace(figures.bound, value=10**40)),))
    for one in (plan, large):
        write_plan(one, tmp_path / "plan.json")
        assert read_plan(tmp_path / "plan.json") == one


def test_a_length_beyond_all_sense_is_refused(tmp_path: Path) -> None:
    """A million kilometres are refused, alone and in a list of lengths, where they stand."""
    data = data_of(harvest_plan())
    data["layouts"][0]["alike"] = 10**18
    assert fault(tmp_path, data).startswith("plan.json: $.layouts[0].alike: a number beyond all")
    data = data_of(harvest_plan())
    data["asked"]["keep_from"][0][1] = 10**18
    assert fault(tmp_path, data).startswith("plan.json: $.asked.keep_from[0][1]: a number beyond")


def test_the_contract() -> None:
    """The keys are those of the contract, lengths whole nanometres, plenty is null."""
    data = data_of(harvest_plan())
    assert list(data) == [
        "format", "version", "tool", "batch", "unit", "seed", "ended", "asked", "pieces",
        "layouts", "uncut", "cards", "whole_cards", "chosen",
        "papers", "warnings", "notes",
    ]  # fmt: skip
    assert (data["format"], data["version"], data["batch"]) == ("nesting-plan", 2, "Harvest supper")
    assert set(data["pieces"][0]) == {
        "id", "letter", "name", "shape", "width", "height", "diameter", "die_allowance", "paper",
        "face", "print", "up", "turn", "grain", "score", "demand", "for",
    }  # fmt: skip
    assert [piece["diameter"] for piece in data["pieces"]] == [None, 50_800_000, None]
    assert data["pieces"][2]["for"] == [{"card": None, "layer": "tag", "count": 3}]
    assert set(data["layouts"][0]) == {
        "id", "paper", "source", "width", "height", "alike", "to_buy", "cut_width", "tree",
        "blanks", "offcuts",
    }  # fmt: skip
    assert data["asked"]["keep_from"] == [[12_700_000, 101_600_000], [50_800_000, 50_800_000]]
    assert data["asked"]["trimmer"]["longest_cut"] is None
    tree = data["layouts"][0]["tree"]
    assert (tree["cut"], tree["at"], tree["low"]) == ("y", 12_700_000, {"strip": True})


def keys_in(data: Any) -> Iterator[str]:
    """Every key of the data, however deep."""
    if isinstance(data, list):
        for one in data:
            yield from keys_in(one)
    for key, value in data.items() if isinstance(data, dict) else ():
        yield key
        yield from keys_in(value)


def with_spaces(data: Any) -> Any:
    """The same data, its keys as a batch file has them."""
    if isinstance(data, list):
        return [with_spaces(one) for one in data]
    if not isinstance(data, dict):
        return data
    return {key.replace("_", " "): with_spaces(value) for key, value in data.items()}


@pytest.mark.parametrize("path", SAMPLE_BATCHES, ids=lambda path: path.stem)
def test_keys_with_spaces_are_read_and_none_is_written(tmp_path: Path, path: Path) -> None:
    """Plans of version 1 have what was asked with the keys of the batch file."""
    plan = Plan("by hand", 7, "limit", read_batch(path), (), (), (), (), ())
    data = data_of(plan)
    assert not [key for key in keys_in(data) if " " in key]
    old = data | {"version": 1, "asked": with_spaces(data["asked"])}
    assert "keep from" in old["asked"]
    assert read_data(tmp_path, old) == (plan, ())
    old["asked"]["keep from"] = 3
    assert fault(tmp_path, old).startswith("plan.json: $.asked.keep from: 3; expected")


@pytest.mark.parametrize("stack", [1, 3])
def test_older_plans_count_cuts(tmp_path: Path, stack: int) -> None:
    """Where one sheet is cut at a time, a cut is a stroke; where several are, strokes are counted anew."""
    plan = solved(read_batch(Path(__file__).parent / "found" / "stack.yaml"))
    plan = replace(
        plan, asked=replace(plan.asked, trimmer=replace(plan.asked.trimmer, stack=stack))
    )
    data = data_of(plan)
    (figures,) = data["papers"]
    del figures["strokes"]
    figures["cuts"] = 6
    read, _ = read_data(tmp_path, data)
    assert [figures.strokes for figures in read.papers] == [6 if stack == 1 else 3]


def test_a_pinwheel_is_written_with_its_lines_and_its_arms() -> None:
    """The contract's fifth kind of node; its parts are listed as those of any other."""
    data = data_of(stopped_plan())["layouts"][0]
    two, five, seven, eight = (inches(text) for text in ("2", "5", "7", "8"))
    assert data["tree"] == {
        "pinwheel": "anticlockwise",
        "x": [five, eight],
        "y": [five, seven],
        "bottom": {"piece": "label", "turned": False},
        "left": {"piece": "panel", "turned": False},
        "top": {"piece": "panel", "turned": True},
        "right": {"offcut": "keep"},
        "centre": {"piece": "tag", "turned": False},
    }
    corners = [(blank["x"], blank["y"]) for blank in data["blanks"]]
    assert corners == [(0, 0), (0, five), (five, seven), (five, five)]
    assert data["blanks"][3]["height"] == two


def test_lists_are_written_from_the_tree() -> None:
    """Blanks and offcuts stand in the file with their places on the sheet."""
    data = data_of(harvest_plan())["layouts"][1]
    assert data["blanks"][0] == {
        "piece": "windfall/moon", "x": 6_350_000, "y": 0, "width": 57_150_000,
        "height": 57_150_000, "turned": False, "circles": [[34_925_000, 28_575_000]],
    }  # fmt: skip
    assert data["offcuts"][-1] == {
        "x": 120_650_000, "y": 0, "width": 6_350_000, "height": 127_000_000, "keep": False,
    }  # fmt: skip
    assert "circles" not in data_of(harvest_plan())["layouts"][0]["blanks"][0]


def test_unknown_keys_are_ignored(tmp_path: Path) -> None:
    """A later version may add keys anywhere."""
    data = data_of(harvest_plan())
    for place in (data, data["asked"], data["pieces"][0], data["layouts"][0], data["papers"][0]):
        place["mood"] = {"good": [1.5]}
    data["layouts"][0]["tree"]["mood"] = 1
    data["layouts"][0]["blanks"][0]["mood"] = 1
    assert read_data(tmp_path, data) == (harvest_plan(), ())


def test_the_order_of_the_lists_is_free(tmp_path: Path) -> None:
    """Another tool may walk the tree another way."""
    data = data_of(harvest_plan())
    for layout in data["layouts"]:
        layout["blanks"].reverse()
        layout["offcuts"].reverse()
    assert read_data(tmp_path, data)[1] == ()


def set_x(data: Any) -> None:
    """Move a blank in the list."""
    data["layouts"][1]["blanks"][2]["x"] += 1


def set_float(data: Any) -> None:
    """Write a length as a float."""
    data["layouts"][0]["blanks"][0]["width"] = 101_600_000.0


def set_turned(data: Any) -> None:
    """Turn a blank in the list."""
    data["layouts"][0]["blanks"][0]["turned"] = True


def set_circles(data: Any) -> None:
    """Move a disc in the list."""
    data["layouts"][1]["blanks"][0]["circles"] = [[0, 0]]


def drop_blank(data: Any) -> None:
    """Leave a blank out of the list."""
    del data["layouts"][0]["blanks"][0]


def add_offcut(data: Any) -> None:
    """List an offcut too many."""
    data["layouts"][2]["offcuts"].append({"x": 0, "y": 0, "width": 1, "height": 2, "keep": True})


def set_kept(data: Any) -> None:
    """Keep in the list what the tree bins."""
    data["layouts"][3]["offcuts"][0]["keep"] = True


def drop_list(data: Any) -> None:
    """Leave a whole list out."""
    del data["layouts"][3]["offcuts"]


def set_diameter(data: Any) -> None:
    """Give a circle another diameter."""
    data["pieces"][1]["diameter"] = 3


def set_unit(data: Any) -> None:
    """Give the file another unit than what was asked."""
    data["unit"] = "mm"


@pytest.mark.parametrize(
    ("change", "faults"),
    [
        (set_x, [
            "layout 2: blanks lack 'windfall/moon' 57150000 x 57150000 nm at 63500000, 0, which the tree has",
            "layout 2: blanks[2], 'windfall/moon' 57150000 x 57150000 nm at 63500001, 0, is not in the tree",
        ]),
        (set_float, [
            "layout 1: blanks lack 'tag' 101600000 x 38100000 nm at 0, 12700000, which the tree has",
            "layout 1: blanks[0], 'tag' 101600000.0 x 38100000 nm at 0, 12700000, is not in the tree",
        ]),
        (set_turned, [
            "layout 1: blanks lack 'tag' 101600000 x 38100000 nm at 0, 12700000, which the tree has",
            "layout 1: blanks[0], 'tag' 101600000 x 38100000 nm at 0, 12700000, is not in the tree",
        ]),
        (set_circles, [
            "layout 2: blanks lack 'windfall/moon' 57150000 x 57150000 nm at 6350000, 0, which the tree has",
            "layout 2: blanks[0], 'windfall/moon' 57150000 x 57150000 nm at 6350000, 0, is not in the tree",
        ]),
        (drop_blank, ["layout 1: blanks lack 'tag' 101600000 x 38100000 nm at 0, 12700000, which the tree has"]),
        (add_offcut, ["layout 3: offcuts[2], 1 x 2 nm at 0, 0, is not in the tree"]),
        (set_kept, [
            "layout 4: offcuts lack 57150000 x 19050000 nm at 0, 57150000, which the tree has",
            "layout 4: offcuts[0], 57150000 x 19050000 nm at 0, 57150000, is not in the tree",
        ]),
        (drop_list, ["layout 4: null for offcuts; expected a list"]),
        (set_diameter, ["piece B: diameter 3; its size says 50800000"]),
        (set_unit, ["unit: 'mm'; what was asked says 'in'"]),
    ],
)  # fmt: skip
def test_what_disagrees_with_the_tree_is_named(
    tmp_path: Path, change: Callable[[Any], None], faults: list[str]
) -> None:
    """The tree is believed, and each entry that says otherwise is named."""
    data = data_of(harvest_plan())
    change(data)
    plan, found = read_data(tmp_path, data)
    assert plan == harvest_plan()
    assert list(found) == faults


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        ("format", "other", "plan.json: format 'other'; expected format 'nesting-plan'"),
        ("version", 3, "plan.json: version 3 of the plan format; expected version 1 or 2, which this tool reads"),
        ("version", True, "plan.json: version true of the plan format; expected version 1 or 2, which this tool reads"),
        ("ended", "tired", "plan.json: $.ended: 'tired'; expected proven, limit or interrupted"),
        ("seed", 1.0, "plan.json: $.seed: 1.0; expected a whole number"),
        ("warnings", "none", "plan.json: $.warnings: 'none'; expected a list"),
        ("layouts", None, "plan.json: $.layouts: null; expected a list"),
        ("layouts.0.width", 304800000.0, "plan.json: $.layouts[0].width: 304800000.0; expected a whole number"),
        ("layouts.0.alike", True, "plan.json: $.layouts[0].alike: true; expected a whole number"),
        ("layouts.0.source.kind", "roll", "plan.json: $.layouts[0].source.kind: 'roll'; expected sheet, offcut or middle"),
        ("layouts.0.tree", [], "plan.json: $.layouts[0].tree: a list; expected an object"),
        ("layouts.0.tree.at", "1", "plan.json: $.layouts[0].tree.at: '1'; expected a whole number"),
        ("layouts.0.tree.cut", "z", "plan.json: $.layouts[0].tree.cut: 'z'; expected x or y"),
        ("layouts.0.tree.high.low", {}, "plan.json: $.layouts[0].tree.high.low: a node of no known kind; expected one of cut, pinwheel, piece, offcut, strip or edge"),
        ("layouts.0.tree.low", {"strip": True, "edge": True}, "plan.json: $.layouts[0].tree.low: 'strip' and 'edge'; expected one of cut, pinwheel, piece, offcut, strip or edge"),
        ("layouts.0.tree.low", {"strip": 1}, "plan.json: $.layouts[0].tree.low.strip: 1; expected true"),
        ("layouts.0.tree.low", {"offcut": "sell"}, "plan.json: $.layouts[0].tree.low.offcut: 'sell'; expected keep or bin"),
        ("layouts.0.tree.low", {"piece": "tag"}, "plan.json: $.layouts[0].tree.low: no 'turned'; expected every key of the plan format"),
        ("layouts.0.tree.low", {"pinwheel": "left"}, "plan.json: $.layouts[0].tree.low: no 'x'; expected every key of the plan format"),
        ("layouts.0.tree.low", {"pinwheel": "left", "x": [1, 2], "y": [1, 2]}, "plan.json: $.layouts[0].tree.low.pinwheel: 'left'; expected clockwise or anticlockwise"),
        ("layouts.0.tree.low", {"pinwheel": "clockwise", "x": [1], "y": [1, 2]}, "plan.json: $.layouts[0].tree.low.x: a list of 1; expected a list of 2"),
        ("layouts.0.tree.low", {"pinwheel": "clockwise", "x": [1, 2], "y": [1, 2]}, "plan.json: $.layouts[0].tree.low.bottom: null; expected an object"),
        ("layouts.1.tree.high.low.low.circles", [[1]], "plan.json: $.layouts[1].tree.high.low.low.circles[0]: a list of 1; expected a list of 2"),
        ("pieces.0.name", "a\nb", "plan.json: $.pieces[0].name: 'a\\nb'; expected a text on one line"),
        ("papers.0.waste", "0", "plan.json: $.papers[0].waste: '0'; expected a number"),
        ("papers.0.bound.values", [], "plan.json: $.papers[0].bound.values: a list; expected an object"),
        ("asked", 3, "plan.json: $.asked: 3; expected an object"),
        ("asked.cards.0.make", 0, "plan.json: $.asked.cards[0].make: 0; expected a whole number, 1 or more"),
        ("asked.keep_from", [[1, 2, 3]], "plan.json: $.asked.keep_from[0]: a list of 3; expected a list of 2"),
        ("asked.papers.0.edge_trim.left", -1, "plan.json: $.asked.papers[0].edge_trim.left: -1; expected a whole number, 0 or more"),
        ("asked.pieces.0.paper", "perr toss", "plan.json: $.asked.pieces.0.paper: paper 'perr toss'; expected one of the papers; the nearest is 'pear toss'"),
    ],
)  # fmt: skip
def test_what_is_no_plan(tmp_path: Path, path: str, value: object, message: str) -> None:
    """A wrong value is said with its way from the root of the file."""
    data = data_of(harvest_plan())
    *way, last = path.split(".")
    place = data
    for key in way:
        place = place[int(key) if isinstance(place, list) else key]
    place[last] = value
    assert fault(tmp_path, data) == message


@pytest.mark.parametrize("key", ["asked", "pieces", "layouts", "papers", "cards", "uncut", "tool"])
def test_every_key_has_to_be_there(tmp_path: Path, key: str) -> None:
    """Nothing is made up for what a file leaves out."""
    data = data_of(harvest_plan())
    del data[key]
    assert key in fault(tmp_path, data)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "plan.json:1:1: text that is not JSON (Expecting value); expected a plan.json (where both are named, the batch comes first)"),
        ('{"format":\n 1,,}', "plan.json:2:4: text that is not JSON"),
        ("[]", "plan.json: a list; expected an object"),
        ('{"a": 1, "a": 2}', "plan.json: key 'a' twice in an object; expected each key once"),
        ('{"a": NaN}', "plan.json: NaN; expected finite numbers"),
        ('{"a": ' + "9" * 5000 + "}", "plan.json: a number of thousands of digits; expected a plan.json"),
        ('{"a": ' * 100_000, "plan.json: cuts nested too deeply; expected at most 500 cuts, each inside the one before"),
    ],
)  # fmt: skip
def test_what_is_no_json(tmp_path: Path, text: str, message: str) -> None:
    """A file that is no JSON at all is said with line and column where there are any."""
    assert fault(tmp_path, text).startswith(message)


def test_cuts_nest_deeply(tmp_path: Path) -> None:
    """As many cuts as the format allows go out and come in; nothing compares them by recursion."""
    path = tmp_path / "plan.json"
    write_plan(with_tree(nested(MOST_NESTED)), path)
    layout: Layout = read_plan(path).layouts[0]
    assert len(layout.cuts) == MOST_NESTED
    assert {placed.node.at for placed in layout.cuts if isinstance(placed.node, Cut)} == {10}


@pytest.mark.parametrize("cuts", [MOST_NESTED + 1, 5000])
def test_cuts_nested_too_deeply_are_refused(tmp_path: Path, cuts: int) -> None:
    """More end in a message, on the way out and on the way in."""
    with pytest.raises(InputError, match="layout 1: cuts nested too deeply; expected at most 500"):
        plan_to_json(with_tree(nested(cuts)))
    text = plan_to_json(with_tree(Offcut(keep=True)))
    cut = '{"cut": "x", "at": 10, "low": {"offcut": "bin"}, "high": '
    tree = cut * cuts + '{"offcut": "keep"}' + "}" * cuts
    start = text.index('"tree": {')
    end = text.index("}", start) + 1
    assert "cuts nested too deeply" in fault(tmp_path, f'{text[:start]}"tree": {tree}{text[end:]}')


def test_a_plan_that_cannot_be_written_leaves_no_file(tmp_path: Path) -> None:
    """The text is made before the file is."""
    with pytest.raises(InputError):
        write_plan(with_tree(nested(MOST_NESTED + 1)), tmp_path / "plan.json")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("text", ['{"\\ud800": 1}', '["x\\uDFFFy"]', '{"format": "\\udc00"}'])
def test_half_a_character_is_refused(tmp_path: Path, text: str) -> None:
    """An escape that is half of a pair could be written to no file, wherever it stands."""
    assert "half a character (U+D" in fault(tmp_path, text)


def test_a_pair_of_escapes_is_one_character(tmp_path: Path) -> None:
    """What JSON writes as two escapes is read as the one that it means."""
    plan = replace(harvest_plan(), tool="\U0001f34e")
    text = json.dumps(data_of(plan))
    assert r"\ud83c\udf4e" in text
    assert read_data(tmp_path, text)[0] == plan
