"""The one place where errors become a line on stderr and an exit code.

0    done
1    failed (NestwatchError, or a fault of the program: then a log with the traceback is written)
2    usage, or the site file must be changed
3    done, but some footage could not be read
4    done, but the message about it could not be sent (`night --notify`)
130  stopped by Ctrl-C
"""

from __future__ import annotations

import errno
import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click
from click.exceptions import Exit

import nestwatch
from nestwatch.errors import NestwatchError

PARTIAL = 3
UNTOLD = 4
STOPPED = 130
_LOG_FOLDER = "nestwatch.log_folder"
_WRITE_TROUBLE = {errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EACCES, errno.EPERM}


class Guarded(click.Group):
    """A group whose commands end in one clear line, whatever goes wrong below them."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; see the module's table for what an exception becomes."""
        _replace_unprintable()
        with _one_line_errors(ctx):
            return super().invoke(ctx)


@contextmanager
def _one_line_errors(ctx: click.Context) -> Iterator[None]:
    try:
        yield
    except (click.ClickException, Exit, click.Abort):
        raise
    except NestwatchError as error:
        raise _told(str(error), error.exit_code) from error
    except KeyboardInterrupt:
        raise _told("stopped; finished cameras are kept, nothing is half-written", STOPPED) from None
    except (BrokenExecutor, MemoryError) as error:
        raise _told(_ended_early(), 1) from error
    except OSError as error:
        raise _os_trouble(ctx, error) from error
    except Exception as error:
        raise _fault(ctx, error) from error


def log_beside(folder: Path) -> None:
    """Tell where a log of the running command belongs, should it be needed: next to its output."""
    click.get_current_context().meta[_LOG_FOLDER] = folder


def answer(text: str | bytes) -> None:
    """Print the answer on stdout. A reader that has gone away (`| head`) is no error: files are written."""
    try:
        click.echo(text, nl=isinstance(text, str))
        sys.stdout.flush()
    except OSError as error:
        # Windows reports a closed pipe as EINVAL.
        if error.errno not in {errno.EPIPE, errno.EINVAL}:
            raise
        _drop_stdout()


def _drop_stdout() -> None:
    """Send what is still buffered nowhere, so that the interpreter's own flush at exit does not complain."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)


def _told(line: str, code: int) -> Exit:
    click.echo(f"nestwatch: {' '.join(line.splitlines())}", err=True)
    return Exit(code)


def _ended_early() -> str:
    return (
        "a camera's process was ended by the system, often because memory ran out; close other programs "
        "or run again with --workers 1 (finished cameras are kept)."
    )


def _os_trouble(ctx: click.Context, error: OSError) -> Exit:
    """Trouble with writing gets the words of `OutputError`; any other is a fault of the program."""
    if error.errno not in _WRITE_TROUBLE:
        return _fault(ctx, error)
    from nestwatch.report.files import output_errors

    try:
        with output_errors(Path(error.filename or ctx.meta.get(_LOG_FOLDER) or "the results")):
            raise error
    except NestwatchError as told:
        return _told(str(told), told.exit_code)


def _fault(ctx: click.Context, error: Exception) -> Exit:
    log = _write_log(ctx.meta.get(_LOG_FOLDER), error)
    where = f"what happened is in {log}; send that file" if log else "no log could be written; send this line"
    told = "".join(traceback.format_exception_only(error)).strip()
    return _told(
        f"this is a fault of the program, not of your files ({told}); {where} to whoever looks after it.", 1
    )


def _write_log(folder: Path | None, error: Exception) -> Path | None:
    """Write the traceback next to the output, else to the temporary folder; None if that fails too."""
    name = f"nestwatch-fault-{datetime.now(UTC):%Y%m%dT%H%M%SZ}.log"
    head = f"nestwatch {nestwatch.__version__}, Python {platform.python_version()}, {platform.platform()}\n"
    text = head + f"{sys.argv[1:]}\n" + "".join(traceback.format_exception(error))
    for place in (folder, Path(tempfile.gettempdir())):
        if place is None or not place.is_dir():
            continue
        try:
            (place / name).write_text(text, encoding="utf-8")
        except OSError:
            continue
        return place / name
    return None


def _replace_unprintable() -> None:
    """A terminal that cannot show a letter shows a question mark instead of ending the command."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
