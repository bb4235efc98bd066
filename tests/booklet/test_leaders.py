"""Templates too small for a label: labels beside them, readable and out of the way, or listed at the foot."""

import itertools
import re
from collections import Counter

import numpy as np
import pytest
import shapely
from booklets import drawn, made

from convert.booklet.leaf import CAPITAL, GREY, HAIR
from convert.booklet.model import MM_PER_POINT, SMALLEST_POINTS, Shape, Words
from convert.booklet.wanted import Wanted
from convert.cutting.sheet import Purpose
from convert.geometry.edit import flatten
from convert.writers.pdf import typeface

SMALL = SMALLEST_POINTS * MM_PER_POINT * CAPITAL


def template_pages(name, width):
    """Return the pages with templates of a fixture at a width, mm."""
    _, pages, _, _ = made(drawn(name), {"small": width}, Wanted())
    return [page for page in pages.pages if page.sheet is not None]


def outlines(page):
    """Return every template on a page as shapely sees it, by copy."""
    return {
        s.copy: shapely.Polygon(flatten(s.chain, 0.01))
        for s in page.sheet.strokes
        if s.purpose is Purpose.OUTER
    }


def bare_copies(page):
    """Return the copies without a letter in them."""
    told = {s.copy for s in page.sheet.strokes if s.purpose is Purpose.LETTER}
    return sorted(set(range(len(page.sheet.copies))) - told)


def leaders(page):
    """Return each label beside its template: words and line, which follow each other."""
    return [
        (words, np.array(mark.chains[0].points))
        for mark, words in itertools.pairwise(page.marks)
        if isinstance(mark, Shape) and (mark.stroke, mark.width) == (GREY, HAIR) and isinstance(words, Words)
    ]


@pytest.mark.parametrize(("name", "width"), [("vanishing-square", 101.6), ("vanishing-square", 38.1)])
def test_labels_beside_templates_are_clear(name, width):
    """Each is 7 points large, off all templates and other labels; its line leads into one bare template."""
    for page in template_pages(name, width):
        shapes, bare = outlines(page), bare_copies(page)
        tree = shapely.STRtree(list(shapes.values()))
        labels = []
        for words, (start, end) in leaders(page):
            assert words.size == SMALLEST_POINTS
            wide = typeface().width(words.text, words.size)
            x, y = words.at
            label = shapely.box(x - wide / 2, y, x + wide / 2, y + SMALL)
            assert not len(tree.query(label, predicate="intersects"))
            assert not any(label.intersects(other) for other in labels)
            labels.append(label)
            crossed = tree.query(shapely.LineString([start, end]), predicate="intersects").tolist()
            (number,) = (list(shapes)[n] for n in crossed)
            assert number in bare
            assert shapes[number].contains(shapely.Point(start))
            assert label.distance(shapely.Point(end)) < 0.6
        assert len(labels) <= len(bare)
        assert labels


@pytest.mark.parametrize(("name", "width"), [("vanishing-square", 101.6), ("midwinter", 76.2)])
def test_no_template_without_a_label_is_passed_over(name, width):
    """Those with a label inside, beside, and listed at the foot are all there are."""
    for page in template_pages(name, width):
        foot = " ".join(w.text for w in page.marks if isinstance(w, Words) and "Here:" in w.text)
        listed = Counter()
        for count, label in re.findall(r"(?:(\d+) )?([A-Z]\d*r?)(?=,| )", foot.partition("Here:")[0]):
            listed[label[0]] += int(count or 1)
        beside = Counter(words.text[0] for words, _ in leaders(page))
        bare = Counter(page.sheet.copies[n].label for n in bare_copies(page))
        assert listed + beside == bare
        assert bare


@pytest.mark.parametrize(("name", "width"), [("midwinter", 101.6), ("cosmos", 38.1), ("dusk-moth", 101.6)])
def test_no_letters_in_templates_are_too_low(name, width):
    """The highest stroke of every inscription is as high as capitals of 7 points."""
    for page in template_pages(name, width):
        for copy in range(len(page.sheet.copies)):
            letters = [s for s in page.sheet.strokes if (s.purpose, s.copy) == (Purpose.LETTER, copy)]
            # Words may be turned: the longest stretch of a letter is no shorter than it is high.
            long = [np.hypot(*np.ptp(s.chain.points, axis=0)) for s in letters]
            assert not long or max(long) > SMALL - 0.01
