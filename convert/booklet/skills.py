"""The skills a block asks for, read off what the checks found at each size."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from convert.booklet.leaf import BODY, GREY, Flow
from convert.booklet.model import Bookmark

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.booklet.content import Content
    from convert.booklet.model import Page
    from convert.errors import Finding

CURVES = "Curves"
GENTLE = "At every size, and all of them gentle."
SKILLS = (
    (
        ("BLOCK-054",),
        "Sharp points",
        (
            "Use stiff card, which does not bend at the tip. Cut the cloth straight across a short way "
            "past the point, fold one side over the other, always turning the same way, and let the tail "
            "stand out."
        ),
    ),
    (
        ("BLOCK-053",),
        "Many points in one place",
        (
            "Turn all tails the same way round, sew the pieces into two halves, and join the halves last "
            "in one seam through the middle. A small hole closes when the seam is pulled tight; a circle "
            "sewn on top hides it."
        ),
    ),
    (
        ("BLOCK-051", "BLOCK-052"),
        "Points that narrow to nothing",
        (
            "Such a point can't be folded. Leave the inward sides raw and lap the neighbouring piece over "
            "them, or sew the whole piece on top of its neighbours."
        ),
    ),
    (
        ("BLOCK-055",),
        "Inside corners",
        (
            "Snip the allowance to within a thread or two of the paper, and hold the corner with a few small "
            "stitches: there is hardly any cloth there."
        ),
    ),
    (
        ("BLOCK-058",),
        CURVES,
        (
            "Ease the cloth round an outward curve with small running stitches in the allowance; clip it "
            "along an inward curve, short of the paper. Match the middle of both sides first, then the "
            "other marks."
        ),
    ),
    (
        ("BLOCK-059",),
        "T-junctions",
        (
            "Where a seam ends on another piece's side, sew that seam first, then the long side across it in "
            "one go. The piece key shows each such place."
        ),
    ),
    (
        ("BLOCK-060",),
        "Partial seams",
        (
            "Some seams wait for each other in a circle. Sew the first of them half way, go round with the "
            "others, and finish it last."
        ),
    ),
    (
        ("BLOCK-056", "BLOCK-057"),
        "Small pieces and short edges",
        (
            "Trim the allowance a little narrower, baste with fine thread, and take smaller stitches. A "
            "larger size is easier."
        ),
    ),
    (
        ("BLOCK-050",),
        "Pieces sewn on top",
        (
            "A piece with a hole can't be joined edge to edge. Make it whole and sew what lies in the hole "
            "on top."
        ),
    ),
)
"""Codes of the checks, the skill's name, and how it is done (common practice)."""
EXAMPLES = 2


def skills(content: Content) -> list[Page]:
    """Return the page of skills."""
    flow = Flow(
        content.frame, content.typeface, "Skills this block asks for", content.title, Bookmark("Skills")
    )
    asked = False
    for codes, name, how in SKILLS:
        where = [
            (made.name, [f for f in made.warnings if f.code in codes])
            for made in content.sizes
            if any(f.code in codes for f in made.warnings)
        ]
        gentle = name == CURVES and not where and bool(content.sizes[0].block.map.bulge.any())
        if not where and not gentle:
            continue
        asked = True
        flow.section(name, keep=16.0)
        flow.paragraph(how)
        flow.space(0.8)
        at = GENTLE if gentle else _where(where, len(content.sizes))
        flow.paragraph(at, BODY, colour=GREY)
        flow.space(5.0)
    if not asked:
        flow.paragraph(
            "None beyond the basics: every side is straight, every corner roomy, and each seam can be sewn "
            "from end to end."
        )
    return flow.pages()


def _where(where: Sequence[tuple[str, Sequence[Finding]]], sizes: int) -> str:
    """Return at which sizes a skill is asked for, with an example or two of the first of them."""
    names = [name for name, _ in where]
    at = (
        "At every size"
        if len(names) == sizes
        else f"At size{'s' if len(names) > 1 else ''} {' and '.join(names)}"
    )
    found = where[0][1]
    examples = list(dict.fromkeys(_plain(f.what) for f in found))
    more = len(found) - min(EXAMPLES, len(examples))
    text = f"{at}. {'. '.join(examples[:EXAMPLES])}"
    return text + (f"; and {more} more." if more > 0 else ".")


def _plain(what: str) -> str:
    """Return a finding without the piece list's dots and with its first letter a capital."""
    what = re.sub(r" …\)", " and more)", what)
    return what[:1].upper() + what[1:]
