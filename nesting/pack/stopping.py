"""What a trimmer that can stop would save: a quick look after a plan of edge-to-edge cuts."""

from dataclasses import replace

from nesting.pack.bounds.dual_bounds import area_bound
from nesting.pack.model.problem import make_problem
from nesting.pack.search.incumbent import Search
from nesting.pack.search.schedule import improve
from nesting.pack.search.stopped_cuts import may_stop
from nesting.plan import PaperFigures, Plan

#: The most steps of a table with pinwheels, and the most rounds: some tenths of a second.
_STEPS, _ROUNDS = 5_000_000, 24


def saved_by_stopping(plan: Plan) -> dict[str, int]:
    """How many sheets a plan with stopped cuts would save, by paper; without those where it saves none.

    A quick look: another plan may save more. Nothing is looked for where cuts may stop already, where
    they cannot (a lever cuts from edge to edge), where the area alone rules it out, or where sheets
    differ in cost.
    """
    trimmer = plan.asked.trimmer
    if trimmer.stops or trimmer.kind == "lever":
        return {}
    saved = {figures.paper: _saved(plan, figures) for figures in plan.papers}
    return {paper: sheets for paper, sheets in saved.items() if sheets > 0}


def _saved(plan: Plan, figures: PaperFigures) -> int:
    trimmer = replace(plan.asked.trimmer, can_stop=True)
    problem = make_problem(plan.asked.paper(figures.paper), plan.pieces, trimmer)
    problem = replace(problem, stopped=True)
    if not problem.kinds or not problem.counts_sheets:
        return 0
    if area_bound(problem).value >= figures.needed or not may_stop(problem, _STEPS):
        return 0
    search = Search(problem, f"stopping/{figures.paper}")
    for _ in improve(search):
        if search.rounds > _ROUNDS or search.bound.value >= figures.needed:
            break
    return figures.needed - search.cost
