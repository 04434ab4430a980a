"""First-order propagation of uncertainty through a measurement equation, with its budget.

Inputs are scaled by their standard uncertainties and freed of their correlations, so that every derivative taken here
is one along independent axes of unit spread: the derivative *is* the contribution. That keeps one step size sensible
for inputs of any size and unit.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.differentiate import derivative

from ballbench.errors import BadRequest, Fault, NotConverged
from ballbench.quantities.uncertain import Uncertain

__all__ = ["Budget", "Line", "SecondOrder", "effective_dof", "output_correlation", "propagate"]

Equation = Callable[..., Any]
Array = NDArray[np.float64]

# Central differences of fourth order on the points -3..3, in units of the step (exact for polynomials of degree 4).
_OFFSETS = np.arange(-3.0, 4.0)
_FIRST = np.array([0.0, 1.0, -8.0, 0.0, 8.0, -1.0, 0.0]) / 12.0
_SECOND = np.array([0.0, -1.0, 16.0, -30.0, 16.0, -1.0, 0.0]) / 12.0
_THIRD = np.array([1.0, -8.0, 13.0, 0.0, -13.0, 8.0, -1.0]) / 8.0
_STEP = 0.25  # standard uncertainties: small against the spread, large against rounding (own choice)


@dataclass(frozen=True, slots=True)
class Line:
    """One input of a budget.

    Parameters
    ----------
    name : str
        The input, as the measurement equation names it.
    estimate, u : float
        Its value and standard uncertainty, in `unit`.
    sensitivity : float
        Partial derivative of the result by this input at the estimates, result unit per `unit`; NaN where `u` is 0.
    contribution : float
        sensitivity times u, with its sign, in the unit of the result.
    dof : float
        Degrees of freedom behind `u`.
    unit : str
        Unit of the input.
    """

    name: str
    estimate: float
    u: float
    sensitivity: float
    contribution: float
    dof: float
    unit: str


@dataclass(frozen=True, slots=True)
class SecondOrder:
    """What the curvature of the equation adds.

    Parameters
    ----------
    value : float
        Estimate with half the curvature added: the mean of the result to second order.
    u : float
        Standard uncertainty with the terms of second order; NaN where they would make the variance negative, which
        says that the expansion does not hold over the spread of the inputs.
    """

    value: float
    u: float


@dataclass(frozen=True, slots=True)
class Budget:
    """A result and where its uncertainty comes from.

    Parameters
    ----------
    result : Uncertain
        Value, combined standard uncertainty and effective degrees of freedom; these are NaN for correlated inputs
        with finite degrees of freedom, for which the formula does not hold.
    lines : tuple of Line
        One for each input, in the order given.
    correlation : tuple of tuple of float
        Correlation matrix of the inputs, in the order of `lines`.
    second_order : SecondOrder or None
        None unless asked for.
    """

    result: Uncertain
    lines: tuple[Line, ...]
    correlation: tuple[tuple[float, ...], ...]
    second_order: SecondOrder | None = None

    def expanded(self, confidence: float = 0.95) -> float:
        """Give the expanded uncertainty of the result (`ballbench.quantities.uncertain.Uncertain.expanded`)."""
        return self.result.expanded(confidence)


def propagate(
    equation: Equation,
    inputs: Mapping[str, Uncertain],
    correlation: ArrayLike | None = None,
    *,
    unit: str = "1",
    second_order: bool = False,
) -> Budget:
    """Propagate the uncertainties of the inputs through a measurement equation.

    Parameters
    ----------
    equation : callable
        Takes every input as a keyword argument of type float, in the units of `inputs`, and returns the result in
        `unit`.
    inputs : mapping of str to Uncertain
        Estimates of the inputs; at least one.
    correlation : (m, m) array_like, optional
        Correlation matrix in the order of `inputs`; independent when left out.
    unit : str
        Unit of the result; a label, nothing is converted.
    second_order : bool
        Also compute the terms of second order; costs up to 49 calls for each pair of inputs.

    Returns
    -------
    Budget
        Result, lines, and the second order when asked for.

    Raises
    ------
    BadRequest
        No input, a correlation matrix that is not one, or an equation that gives no finite number at the estimates.
    NotConverged
        A sensitivity could not be found to one part in a million of the largest one.

    Notes
    -----
    JCGM 100:2008, 5.1.2 equation (10) and 5.2.2 equation (16); sensitivities numerically as in 5.1.3, note 2, but
    refined until they are the derivative at the estimate; degrees of freedom by equation (G.2b). Second order: note to
    5.1.2. For correlated inputs that note is applied after a rotation to independent ones (own extension, exact for
    normal inputs and an equation of second degree).
    """
    names = tuple(inputs)
    if not names:
        raise BadRequest(Fault("propagate, inputs", "none", "at least one input", "name what the result depends on"))
    matrix = _checked_correlation(correlation, len(names))
    estimates = np.array([inputs[name].value for name in names])
    spreads = np.array([inputs[name].u for name in names])

    def scaled(steps: Array) -> float:
        values = estimates + spreads * steps
        return float(equation(**dict(zip(names, map(float, values), strict=True))))

    value = scaled(np.zeros(len(names)))
    if not math.isfinite(value):
        raise BadRequest(
            Fault("propagate, equation", f"{value} at the estimates", "a finite result", "check the inputs")
        )
    contributions = _contributions(scaled, names, spreads)
    u = math.sqrt(max(float(contributions @ matrix @ contributions), 0.0))
    dofs = tuple(inputs[name].dof for name in names)
    independent = bool(np.array_equal(matrix, np.eye(len(names))))
    dof = effective_dof(contributions, dofs) if independent or all(math.isinf(d) for d in dofs) else math.nan
    lines = tuple(
        Line(name, inputs[name].value, inputs[name].u, c / s if s > 0.0 else math.nan, c, inputs[name].dof, unit_of)
        for name, c, s, unit_of in zip(
            names, contributions.tolist(), spreads.tolist(), (inputs[n].unit for n in names), strict=True
        )
    )
    curved = _second_order(scaled, value, matrix, spreads) if second_order else None
    rows = tuple(tuple(row) for row in matrix.tolist())
    return Budget(Uncertain(value, u, dof, unit), lines, rows, curved)


def effective_dof(contributions: ArrayLike, dofs: Sequence[float]) -> float:
    """Give the effective degrees of freedom of a sum of independent contributions.

    Parameters
    ----------
    contributions : (m,) array_like of float
        Contributions c_i u_i, in one unit; the sign does not matter.
    dofs : sequence of float
        Degrees of freedom of each, above 0, ``inf`` allowed.

    Returns
    -------
    float
        ``inf`` when no contribution with finite degrees of freedom differs from 0; NaN where one of `dofs` is.

    Notes
    -----
    Welch-Satterthwaite, JCGM 100:2008, equation (G.2b).
    """
    parts = np.abs(np.asarray(contributions, dtype=np.float64))
    total = float(np.sum(parts**2))
    weight = float(np.sum(parts**4 / np.asarray(dofs, dtype=np.float64)))
    return math.inf if weight == 0.0 else total**2 / weight


def output_correlation(first: Budget, second: Budget) -> float:
    """Give the correlation of two results that were computed from the same inputs.

    Parameters
    ----------
    first, second : Budget
        From `propagate` with the same inputs in the same order, and the same correlation.

    Returns
    -------
    float
        Between -1 and 1; NaN where one of the results has no uncertainty.

    Raises
    ------
    BadRequest
        The budgets do not have the same inputs.

    Notes
    -----
    JCGM 100:2008, H.2.3 equation (H.9) and F.1.2.3 note 3 for correlated inputs.
    """
    if [line.name for line in first.lines] != [line.name for line in second.lines]:
        raise BadRequest(
            Fault("output_correlation", "two lists of inputs", "one list of inputs", "propagate both from the same one")
        )
    left, right = (np.array([line.contribution for line in budget.lines]) for budget in (first, second))
    scale = first.result.u * second.result.u
    return float(left @ np.asarray(first.correlation) @ right / scale) if scale > 0.0 else math.nan


def _checked_correlation(correlation: ArrayLike | None, size: int) -> Array:
    """Return the matrix, or say all that is wrong with it."""
    if correlation is None:
        return np.eye(size)
    matrix = np.asarray(correlation, dtype=np.float64)
    where = "propagate, correlation"
    if matrix.shape != (size, size):
        shape = Fault(where, f"shape {matrix.shape}", f"{size} rows and columns", "give one row for each input")
        raise BadRequest(shape)
    faults = []
    if not np.allclose(np.diag(matrix), 1.0):
        faults.append(Fault(where, "a diagonal that is not 1", "1 on the diagonal", "divide by the uncertainties"))
    if not np.allclose(matrix, matrix.T):
        faults.append(Fault(where, "two halves that differ", "a symmetric matrix", "give r(i, j) = r(j, i)"))
    elif float(np.linalg.eigvalsh(matrix).min()) < -1e-9:
        faults.append(Fault(where, "a negative eigenvalue", "correlations that can occur together", "check the signs"))
    if faults:
        raise BadRequest(faults)
    return matrix


def _contributions(scaled: Callable[[Array], float], names: tuple[str, ...], spreads: Array) -> Array:
    """Differentiate along each input, in units of its standard uncertainty."""
    axes = np.eye(len(names))[spreads > 0.0]
    sides = np.array([(scaled(0.5 * axis), scaled(-0.5 * axis)) for axis in axes]).reshape(-1, 2)
    largest = float(np.max(np.abs(sides[:, 0] - sides[:, 1]), initial=0.0))
    met = max(abs(scaled(np.zeros(len(names)))), float(np.max(np.abs(sides), initial=0.0)))
    rounding = 64.0 * float(np.finfo(np.float64).eps) * met
    found = np.zeros(len(names))
    for axis in axes:

        def along(steps: Array, axis: Array = axis) -> Array:
            return np.array([scaled(step * axis) for step in np.ravel(steps)]).reshape(np.shape(steps))

        slope, error = _slope(along, {"atol": 1e-9 * largest + rounding, "rtol": 1e-9})
        needed = 1e-6 * max(largest, abs(slope)) + 16.0 * rounding
        if not error <= needed:
            raise NotConverged(f"the sensitivity to {names[int(np.argmax(axis))]}", error, needed)
        found += slope * axis
    return found


def _slope(along: Callable[[Array], Array], tolerances: dict[str, float]) -> tuple[float, float]:
    """Differentiate at 0 with shrinking steps; give the slope of the step with the least error, and that error."""
    best = (math.nan, math.inf)

    def keep(outcome: Any) -> None:
        nonlocal best
        if float(outcome.error) < best[1]:  # later steps are finer, but lose figures to rounding
            best = (float(outcome.df), float(outcome.error))

    derivative(along, 0.0, initial_step=0.5, order=8, maxiter=8, tolerances=tolerances, callback=keep)
    return best


def _second_order(scaled: Callable[[Array], float], value: float, matrix: Array, spreads: Array) -> SecondOrder:
    """Sum the terms of the note to 5.1.2 over independent axes."""
    weights, vectors = np.linalg.eigh(matrix)
    rotation = vectors * np.sqrt(np.clip(weights, 0.0, None))
    axes = [column for column in rotation.T if np.any(column * spreads != 0.0)]
    shift = 0.0
    variance = 0.0
    for i, along in enumerate(axes):
        line = np.array([scaled(offset * _STEP * along) for offset in _OFFSETS])
        slope, bend, third = (
            float(stencil @ line) / _STEP**power for power, stencil in enumerate((_FIRST, _SECOND, _THIRD), 1)
        )
        shift += bend / 2.0
        variance += slope**2 + bend**2 / 2.0 + slope * third
        for j, across in enumerate(axes):
            if j != i:
                plane = np.array(
                    [[scaled((p * along + q * across) * _STEP) for q in _OFFSETS[1:-1]] for p in _OFFSETS[1:-1]]
                )
                mixed = float(_FIRST[1:-1] @ plane @ _FIRST[1:-1]) / _STEP**2
                mixed_third = float(_FIRST[1:-1] @ plane @ _SECOND[1:-1]) / _STEP**3
                variance += mixed**2 / 2.0 + slope * mixed_third
    return SecondOrder(value + shift, math.sqrt(variance) if variance >= 0.0 else math.nan)
