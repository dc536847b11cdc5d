"""Lists of pieces from a spreadsheet."""

from pathlib import Path

import pytest
from plans import inches

from nesting.batch import Batch
from nesting.files import InputError, batch_of_sheet, read_papers, read_pieces_csv

PAPERS = """\
batch: Orchard supper
unit: in
trimmer: {kind: lever}
papers:
  cream: {sheet: 12 x 12, have: 3}
  two faces: {sheet: 12 x 12, have: 3, front: four-way, back: one-way}
cards: {windfall: {make: 1, size: 2 x 2, base: {paper: cream}}}
"""


def read(tmp_path: Path, text: str | bytes, papers: Batch | None = None) -> Batch:
    """The batch of a list with that text."""
    path = tmp_path / "market tags.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_pieces_csv(path, papers or batch_of_sheet("12 x 12", "in"))


def faults(tmp_path: Path, text: str | bytes, papers: Batch | None = None) -> list[str]:
    """What is said of a list that cannot be used, without the folder."""
    with pytest.raises(InputError) as caught:
        read(tmp_path, text, papers)
    return [message.removeprefix(f"{tmp_path}/market ") for message in caught.value.messages]


def papers_of_file(tmp_path: Path) -> Batch:
    """Two papers from a batch file."""
    path = tmp_path / "batch.yaml"
    path.write_text(PAPERS)
    return read_papers(path)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_spreadsheets_write_in_many_ways(
    tmp_path: Path, separator: str, line_end: str, mark: str
) -> None:
    """Separators, line ends and a byte order mark make no difference."""
    rows = [
        ["Name", " SIZE", "circle", "paper", "face", "turn", "count"],
        ["jar tag", "2 x 3 1/2", "", "", "", "", "24"],
        ["", "", "", "", "", "", ""],
        ["", "", '"2,5"', "", "Front", "must", " 12 "],
    ]
    text = mark + "".join(separator.join(row) + line_end for row in rows)
    batch = read(tmp_path, text)
    tag, lid = batch.pieces
    assert batch.name == "market tags"
    assert (tag.name, tag.paper, tag.count) == ("jar tag", "paper", 24)
    assert (tag.width, tag.height, tag.face, tag.turn) == (
        inches("2"), inches("3 1/2"), "front", "may",
    )  # fmt: skip
    assert (lid.name, lid.circle, lid.turn, lid.count) == ("piece 2", inches("2 1/2"), "must", 12)


def test_a_decimal_comma_needs_no_quotes_beside_semicolons(tmp_path: Path) -> None:
    """A spreadsheet with decimal commas parts its cells by semicolons."""
    batch = read(tmp_path, "size;count\n4,25 x 5,5 cm;3\n")
    assert (batch.pieces[0].width, batch.pieces[0].height) == (42_500_000, 55_000_000)


def test_quotes_hold_everything(tmp_path: Path) -> None:
    """A cell in quotes may hold separators, and quotes written twice."""
    batch = read(tmp_path, 'name,size,count\n"tag, ""small""",  "4"" x 5""" ,3\nx,4" x 5",1\n')
    assert batch.pieces[0].name == 'tag, "small"'
    assert batch.pieces[0].width == batch.pieces[1].width == inches("4")


def test_papers_come_from_a_batch_file(tmp_path: Path) -> None:
    """Papers and trimmer are those of the file; its cards are left out."""
    papers = papers_of_file(tmp_path)
    batch = read(tmp_path, "size,paper,face,count\n2 x 3,two faces,back,1\n", papers)
    assert (batch.papers, batch.trimmer, batch.cards) == (papers.papers, papers.trimmer, ())
    assert (batch.pieces[0].face, batch.pieces[0].turn) == ("back", "never")


def test_the_paper_has_to_be_said_among_several(tmp_path: Path) -> None:
    """Only where there is one paper the column may be empty."""
    papers = papers_of_file(tmp_path)
    text = "size,paper,count\n2 x 3,,1\n2 x 3,crem,1\n2 x 3,two faces,1\n"
    assert faults(tmp_path, text, papers) == [
        "tags.csv:2:7: no 'paper'; expected paper: the name of one of the papers",
        "tags.csv:3:7: paper 'crem'; expected one of the papers; the nearest is 'cream'",
        "tags.csv:4:1: no face, and 'two faces' is printed on both; expected face: front or face: back",
    ]


def test_every_fault_has_line_and_column(tmp_path: Path) -> None:
    """The column is where the cell's text begins, whatever stood before it."""
    text = (
        "name,size,circle,count\n"
        'a,"2 x",,3\n'
        '"b\nc",3 x 4,, 0\n'
        "d,3 x 4,2,1\n"
        "e,,,1\n"
        "f,3 x 4\n"
        "g,3,5 x 4,,1\n"
        "h,30 x 4,,1\n"
    )
    assert [message.split("; ")[0] for message in faults(tmp_path, text)] == [
        "tags.csv:2:4: size: '2 x'",
        "tags.csv:3:2: name: 'b\\nc'",
        "tags.csv:4:12: count: '0'",
        "tags.csv:5:9: 'circle' beside 'size'",
        "tags.csv:6:3: nothing that says how large it is",
        "tags.csv:7:1: no 'count'",
        "tags.csv:8:12: '1' beyond the last column",
        "tags.csv:9:1: h, 30 x 4 in",
    ]


@pytest.mark.parametrize(
    ("text", "messages"),
    [
        ("", ["1:1: no names of columns; expected a first row of name,size,circle,paper,face,turn,count"]),
        ("tag,2 x 3,12\n", ["1:1: no names of columns; expected a first row of name,size,circle,paper,face,turn,count"]),
        ("size,count\n", ["1:1: no pieces; expected a row for each"]),
        ("name,count\nx,1\n", ["1:1: no column 'size' or 'circle'; expected one of them"]),
        (
            "name,Qty,diameter\nx,1,2\n",
            [
                "1:6: unknown column 'Qty'; expected 'count', the nearest of those known",
                "1:10: unknown column 'diameter'; expected 'circle', the nearest of those known",
            ],
        ),
        ("\nname,sise,size,size\nx,1\n", [
            "2:1: no column 'count'; expected one with the number of pieces",
            "2:6: unknown column 'sise'; expected 'size', the nearest of those known",
            "2:16: column 'size' a second time; expected each column once",
        ]),
        ('size,count\n"2 x 3,1\n', ["2:1: a quote that does not end with its cell; expected quotes around the whole cell, and a quote inside them written twice"]),
        ("size,count\n2 x 3,1\n".encode("utf-16"), ["1:1: a byte that is not UTF-8 (0xFF); expected a list of pieces saved as UTF-8 text"]),
    ],
)  # fmt: skip
def test_what_is_no_list(tmp_path: Path, text: str | bytes, messages: list[str]) -> None:
    """A list that cannot be read at all is refused in plain words."""
    assert faults(tmp_path, text) == [f"tags.csv:{message}" for message in messages]


def test_a_sheet_is_a_size(tmp_path: Path) -> None:
    """The sheet of the command line is one paper, as many as it takes, in the unit given."""
    batch = batch_of_sheet("210 x 297", "mm")
    sheet = batch.papers[0].sheets[0]
    assert (sheet.width, sheet.height, sheet.have) == (210_000_000, 297_000_000, None)
    assert (batch.unit, batch.trimmer.marks, batch.lap) == ("mm", 1_000_000, 6_000_000)
    assert read(tmp_path, "size,count\n105 x 148,3\n", batch).pieces[0].width == 105_000_000
    with pytest.raises(InputError, match="--sheet: '12 on 12'; expected a size"):
        batch_of_sheet("12 on 12", "in")


def test_thousands_of_columns(tmp_path: Path) -> None:
    """The first fifty are looked at, the others counted; empty ones at the end are none."""
    columns = ",".join(f"c{number}" for number in range(90_000))
    said = faults(tmp_path, f"size,count,{columns}\n1 x 1,1\n")
    assert len(said) == 49
    assert said[0].startswith("tags.csv:1:12: unknown column 'c0'; expected")
    assert said[-1].endswith(": 89,952 columns more; expected at most the 7 that there are")
    assert read(tmp_path, f"size,count{',' * 9_000}\n1 x 1,1\n").pieces


def test_thousands_of_rows(tmp_path: Path) -> None:
    """What no batch of cards needs is not read on."""
    said = faults(tmp_path, "size,count\n" + "x,1\n" * 160_000)
    assert len(said) == 10_001
    assert said[-1] == "tags.csv:10002:1: more than 10,000 rows; expected fewer pieces"


def test_letters_with_accents_are_one_however_they_are_typed(tmp_path: Path) -> None:
    """A paper is found whichever way its name is typed."""
    (tmp_path / "batch.yaml").write_text(PAPERS.replace("cream", "p\xe2te"))
    papers = read_papers(tmp_path / "batch.yaml")
    (piece,) = read(tmp_path, "size,paper,count\n2 x 3,pa\u0302te,4\n", papers).pieces
    assert piece.paper == papers.papers[0].name
