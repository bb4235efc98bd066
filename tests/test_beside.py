"""A second process: it takes its share, and what comes out is the same without it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import MappingProxyType

import pytest
from asked_beside import ended, own_number, print_and_return, refused, refused_elsewhere, same

import convert.beside
from convert.beside import Beside
from convert.errors import ProfileError


@pytest.fixture(autouse=True)
def two_processors(monkeypatch):
    """Have a second processor, whatever the machine has."""
    monkeypatch.setattr(convert.beside, "_processors", lambda: 2)


@pytest.fixture
def beside():
    """Give a process that has begun."""
    with Beside() as process:
        process.begin(["json"])
        yield process


def test_tasks_are_shared_and_come_in_order(beside):
    """The first is done here, the last beside, and results come in the order of the tasks."""
    done = beside.each(own_number, [(n,) for n in range(5)])
    assert [value for value, _ in done] == [0, 1, 2, 3, 4]
    assert done[0][1] == os.getpid() != done[4][1]


def test_before_it_begins_all_is_done_here():
    """Nothing is started that nobody asked for."""
    with Beside() as alone:
        assert {pid for _, pid in alone.each(own_number, [(1,), (2,)])} == {os.getpid()}


def test_with_one_processor_all_is_done_here(monkeypatch):
    """A second process would only be in the way."""
    monkeypatch.setattr(convert.beside, "_processors", lambda: 1)
    with Beside() as alone:
        alone.begin(["json"])
        assert {pid for _, pid in alone.each(own_number, [(1,), (2,)])} == {os.getpid()}


@pytest.mark.parametrize(("task", "code"), [(refused_elsewhere, -signal.SIGKILL), (ended, 1)])
def test_what_fails_beside_is_done_here(task, code, beside):
    """Be it refused there, which ends the process, or be that at its end; and so is all that comes after."""
    home = os.getpid()
    assert beside.each(task, [(home,)] * 3) == ["at home"] * 3
    assert beside._process.wait(timeout=30) == code
    assert {pid for _, pid in beside.each(own_number, [(1,), (2,)])} == {home}


def test_an_error_is_that_of_the_first_task_that_fails(beside):
    """As it would be without a second process, with everything it says."""
    with pytest.raises(ProfileError, match="no 2"):
        beside.each(refused, [(0,), (2,), (3,), (4,)])


def test_read_only_views_are_sent(beside):
    """Profiles and palettes hold them."""
    view = MappingProxyType({"a": (1, 2)})
    done = beside.each(same, [(view,), (view,)])
    assert done == [view, view]
    assert done[1] is not view
    assert isinstance(done[1], MappingProxyType)


def test_what_is_printed_beside_is_no_answer(beside):
    """A library that prints something must not garble what is answered."""
    (one, here), (two, there) = beside.each(print_and_return, [(1,), (2,)])
    assert (one, two) == (1, 2)
    assert here == os.getpid() != there


INTERRUPTED = """
import os, signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)
sys.path.insert(0, {tests!r})
import convert.beside
convert.beside._processors = lambda: 2
from convert.beside import Beside
from asked_beside import long
with Beside() as beside:
    beside.begin(["json"])
    beside.each(long, [(0.0, {mark!r}), (60.0, {mark!r})])
"""


@pytest.mark.skipif(os.name != "posix", reason="signals are sent")
def test_nothing_stays_behind_when_the_program_is_stopped(tmp_path):
    """Ctrl-C goes to both processes, and both end, the second without a word."""
    mark = tmp_path / "mark"
    program = INTERRUPTED.format(tests=str(Path(__file__).parent / "support"), mark=str(mark))
    with subprocess.Popen(
        [sys.executable, "-c", program], stderr=subprocess.PIPE, start_new_session=True
    ) as process:
        while not mark.exists() or len(mark.read_text().split()) < 2:
            assert process.poll() is None
            time.sleep(0.05)
        os.killpg(process.pid, signal.SIGINT)
        _, said = process.communicate(timeout=30)
    assert said.decode().count("Traceback") == 1  # this test's own program has no other way to end
    for pid in mark.read_text().split():
        with pytest.raises(ProcessLookupError):
            os.kill(int(pid), 0)
