"""The surface of the library: its names, their documentation, and the README's examples of it."""

import inspect
import re
from pathlib import Path

import pytest
from project import ROOT, SAMPLES

import nesting
from nesting.batch import Batch
from nesting.cards.resolving import resolve
from nesting.errors import NestingError
from nesting.files import read_batch

README = ROOT / "README.md"
FUNCTIONS = [
    "check", "compare", "cut_file", "draw_card", "draw_layout", "draw_pdf", "draw_shopping",
    "draw_side_by_side", "enough", "go_on", "layout_figures", "read_batch", "read_plan", "read_record", "solve",
    "suggest", "write_plan",
]  # fmt: skip


def fenced(language: str) -> list[str]:
    """The README's blocks in a language."""
    return re.findall(
        rf"^```{language}\n(.*?)^```$", README.read_text("utf-8"), re.MULTILINE | re.DOTALL
    )


def test_every_public_name_is_there() -> None:
    """Each name of the one list loads, and what has a docstring says something."""
    assert nesting.__all__ == sorted(nesting.__all__)
    for name in nesting.__all__:
        assert getattr(nesting, name) is not None
        if inspect.isclass(getattr(nesting, name)) or inspect.isfunction(getattr(nesting, name)):
            assert len(inspect.getdoc(getattr(nesting, name)) or "") > 20, name


def test_every_error_is_one_of_ours() -> None:
    """Whoever catches NestingError catches each error of the package."""
    errors = [getattr(nesting, name) for name in nesting.__all__ if name.endswith("Error")]
    assert len(errors) >= 5
    assert all(issubclass(error, NestingError) for error in errors)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_parameter_is_documented_and_there_is_an_example(name: str) -> None:
    """The docstring of each main function names all parameters, and shows a call that runs."""
    function = getattr(nesting, name)
    doc = inspect.getdoc(function) or ""
    for parameter in inspect.signature(function).parameters:
        assert re.search(rf"^(.*, )?{parameter}(,.*)?$", doc, re.MULTILINE), parameter
    assert ">>> " in doc
    assert "+SKIP" not in doc


def test_the_batch_of_the_readme_can_be_built_without_a_file(tmp_path: Path) -> None:
    """Built in Python it equals what is read from the README's file."""
    (block,) = [block for block in fenced("python") if "Batch(" in block]
    names: dict[str, object] = {}
    exec(block, names)  # noqa: S102 - the README's own example is what is tested
    path = tmp_path / "batch.yaml"
    (text,) = [block for block in fenced("yaml") if block.startswith("batch:")]
    path.write_text(text, "utf-8")
    assert isinstance(names["batch"], Batch)
    assert resolve(names["batch"]).batch == read_batch(path)


def test_the_examples_of_the_readme_run_one_after_the_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each goes on with what the ones before it have made."""
    monkeypatch.chdir(tmp_path)
    Path("samples").symlink_to(SAMPLES)
    names: dict[str, object] = {}
    for block in fenced("python"):
        exec(block, names)  # noqa: S102 - the README's own examples are what is tested
    assert {path.name for path in tmp_path.iterdir()} == {
        "samples",
        "plan.pdf",
        "card.png",
        "sheet.svg",
    }
