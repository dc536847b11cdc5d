"""Cut files: true-scale SVG for a cutting machine, and the page that goes with them."""

from nesting.cutfile.arrangement import ArrangementError
from nesting.cutfile.carrier import CutFileError
from nesting.cutfile.document import cut_file

__all__ = ["ArrangementError", "CutFileError", "cut_file"]
