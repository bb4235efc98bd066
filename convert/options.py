"""What can be asked for on the command line: the options of the commands, and the wishes they state."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Callable

    from convert.wishes import Wishes


def _options(*options: Callable[..., Any]) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return a decorator that adds options, so that commands can share them."""

    def add(command: Callable[..., None]) -> Callable[..., None]:
        for option in reversed(options):
            command = option(command)
        return command

    return add


job_options = _options(
    click.option(
        "--size",
        "sizes",
        multiple=True,
        metavar="NAME=LENGTH",
        help='A finished size, such as small=4in or big="7 1/2in"; may be repeated. Without any, the block '
        "is made as drawn.",
    ),
    click.option(
        "--measure",
        metavar="WHAT",
        help="What the sizes state: width (default), height, edge (the longest straight edge), or edge:A "
        "(that of template A).",
    ),
    click.option("--profile", metavar="NAME|FILE", help="Sheet and machine (default letter-card)."),
    click.option(
        "--formats",
        metavar="LIST",
        help="svg, dxf, pdf (a booklet to print), or several with commas between (default svg,dxf).",
    ),
    click.option(
        "--arrange",
        multiple=True,
        type=click.Choice(["pieces", "assembled"]),
        help="Pieces apart, or the block whole with every seam cut once; may be repeated (default both).",
    ),
    click.option(
        "--facing",
        type=click.Choice(["back", "front"]),
        help="Side of the finished block that is shown. Default: pieces from the back, since papers lie on "
        "the wrong side of the cloth; the whole block from the front.",
    ),
    click.option(
        "--blocks",
        type=click.IntRange(1, 10_000),
        metavar="N",
        help="Blocks to cut. Default: 1; with --effort, as many as one sheet can make.",
    ),
    click.option(
        "--effort",
        type=click.Choice(["quick", "normal", "best"]),
        help="Lay shapes as close as they go, so that a sheet makes more blocks, and look for that so hard "
        "(about 1, 5 or 90 seconds a size). Default: plain rows.",
    ),
    click.option(
        "--only",
        multiple=True,
        metavar="LAYER",
        help="Read only what has this layer, class, title or id (* stands for any letters); may be repeated.",
    ),
    click.option("--skip", multiple=True, metavar="LAYER", help="Read all but that; may be repeated."),
    click.option(
        "--lines",
        type=click.Choice(["auto", "centre", "as-drawn"]),
        help="Lines that are drawn as thin filled shapes, or traced: seams along their centre, or pieces as "
        "drawn (default auto: whichever the drawing shows, and it is told).",
    ),
    click.option(
        "--unfilled",
        type=click.Choice(["auto", "piece", "hole"]),
        help="What faces without a fill are where others have one (default auto: pieces if a line outlines "
        "them, else holes).",
    ),
    click.option("--keep-background", is_flag=True, help="A white sheet under all is a piece, not paper."),
    click.option(
        "--one-unit",
        metavar="LENGTH",
        help="Length of one drawing unit, for a drawing that does not say how large it is.",
    ),
    click.option(
        "--gap",
        metavar="LENGTH",
        help="Close gaps as wide as this in the drawing, measured as drawn (default: a ten thousandth of its "
        "size).",
    ),
    click.option(
        "--cut",
        multiple=True,
        type=click.Choice(["finished", "cloth", "window", "all"]),
        help="Papers of the finished size (default), cloth shapes with the allowance, window templates with "
        "both; may be repeated.",
    ),
    click.option("--allowance", metavar="LENGTH", help="Cloth beyond the seam line, such as 1/4in."),
    click.option("--junction-holes", is_flag=True, help="Pierce window templates at the finished corners."),
    click.option("--centre-lines", is_flag=True, help="Draw centre lines on window templates."),
    click.option("--removal-holes", is_flag=True, help="Pierce papers that have room, to lift them out by."),
    click.option(
        "--grain",
        type=click.FloatRange(-360, 360),
        metavar="DEG",
        help="Direction of the cloth's grain in the block, counter-clockwise from level (default 90).",
    ),
    click.option(
        "--without",
        multiple=True,
        type=click.Choice(["balance-marks", "junction-marks", "seam-numbers"]),
        help="Leave out marks that papers have; may be repeated.",
    ),
    click.option("--title", metavar="TEXT", help="Title of the booklet (default: the drawing's name)."),
    click.option("--author", metavar="TEXT", help="Author of the booklet."),
    click.option(
        "--paper",
        type=click.Choice(["letter", "a4", "both"]),
        help="Paper of the booklet (default letter); both makes two files with one layout that fits either.",
    ),
    click.option(
        "--cloth-width",
        metavar="LENGTH",
        help="Usable width of the cloth, by which the booklet says how much to buy (default 42in).",
    ),
    click.option(
        "--colourways", metavar="FILE", help="TOML file with other colours: pictures of the block in them."
    ),
)
run_options = _options(
    click.option("--force", is_flag=True, help="Replace files that are not ours, or were changed."),
    click.option("--quiet", is_flag=True, help="Print errors only."),
)


def wishes_of(options: dict[str, Any]) -> Wishes:
    """Return the wishes that command line options state; an option that was not given is no wish."""
    from convert.block.choices import Lines, Unfilled
    from convert.colourways import read_palette
    from convert.cutting.effort import Effort
    from convert.cutting.sheet import Arrangement, Facing
    from convert.profile import load_profile
    from convert.wishes import (
        Wishes,
        parse_formats,
        parse_line,
        parse_measure,
        parse_option,
        parse_products,
        parse_sizes,
    )

    # A flag that is not set is no wish: the file beside the drawing may set it.
    given = {key: value for key, value in options.items() if value not in (None, (), False)}
    wishes: dict[str, Any] = {}
    for key, parse in {
        "measure": parse_measure,
        "profile": load_profile,
        "formats": parse_formats,
        "facing": Facing,
        "blocks": int,
        "effort": Effort,
        "sizes": parse_sizes,
        "lines": Lines,
        "unfilled": Unfilled,
        "keep_background": bool,
        "only": lambda words: tuple(dict.fromkeys(words)),
        "skip": lambda words: tuple(dict.fromkeys(words)),
        "one_unit": lambda text: parse_option("--one-unit", text),
        "gap": lambda text: parse_option("--gap", text),
        "allowance": lambda text: parse_option("--allowance", text),
        "cut": parse_products,
        "junction_holes": bool,
        "centre_lines": bool,
        "removal_holes": bool,
        "grain": float,
        "without": lambda words: tuple(dict.fromkeys(words)),
        "title": lambda text: parse_line("--title", text),
        "author": lambda text: parse_line("--author", text),
        "paper": str,
        "cloth_width": lambda text: parse_option("--cloth-width", text),
        "arrange": lambda words: tuple(dict.fromkeys(map(Arrangement, words))),
    }.items():
        if key in given:
            wishes[key] = parse(given[key])  # type: ignore[operator]
    if "colourways" in given:
        wishes["palette"] = read_palette(Path(given["colourways"]))
    return Wishes(**wishes)
