"""Sheets cut up again: trees walked, strokes counted, a record followed stroke by stroke."""
