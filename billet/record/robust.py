"""Fit a few figures to many readings, some of them slips: least squares that give way, with an interval."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky_banded, solve_banded
from scipy.optimize import approx_fprime, least_squares, minimize_scalar
from scipy.sparse import coo_array, csr_array
from scipy.special import stdtrit

Array = NDArray[np.float64]

GIVES_WAY = 1.5  # standard deviations beyond which a residual counts less: a usual choice, 95 % efficient (from memory)
NORMAL_MAD = 1.482602218505602  # 1 / quantile of the normal distribution at 3/4
_WORST_SHARE = 0.3
_TAIL = 4.0  # degrees of freedom of the heavy-tailed law by which reading errors are judged


@dataclass(frozen=True)
class Problem:
    """Relations that would hold exactly for errorless readings.

    ``residual(theta)`` gives one number per relation; ``slopes(theta)`` its derivatives by the logarithm of each
    reading, shape (relations, readings), relations that share a reading lying close together; ``variance(share)`` the
    variance of each reading's logarithm when, on top of the known error of reading, it errs by ``share`` of itself.
    """

    residual: Callable[[Array], Array]
    slopes: Callable[[Array], csr_array]
    variance: Callable[[float], Array]


@dataclass(frozen=True)
class Estimate:
    """Fitted ``values``, their standard errors, degrees of freedom, and the extra reading error found (``share``)."""

    values: Array
    errors: Array
    freedom: int
    share: float

    def interval(self, coverage: float = 0.9) -> Array:
        """Student's interval of each value, shape (2, values)."""
        reach = float(stdtrit(self.freedom, 0.5 + coverage / 2)) * self.errors
        return np.stack([self.values - reach, self.values + reach])


def solve(problem: Problem, start: Array) -> Estimate:
    """Fit ``start``'s parameters to the relations.

    One reading may stand in two relations, so the relations are first made independent: r = L^-1 residual with
    L L' = slopes diag(variance) slopes' (generalised least squares). How much worse than stated the readings are is
    judged from the residuals (Student's law with 4 degrees of freedom), the loss is 2 (sqrt(1 + r^2) - 1), and the
    standard errors are those of an M-estimator, Huber, "Robust Statistics" (1981), section 7.6, equation (6.5), with
    his correction for few readings (from memory).
    """
    theta = _fit(problem, start, _root(problem, start, 0.0), GIVES_WAY)
    share = _extra_share(problem, theta)
    root = _root(problem, theta, share)
    theta = _fit(problem, theta, root, GIVES_WAY)
    scale = _scale(_whiten(root, problem.residual(theta)), len(start))
    theta = _fit(problem, theta, root, GIVES_WAY * scale)
    return _estimate(problem, theta, root, GIVES_WAY * scale, share)


def _fit(problem: Problem, start: Array, root: Array, give: float) -> Array:
    found = least_squares(
        lambda theta: _whiten(root, problem.residual(theta)), start, loss="soft_l1", f_scale=give, x_scale="jac"
    )
    return np.asarray(found.x, dtype=float)


def _root(problem: Problem, theta: Array, share: float) -> Array:
    """The lower Cholesky factor of the relations' covariance, in LAPACK's banded form (row d holds diagonal d)."""
    slopes = problem.slopes(theta)
    covariance = coo_array((slopes * problem.variance(share)) @ slopes.T)
    row, column = covariance.coords
    banded = np.zeros((int(np.max(row - column)) + 1, covariance.shape[0]))
    low = row >= column
    banded[row[low] - column[low], column[low]] = covariance.data[low]
    return np.asarray(cholesky_banded(banded, lower=True))


def _whiten(root: Array, residual: Array) -> Array:
    return np.asarray(solve_banded((len(root) - 1, 0), root, residual))


def _extra_share(problem: Problem, theta: Array) -> float:
    """The share of itself by which each reading errs beyond what was stated; 0 when the stated error explains all."""
    residual = problem.residual(theta)

    def unlikely(share: float) -> float:
        root = _root(problem, theta, share)
        spread = (_TAIL + 1) / 2 * np.log1p(_whiten(root, residual) ** 2 / _TAIL)
        return float(np.sum(spread) + np.sum(np.log(root[0])))

    best = minimize_scalar(
        lambda log: unlikely(np.exp(log)), bounds=(np.log(1e-4), np.log(_WORST_SHARE)), method="bounded"
    )
    return float(np.exp(best.x)) if best.fun < unlikely(0.0) - 0.5 else 0.0


def _scale(whitened: Array, parameters: int) -> float:
    """Robust standard deviation, at least a tenth so that errorless readings leave something to divide by."""
    count = len(whitened)
    return max(NORMAL_MAD * float(np.median(np.abs(whitened))) * np.sqrt(count / (count - parameters)), 0.1)


def _estimate(problem: Problem, theta: Array, root: Array, give: float, share: float) -> Estimate:
    whitened = _whiten(root, problem.residual(theta))
    count, parameters = len(whitened), len(theta)
    pull = whitened / np.sqrt(1 + (whitened / give) ** 2)
    stiffness = (1 + (whitened / give) ** 2) ** -1.5
    mean = float(np.mean(stiffness))
    correction = 1 + parameters / count * float(np.var(stiffness)) / mean**2
    slope = _whiten(root, approx_fprime(theta, problem.residual, 1e-6 * np.maximum(np.abs(theta), 1e-4)))
    variance = correction**2 * float(np.sum(pull**2)) / (count - parameters) / mean**2
    errors = np.sqrt(variance * np.diag(np.linalg.inv(slope.T @ slope)))
    return Estimate(theta, errors, count - parameters, share)
