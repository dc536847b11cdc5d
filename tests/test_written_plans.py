"""Whatever the packer answers is written, read back, checked and drawn."""

from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import Phase, given, settings
from random_batches import batches

from nesting.batch import Batch
from nesting.checker import check
from nesting.cli.folder import drawn_files, layout_name
from nesting.files import read_plan_with_faults, write_plan
from nesting.pack import Rounds, solve

#: A batch that fails is shown as it is: to make it smaller would take many plans.
AS_FOUND = [Phase.generate]


@given(batches())
@settings(max_examples=30, phases=AS_FOUND)
def test_a_plan_is_read_back_equal_and_checked_without_fault(batch: Batch) -> None:
    """No number is too large for the file, and the checker accepts plan and proofs as they are read."""
    plan = solve(batch, Rounds(8))
    with TemporaryDirectory() as folder:
        path = Path(folder) / "plan.json"
        write_plan(plan, path)
        again, faults = read_plan_with_faults(path)
    assert again == plan
    assert not faults
    assert check(plan.asked, again) == ()


@given(batches())
@settings(max_examples=3, phases=AS_FOUND)
def test_a_plan_is_drawn(batch: Batch) -> None:
    """Pages, diagrams and labels are made of any plan."""
    plan = solve(batch, Rounds(8))
    files = drawn_files(plan, (), "letter")()
    assert set(files) >= {"plan.pdf"} | ({f"{layout_name(one)}.png" for one in plan.layouts})
