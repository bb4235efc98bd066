"""What each drawing in fixtures/ must give, read from the `.expected.toml` beside it.

Sizes are written there in closed form ("3*sqrt(3)/2*25.4**2"), so that nobody has to trust a
decimal. `evaluate` knows numbers, + - * / **, the functions below and the names given to it.
"""

from __future__ import annotations

import ast
import math
import operator
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

FIXTURES = Path(__file__).parents[2] / "fixtures"
NAMES = tuple(sorted(path.stem for path in FIXTURES.glob("*.svg")))

OPERATORS: dict[type[ast.operator | ast.unaryop], Callable[..., float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
}
FUNCTIONS = {"sqrt": math.sqrt, "sin": math.sin, "cos": math.cos, "tan": math.tan}


def evaluate(text: str, known: Mapping[str, float]) -> float:
    """Return the value of a closed form; anything but arithmetic is a ValueError."""

    def value(node: ast.expr) -> float:
        match node:
            case ast.Constant(value=int() | float() as number):
                return float(number)
            case ast.Name(id=name) if name in known:
                return known[name]
            case ast.BinOp(left=left, op=op, right=right) if type(op) in OPERATORS:
                return OPERATORS[type(op)](value(left), value(right))
            case ast.UnaryOp(op=op, operand=operand) if type(op) in OPERATORS:
                return OPERATORS[type(op)](value(operand))
            case ast.Call(func=ast.Name(id=name), args=[argument], keywords=[]) if name in FUNCTIONS:
                return FUNCTIONS[name](value(argument))
        message = f"not a closed form: {text}"
        raise ValueError(message)

    return value(ast.parse(text, mode="eval").body)


@dataclass(frozen=True, slots=True)
class ExpectedTemplate:
    """One template: area in mm², how many pieces use it as it is and reversed, relative tolerance."""

    area: float
    count: int
    reversed: int
    tolerance: float


@dataclass(frozen=True, slots=True)
class Expected:
    """What a drawing must give. Lengths in mm; a refused drawing has no pieces."""

    name: str
    unit: str
    curves: str
    pieces: int
    own_mirror: bool
    width: float
    height: float
    area: float
    templates: tuple[ExpectedTemplate, ...]
    fabrics: Mapping[str, int]
    names: Mapping[str, str]
    warnings: tuple[str, ...]
    refused: tuple[str, ...]
    place: tuple[float, float] | None

    @property
    def path(self) -> Path:
        """The drawing."""
        return FIXTURES / f"{self.name}.svg"


def expected(name: str) -> Expected:
    """Return what fixtures/<name>.svg must give."""
    data = tomllib.loads((FIXTURES / f"{name}.expected.toml").read_text("utf-8"))
    known = {"pi": math.pi}
    for word, text in data.get("where", {}).items():
        known[word] = evaluate(text, known)
    curves = data.get("curves", "lines")
    tolerance = 1e-4 if curves == "beziers" else 1e-6
    place = data.get("place")
    return Expected(
        name=name,
        unit=data["unit"],
        curves=curves,
        pieces=data.get("pieces", 0),
        own_mirror=data.get("own_mirror", False),
        width=evaluate(data.get("width", "0"), known),
        height=evaluate(data.get("height", "0"), known),
        area=evaluate(data.get("area", "0"), known),
        templates=tuple(
            ExpectedTemplate(
                evaluate(t["area"], known), t["count"], t["reversed"], t.get("tolerance", tolerance)
            )
            for t in data.get("template", ())
        ),
        fabrics=data.get("fabrics", {}),
        names=data.get("names", {}),
        warnings=tuple(data.get("warnings", ())),
        refused=tuple(data.get("refused", ())),
        place=(place[0], place[1]) if place else None,
    )


ALL = tuple(expected(name) for name in NAMES)
GOOD = tuple(e for e in ALL if not e.refused)
