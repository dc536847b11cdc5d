"""The subject of a page: one layout of a plan, its steps, and which face is up."""

from dataclasses import dataclass, field

from nesting.cutting.parallel_cuts import Part, whole_part
from nesting.cutting.steps import Step, Stroke
from nesting.cutting.strokes import steps_of
from nesting.draw.sheet.bearings import seen_edge, shows_face
from nesting.layouts import Layout
from nesting.papers import Edge, FaceName, Paper
from nesting.plan import Plan
from nesting.sources import starting_corner
from nesting.units import Unit


@dataclass(frozen=True, slots=True)
class Subject:
    """A layout as it is drawn; ``back_up``: as it lies when the sheet's back is up."""

    plan: Plan
    layout: Layout
    back_up: bool = False
    steps: tuple[Step, ...] = field(init=False)
    whole: Part = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "steps", steps_of(self.layout, self.plan.asked))
        object.__setattr__(self, "whole", whole_part(self.layout))

    @property
    def paper(self) -> Paper:
        """The paper it is cut from."""
        return self.plan.asked.paper(self.layout.paper)

    @property
    def unit(self) -> Unit:
        """The unit that lengths are written in."""
        return self.plan.asked.unit

    @property
    def corner(self) -> tuple[Edge, Edge]:
        """The corner that all measures start from, as it is seen."""
        side, end = starting_corner(self.layout, self.paper, self.plan.asked.trimmer)
        return self.seen(side), end

    @property
    def directed_faces(self) -> tuple[FaceName, ...]:
        """The faces that have a direction which matters, the one that is up first."""
        names: tuple[FaceName, ...] = ("back", "front") if self.back_up else ("front", "back")
        return tuple(
            name
            for name in names
            if self.paper.face(name).directed
            and (name == names[0] or shows_face(self.plan, self.layout, name))
        )

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """All strokes in their order."""
        return tuple(stroke for step in self.steps for stroke in step.strokes)

    def seen(self, edge: Edge) -> Edge:
        """Where an edge of the sheet is seen."""
        return seen_edge(edge, back_up=self.back_up)
