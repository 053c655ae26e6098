"""The command line: parse, call one command, print, leave with its exit code.

0 planned, every proof passes or cautions and the program is verified; 1 planned, but something
fails, is unknown or is not verified; 2 bad input, one sentence on standard error; 70 a defect
of ours, its traceback kept in a log; 130 stopped by the user.
"""

from __future__ import annotations

import argparse
import importlib
import os
import sys
import tempfile
import traceback
from collections.abc import Sequence
from pathlib import Path

import jawright
from jawright.doors.cli.arguments import parser
from jawright.errors import JawrightError

BAD_INPUT = 2
DEFECT = 70
STOPPED = 130
READS_PARTS = ("plan", "demo", "check", "part")
"""Commands that read a part file."""
LOG = "jawright-defect.log"


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line with ``argv`` (the process's own when None); returns the exit code."""
    _plain_output()
    args = parser().parse_args(argv)
    if args.command in READS_PARTS:
        # the child loads the solid kernel while this process loads the rest
        importlib.import_module("jawright.files.child").warm()
    try:
        # the command's module loads the heavy libraries, so it is imported only now
        code: int = importlib.import_module(f"jawright.doors.cli.{args.command}").run(args)
        sys.stdout.flush()
    except JawrightError as error:
        if args.debug:
            traceback.print_exc()
        print(f"jawright: {error}", file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        print("\njawright: stopped, nothing was written", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:
        # the reader of a pipe has left; keep Python from complaining once more at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        return _defect(args, error)
    return code


def _plain_output() -> None:
    """Ø and ° must not end a plan on a console that has no UTF-8."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def _defect(args: argparse.Namespace, error: Exception) -> int:
    """A defect of ours: a short message, the traceback in a log."""
    if args.debug:
        traceback.print_exc()
    text = "".join(traceback.format_exception(error))
    kept = _log(f"jawright {jawright.__version__}, command {args.command}\n{text}")
    where = f"; the details are in {kept}" if kept else "; run again with --debug for the details"
    print(
        f"jawright: a defect of the program, not of your input: {type(error).__name__}: "
        f"{str(error).splitlines()[0] if str(error) else 'no message'}{where}; "
        f'please report it with the output of "jawright report"',
        file=sys.stderr,
    )
    return DEFECT


def _log(text: str) -> str:
    """Write the log to the state folder, else the folder for temporary files; "" when neither works."""
    state = os.environ.get("XDG_STATE_HOME") or Path("~/.local/state").expanduser()
    for folder in (Path(state) / "jawright", Path(tempfile.gettempdir())):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / LOG).write_text(text, encoding="utf-8")
            return str(folder / LOG)
        except OSError:
            continue
    return ""


if __name__ == "__main__":
    sys.exit(main())
