"""The same thing found at several sizes is said once, with the sizes named where they matter."""

from convert.errors import Finding, Place, Severity
from convert.remarks import gathered, once, together


def finding(what, *, code="BLOCK-001", at=(1.0, 2.0), severity=Severity.WARNING, file=None):
    """Return a warning, or another finding."""
    return Finding(code, severity, what, "Mind it", Place(at=at, file=file))


def said(*sizes):
    """Return what is said of findings at sizes small, medium and large."""
    names = ("small", "medium", "large")
    return [f.what for f in together(list(zip(names, sizes, strict=True)))]


def test_at_every_size():
    """What holds everywhere in the same words names no size, even if places differ by rounding."""
    a, b = finding("sharp"), finding("sharp", at=(1.000001, 2.0))
    assert said([a], [b], [a]) == ["sharp"]
    zero, minus = finding("x", at=(0.0, 0.0)), finding("x", at=(-0.0, -1e-9))
    assert said([zero], [minus], [zero]) == ["x"]


def test_at_some_sizes():
    """What holds at some sizes names them."""
    a = finding("short")
    assert said([a], [], []) == ["size small: short"]
    assert said([a], [a], []) == ["sizes small and medium: short"]


def test_in_other_words():
    """Where the numbers differ, the smallest size's are given and the others named."""
    a, b, c = finding("3 mm"), finding("5 mm"), finding("8 mm")
    assert said([a], [b], []) == ["size small, much the same at medium: 3 mm"]
    assert said([a], [b], [c]) == ["size small, much the same at medium and large: 3 mm"]


def test_different_things_stay_apart():
    """Another code, another place, or other words without a place are other things; order is kept."""
    things = [
        finding("a"),
        finding("b", at=(1.0, 2.5)),
        finding("c", code="CUT-002", at=None),
        finding("d", code="CUT-002", at=None),
    ]
    assert said(things, things, things) == ["a", "b", "c", "d"]


def test_one_size():
    """With a single size no size is named."""
    assert [f.what for f in together([("small", [finding("a"), finding("a")])])] == ["a"]


def test_once():
    """Equal findings are said once, in order."""
    a, b = finding("a"), finding("b")
    assert once([a, b, finding("a")]) == (a, b)


def test_gathered():
    """Each kind is said once for each file, by its gravest member, with the number of others; notes last."""
    found = [
        finding("seam ends", code="BLOCK-062", severity=Severity.NOTE),
        finding("rather sharp", severity=Severity.NOTE),
        finding("short", code="BLOCK-057"),
        finding("far too sharp", at=(3.0, 4.0)),
        finding("sharp", file="other.svg"),
    ]
    assert [f.what for f in gathered(found)] == [
        "far too sharp, and 1 more like it",
        "short",
        "sharp",
        "seam ends",
    ]
    assert gathered(found)[0].place.at == (3.0, 4.0)


def test_errors_are_never_gathered():
    """Every error is said, in full and first."""
    errors = [finding(f"gap {n}", severity=Severity.ERROR) for n in range(5)]
    assert gathered([finding("short"), *errors]) == (*errors, finding("short"))
