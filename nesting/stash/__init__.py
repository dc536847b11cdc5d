"""The stash: what is at hand, on record, in one SQLite file."""

from nesting.stash.database import StashError, usual_place
from nesting.stash.drawer import Offcut, Stash, holds
from nesting.stash.journal import Entry
from nesting.stash.record import parse_done
from nesting.stash.table import read_table, write_table
from nesting.stash.use import Taken, use_plan

__all__ = [
    "Entry",
    "Offcut",
    "Stash",
    "StashError",
    "Taken",
    "holds",
    "parse_done",
    "read_table",
    "use_plan",
    "usual_place",
    "write_table",
]
