"""Fitted curves against published lengths, areas and circle constructions.

Sources: the circle handle 4/3 tan(angle / 4) after Riskus, "Approximation of a cubic Bézier curve by
circular arcs and vice versa", Information Technology and Control 35 (2006); Archimedes, Quadrature of
the Parabola (area two thirds of the circumscribed parallelogram); ellipse area and perimeter after the
NIST Digital Library of Mathematical Functions, 19.30 (complete elliptic integral of the second kind).
"""

import numpy as np
import pytest

from convert.geometry.fit import fit_cubics, fit_ellipse_arcs, fit_quadratics

FINE = 1e-5


def length(segments):
    """Sum of chord times half angle over its sine."""
    chord = np.linalg.norm(segments.end - segments.start, axis=1)
    half = 2 * np.arctan(np.abs(segments.bulge))
    return (chord / np.sinc(half / np.pi)).sum()


def area(segments):
    """Polygon area of the vertices plus circular segments r^2 (angle - sin angle) / 2."""
    a, b = segments.start, segments.end
    polygon = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2
    arc = segments.bulge != 0
    angle = 4 * np.arctan(segments.bulge[arc])
    radius = np.linalg.norm((b - a)[arc], axis=1) / 2 / np.abs(np.sin(angle / 2))
    return polygon + (radius**2 * (angle - np.sin(angle)) / 2).sum()


@pytest.mark.parametrize(
    ("degrees", "handle"),
    [
        (30, 0.1755366634),
        (45, 0.2652164898),
        (60, 0.3572655899),
        (90, 0.552284749831),
        (120, 0.7698003589),
    ],
)
def test_circle_handles_give_one_arc(degrees, handle):
    """The published handle for an angle draws that arc, so that angle's bulge comes back."""
    angle = np.radians(degrees)
    end = np.array([np.cos(angle), np.sin(angle)])
    control = [(1, 0), (1, handle), end + handle * np.array([end[1], -end[0]]), end]
    fitted = fit_cubics([control], 0.002)
    assert fitted.segments.bulge == pytest.approx([np.tan(angle / 4)], rel=1e-9)
    assert fitted.error[0] < 3e-4 * (degrees / 90) ** 6 + 1e-12


def test_cubic_of_known_length_and_area():
    """(0,0)(0,1)(1,1)(1,0): speed 3 - 6t(1-t), so length 2; area to the x axis 0.6; top at (0.5, 0.75)."""
    fitted = fit_cubics([[(0, 0), (0, 1), (1, 1), (1, 0)]], FINE)
    assert length(fitted.segments) == pytest.approx(2, rel=1e-5)
    assert area(fitted.segments) == pytest.approx(-0.6, rel=1e-5)
    top = fitted.segments.start[:, 1].max()
    assert top <= 0.75 + FINE


def test_half_of_that_cubic():
    """De Casteljau's left half is (0,0)(0,.5)(.25,.75)(.5,.75): half the length."""
    fitted = fit_cubics([[(0, 0), (0, 0.5), (0.25, 0.75), (0.5, 0.75)]], FINE)
    assert length(fitted.segments) == pytest.approx(1, rel=1e-5)
    assert fitted.segments.end[-1].tolist() == [0.5, 0.75]


def test_parabola():
    """Archimedes: the quadratic (0,0)(1,2)(2,0) has area 4/3; its length is 2.957885715."""
    fitted = fit_quadratics([[(0, 0), (1, 2), (2, 0)]], FINE)
    assert area(fitted.segments) == pytest.approx(-4 / 3, rel=1e-5)
    assert length(fitted.segments) == pytest.approx(2.957885715, rel=1e-5)


def test_ellipse_area_and_perimeter():
    """Semi-axes 60 and 30: area 5654.866776, perimeter 290.6534466."""
    fitted = fit_ellipse_arcs([(0, 0)], [[(60, 0), (0, 30)]], [0.0], [2 * np.pi], 0.001)
    assert area(fitted.segments) == pytest.approx(5654.866776, rel=1e-5)
    assert length(fitted.segments) == pytest.approx(290.6534466, rel=1e-5)


@pytest.mark.parametrize(
    ("radius", "error", "chords"), [(25.4, 0.05, 51), (25.4, 0.01, 112), (50.8, 0.05, 71), (12.7, 0.1, 26)]
)
def test_circles_need_no_chords(radius, error, chords):
    """Chords within e of a circle: ceil(pi / acos(1 - e / r)) (sagitta). Two arcs do."""
    assert int(np.ceil(np.pi / np.arccos(1 - error / radius))) == chords
    fitted = fit_ellipse_arcs([(0, 0)], [[(radius, 0), (0, radius)]], [0.0], [2 * np.pi], error)
    assert len(fitted.segments) == 2
    assert area(fitted.segments) == pytest.approx(np.pi * radius**2, rel=1e-12)
