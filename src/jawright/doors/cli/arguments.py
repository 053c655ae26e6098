"""The command line as it is typed; importing this loads nothing heavy."""

from __future__ import annotations

import argparse

import jawright
from jawright.doors.cli.rack_arguments import add_adopt, add_diagnose, add_first, add_rack

CAUTION = (
    "Results are estimates, not a license to run: keep guards shut, wear eye protection, prove out at "
    "reduced feed with a hand on feed hold, and follow the shop's rules and the machine's manual."
)


def parser() -> argparse.ArgumentParser:
    """The parser of all commands; docs/reference/cli.md prints it."""
    top = argparse.ArgumentParser(
        prog="jawright",
        description="A vise hold that is proven before metal is cut: the decision, the jaws, "
        "the program that cuts them, the proofs and the setup sheet.",
        epilog=CAUTION,
        allow_abbrev=False,
    )
    top.add_argument("--version", action="version", version=f"jawright {jawright.__version__}")
    top.add_argument("--debug", action="store_true", help="print the whole traceback of a defect")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True)
    _plan(commands)
    _demo(commands)
    _check(commands)
    _part(commands)
    _verify(commands)
    add_rack(commands)
    add_diagnose(commands)
    add_first(commands)
    add_adopt(commands)
    _vise(commands)
    _serve(commands)
    commands.add_parser("report", help="print what a bug report needs", allow_abbrev=False)
    return top


def _add(
    commands: argparse._SubParsersAction[argparse.ArgumentParser], name: str, help: str
) -> argparse.ArgumentParser:
    return commands.add_parser(
        name, help=help, description=help[:1].upper() + help[1:] + ".", allow_abbrev=False
    )


def _common(p: argparse.ArgumentParser, *, out: str) -> None:
    p.add_argument("--out", metavar="DIR", default="", help=f"folder the results go to ({out})")
    p.add_argument(
        "--units", choices=("mm", "inch"), help="what papers are written in (as the job file says)"
    )
    p.add_argument("--stances", action="store_true", help="print every stance tried and why each lost")


def _plan(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _add(commands, "plan", "plan how to hold a part and write the jaws, the program and the papers")
    p.add_argument("job", metavar="JOB.toml", help="the job file")
    p.add_argument("--shop", metavar="SHOP.toml", help="the shop file (shop.toml beside the job file)")
    p.add_argument(
        "--rack", metavar="FILE", nargs="?", const="", default=None,
        help="also try the pairs of this register as they are (rack.db, or JAWRIGHT_RACK)",
    )  # fmt: skip
    p.add_argument(
        "--pair", metavar="ID", default="", help="use this pair of the register, and no other jaws"
    )
    p.add_argument(
        "--way", choices=("as it is", "flip", "re-cut", "face"), default="as it is",
        help="with --pair: as it is, or cut its free side, cut it anew, or face it first (as it is)",
    )  # fmt: skip
    _common(p, out="out/ and the job file's name")


def _demo(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _add(commands, "demo", "plan the built-in demo job: the second side of a ratchet pawl")
    _common(p, out="out/demo")


def _check(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _add(
        commands, "check", "read a job with its part and shop, and say what is missing and what stands in"
    )
    p.add_argument("job", metavar="JOB.toml", help="the job file")
    p.add_argument("--shop", metavar="SHOP.toml", help="the shop file (shop.toml beside the job file)")
    p.add_argument("--units", choices=("mm", "inch"), help="what is printed (as the job file says)")


def _verify(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _add(commands, "verify", "run a program, as it is or as it was edited, against the jaws of a record")
    p.add_argument("program", metavar="PROGRAM.nc", help="the program text")
    p.add_argument("--record", metavar="RECORD.json", required=True, help="the record of the plan")
    p.add_argument(
        "--blank", metavar="ID", default="", help="the program makes this blank from bar (it cuts the jaws)"
    )
    p.add_argument("--units", choices=("mm", "inch"), help="what is printed (as the job file says)")


def _vise(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _add(commands, "vise", "tell a vise's own numbers from readings taken on it")
    tasks = p.add_subparsers(dest="task", metavar="TASK", required=True)
    one = tasks.add_parser(
        "calibrate",
        help="stiffness and play of a jaw's mount from indicator readings",
        description="Stiffness and play of a jaw's mount from indicator readings at two heights and several "
        "torque steps, as lines for the shop file.",
        allow_abbrev=False,
    )
    one.add_argument("readings", metavar="READINGS.toml", help="the file of readings")
    one.add_argument("--shop", metavar="SHOP.toml", help="the shop file (shop.toml beside the readings)")
    one.add_argument("--units", choices=("mm", "inch"), help="what is printed (as the file of readings says)")


def _part(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _add(commands, "part", "read a part file and print what was understood")
    p.add_argument("file", metavar="FILE", help="a STEP solid or a DXF outline")
    p.add_argument("--thickness", metavar="T", help='thickness of a plate drawn as an outline: "12 mm"')
    p.add_argument(
        "--unit", choices=("mm", "inch", "m"), default="", help="unit of a drawing that does not say"
    )
    p.add_argument(
        "--body", type=int, metavar="N", help="which solid or outline of the file, counted from 1; 0 joins"
    )
    p.add_argument(
        "--up",
        metavar="WAY",
        choices=("+X", "-X", "+Y", "-Y", "+Z", "-Z"),
        default="+Z",
        help="the side that is up, for lower edges and corners: --up=-Z (+Z)",
    )
    p.add_argument("--units", choices=("mm", "inch"), default="mm", help="what is printed (mm)")
    p.add_argument("--json", action="store_true", help="print it as JSON, lengths in mm")


def _serve(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _add(commands, "serve", "open the page: jobs, sheet and shop in the browser of this machine")
    p.add_argument("--port", type=int, default=8731, help="port on this machine, 0 for any (8731)")
    p.add_argument(
        "--folder", metavar="DIR", default="jawright-jobs", help="folder the jobs are kept in (jawright-jobs)"
    )
    p.add_argument(
        "--plan",
        metavar="DIR",
        action="append",
        default=[],
        help="put a plan made at the command line on the list; its job, shop and part files have to lie in "
        "or beside that folder; may be given again",
    )
    p.add_argument(
        "--network",
        metavar="ADDRESS",
        default="",
        help="answer to others in the network at this address of this machine; needs --token-file",
    )
    p.add_argument(
        "--token-file", metavar="FILE", default="", help="file with the token; made when it is not there"
    )
