"""What ± a size has when the file does not write one: a project in, a rule for its lengths out."""

from __future__ import annotations

from collections.abc import Callable

from massing.project.project import Project
from massing.survey.methods import default_half_width
from massing.units import Length

__all__ = ["default_half_width_of"]


def default_half_width_of(project: Project) -> Callable[[Length], float]:
    """Half-width, mm, of a length without a written ±.

    A length that says how it was measured has that method's ±; so have the sizes of the room
    where the project says it once (``survey: by``), which reading the file has already written
    to each. Where things are to go is a decision, not a measurement, and is taken as exact.
    """
    del project

    def default(length: Length) -> float:
        return 0.0 if length.method is None else default_half_width(length.method, length.mm)

    return default
