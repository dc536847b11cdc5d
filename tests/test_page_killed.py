"""What is left when the page's program is killed: every change that was answered."""

import random
import threading
from http.client import HTTPException
from pathlib import Path

import pytest
from page_served import Visitor, served, started

START = """\
# Windfalls from the old trees
batch: suppers 0
unit: in
papers:
  pear toss: {sheet: 12 x 12, have: 1}   # nobody sells it any more
pieces:
  - {name: tag, size: 2 x 3, paper: pear toss, count: 12}
"""


def field(number: int) -> dict[str, str]:
    """The change of a number: the name of the batch and how many sheets there are, in turn."""
    if number % 2:
        return {"/batch": f"suppers {number}"}
    return {"/papers/pear toss/have": str(number + 1)}


def text_after(number: int) -> str:
    """The file after all changes up to a number, from 0."""
    odd, even = max(0, number - 1 + number % 2), number - number % 2
    return START.replace("suppers 0", f"suppers {odd}").replace("have: 1", f"have: {even + 1}")


@pytest.mark.parametrize("seed", range(3))
def test_a_kill_loses_at_most_the_field_being_typed(tmp_path: Path, seed: int) -> None:
    """Field after field is posted, and the program killed meanwhile: what was answered is there."""
    folder = tmp_path / "cards"
    folder.mkdir()
    file = folder / "suppers.yaml"
    file.write_text(START)
    answered = 0
    with started(folder) as page:
        visitor = Visitor(page)
        visitor.ask("GET", "/batch/suppers.yaml")
        killing = threading.Timer(random.Random(seed).uniform(0.02, 0.5), page.process.kill)
        killing.start()
        try:
            while True:
                assert visitor.post("/batch/suppers.yaml/set", **field(answered + 1)).status == 303
                answered += 1
        except (OSError, HTTPException):
            killing.join()
    assert file.read_text() in (text_after(answered), text_after(answered + 1))
    with served(folder) as page:
        visitor = Visitor(page)
        visitor.ask("GET", "/batch/suppers.yaml")
        there = answered + (file.read_text() == text_after(answered + 1))
        assert file.read_text() == text_after(there)
        for back in range(min(there, 3)):  # and can still be taken back, step by step
            visitor.post("/batch/suppers.yaml/undo")
            assert file.read_text() == text_after(there - back - 1)
