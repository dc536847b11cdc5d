"""The stash: what is at hand, on record, in one SQLite file."""

from nesting.stash.database import StashError, usual_place
from nesting.stash.drawer import Stash
from nesting.stash.moved import moved_on_record
from nesting.stash.offcuts import StashOffcut, holds, offcuts_told
from nesting.stash.recorded import recorded, taken_together
from nesting.stash.table import read_table, write_table
from nesting.stash.use import use_plan

__all__ = [
    "Stash",
    "StashError",
    "StashOffcut",
    "holds",
    "moved_on_record",
    "offcuts_told",
    "read_table",
    "recorded",
    "taken_together",
    "use_plan",
    "usual_place",
    "write_table",
]
