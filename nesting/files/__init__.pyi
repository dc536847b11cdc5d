from .at_hand import STASH, AtHand, as_planned
from .batch_change import with_changes_written
from .batch_draft import BatchDraft, read_draft
from .batch_models import batch_schema
from .batch_yaml import read_batch, read_batch_with_warnings, read_papers
from .faults import InputError, encoded_like, read_text
from .pieces_csv import batch_of_sheet, read_pieces_csv
from .plan_json import (
    plan_to_data,
    plan_to_json,
    read_plan,
    read_plan_with_faults,
    write_plan,
)
from .variants_yaml import read_variants, read_vary
from .whole import folder_to_oneself, is_empty_folder, try_folder, write_whole

__all__ = [
    "STASH",
    "AtHand",
    "BatchDraft",
    "InputError",
    "as_planned",
    "batch_of_sheet",
    "batch_schema",
    "encoded_like",
    "folder_to_oneself",
    "is_empty_folder",
    "plan_to_data",
    "plan_to_json",
    "read_batch",
    "read_batch_with_warnings",
    "read_draft",
    "read_papers",
    "read_pieces_csv",
    "read_plan",
    "read_plan_with_faults",
    "read_text",
    "read_variants",
    "read_vary",
    "try_folder",
    "with_changes_written",
    "write_plan",
    "write_whole",
]
