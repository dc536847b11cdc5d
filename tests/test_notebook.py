"""The notebook runs from top to bottom and shows its diagrams."""

import nbformat
import pytest
from nbclient import NotebookClient
from project import ROOT

NOTEBOOKS = ROOT / "notebooks"


@pytest.mark.filterwarnings("ignore")  # of the notebook machinery, not ours
def test_orchard_notebook_runs() -> None:
    """Every cell runs, and the diagrams come out as pictures."""
    notebook = nbformat.read(NOTEBOOKS / "orchard.ipynb", as_version=4)
    NotebookClient(
        notebook, timeout=300, resources={"metadata": {"path": str(NOTEBOOKS)}}
    ).execute()
    outputs = [out for cell in notebook.cells for out in cell.get("outputs", [])]
    pictures = [out for out in outputs if "image/png" in out.get("data", {})]
    assert len(pictures) >= 2
    assert any("image/svg+xml" in out.get("data", {}) for out in outputs)
    for words in ("needed", " 2 circle "):
        assert any(words in out.get("text", "") for out in outputs)
