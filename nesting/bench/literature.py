"""The literature's instances as batches: plain whole numbers become millimetres.

The JSON has a list of instances: ``name``, ``width``, ``height`` and ``pieces``, which are
``[width, height, demand]`` where many sheets are asked for (with ``lower_bound_fixed`` and
``lower_bound_turned``), or have ``width``, ``height``, ``value`` and perhaps ``demand`` where the
most value from one sheet is (with ``optimal_fixed`` and ``optimal_turned``). Keys and columns as
the sets were published with are read, too.
"""

import csv
import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from nesting.batch import Batch, LoosePiece
from nesting.cards.resolving import resolve
from nesting.errors import NestingError
from nesting.pack.model.problem import Problem, make_problem
from nesting.papers import Paper, Sheet
from nesting.pieces import Piece

_MM = 1_000_000
#: Our names for keys and columns that the sets were published with.
_KEYS = {"items": "pieces"}
_COLUMNS = {"class": "group", "n": "pieces", "ub_best": "fewest"}


class InstanceError(NestingError, ValueError):
    """A file that does not hold instances of the kind asked for."""


@dataclass(frozen=True, slots=True)
class SheetsInstance:
    """Cut all pieces from as few sheets as possible; ``least`` is a published lower bound."""

    cell: str
    batch: Batch
    least: int | None


@dataclass(frozen=True, slots=True)
class ValueInstance:
    """Cut the most value from one sheet; ``optimum`` is published where it is known."""

    batch: Batch
    problem: Problem
    pieces: tuple[Piece, ...]
    values: list[int]
    optimum: int | None


def read_instances(path: Path) -> list[dict[str, Any]]:
    """Read the instances of a JSON file.

    Raises
    ------
    InstanceError
        There is no such file, or it holds something else.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise InstanceError(f"{path}: cannot be read ({error.strerror})") from None
    except ValueError as error:
        raise InstanceError(f"{path}: no JSON ({error})") from None
    needed = ("name", "width", "height", "pieces")
    if isinstance(data, list) and all(isinstance(one, dict) for one in data):
        instances = [_renamed(one, _KEYS) for one in data]
        if all(set(needed) <= set(one) for one in instances):
            return instances
    raise InstanceError(f"{path}: expected a list of instances with {', '.join(needed)}")


def _renamed(record: dict[str, Any], names: dict[str, str]) -> dict[str, Any]:
    return {names.get(key, key): value for key, value in record.items()}


def sheets_instances(path: Path, *, turned: bool) -> Iterator[SheetsInstance]:
    """Make a batch of each instance that asks for many sheets.

    The cell is the name without its last part: ``class01-020-03`` is of ``class01-020``.
    """
    for data in read_instances(path):
        if not all(isinstance(piece, list) for piece in data["pieces"]):
            raise InstanceError(f"{path}: {data['name']}: expected pieces [width, height, demand]")
        least = data.get("lower_bound_turned" if turned else "lower_bound_fixed")
        yield SheetsInstance(
            data["name"].rpartition("-")[0],
            sheets_batch(data, data["pieces"], turned=turned),
            least,
        )


def value_instances(path: Path, *, turned: bool, bounded: bool) -> Iterator[ValueInstance]:
    """Make a problem of each instance that asks for the most value from one sheet."""
    for data in read_instances(path):
        if not all(isinstance(piece, dict) for piece in data["pieces"]):
            raise InstanceError(
                f"{path}: {data['name']}: expected pieces with width, height, value"
            )
        area = data["width"] * data["height"]
        listed = [
            [
                piece["width"],
                piece["height"],
                piece["demand"] if bounded else area // (piece["width"] * piece["height"]) or 1,
            ]
            for piece in data["pieces"]
        ]
        asked = resolve(sheets_batch(data, listed, turned=turned))
        # Equal pieces are one piece: the dearest of them counts.
        batch, pieces = asked.batch, asked.pieces()
        values = [
            max(piece["value"] for piece, n in zip(data["pieces"], numbers, strict=True) if n == at)
            for numbers in [_piece_numbers(pieces, batch)]
            for at in range(len(pieces))
        ]
        problem = make_problem(batch.papers[0], pieces, batch.trimmer)
        optimum = data.get("optimal_turned" if turned else "optimal_fixed")
        yield ValueInstance(batch, problem, pieces, values, optimum)


def _piece_numbers(pieces: tuple[Piece, ...], batch: Batch) -> list[int]:
    """Which piece each one listed has become."""
    by_name = {use.layer: number for number, piece in enumerate(pieces) for use in piece.uses}
    return [by_name[loose.name] for loose in batch.pieces]


def sheets_batch(data: dict[str, Any], listed: list[list[int]], *, turned: bool) -> Batch:
    """The batch of an instance and its pieces ``[width, height, demand]``."""
    sheet = Sheet(data["width"] * _MM, data["height"] * _MM)
    loose = [
        LoosePiece(f"{number}", "sheet", n, w * _MM, h * _MM, turn="may" if turned else "never")
        for number, (w, h, n) in enumerate(listed, 1)
    ]
    return Batch(data["name"], "mm", (Paper("sheet", (sheet,)),), pieces=tuple(loose))


def single(instance: ValueInstance, counts: tuple[int, ...]) -> Batch:
    """Make the batch that asks for just what one sheet was found to hold."""
    numbers = _piece_numbers(instance.pieces, instance.batch)
    first = {at: numbers.index(at) for at in set(numbers)}
    loose = tuple(
        replace(instance.batch.pieces[first[at]], count=n) for at, n in enumerate(counts) if n
    )
    return replace(instance.batch, pieces=loose)


def published(path: Path) -> dict[str, int]:
    """Read published totals by cell from a CSV with the columns ``group``, ``pieces``, ``fewest``.

    A cell is the instances of a group with so many pieces each; ``fewest`` sheets were found for
    them in all. Rows without ``pieces`` are sums of cells and left out.

    Raises
    ------
    InstanceError
        There is no such file, or it holds something else.
    """
    try:
        with path.open(encoding="utf-8", newline="") as file:
            rows = [_renamed(row, _COLUMNS) for row in csv.DictReader(file)]
        return {
            f"class{int(row['group']):02d}-{int(row['pieces']):03d}": int(row["fewest"])
            for row in rows
            if row["pieces"]
        }
    except OSError as error:
        raise InstanceError(f"{path}: cannot be read ({error.strerror})") from None
    except (KeyError, TypeError, ValueError):
        raise InstanceError(
            f"{path}: expected a CSV of whole numbers with the columns group, pieces, fewest"
        ) from None
