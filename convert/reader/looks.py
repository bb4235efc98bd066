"""How styles paint shapes: what a person sees of fill and stroke."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from convert.reader.drawing import FillRule

if TYPE_CHECKING:
    from convert.reader.cascade import Style
    from convert.reader.document import Reading
    from convert.reader.properties import Paint

_SERVERS: Final = frozenset({"linearGradient", "radialGradient", "pattern"})


@dataclass(frozen=True, slots=True)
class Look:
    """How a style paints shapes; `scales` says whether the stroke's width follows transforms."""

    fill: str | None
    fill_opacity: float
    fill_rule: FillRule
    stroke: str | None
    scales: bool
    remarks: tuple[tuple[str, str], ...]


class Looks:
    """Works out the look of styles, each once."""

    def __init__(self, reading: Reading) -> None:
        self._reading = reading
        self._known: dict[Style, Look] = {}

    def of(self, style: Style) -> Look:
        """Return the look of a style."""
        look = self._known.get(style)
        if look is None:
            look = self._known[style] = self._look(style)
        return look

    def _look(self, style: Style) -> Look:
        """Return what a style paints with, and what there is to say about it."""
        values = style.values
        fill, fill_opacity = self._painted(style.paint("fill"))
        stroke, _ = self._painted(style.paint("stroke"))
        remarks = []
        markers = (values[f"marker-{place}"].target for place in ("start", "mid", "end"))
        if any(self._reading.target(name, "marker") is not None for name in markers):
            remarks.append(("READ-053", "markers (such as arrow heads) on lines were left out"))
        if stroke is not None and values["stroke-dasharray"] != "none":
            remarks.append(("READ-054", "dashed lines are taken as whole lines"))
        if (
            fill is not None
            and fill.startswith("url(#")
            and self._reading.target(fill[5:-1], "pattern") is not None
        ):
            remarks.append(("READ-055", "a pattern counts as one fabric, and no line in it as a seam"))
        rule = FillRule.EVENODD if values["fill-rule"] == "evenodd" else FillRule.NONZERO
        scales = values["vector-effect"] != "non-scaling-stroke"
        return Look(fill, fill_opacity, rule, stroke, scales, tuple(remarks))

    def _painted(self, paint: Paint) -> tuple[str | None, float]:
        """Return a paint as a Drawing has it, with its opacity; None when nothing is seen of it."""
        if paint.server is not None:
            server = self._reading.ids.get(paint.server)
            if server is not None and server.tag in _SERVERS:
                return f"url(#{paint.server})", paint.alpha
        if paint.colour is None or paint.alpha <= 0.0:
            return None, 0.0
        return paint.colour, paint.alpha
