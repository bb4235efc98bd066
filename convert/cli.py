"""The command line: commands in, calls, lines out. No geometry and no file formats here.

Results go to standard output; messages go to standard error, one line each. Everything heavy is
imported inside the commands, so that help comes at once.
"""

from __future__ import annotations

import gc
import io
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from convert import __version__
from convert.errors import PiecewrightError
from convert.options import job_options, run_options, wishes_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from convert.errors import Finding
    from convert.job import Job
    from convert.profile import Tool
    from convert.wishes import Wishes


@click.group(
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="piecewright", message="%(prog)s %(version)s")
@click.pass_context
def cli(context: click.Context) -> None:
    """Turn a drawn patchwork block into labelled pieces at exact finished size, ready to cut."""
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


@cli.command()
@click.argument("drawings", nargs=-1, required=True, metavar="DRAWING|FOLDER...")
@click.option("--out", required=True, metavar="DIR", help="Folder to write into; each drawing gets its own.")
@job_options
@run_options
def convert(drawings: tuple[str, ...], out: str, *, force: bool, quiet: bool, **options: Any) -> None:  # noqa: ANN401
    """Convert drawings into cut files.

    The files are proved and put into DIR/<drawing's name>. A file moth.toml beside moth.svg may
    state the same options for that drawing; those given here come first.
    """
    from convert.batch import find_drawings

    paths = find_drawings(Path(name) for name in drawings)
    _convert(paths, wishes_of(options), Path(out), force=force, quiet=quiet)


@cli.command()
@click.argument("drawing", metavar="DRAWING")
@job_options
@click.option("--json", "as_json", is_flag=True, help="Print everything as JSON.")
def inspect(drawing: str, *, as_json: bool, **options: Any) -> None:  # noqa: ANN401
    """Show what a drawing would become.

    What would be made, what is in the drawing, what was left out of it and why, and what to look out
    for. Writes nothing.
    """
    from convert.account import is_told, lines
    from convert.errors import DrawingError
    from convert.job import job_for
    from convert.pipeline import manifest_of, plan_drawing
    from convert.summary import of_plan
    from convert.writers.manifest import json_bytes

    path = Path(drawing)
    try:
        job = job_for(path, wishes_of(options))
    except PiecewrightError as error:
        raise error.in_file(drawing) from error
    try:
        plan = plan_drawing(path, job, size_needed=False)
    except DrawingError as error:
        _refuse(error.in_file(drawing), path, job, as_json=as_json)
    except PiecewrightError as error:
        raise error.in_file(drawing) from error
    if as_json:
        click.echo(json_bytes(manifest_of(plan)).decode(), nl=False)
        return
    for line in (*of_plan(plan), "", *lines(plan.drawing, plan.block.remarks, plan.settled)):
        _print(line)
    _report([finding for finding in plan.findings if not is_told(finding)])


def _refuse(error: PiecewrightError, path: Path, job: Job, *, as_json: bool) -> NoReturn:
    """Tell what is in a drawing that nothing can be made of, as far as it can be read; raise why."""
    from convert.account import is_told, lines, values
    from convert.pipeline import seen_in
    from convert.writers.manifest import json_bytes

    drawing = seen_in(path, job)
    if as_json:
        found: dict[str, Any] = {} if drawing is None else {"drawing": values(drawing, error.findings)}
        found["errors"] = [
            {
                "code": f.code,
                "what": f.what,
                "advice": f.advice,
                "line": f.place.line,
                "element": f.place.element,
            }
            for f in error.findings
            if drawing is None or not is_told(f)
        ]
        click.echo(json_bytes(found).decode(), nl=False)
    elif drawing is not None:
        for line in lines(drawing, error.findings):
            _print(line)
    if drawing is None:
        raise error
    raise type(error)(*(finding for finding in error.findings if not is_told(finding)))


@cli.group()
def profiles() -> None:
    """Sheets and machines: list and show profiles."""


@profiles.command("list")
def list_profiles() -> None:
    """List the profiles that come with the program."""
    from convert.profile import load_profile, profile_names

    width = max(map(len, profile_names()))
    for name in profile_names():
        click.echo(f"{name:{width}}  {load_profile(name).title}")


@profiles.command("new")
@click.argument("name", metavar="NAME")
@click.option("--from", "origin", required=True, metavar="NAME|FILE", help="Profile to start from.")
def new_profile(name: str, origin: str) -> None:
    """Write a profile to edit, NAME.toml in this folder, with every value explained.

    Use it with --profile NAME.toml.
    """
    from convert.output import write_new
    from convert.profile import load_profile
    from convert.profile_text import format_profile

    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    write_new(path, format_profile(load_profile(origin)).encode())
    _print(f"{path} is written. Edit it, and use it with --profile {path}.")


@profiles.command("show")
@click.argument("name", metavar="NAME|FILE")
def show_profile(name: str) -> None:
    """Print a profile with every value in force, as TOML that can be saved and edited."""
    from convert.profile import load_profile
    from convert.profile_text import format_profile

    click.echo(format_profile(load_profile(name)), nl=False)


@cli.command()
@click.option("--out", default="piecewright-demo", show_default=True, metavar="DIR", help="Folder to fill.")
@run_options
def demo(out: str, *, force: bool, quiet: bool) -> None:
    """Convert the drawings that come along.

    Each is made in three sizes: 4, 6 and 9 inches wide.
    """
    from importlib import resources

    from convert.wishes import Wishes, parse_sizes

    wishes = Wishes(sizes=parse_sizes(("small=4in", "medium=6in", "large=9in")))
    with resources.as_file(resources.files("convert") / "samples") as folder:
        drawings = sorted(folder.glob("*.svg"))
        _convert(drawings, wishes, Path(out), force=force, quiet=quiet, home=f"{folder}{os.sep}")


def _convert(
    paths: Iterable[Path], wishes: Wishes, out: Path, *, force: bool, quiet: bool, home: str = ""
) -> None:
    """Convert drawings, print what became of each, and end the program if one failed.

    `home` is a folder that need not be named, with its separator.
    """
    from convert.batch import convert_all
    from convert.summary import of_conversion

    failed: list[tuple[Path, int]] = []
    tools: dict[Tool, None] = {}
    for count, outcome in enumerate(convert_all(paths, wishes, out, force=force), start=1):  # noqa: B007
        if outcome.error is not None:
            _report(outcome.error.findings, home)
            failed.append((outcome.path, outcome.error.exit_code))
        elif outcome.converted is not None and not quiet:
            _report(outcome.converted.findings, home)
            for line in of_conversion(outcome.converted):
                _print(line)
            tools.setdefault(outcome.converted.plan.job.profile.tool)
    _caution(tools)
    if failed and count > 1:
        names = ", ".join(str(path) for path, _ in failed)
        _print(f"{len(failed)} of {count} drawings could not be converted: {names}.", err=True)
    if failed:
        sys.exit(min(code for _, code in failed))


def _caution(tools: Iterable[Tool]) -> None:
    """Print once for a run what to look out for with each tool, and what holds for all."""
    from convert.cautions import cautions

    for words in dict.fromkeys(words for tool in tools for words in cautions(tool)):
        _print(f"Take care: {words}", err=True)


def _print(text: str, *, err: bool = False) -> None:
    """Print one line; signs that are not printable (file names may hold any) show as a replacement."""
    click.echo("".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text), err=err)


def _report(findings: Sequence[Finding], home: str = "") -> None:
    """Print errors, and one line for each kind of remark."""
    from convert.remarks import gathered

    for finding in gathered(findings):
        _print(finding.line().removeprefix(home), err=True)


def main() -> None:
    """Run the program and end it: 0 all well, 1 some drawing could not be converted, 2 wrong usage."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    # Blocks and sheets are many small values without cycles: looking for cycles as often as Python does
    # by default costs a tenth of a conversion.
    gc.set_threshold(100_000, 20, 20)
    try:
        # Not click's own main, which prints an empty line when it is stopped by hand.
        with cli.make_context("piecewright", sys.argv[1:]) as context:
            cli.invoke(context)
    except click.exceptions.Exit as end:
        sys.exit(end.exit_code)
    except click.ClickException as error:
        about = error.ctx if isinstance(error, click.UsageError) else None
        command = about.command_path if about else "piecewright"
        _print(f"{' '.join(error.format_message().split())} Try '{command} --help'.", err=True)
        sys.exit(2)
    except PiecewrightError as error:
        _report(error.findings)
        sys.exit(error.exit_code)
    except (KeyboardInterrupt, click.Abort):
        _print("Stopped. Nothing that was under way is left behind.", err=True)
        sys.exit(130)
    except BrokenPipeError:
        # The reader of our output went away; so does Python's own attempt to flush it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
    except Exception as error:  # noqa: BLE001 (the promise is one line, whatever happens)
        from convert.batch import internal_error

        _report(internal_error(error).findings)
        sys.exit(1)
