"""The most value from one sheet with limited copies, against published optima and trying every cut."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pack_cases import Case, problem_of
from pack_exact import tries_of, usable_of

from nesting.bench.literature import value_instances
from nesting.pack.model.pattern import counts
from nesting.pack.one_sheet.constrained_pricing import best_sheet
from nesting.pack.one_sheet.pattern_enumeration import Patience

# Instances: Christofides and Whitlock 1977, Wang 1983, Oliveira and Ferreira 1990, Hifi,
# Fekete and Schepers, Beasley; exact optima for fixed pieces: Thomopulos 2016; Furini, Malaguti and
# Thomopulos 2016.
FILE = Path(__file__).parent / "outside" / "single_sheet_bounded.json"

#: The optimum in the file is 22503, but CP-SAT proves that 22502 is the most even without
#: edge-to-edge cuts (OR-Tools 9, two-dimensional packing of the same pieces: 22502, optimal).
CORRECTED = {"okp2": 22502}

#: Those that take more than a second or two; `nesting bench single-bounded` has them all.
LONG = {"okp2", "okp3", "okp5", "Hchl4s", "Hchl8s", "CHL1", "CHL6", "CHL7"}


def names() -> list[str]:
    """The quick instances of the file."""
    return [d["name"] for d in json.loads(FILE.read_text()) if d["name"] not in LONG]


@pytest.mark.parametrize("name", names())
def test_published_optima_with_limited_copies(name: str) -> None:
    """The value is the published optimum, proven, and the pattern really has it."""
    instance = next(
        one for one in value_instances(FILE, turned=False, bounded=True) if one.batch.name == name
    )
    best = best_sheet(instance.problem, instance.values)
    assert best.proven
    assert best.value == CORRECTED.get(name, instance.optimum)
    assert best.pattern is not None
    size = instance.problem.sizes[0]
    assert best.pattern.width <= size.width
    assert best.pattern.height <= size.height
    found = counts(best.pattern, len(instance.values))
    used = [min(n, d) for n, d in zip(found, instance.problem.demand, strict=True)]
    assert sum(v * n for v, n in zip(instance.values, used, strict=True)) == best.value


SIDES = st.integers(1, 6)


@settings(max_examples=60)
@given(
    sheet=st.tuples(st.integers(3, 8), st.integers(3, 8)),
    pieces=st.lists(
        st.tuples(
            SIDES, SIDES, st.integers(1, 2), st.sampled_from(["may", "never"]), st.integers(1, 30)
        ),
        min_size=1,
        max_size=4,
        unique_by=lambda piece: piece[:2],
    ),
)
def test_as_much_as_trying_every_cut_finds(
    sheet: tuple[int, int], pieces: list[tuple[int, int, int, Any, int]]
) -> None:
    """Fixed and turned, the best of all patterns within the demand, on sheets small enough to try."""
    case = Case(((*sheet, None),), tuple(piece[:4] for piece in pieces))
    if not case.sound:
        return
    problem = problem_of(case.batch())
    worth = {f"{w}x{h} {turn}": value for w, h, _, turn, value in pieces}
    values = list(worth.values())[: len(problem.kinds)]
    held = tries_of(problem).patterns(problem.demand, usable_of(problem)[0])
    exact = max(sum(v * n for v, n in zip(values, one, strict=True)) for one in held)
    best = best_sheet(problem, values)
    assert best.proven
    assert best.value == exact


def test_without_patience_the_bound_still_holds() -> None:
    """Given up early, the value is one that a pattern has, and the bound is not below the optimum."""
    instance = next(
        one for one in value_instances(FILE, turned=False, bounded=True) if one.batch.name == "okp3"
    )
    best = best_sheet(instance.problem, instance.values, patience=Patience(1_000, 10))
    assert best.value <= 24019 <= best.bound
    assert best.value > 0
