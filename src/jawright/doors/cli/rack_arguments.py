"""Options of ``jawright rack`` and ``jawright diagnose``; importing this loads nothing heavy."""

from __future__ import annotations

import argparse

STATUSES = ("usable", "re-qualify", "skim", "dead")
DB_HELP = "the register's file (rack.db, or what the environment variable JAWRIGHT_RACK names)"


def add_rack(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The command and its actions."""
    help = "keep the jaws that exist: add, find, check out and in"
    rack = commands.add_parser("rack", help=help, description=_sentence(help), allow_abbrev=False)
    actions = rack.add_subparsers(dest="action", metavar="ACTION", required=True)
    _keep(actions)
    _use(actions)
    _find(actions)
    _files(actions)


def _sentence(help: str) -> str:
    return help[:1].upper() + help[1:] + "."


def _action(
    actions: argparse._SubParsersAction[argparse.ArgumentParser], name: str, help: str
) -> argparse.ArgumentParser:
    p = actions.add_parser(name, help=help, description=_sentence(help), allow_abbrev=False)
    p.add_argument("--db", metavar="FILE", default="", help=DB_HELP)
    return p


def _keep(actions: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _action(actions, "add", "add a pair: from a plan's record.json, or by hand from a DXF of its pocket")
    p.add_argument("file", metavar="FILE", help="record.json, or a DXF outline as it lies in the vise")
    p.add_argument("--id", default="", help="set id engraved on both jaws (the next free J-number)")
    p.add_argument("--to-pair", metavar="ID", default="", help="a further side, or a re-cut, of this pair")
    p.add_argument("--side", choices=("front", "back"), default="front", help="which side is cut (front)")
    p.add_argument("--place", default="", help="where it lies: rack-shelf-bin")
    p.add_argument("--picture", metavar="FILE", default="", help="a photo of the pair")
    p.add_argument("--note", default="", help="anything worth knowing")
    p.add_argument("--shop", metavar="SHOP.toml", help="by hand: shop file with the blank and the vise")
    p.add_argument("--blank", default="", help="by hand: id of the blank in the shop file")
    p.add_argument("--vise", default="", help="by hand: id of the vise in the shop file")
    p.add_argument("--gap", default="", metavar="G", help='by hand: gap it was cut with, "6 mm"')
    p.add_argument("--depth", default="", metavar="D", help='by hand: depth of the pocket, "6.5 mm"')
    p.add_argument("--height", default="", metavar="H", help="by hand: height left, if less than the blank's")
    p.add_argument("--unit", choices=("mm", "inch", "m"), default="", help="unit of a drawing without one")
    p.add_argument("--part", default="", help="by hand: part number it was cut for")
    p.add_argument("--revision", default="", help="by hand: revision of the part")
    p.add_argument("--operation", default="", help="by hand: operation it was cut for")
    p = _action(actions, "list", "list the pairs")
    p.add_argument("--part", default="", help="only pairs cut for this part number")
    p.add_argument("--json", action="store_true", help="print it as JSON")
    p = _action(actions, "show", "show one pair with its history")
    p.add_argument("id", metavar="ID", help="set id")
    p.add_argument("--json", action="store_true", help="print it as JSON, lengths in mm")
    p.add_argument("--units", choices=("mm", "inch"), default="mm", help="what is printed (mm)")
    p = _action(actions, "remove", "take a pair out of the register; its history stays")
    p.add_argument("id", metavar="ID", help="set id")
    p.add_argument("--why", required=True, help="the reason, kept with its history")


def _use(actions: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _action(actions, "out", "check a pair out")
    p.add_argument("id", metavar="ID", help="set id")
    p.add_argument("--to", default="the floor", help="machine or job it goes to (the floor)")
    p = _action(actions, "in", "check a pair in")
    p.add_argument("id", metavar="ID", help="set id")
    p.add_argument("--parts", type=int, default=0, metavar="N", help="parts run since it went out")
    p.add_argument("--status", choices=STATUSES, default="", help="its condition now")
    p.add_argument("--why", default="", help="reason of the condition: marks, wear reading")
    p.add_argument("--place", default="", help="where it lies now")
    p = _action(actions, "note", "change what is written down of a pair")
    p.add_argument("id", metavar="ID", help="set id")
    for name, help in (
        ("place", "where it lies"), ("picture", "a photo of the pair"), ("note", "anything worth knowing"),
        ("vise", "id of the vise it belongs to"),
    ):  # fmt: skip
        p.add_argument(f"--{name}", help=help)
    p = _action(actions, "seat", "keep where the tooling hole was found when a pair was put back")
    p.add_argument("id", metavar="ID", help="set id")
    for axis in "xyz":
        p.add_argument(f"--{axis}", required=axis != "z", metavar=axis.upper(),
                       help=f'{axis.upper()} found less {axis.upper()} kept, "0.012 mm"'
                       + ("; left out: not measured" if axis == "z" else ""))  # fmt: skip
    p.add_argument("--units", choices=("mm", "inch"), default="mm", help="what is printed (mm)")


def _find(actions: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _action(actions, "find", "find jaws for a job: fit as they are, can be re-cut, have a free side")
    p.add_argument("job", metavar="JOB.toml", help="the job file")
    p.add_argument("--shop", metavar="SHOP.toml", help="the shop file (shop.toml beside the job file)")
    p.add_argument(
        "--most", type=int, metavar="N",
        help="how many of each kind are proven in full (from the cheapest on until one serves)",
    )  # fmt: skip
    p.add_argument("--units", choices=("mm", "inch"), help="what is printed (as the job file says)")
    p.add_argument("--json", action="store_true", help="print it as JSON, lengths in mm")


def _files(actions: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    p = _action(actions, "label", "write a label with a QR code of the set id, as SVG")
    p.add_argument("id", metavar="ID", help="set id")
    p.add_argument("--out", metavar="FILE", default="", help="the SVG file (ID.svg)")
    p = _action(actions, "export", "write the whole register as one plain JSON file")
    p.add_argument("file", metavar="FILE", help="the file to write")
    p = _action(actions, "import", "add the pairs of an export: all of them or none")
    p.add_argument("file", metavar="FILE", help="an export")
    p = _action(actions, "backup", "copy the register while others go on working")
    p.add_argument("file", metavar="FILE", help="the file to write")
    _action(actions, "check", "check that the register's file is sound")


def add_first(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The command."""
    help = "write the first article's table to fill in, or judge one and keep it with the job"
    p = commands.add_parser("first", help=help, description=_sentence(help), allow_abbrev=False)
    p.add_argument("record", metavar="record.json", help="the plan the table belongs to")
    p.add_argument("--out", metavar="FILE.csv", default="", help="the table to write (first-article.csv)")
    p.add_argument(
        "--results", metavar="FILE.csv", default="", help="the table, filled in: judge and keep it"
    )
    p.add_argument("--no-keep", action="store_true", help="judge only; keep nothing in the record's folder")
    p.add_argument("--units", choices=("mm", "inch"), help="what is printed (as the job file says)")
    p.add_argument("--json", action="store_true", help="print it as JSON, lengths in mm")


def add_adopt(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The command."""
    help = "take what a run's measurements show into the shop file, for the next plan"
    p = commands.add_parser("adopt", help=help, description=_sentence(help), allow_abbrev=False)
    p.add_argument("run", metavar="RUN.csv", help="the measurements of a run")
    p.add_argument("--record", metavar="record.json", required=True, help="the plan the run was made by")
    p.add_argument("--shop", metavar="SHOP.toml", required=True, help="the shop file to change")
    p.add_argument(
        "--write", action="store_true", help="write it; without this it only says what it would write"
    )
    p.add_argument("--rack", metavar="FILE", default="", help="also the re-seating history of this register")
    p.add_argument("--gauge", metavar="S", default="", help='one sigma of the gauge, taken off: "0.002 mm"')
    p.add_argument(
        "--unsure", action="store_true", help="also adopt what could not be told from another source"
    )
    p.add_argument("--json", action="store_true", help="print it as JSON, lengths in mm")


def add_diagnose(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The command."""
    help = "say what the measurements of a run mean: the cause by name, or what to measure"
    p = commands.add_parser("diagnose", help=help, description=_sentence(help), allow_abbrev=False)
    p.add_argument("run", metavar="RUN.csv", help="the measurements; the columns are in the how-to")
    p.add_argument("--record", metavar="record.json", help="the plan: tolerances, and what it expected")
    p.add_argument("--tolerance", metavar="T", default="", help='± of the measured value, "0.05 mm"')
    p.add_argument("--gauge", metavar="S", default="", help='one sigma of the gauge, "0.002 mm"')
    p.add_argument("--file-unit", choices=("mm", "um", "in", "thou"), help="unit of columns that name none")
    p.add_argument("--units", choices=("mm", "inch"), help="what is printed (as the file says)")
    p.add_argument("--json", action="store_true", help="print it as JSON, lengths in mm")
