"""Weighted least squares: observations with their ± in, most probable sizes and their doubts out.

The engine knows no room. A ``Problem`` says what each observation would read for given
unknowns; ``adjust`` finds the unknowns whose readings differ least from those observed,
each difference divided by its standard uncertainty (Gauss's principle), by damped
Gauss-Newton steps. Redundancy numbers and standardized residuals follow Baarda, A Testing
Procedure for Use in Geodetic Networks, 1968.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.survey.combine import chi_square_point

__all__ = [
    "Adjustment",
    "Observe",
    "Problem",
    "UndeterminedError",
    "adjust",
    "best_guess",
    "descents",
    "free_moves",
]

Floats: TypeAlias = NDArray[np.float64]
Observe: TypeAlias = Callable[[Floats], tuple[Floats, Floats]]

_STEPS = 200
_DEFICIENT = 1e-8  # a singular value this small beside the largest settles nothing
_UNCHECKED = 1e-9  # a redundancy number below this: nothing else checks the observation


class UndeterminedError(GeometryError):
    """The observations leave something free.

    missing : how many more independent measurements are needed
    settles : measurements that would help, by name; any one of them when one is missing
    """

    def __init__(self, says: str, missing: int, settles: tuple[str, ...] = ()) -> None:
        self.missing = missing
        self.settles = settles
        super().__init__(says)


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """What was observed and how it hangs on the unknowns.

    observe : (n,) unknowns to (m,) readings and their (m, n) derivatives
    observed, sigma : (m,) readings and their standard uncertainties, all above zero
    names : m names of observations, ``unknowns`` n names
    starts : first guesses, (n,) each; the best outcome wins, the earlier one on a tie
    turning : (m,) bool, readings in degrees that wrap at a full turn
    """

    observe: Observe
    observed: Floats
    sigma: Floats
    names: tuple[str, ...]
    unknowns: tuple[str, ...]
    starts: tuple[Floats, ...]
    turning: NDArray[np.bool_]

    def without(self, row: int) -> Problem:
        """Return the same problem with one observation left out."""
        keep = np.delete(np.arange(len(self.observed)), row)
        whole = self.observe

        def observe(x: Floats) -> tuple[Floats, Floats]:
            values, slopes = whole(x)
            return values[keep], slopes[keep]

        names = tuple(self.names[i] for i in keep)
        return replace(
            self,
            observe=observe,
            observed=self.observed[keep],
            sigma=self.sigma[keep],
            names=names,
            turning=self.turning[keep],
        )

    def misfit(self, x: Floats) -> tuple[Floats, Floats]:
        """Return whitened (observed - reading) (m,) and whitened derivatives (m, n)."""
        values, slopes = self.observe(x)
        off = self.observed - values
        off = np.where(self.turning, (off + 180.0) % 360.0 - 180.0, off)
        return off / self.sigma, slopes / self.sigma[:, None]


@dataclass(frozen=True, slots=True, eq=False)
class Adjustment:
    """Adjusted unknowns and how far to trust them, from ``m`` observations of ``n`` unknowns.

    unknowns (n,), covariance (n, n) : with the ± taken as given (not rescaled by the misfit)
    adjusted, residuals (m,) : what the adjusted unknowns read; adjusted minus observed
    redundancy (m,) : the share of an error in each reading that shows in its own residual, 0..1
    standardized (m,) : residual over its own standard uncertainty, 0 where nothing checks it
    influence (n, m) : first-order change of each unknown per unit change of each reading
    freedom : m - n; chi_square : sum of squared residuals over sigma, None without redundancy
    chi_limit : 95 % point of chi-square, None without redundancy
    """

    unknowns: Floats
    covariance: Floats
    adjusted: Floats
    residuals: Floats
    redundancy: Floats
    standardized: Floats
    influence: Floats
    slopes: Floats
    freedom: int
    chi_square: float | None
    chi_limit: float | None

    @property
    def uncertainty(self) -> Floats:
        """(n,) standard uncertainty of each unknown."""
        return np.sqrt(np.maximum(np.diag(self.covariance), 0.0))

    @property
    def unit_uncertainty(self) -> float | None:
        """Standard deviation of unit weight, about 1 when the ± are honest."""
        if self.chi_square is None:
            return None
        return float(np.sqrt(self.chi_square / self.freedom))

    @property
    def agrees(self) -> bool | None:
        """Whether the readings agree within their ±; None when nothing is redundant."""
        if self.chi_square is None or self.chi_limit is None:
            return None
        return self.chi_square <= self.chi_limit

    @property
    def says(self) -> str:
        """The global test in a sentence."""
        if self.chi_square is None or self.chi_limit is None:
            return "nothing is measured twice, so no slip would show"
        how = "agree" if self.agrees else "do not agree"
        spare = "1 spare measurement" if self.freedom == 1 else f"{self.freedom} spare measurements"
        return (
            f"the measurements {how} within their ± "
            f"(chi-square {self.chi_square:.2f}, limit {self.chi_limit:.2f}, {spare})"
        )


def free_moves(slopes: Floats) -> Floats:
    """Return (k, n) unit combinations of the unknowns that no observation feels.

    slopes : (m, n) derivatives, whitened or not

    >>> free_moves(np.array([[1.0, 1.0]])).round(3).tolist()
    [[-0.707, 0.707]]
    """
    size = np.linalg.norm(slopes, axis=0)
    size = np.where(size > 0.0, size, 1.0)
    _, values, axes = np.linalg.svd(slopes / size, full_matrices=True)
    floor = _DEFICIENT * max(float(values[0]) if len(values) else 0.0, 1e-300)
    moves = axes[int((values > floor).sum()) :] / size
    return np.asarray(moves / np.linalg.norm(moves, axis=1, keepdims=True))


def _descend(problem: Problem, start: Floats) -> tuple[Floats, float]:
    """Return the end of damped Gauss-Newton steps from a start and the cost there."""
    x, damping = start.astype(np.float64), 1e-3
    off, slopes = problem.misfit(x)
    cost = float(off @ off)
    for _ in range(_STEPS):
        scale = np.linalg.norm(slopes, axis=0)
        scale = np.where(scale > 0.0, scale, 1.0)
        tall = np.vstack([slopes, np.diag(np.sqrt(damping) * scale)])
        step = np.linalg.lstsq(tall, np.concatenate([off, np.zeros(len(x))]), rcond=None)[0]
        trial_off, trial_slopes = problem.misfit(x + step)
        trial = float(trial_off @ trial_off)
        if trial <= cost:
            small = float(np.abs(step).max()) <= 1e-9 * (1.0 + float(np.abs(x).max()))
            x, off, slopes, cost = x + step, trial_off, trial_slopes, trial
            damping = max(damping / 10.0, 1e-15)
            if small:
                break
        else:
            damping *= 10.0
            if damping > 1e12:
                break
    return x, cost


def _polished(problem: Problem, x: Floats) -> Floats:
    """Take a few undamped steps so the answer is exact to rounding."""
    off, slopes = problem.misfit(x)
    for _ in range(8):
        step = np.linalg.lstsq(slopes, off, rcond=None)[0]
        new_off, new_slopes = problem.misfit(x + step)
        if float(new_off @ new_off) > float(off @ off) * (1.0 + 1e-12) + 1e-18:
            break
        x, off, slopes = x + step, new_off, new_slopes
        if float(np.abs(step).max()) < 1e-11 * (1.0 + float(np.abs(x).max())):
            break
    return x


def descents(problem: Problem) -> list[tuple[Floats, float]]:
    """Return where each start ends and its sum of squared misfits, in the order of the starts."""
    return [_descend(problem, start) for start in problem.starts]


def best_guess(problem: Problem) -> Floats:
    """Return the unknowns of least misfit over all starts, whether or not they are determined."""
    ends = descents(problem)
    best, cost = ends[0]
    for x, other in ends[1:]:
        if other < cost * (1.0 - 1e-9) - 1e-12:
            best, cost = x, other
    return best


def adjust(problem: Problem) -> Adjustment:
    """Return the weighted least-squares adjustment of a problem.

    Raises UndeterminedError when some combination of unknowns is not observed.

    >>> def mean(x):
    ...     return np.repeat(x, 2), np.ones((2, 1))
    >>> found = adjust(Problem(mean, np.array([10.0, 16.0]), np.array([1.0, 2.0]), ("a", "b"),
    ...                        ("x",), (np.zeros(1),), np.zeros(2, dtype=bool)))
    >>> found.unknowns.round(6).tolist(), round(found.chi_square, 6)
    ([11.2], 7.2)
    """
    x = best_guess(problem)
    _, slopes = problem.misfit(x)
    moves = free_moves(slopes)
    if len(moves):
        free = [
            name
            for name, size in zip(problem.unknowns, np.abs(moves).max(axis=0), strict=True)
            if size > 0.01
        ]
        count = len(moves)
        short = "1 measurement is" if count == 1 else f"{count} measurements are"
        raise UndeterminedError(f"{short} missing: free are {', '.join(free)}", count)
    x = _polished(problem, x)
    return _judged(problem, x)


def _judged(problem: Problem, x: Floats) -> Adjustment:
    off, slopes = problem.misfit(x)
    values, raw = problem.observe(x)
    left, sizes, right = np.linalg.svd(slopes, full_matrices=False)
    inverse = (right.T / sizes) @ left.T  # (n, m): unknowns per whitened reading
    covariance = inverse @ inverse.T
    redundancy = np.clip(1.0 - (left**2).sum(axis=1), 0.0, 1.0)
    residuals = -off * problem.sigma
    checked = redundancy > _UNCHECKED
    spread = np.sqrt(np.where(checked, redundancy, 1.0))
    freedom = len(off) - len(x)
    chi = limit = None
    if freedom > 0:
        chi, limit = float(off @ off), chi_square_point(freedom, 0.95)
    return Adjustment(
        unknowns=x,
        covariance=0.5 * (covariance + covariance.T),
        adjusted=problem.observed + residuals if problem.turning.any() else values,
        residuals=residuals,
        redundancy=np.where(checked, redundancy, 0.0),
        standardized=np.where(checked, -off / spread, 0.0),
        influence=inverse / problem.sigma,
        slopes=raw,
        freedom=freedom,
        chi_square=chi,
        chi_limit=limit,
    )
