"""Which measurement is wrong: an adjustment problem in, the suspect and the likely slip out.

Data snooping (Baarda 1968): an observation is suspect when its standardized residual exceeds
3.29, the two-sided 0.1 % point of the normal distribution. Each suspect is then left out in
turn: a single blunder is the one without which all the others agree.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from massing.survey.adjust import Adjustment, Problem, UndeterminedError, adjust
from massing.survey.outline import OutlineAdjustment, outline_problem
from massing.survey.slips import Slip, likely_slip

__all__ = ["SUSPECT_ABOVE", "Blunder", "Suspect", "find_blunder", "outline_blunder"]

SUSPECT_ABOVE = 3.2905  # two-sided 0.1 % of the standard normal distribution
_CLEARLY = 10.83  # 0.1 % point of chi-square with one degree of freedom
_COVER = 2.0  # a slip fits when it is within two standard uncertainties


@dataclass(frozen=True, slots=True)
class Suspect:
    """One observation left out.

    disagrees : observed minus what the others give, mm or degrees
    spread : standard uncertainty of that difference; standardized : their ratio
    chi_square : of the others alone; agrees : whether they agree without it, None when none
        of them is then redundant
    slip : the usual slip that explains it, for lengths
    """

    row: int
    name: str
    observed: float
    disagrees: float
    spread: float
    standardized: float
    chi_square: float
    agrees: bool | None
    slip: Slip | None


@dataclass(frozen=True, slots=True)
class Blunder:
    """The outcome: ``suspect`` when one can be named, else the ``rivals`` it may be among."""

    suspect: Suspect | None
    rivals: tuple[Suspect, ...]
    says: str


def _left_out(problem: Problem, found: Adjustment, row: int) -> Suspect | None:
    """Return the suspect of that row, None when nothing else checks it."""
    if found.redundancy[row] == 0.0:
        return None
    try:
        rest = adjust(problem.without(row))
    except UndeterminedError:
        return None
    value = float(problem.observe(rest.unknowns)[0][row])
    off = float(problem.observed[row]) - value
    if problem.turning[row]:
        off = (off + 180.0) % 360.0 - 180.0
    spread = float(problem.sigma[row]) / float(found.redundancy[row]) ** 0.5
    slip = None
    if not problem.turning[row]:
        read = float(problem.observed[row])
        slip = likely_slip(read, read - off, _COVER * spread)
    return Suspect(
        row=row,
        name=problem.names[row],
        observed=float(problem.observed[row]),
        disagrees=off,
        spread=spread,
        standardized=off / spread,
        chi_square=rest.chi_square or 0.0,
        agrees=rest.agrees,
        slip=slip,
    )


def _amount(suspect: Suspect, *, turning: bool) -> str:
    if turning:
        return f"{abs(suspect.disagrees):.1f} degrees"
    return f"{abs(suspect.disagrees):.0f} mm"


def _named(suspect: Suspect, *, turning: bool) -> str:
    way = "more" if suspect.disagrees > 0 else "less"
    says = (
        f"{suspect.name} reads {_amount(suspect, turning=turning)} {way} than the other "
        "measurements give; they agree without it"
    )
    if suspect.slip is not None:
        says += f". Likely {suspect.slip.says}: {suspect.slip.value:.0f}"
    return says


def _unsure(rivals: tuple[Suspect, ...]) -> str:
    names = [rival.name for rival in rivals]
    listed = ", ".join(names[:-1]) + " or " + names[-1]
    says = f"something is wrong, but the measurements cannot tell which of {listed}"
    slipped = [rival for rival in rivals if rival.slip is not None]
    for rival in slipped:
        if rival.slip is not None:
            says += f"; {rival.name} would fit if {rival.slip.says} ({rival.slip.value:.0f})"
    return says + ". Measure one of them again"


def find_blunder(problem: Problem, found: Adjustment | None = None) -> Blunder | None:
    """Return the blunder in a problem, or None when nothing disagrees beyond its ±.

    ``found`` is the problem's adjustment when it is already at hand. Without redundancy the
    outcome says that nothing can be checked.

    Raises UndeterminedError when there are too few observations.
    """
    found = adjust(problem) if found is None else found
    if found.freedom == 0:
        return Blunder(None, (), found.says)
    worst = max(abs(float(w)) for w in found.standardized)
    if found.agrees and worst <= SUSPECT_ABOVE:
        return None
    tried = [_left_out(problem, found, row) for row in range(len(problem.names))]
    checked = [s for s in tried if s is not None]
    checked.sort(key=lambda s: (s.chi_square, -abs(s.standardized), s.row))
    if not checked:
        return Blunder(None, (), found.says)
    best = checked[0]
    near = tuple(s for s in checked if s.chi_square - best.chi_square < _CLEARLY)
    if best.agrees is False:
        says = (
            f"more than one measurement disagrees; {best.name} is the furthest out "
            f"({_amount(best, turning=bool(problem.turning[best.row]))}), but the others do "
            "not agree without it"
        )
        return Blunder(None, near, says)
    if len(near) > 1:
        near = tuple(sorted(near, key=lambda s: s.row))
        return Blunder(None, near, _unsure(near))
    return Blunder(best, (), _named(best, turning=bool(problem.turning[best.row])))


def outline_blunder(found: OutlineAdjustment) -> Blunder | None:
    """Return the blunder in an adjusted outline survey, or None; see ``find_blunder``.

    >>> from massing.survey.outline import adjust_outline
    >>> from massing.survey.readings import OutlineSurvey, corner_angle, length
    >>> walls = [length(i, (i + 1) % 4, (3000.0, 2000.0)[i % 2], 4.0) for i in range(4)]
    >>> angles = [corner_angle(i, 90.0, 0.3) for i in range(4)]
    >>> diagonals = [length(0, 2, 3705.6, 4.0), length(1, 3, 3605.6, 4.0)]
    >>> survey = OutlineSurvey(tuple("ABCD"), (*walls, *angles, *diagonals))
    >>> print(outline_blunder(adjust_outline(survey)).says)
    the diagonal A-C reads 100 mm more than the other measurements give; they agree without it. \
Likely read 100 too much: 3606
    """
    problem = outline_problem(found.survey)
    # The adjusted shape is nearly right already; the plainest start helps where a slip bent it.
    starts = (found.adjustment.unknowns, problem.starts[0])
    return find_blunder(replace(problem, starts=starts), found.adjustment)
