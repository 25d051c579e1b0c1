"""Uncertainty of a result from the uncertainties of what it was reckoned from: linear route and simulation."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sparkout.core.derivative import slope
from sparkout.core.errors import Contradiction, OutOfRange, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import joined, phrase

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.distributions import Distribution

Model = Callable[..., Any]
"""Called with the inputs by name; returns one number (or, in a simulation, an array of them)."""
Correlation = Mapping[tuple[str, str], float]

_LEAST_SCALE = 1e-4
"""First step of a derivative against the input's own size, where its uncertainty is smaller still."""

_RETREATS = 8


@dataclass(frozen=True, slots=True)
class Budget:
    """A result, its standard uncertainty, and what each input contributes to it (JCGM 100)."""

    value: float
    u: float
    dof: float
    components: Mapping[str, float]
    """c_i u_i for each input, signed, in the unit of the result; equal to the whole change for u_i when linear."""
    second_order_u: float = 0.0
    """Root of the second-order terms; already within `u` when these were asked for."""

    @property
    def measured(self) -> Measured:
        """The result as a measured value."""
        return Measured(self.value, self.u, self.dof)


def propagate(
    model: Model,
    inputs: Mapping[str, Measured],
    correlation: Correlation | None = None,
    second_order: bool = False,
) -> Budget:
    """Return the model's value with its combined standard uncertainty and the budget behind it.

    Equation: u² = sum_ij c_i u_i r_ij c_j u_j with c_i = df/dx_i (10, 13); effective degrees of freedom
    u⁴ / sum[(c_i u_i)⁴ / nu_i] (G.2b); second order adds sum_ij [f_ij²/2 + f_i f_ijj] u_i² u_j² (note to 5.1.2).

    Parameters
    ----------
    model : called as model(name=value, ...).
    inputs : by name, each with standard uncertainty and degrees of freedom.
    correlation : {(name, name): coefficient}; pairs left out are independent.
    second_order : also add the second-order terms (independent, normal inputs).

    Raises
    ------
    OutOfRange
        A correlation outside -1 to 1, or of an input that is not there or with itself.
    Contradiction
        Correlations that cannot all hold, or second order asked for with correlated inputs.

    Validity: model nearly straight over a few u of every input; otherwise `simulate`. Degrees of freedom by the
    formula suppose independence: with correlated inputs they are taken no higher than the lowest of those
    (cautious, common practice, no source).

    Examples
    --------
    >>> budget = propagate(lambda a, b: a - b, {"a": Measured(127.1, 0.03), "b": Measured(126.6, 0.04)})
    >>> round(budget.value, 3), round(budget.u, 3)
    (0.5, 0.05)

    References
    ----------
    JCGM 100:2008, 5.1.2, 5.2.2, G.4.1.
    """
    names = list(inputs)
    matrix = _correlations(names, correlation or {})
    if second_order and correlation:
        raise Contradiction(
            ("second_order", "correlation"), phrase("the second-order terms hold for independent inputs only")
        )
    at = {name: item.value for name, item in inputs.items()}
    components = {name: _component(model, at, name, inputs[name].u) for name in names}
    parts = np.array([components[name] for name in names])
    variance = float(parts @ matrix @ parts)
    dof = _effective_dof(variance, [(components[name], inputs[name].dof) for name in names])
    correlated = [inputs[n].dof for n, row in zip(names, matrix, strict=True) if np.count_nonzero(row) > 1]
    if correlated:
        dof = max(1.0, min(dof, *correlated))
    extra = _second_order(model, at, {name: item.u for name, item in inputs.items()}) if second_order else 0.0
    u = math.sqrt(max(0.0, variance + extra))
    return Budget(float(model(**at)), u, dof, components, math.sqrt(max(0.0, extra)))


def _correlations(names: list[str], correlation: Correlation) -> NDArray[np.float64]:
    matrix = np.eye(len(names))
    for (one, other), coefficient in correlation.items():
        if one == other or one not in names or other not in names:
            raise OutOfRange("correlation", f"{one}, {other}", phrase("pairs of {names}", names=joined(", ", names)))
        i, j = names.index(one), names.index(other)
        matrix[i, j] = matrix[j, i] = within(
            phrase("correlation of {one} and {other}", one=one, other=other), coefficient, -1.0, 1.0
        )
    if len(names) and np.linalg.eigvalsh(matrix)[0] < -1e-9:
        raise Contradiction(
            [phrase("{a} with {b}", a=a, b=b) for a, b in correlation],
            phrase("no set of quantities has these correlations"),
        )
    return matrix


def _component(model: Model, at: Mapping[str, float], name: str, u: float) -> float:
    if u == 0.0:
        return 0.0
    scale = max(u, _LEAST_SCALE * abs(at[name]), 1e-30)
    for _ in range(_RETREATS):
        try:
            return u * float(slope(lambda x: float(model(**{**at, name: x})), at[name], scale))
        except OutOfRange:  # the model ends within u of here: look closer
            scale /= 4.0
    return u * float(slope(lambda x: float(model(**{**at, name: x})), at[name], scale))


def _effective_dof(variance: float, parts: list[tuple[float, float]]) -> float:
    total = sum(component**4 / dof for component, dof in parts if math.isfinite(dof))
    return variance**2 / total if total > 0.0 else math.inf


def _second_order(model: Model, at: Mapping[str, float], u: Mapping[str, float]) -> float:
    """Sum the second-order terms, with differences in steps of u/2 and u/4 extrapolated to zero."""
    names = [name for name in u if u[name] > 0.0]

    def f(*moves: tuple[str, float]) -> float:
        moved = dict(at)
        for name, steps in moves:
            moved[name] += steps * u[name]
        return float(model(**moved))

    def mixed(i: str, j: str, h: float) -> float:
        """Return f_ij u_i u_j."""
        if i == j:
            return (f((i, h)) - 2.0 * f() + f((i, -h))) / h**2
        return (f((i, h), (j, h)) - f((i, h), (j, -h)) - f((i, -h), (j, h)) + f((i, -h), (j, -h))) / (4.0 * h**2)

    def third(i: str, j: str, h: float) -> float:
        """Return f_ijj u_i u_j²."""
        if i == j:
            return (f((i, 2 * h)) - 2.0 * f((i, h)) + 2.0 * f((i, -h)) - f((i, -2 * h))) / (2.0 * h**3)
        up = f((i, h), (j, h)) - 2.0 * f((i, h)) + f((i, h), (j, -h))
        down = f((i, -h), (j, h)) - 2.0 * f((i, -h)) + f((i, -h), (j, -h))
        return (up - down) / (2.0 * h**3)

    def extrapolated(difference: Callable[[str, str, float], float], i: str, j: str) -> float:
        return (4.0 * difference(i, j, 0.25) - difference(i, j, 0.5)) / 3.0

    first = {i: _component(model, at, i, u[i]) for i in names}
    return sum(
        extrapolated(mixed, i, j) ** 2 / 2.0 + first[i] * extrapolated(third, i, j) for i in names for j in names
    )


@dataclass(frozen=True, slots=True, eq=False)
class Simulated:
    """What a simulation made of the model: mean, standard uncertainty and the sorted values themselves."""

    mean: float
    u: float
    values: NDArray[np.float64]

    def symmetric(self, coverage: float = 0.95) -> tuple[float, float]:
        """Return the coverage interval with equal probability left out at both ends (JCGM 101 7.7.2)."""
        width, spare = self._counts(coverage)
        start = (spare + 1) // 2 - 1
        return float(self.values[start]), float(self.values[start + width])

    def shortest(self, coverage: float = 0.95) -> tuple[float, float]:
        """Return the shortest coverage interval (JCGM 101 7.7.4)."""
        width, spare = self._counts(coverage)
        start = int(np.argmin(self.values[width:] - self.values[:spare]))
        return float(self.values[start]), float(self.values[start + width])

    def _counts(self, coverage: float) -> tuple[int, int]:
        total = len(self.values)
        width = int(within("coverage", coverage, 0.0, 1.0 - 1.0 / total, above=True) * total + 0.5)
        width = min(width, total - 1)
        return width, total - width


def simulate(
    model: Model,
    inputs: Mapping[str, Distribution | Measured],
    draws: int,
    generator: np.random.Generator,
) -> Simulated:
    """Return mean, standard uncertainty and coverage intervals of the model by drawing its inputs.

    Equation: y_k = model(x_1k, ..., x_nk), k = 1 .. draws; mean and standard deviation of y (16, 17).

    Parameters
    ----------
    model : called once with arrays of shape (draws,) by name; returns such an array.
    inputs : by name, each a distribution, or a measured value (normal, or Student's t when its dof is finite).
    draws : number of draws, 100 to 100 million; the 95 % ends are good to about u times 5 / sqrt(draws).
    generator : where the random numbers come from.

    Raises
    ------
    OutOfRange
        Too few or too many draws, or a model that does not return one finite number per draw.

    Validity: inputs independent. The mean differs from model(means) when the model is bent.

    Examples
    --------
    >>> found = simulate(lambda a: 2 * a, {"a": Measured(3.0, 0.1)}, 100_000, np.random.default_rng(1))
    >>> abs(found.mean - 6.0) < 0.003, abs(found.u - 0.2) < 0.003
    (True, True)

    References
    ----------
    JCGM 101:2008, clause 7 (from memory).
    """
    from sparkout.core.distributions import of_measured

    count = int(within("draws", draws, 100, 1e8))
    drawn = {
        name: (of_measured(item) if isinstance(item, Measured) else item).draw(count, generator)
        for name, item in inputs.items()
    }
    values = np.asarray(model(**drawn), dtype=np.float64)
    if values.shape != (count,) or not np.isfinite(values).all():
        raise OutOfRange(
            "model",
            phrase("an array of shape {shape}", shape=values.shape),
            phrase("{count} finite numbers, one per draw", count=count),
        )
    values = np.sort(values)
    return Simulated(float(values.mean()), float(values.std(ddof=1)), values)
