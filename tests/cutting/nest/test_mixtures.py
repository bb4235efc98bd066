"""Parts of beds laid anew: what stays and what is laid again make up all that is wanted, without overlap."""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from nest_shapes import SHAPES, polygon, square_in_a_square

from convert.cutting.nest import Effort, Item, Rotation, Usable, nest
from convert.cutting.nest.accept import Judge
from convert.cutting.nest.beds import Patterns, Place, fill
from convert.cutting.nest.mixtures import parts_of
from convert.cutting.nest.shapes import kinds_of

WIDE, HIGH = 292.1, 220.0


@settings(deadline=None, max_examples=15)
@given(st.lists(st.tuples(st.sampled_from(sorted(SHAPES)), st.integers(1, 40)), min_size=1, max_size=3),
       st.sampled_from([0.0, 3.0]))  # fmt: skip
def test_what_stays_and_what_is_laid_anew_are_all(wanted, gap):
    """Copies that stay keep the gap from the part that is laid anew, and from each other."""
    kinds = kinds_of([Item(SHAPES[name], 1) for name, _ in wanted], Rotation())
    counts = [count for _, count in wanted]
    patterns = Patterns(kinds, gap, (WIDE, HIGH), 12, 6)
    beds = fill(patterns, list(enumerate(counts)), [Place(0, 0.0, 0.0, WIDE, HIGH)], whole=False)
    found = parts_of(kinds, beds, counts)
    assert [part.crowded for part in found] == sorted(part.crowded for part in found)
    for part in found:
        stays = Counter(spot.kind for spot in part.spots)
        assert [stays[number] + rest for number, rest in enumerate(part.rest)] == counts
        assert stays
        x, y, width, height = part.place[1:]
        room = Item(polygon([(x, y), (x + width, y), (x + width, y + height), (x, y + height)]), 1)
        all_kinds = kinds_of([*(Item(SHAPES[name], 1) for name, _ in wanted), room], Rotation())
        copies = [(s.kind, all_kinds[s.kind].turn_and_shift(s.angle, s.at)) for s in part.spots]
        copies.append((len(kinds), all_kinds[-1].turn_and_shift(0.0, 0j)))
        judged = Judge([kind.drawn for kind in all_kinds], gap).judge(copies, WIDE, HIGH)
        assert judged.passed


@pytest.mark.parametrize(("effort", "blocks"), [(Effort.QUICK, 13), (Effort.NORMAL, 14)])
def test_a_part_laid_anew_gives_the_last_block(effort, blocks):
    """A square and the four triangles about it: beds lack two triangles, and lie loosely in one strip."""
    items, _ = square_in_a_square()
    layout = nest(items, Usable(292.1, 596.9), 3.0, Rotation(), effort=effort)
    assert layout.area_bound == 14
    assert layout.blocks_per_sheet == blocks
    assert layout.methods[0] == ("beds" if blocks == 13 else "beds and engine")
