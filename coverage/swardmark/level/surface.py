"""The ground's surface from readings at places: Gaussian process regression with a plane, and its standard error.

Height = plane + smooth ground + reading error. The smooth ground has the Matern covariance of smoothness 3/2, with one
length scale; each reading has its own standard error, scaled by one factor. Length scale, height of the undulations and
that factor are those under which each reading is foretold best from all others (leave-one-out predictive density); the
factor carries a prior about 1, because the errors are known roughly beforehand. With readings of several sources each
further source has what it does not know of its own: its datum (one more constant of the regression), and a plane or a
quadratic where the tilt or the crown of the ground is not in it either.

Sources: C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, equations 2.23 to 2.26
(regression), 2.41 to 2.42 (with a plane of unknown coefficients, which is universal kriging), 4.17 (Matern 3/2) and
5.10 to 5.12 (leave-one-out); from memory, checked against outside implementations in tests/published.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from swardmark.level.ground import distances_between

Floats = NDArray[np.float64]

SCALES_M = (0.25, 0.4, 0.63, 1.0, 1.6, 2.5)
"""Length scales that are tried, in meters: hollows of about 0.4 to 5 m across."""
RATIOS = tuple(10.0 ** (k / 3) for k in range(-3, 11))
"""Ratios of undulation variance to reading variance that are tried."""
ERROR_SPREAD = 0.2
"""Standard deviation of the logarithm of the factor on the stated reading errors."""
LEAST_FACTOR = 0.1
"""Readings are never taken for ten times better than they are said to be."""
CHUNK = 4000
DATUM, PLANE, QUADRATIC = 1, 3, 6
"""Terms of the ground that a source of heights does not know, of 1, x, y, x^2, xy, y^2: the first so many."""


@dataclass(frozen=True, eq=False)
class Surface:
    """A fitted surface: predicts height and standard error anywhere.

    Attributes
    ----------
    places_m : ndarray, shape (N, 2)
        Places of the readings in meters.
    height_mm, se_mm : ndarray, shape (N,)
        Readings and their standard errors (as fitted) in millimeters.
    source : ndarray of int, shape (N,)
        Number of the datum that each reading is above, from 0.
    scale_m : float
        Length scale of the ground's undulations in meters.
    spread_mm : float
        Their standard deviation in millimeters.
    loo_mm : float
        Root mean square error of foretelling each reading from all others, in millimeters.
    unknown : tuple of int
        Terms of the ground that each source does not know: `DATUM`, `PLANE` or `QUADRATIC`. Heights are above the datum
        of source 0, and the fall is the one that it knows.
    """

    places_m: Floats
    height_mm: Floats
    se_mm: Floats
    source: NDArray[np.intp]
    scale_m: float
    spread_mm: float
    loo_mm: float
    unknown: tuple[int, ...] = (DATUM,)

    @property
    def error_mm(self) -> float:
        """Root mean square of the readings' standard errors, in millimeters."""
        return float(np.sqrt(np.mean(self.se_mm**2)))

    @cached_property
    def plane(self) -> Floats:
        """Datum in mm and slopes in mm per m along x and y: the ground's fall, by generalized least squares."""
        beta: Floats = self._beta_of @ self.height_mm
        return beta[:3]

    def undulation_weights(self, places_m: Floats) -> Floats:
        """Return the matrix, shape (M, N), that turns readings into undulation about the plane at M places."""
        return self._covariance_to(places_m) @ self._projected

    def predict(self, places_m: Floats) -> tuple[Floats, Floats]:
        """Return height above the first datum and its standard error at places, each of shape (M,), in millimeters."""
        mean, variance = np.empty(len(places_m)), np.empty(len(places_m))
        for start in range(0, len(places_m), CHUNK):
            part = slice(start, start + CHUNK)
            places = places_m[part]
            to_readings, basis = (
                self._covariance_to(places),
                _columns(places, np.zeros(len(places), np.intp), self.unknown),
            )
            left = basis - to_readings @ self._inverse_basis
            mean[part] = to_readings @ (self._projected @ self.height_mm) + basis @ (
                self._beta_of @ self.height_mm
            )
            variance[part] = (
                self.spread_mm**2
                - np.einsum("ij,ij->i", to_readings @ self._inverse, to_readings)
                + np.einsum("ij,ij->i", left @ self._beta_covariance, left)
            )
        return mean, np.sqrt(np.maximum(variance, 0.0))

    @cached_property
    def _inverse(self) -> Floats:
        covariance = self._covariance_to(self.places_m) + np.diag(self.se_mm**2)
        root = np.linalg.inv(np.linalg.cholesky(covariance))
        return np.asarray(root.T @ root, float)

    @cached_property
    def _basis(self) -> Floats:
        return _columns(self.places_m, self.source, self.unknown)

    @cached_property
    def _inverse_basis(self) -> Floats:
        return self._inverse @ self._basis

    @cached_property
    def _beta_covariance(self) -> Floats:
        return np.asarray(np.linalg.inv(self._basis.T @ self._inverse_basis), float)

    @cached_property
    def _beta_of(self) -> Floats:
        return self._beta_covariance @ self._inverse_basis.T

    @cached_property
    def _projected(self) -> Floats:
        projected: Floats = self._inverse - self._inverse_basis @ self._beta_of
        return projected

    def _covariance_to(self, places_m: Floats) -> Floats:
        return self.spread_mm**2 * matern32(distances_between(places_m, self.places_m), self.scale_m)


def fit_surface(
    places_m: Floats,
    height_mm: Floats,
    se_mm: Floats,
    *,
    source: NDArray[np.intp] | None = None,
    unknown: tuple[int, ...] | None = None,
    scale_m: float | None = None,
) -> Surface:
    """Fit a surface to readings, its length scale chosen by leave-one-out cross-validation.

    Parameters
    ----------
    places_m : ndarray, shape (N, 2)
        Places in meters; N must be 6 at least.
    height_mm, se_mm : ndarray, shape (N,)
        Heights and their standard errors in millimeters.
    source : ndarray of int, shape (N,), optional
        Number of the datum that each height is above; one datum by default.
    unknown : tuple of int, optional
        Terms of the ground that each source does not know; its datum alone by default.
    scale_m : float, optional
        A length scale to hold, in meters.

    Raises
    ------
    ValueError
        Too few readings, or all of them on one line.
    """
    datum = np.zeros(len(places_m), np.intp) if source is None else source
    terms = (DATUM,) * (int(datum.max(initial=0)) + 1) if unknown is None else unknown
    basis = _columns(places_m, datum, terms)
    if len(places_m) < basis.shape[1] + 3 or np.linalg.matrix_rank(basis) < basis.shape[1]:
        raise ValueError("readings on a line, or too few, make no surface")
    kernel = _null_space(basis / se_mm[:, None])
    seen = kernel.T @ (height_mm / se_mm)
    distances = distances_between(places_m, places_m)
    best: tuple[float, float, float, float, float] | None = None
    for scale in SCALES_M if scale_m is None else (scale_m,):
        shape = matern32(distances, scale) / np.outer(se_mm, se_mm)
        values, vectors = np.linalg.eigh(kernel.T @ shape @ kernel)
        for found in _tried(values.clip(0), kernel @ vectors, vectors.T @ seen, se_mm, scale):
            best = found if best is None or found[0] > best[0] else best
    assert best is not None
    _, scale, spread, factor, loo = best
    return Surface(places_m, height_mm, se_mm * factor, datum, scale, spread, loo, terms)


def matern32(distance_m: Floats, scale_m: float) -> Floats:
    """Return the Matern correlation of smoothness 3/2 at distances in meters."""
    s = math.sqrt(3) * distance_m / scale_m
    return (1 + s) * np.exp(-s)


def ground_terms(places_m: Floats) -> Floats:
    """Return 1, x, y, x^2, xy, y^2 of places, shape (N, 6)."""
    x, y = places_m.T
    return np.column_stack([np.ones(len(x)), x, y, x * x, x * y, y * y])


def _tried(
    values: Floats, axes: Floats, seen: Floats, se_mm: Floats, scale: float
) -> list[tuple[float, float, float, float, float]]:
    """Return (log density, scale, spread, factor on the errors, error of foretelling) for each variance ratio.

    In units of the reading errors and with the plane projected out, the covariance of the readings is diagonal on
    the given axes: factor squared x (ratio x values + 1).
    """
    found = []
    unit = float(np.median(se_mm)) ** 2
    for ratio in RATIOS:
        damping = 1 / (ratio * unit * values + 1)
        precision = np.einsum("ij,j,ij->i", axes, damping, axes)
        left_out = (axes @ (damping * seen)) / precision
        factor = math.sqrt(max(float(np.mean(left_out**2 * precision)), LEAST_FACTOR**2))
        deviation = factor / np.sqrt(precision)
        density = -0.5 * float(np.sum(2 * np.log(deviation) + (left_out / deviation) ** 2))
        prior = -0.5 * (math.log(factor) / ERROR_SPREAD) ** 2
        loo = float(np.sqrt(np.mean((left_out * se_mm) ** 2)))
        found.append((density + prior, scale, factor * math.sqrt(ratio * unit), factor, loo))
    return found


def _columns(places_m: Floats, source: NDArray[np.intp], unknown: tuple[int, ...]) -> Floats:
    """Return the columns of the regression: datum, x, y, and what each further source does not know."""
    terms = ground_terms(places_m)
    own = [terms[:, :count] * (source == n)[:, None] for n, count in enumerate(unknown) if n]
    return np.column_stack([terms[:, :PLANE], *own])


def _null_space(columns: Floats) -> Floats:
    """Return an orthonormal basis of what is orthogonal to the given columns."""
    full, _ = np.linalg.qr(columns, mode="complete")
    return full[:, columns.shape[1] :]
