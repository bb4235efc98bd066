"""How styles paint shapes: what a person sees of fill and stroke."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from convert.reader.drawing import FillRule
from convert.reader.servers import Servers

if TYPE_CHECKING:
    from convert.reader.cascade import Style
    from convert.reader.document import Reading
    from convert.reader.properties import Paint

    Remark = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Look:
    """How a style paints shapes; `scales` says whether the stroke's width follows transforms.

    `remarks` are codes with words for one shape and for several.
    """

    fill: str | None
    fill_opacity: float
    fill_rule: FillRule
    stroke: str | None
    scales: bool
    remarks: tuple[Remark, ...]


class Looks:
    """Works out the look of styles, each once."""

    def __init__(self, reading: Reading) -> None:
        self._reading = reading
        self._servers = Servers(reading)
        self._known: dict[tuple[Style, tuple[Paint, Paint] | None], Look] = {}

    def of(self, style: Style, context: tuple[Paint, Paint] | None = None) -> Look:
        """Return the look of a style; `context` are fill and stroke of the `use` that draws the shape."""
        look = self._known.get((style, context))
        if look is None:
            look = self._known[style, context] = self._look(style, context)
        return look

    def _look(self, style: Style, context: tuple[Paint, Paint] | None) -> Look:
        """Return what a style paints with, and what there is to say about it."""
        values = style.values
        paint = style.paint("fill", context)
        fill, fill_opacity = self._painted(paint)
        stroke, _ = self._painted(style.paint("stroke", context))
        remarks: list[Remark] = []
        markers = (values[f"marker-{place}"].target for place in ("start", "mid", "end"))
        if any(self._reading.target(name, "marker") is not None for name in markers):
            remarks.append((
                "READ-053",
                "markers (such as arrow heads) on a line were left out",
                "markers (such as arrow heads) on {n} lines were left out",
            ))  # fmt: skip
        if stroke is not None and values["stroke-dasharray"] != "none":
            remarks.append(
                (
                    "READ-054",
                    "a dashed line is taken as a whole one",
                    "{n} dashed lines are taken as whole ones",
                )
            )
        if fill is not None and fill.startswith("url(#") and paint.server is not None:
            kind = "pattern" if self._servers.is_pattern(paint.server) else "gradient"
            remarks.append((
                "READ-055",
                f"a {kind} counts as one fabric, and no line in it as a seam",
                f"the {kind} that fills {{n}} shapes counts as one fabric, and no line in it as a seam",
            ))  # fmt: skip
        rule = FillRule.EVENODD if values["fill-rule"] == "evenodd" else FillRule.NONZERO
        scales = values["vector-effect"] != "non-scaling-stroke"
        return Look(fill, fill_opacity, rule, stroke, scales, tuple(remarks))

    def _painted(self, paint: Paint) -> tuple[str | None, float]:
        """Return a paint as a Drawing has it, with its opacity; None when nothing is seen of it."""
        if paint.server is not None:
            share = self._servers.opacity(paint.server)
            if share is not None:
                return (
                    (f"url(#{paint.server})", paint.alpha * share)
                    if paint.alpha * share > 0.0
                    else (None, 0.0)
                )
        if paint.colour is None or paint.alpha <= 0.0:
            return None, 0.0
        return paint.colour, paint.alpha
