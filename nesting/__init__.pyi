from .advice.comparison import PlanFaultError, compare
from .advice.sufficiency import enough
from .advice.suggestions import suggest
from .advice.variants import Change, Variant
from .batch import (
    At,
    Base,
    Batch,
    BatchError,
    Card,
    Envelope,
    Layer,
    LoosePiece,
    PaperChoice,
    PaperOption,
    Trimmer,
)
from .checker import check
from .cutfile import CutFileError, cut_file
from .draw import (
    A4_PAGE,
    LETTER_PAGE,
    draw_card,
    draw_layout,
    draw_pdf,
    draw_shopping,
    draw_side_by_side,
    layout_figures,
)
from .errors import NestingError
from .files import InputError, read_batch, read_plan, write_plan
from .going_on import go_on
from .layouts import Layout
from .pack import FirstOf, Limit, NoGain, Rounds, Seconds, State, solve
from .papers import BarcodeStrip, Edges, Face, Paper, Sheet
from .pieces import Piece
from .plan import Plan
from .record import read_record
from .typed_lengths import LengthError, parse_length, parse_size
from .units import format_length, format_size
from .version import __version__

__all__ = [
    "A4_PAGE",
    "LETTER_PAGE",
    "At",
    "BarcodeStrip",
    "Base",
    "Batch",
    "BatchError",
    "Card",
    "Change",
    "CutFileError",
    "Edges",
    "Envelope",
    "Face",
    "FirstOf",
    "InputError",
    "Layer",
    "Layout",
    "LengthError",
    "Limit",
    "LoosePiece",
    "NestingError",
    "NoGain",
    "Paper",
    "PaperChoice",
    "PaperOption",
    "Piece",
    "Plan",
    "PlanFaultError",
    "Rounds",
    "Seconds",
    "Sheet",
    "State",
    "Trimmer",
    "Variant",
    "__version__",
    "check",
    "compare",
    "cut_file",
    "draw_card",
    "draw_layout",
    "draw_pdf",
    "draw_shopping",
    "draw_side_by_side",
    "enough",
    "format_length",
    "format_size",
    "go_on",
    "layout_figures",
    "parse_length",
    "parse_size",
    "read_batch",
    "read_plan",
    "read_record",
    "solve",
    "suggest",
    "write_plan",
]
