"""Plans on disk: ``plan.json``, version 2.

Lengths are whole nanometres. The lists ``blanks`` and ``offcuts`` of a layout only say again what
its tree says; so does a piece's ``diameter``. They are written for other readers, and what of them
disagrees with the tree is named by ``read_plan_with_faults``. Keys have underscores; in version 1
those of what was asked had spaces, as in a batch file. Both are read, whatever the version. Older
plans have ``cuts`` for ``strokes``, which are fewer where several sheets are cut at once.
"""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any, NoReturn

from nesting.batch import Batch
from nesting.cards.resolving import resolve
from nesting.cutting.strokes import effort
from nesting.files.cut_tree import nested_too_deeply, read_tree, tree_data
from nesting.files.faults import InputError, TextPlace, half_character, read_text, said, said_at
from nesting.files.json_data import as_list, as_mapping, described, from_data, to_data
from nesting.files.plan_derived import derived_lists, diameter_of, find_derived_faults
from nesting.files.whole import write_whole
from nesting.layouts import Layout, Strip
from nesting.plan import Plan

FORMAT = "nesting-plan"
VERSION = 2
#: Versions that are read.
_READ = (1, VERSION)

_WHAT = "a plan.json"
_AT_LEAST_1 = {
    "width", "height", "circle", "marks", "longest_cut", "narrowest_hold", "stack", "make", "each",
    "count", "at_most",
}  # fmt: skip
#: What is written only where there is any.
_WHERE_ANY = ("unchosen", "one_more", "middles", "after")


def write_plan(plan: Plan, path: str | Path) -> None:
    """Write a plan, whole or not at all.

    Parameters
    ----------
    plan
        The plan.
    path
        Where to; a file that is there is replaced.

    Raises
    ------
    InputError
        A layout has cuts nested too deeply for the format.
    OSError
        The file cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> import nesting
    >>> plan = nesting.solve(nesting.read_batch("samples/cider.yaml"))
    >>> with TemporaryDirectory() as folder:
    ...     write_plan(plan, f"{folder}/plan.json")
    ...     read_plan(f"{folder}/plan.json") == plan
    True
    """
    write_whole({Path(path): plan_to_json(plan)})


def read_plan(path: str | Path) -> Plan:
    """Read a plan as its trees tell it.

    Parameters
    ----------
    path
        Of the JSON file.

    Raises
    ------
    InputError
        The file is no plan of a known version; the message has the place in it.

    Examples
    --------
    ``write_plan`` shows a plan that is written and read again.

    >>> try:
    ...     read_plan("README.md")
    ... except InputError as error:
    ...     print(error.messages[0][:14])
    README.md:1:1:
    """
    return read_plan_with_faults(path)[0]


def read_plan_with_faults(path: str | Path) -> tuple[Plan, tuple[str, ...]]:
    """Read a plan; also name each entry of the file that disagrees with what it is derived from.

    Raises
    ------
    InputError
        The file is no plan of a known version; the message has the place in it.
    """
    data = _parse(read_text(path, _WHAT), str(path))
    plan = plan_from_data(data, str(path))
    return plan, tuple(find_derived_faults(data, plan))


def plan_to_json(plan: Plan) -> str:
    """Write a plan as JSON text; equal plans give equal texts.

    Raises
    ------
    InputError
        A layout has cuts nested too deeply for the format.
    """
    return json.dumps(plan_to_data(plan), ensure_ascii=False, indent=1) + "\n"


def plan_to_data(plan: Plan) -> dict[str, Any]:
    """Write a plan as JSON data.

    Raises
    ------
    InputError
        A layout has cuts nested too deeply for the format.
    """
    data = {
        "format": FORMAT,
        "version": VERSION,
        "tool": plan.tool,
        "batch": plan.asked.name,
        "unit": plan.asked.unit,
        "seed": plan.seed,
        "ended": plan.ended,
        "asked": to_data(plan.asked),
        "pieces": [
            {**to_data(piece, _as_in_plan), "diameter": diameter_of(piece)} for piece in plan.pieces
        ],
        "unchosen": to_data(plan.unchosen, _as_in_plan),
        "layouts": [_layout_data(layout) for layout in plan.layouts],
        "uncut": to_data(plan.uncut, _as_in_plan),
        "cards": to_data(plan.cards),
        "whole_cards": to_data(plan.whole_cards),
        "chosen": to_data(plan.chosen),
        "one_more": to_data(plan.one_more),
        "middles": to_data(plan.middles),
        "papers": to_data(plan.papers),
        "warnings": list(plan.warnings),
        "notes": list(plan.notes),
        "after": to_data(plan.after),
    }
    return {key: value for key, value in data.items() if value or key not in _WHERE_ANY}


def plan_from_data(data: object, name: str) -> Plan:
    """Read a plan from JSON data; ``name`` is the file's in messages.

    Raises
    ------
    InputError
        The data is no plan of a known version.
    """
    plan = as_mapping(data, name)
    if plan.get("format") != FORMAT:
        raise InputError(
            said(name, f"format {described(plan.get('format'))}", f"format {FORMAT!r}")
        )
    version = plan.get("version")
    if type(version) is not int or version not in _READ:
        read = f"version {described(version)} of the plan format"
        expected = f"version {' or '.join(map(str, _READ))}, which this tool reads"
        raise InputError(said(name, read, expected))
    place = f"{name}: $"
    cuts_counted = _counts_cuts(plan.get("papers"))
    answer = from_data(
        Plan,
        {"notes": [], **plan},  # plans of the first version have none
        place,
        _as_in_plan,
        asked=_read_asked(plan.get("asked"), f"{place}.asked"),
        layouts=tuple(
            _read_layout(layout, f"{place}.layouts[{number}]")
            for number, layout in enumerate(as_list(plan.get("layouts"), f"{place}.layouts"))
        ),
    )
    return _counted_anew(answer) if cuts_counted else answer


def _parse(text: str, name: str) -> Any:
    """The JSON data of a text; no key twice, no numbers but finite ones."""

    def once(pairs: list[tuple[str, object]]) -> dict[str, object]:
        data = dict(pairs)
        if len(data) < len(pairs):
            keys = [key for key, _ in pairs]
            twice = next(key for key in keys if keys.count(key) > 1)
            raise InputError(said(name, f"key {twice!r} twice in an object", "each key once"))
        return data

    def refuse(constant: str) -> NoReturn:
        raise InputError(said(name, constant, "finite numbers"))

    try:
        data = json.loads(text, object_pairs_hook=once, parse_constant=refuse)
    except InputError:
        raise
    except json.JSONDecodeError as error:
        place = TextPlace(error.lineno, error.colno)
        read = f"text that is not JSON ({error.msg})"
        expected = f"{_WHAT} (where both are named, the batch comes first)"
        raise InputError(said_at(name, place, read, expected)) from None
    except RecursionError:
        raise nested_too_deeply(name) from None
    except ValueError:
        raise InputError(said(name, "a number of thousands of digits", _WHAT)) from None
    half = half_character(json.dumps(data, ensure_ascii=False))
    if half is not None:
        raise InputError(said(name, half, "whole characters"))
    return data


def _read_asked(data: object, place: str) -> Batch:
    """What was asked, as free of faults as a batch that was read from a batch file."""
    asked = from_data(Batch, data, place)
    _refuse_too_small(to_data(asked), place)
    resolved = resolve(asked)
    if resolved.faults:
        raise InputError(
            *(
                said(".".join(map(str, (place, *fault.path))), fault.read, fault.expected)
                for fault in resolved.faults
            )
        )
    return resolved.batch


def _refuse_too_small(data: object, place: str) -> None:
    """No number of what was asked but an angle is negative, and sizes and counts are at least 1."""
    if isinstance(data, list):
        for number, one in enumerate(data):
            _refuse_too_small(one, f"{place}[{number}]")
    for key, value in data.items() if isinstance(data, dict) else ():
        here = f"{place}.{key}"
        least = int(key in _AT_LEAST_1)
        is_length = isinstance(value, int) and not isinstance(value, bool) and key != "angle"
        if is_length and value < least:
            raise InputError(said(here, str(value), f"a whole number, {least} or more"))
        _refuse_too_small(value, here)


def _layout_data(layout: Layout) -> dict[str, Any]:
    tree = tree_data(layout.tree, f"layout {layout.id}")
    return {**to_data(replace(layout, tree=Strip())), "tree": tree, **derived_lists(layout)}


def _read_layout(data: object, place: str) -> Layout:
    layout = as_mapping(data, place)
    return from_data(Layout, layout, place, tree=read_tree(layout.get("tree"), f"{place}.tree"))


def _counts_cuts(papers: object) -> bool:
    """Whether the figures of a plan are older and count cuts, which are strokes unless stacked."""
    entries = papers if isinstance(papers, list) else []
    return any(isinstance(one, dict) and "cuts" in one and "strokes" not in one for one in entries)


def _counted_anew(plan: Plan) -> Plan:
    """The plan with its strokes as the trimmer's stack makes them."""
    known = {paper.name for paper in plan.asked.papers}
    if plan.asked.trimmer.stack == 1 or not known >= {figures.paper for figures in plan.papers}:
        return plan
    return replace(
        plan,
        papers=tuple(
            replace(figures, strokes=effort(plan.layouts_of(figures.paper), plan.asked).strokes)
            for figures in plan.papers
        ),
    )


def _as_in_plan(field: str) -> str:
    return "for" if field == "uses" else field
