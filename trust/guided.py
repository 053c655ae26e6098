"""Coverage-guided search for an input that one of our own readers does not refuse in one sentence.

    python trust/guided.py part21 --runs 20000 --seed 1 --counts FILE

The search (libFuzzer's, through the atheris package) keeps each input that reaches new code and changes
it further. A reader may give a value or raise a ``JawrightError``; anything else ends the search, and the
input is printed. libFuzzer leaves the process by itself, so the counts are written as the work goes on.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections.abc import Callable
from importlib import resources
from pathlib import Path

import atheris

with atheris.instrument_imports(
    include=[
        "jawright.files.part21",
        "jawright.files.annotations",
        "jawright.files.aspects",
        "jawright.files.dimensions",
        "jawright.files.measures",
        "jawright.files.toml",
        "jawright.files.schema",
        "jawright.units",
        "jawright.job.read",
        "jawright.shop.read",
        "jawright.verify.words",
        "jawright.verify.reader",
        "jawright.verify.motion",
        "jawright.verify.cycles",
        "jawright.verify.modes",
        "jawright.verify.arcs",
        "jawright.verify.offset",
        "jawright.floor.run",
        "jawright.record_json",
    ]
):
    from jawright import record_json
    from jawright.files import annotations, part21
    from jawright.floor import run as floor_run
    from jawright.job.read import read_job
    from jawright.shop.read import read_shop
    from jawright.verify import reader

from jawright.errors import CODES, JawrightError

DEMO = Path(str(resources.files("jawright.data").joinpath("demo")))
SCRATCH = Path(tempfile.mkdtemp(prefix="guided-"))


def of_part21(data: bytes) -> None:
    text = data.decode("latin-1")
    part21.frame(text, "part.step")
    for statement in part21.statements(text).values():
        for _, raw in statement.raw:
            part21.arguments(raw)


def of_annotations(data: bytes) -> None:
    annotations.read_annotations(part21.statements(data.decode("latin-1")))


def of_file(read: Callable[[Path], object], name: str) -> Callable[[bytes], None]:
    path = SCRATCH / name

    def one(data: bytes) -> None:
        path.write_bytes(data)
        read(path)

    return one


def of_program(data: bytes) -> None:
    reader.read(data.decode("latin-1"))


def of_run(data: bytes) -> None:
    floor_run.parse_run(data.decode("utf-8", errors="replace"), "run.csv")


def of_record(data: bytes) -> None:
    record_json.loads(data.decode("utf-8", errors="replace"), "record.json")


TOLERANCE = b"""DATA;
#1=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));
#9=PRODUCT_DEFINITION_SHAPE('','',#10);
#100=ADVANCED_FACE('',(),#0,.T.);#101=ADVANCED_FACE('',(),#0,.T.);
#110=SHAPE_ASPECT('','',#9,.T.);#111=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#110,#0,#100);
#130=DATUM('',$,#9,.F.,'A');#131=DATUM_FEATURE('',$,#9,.T.);
#132=SHAPE_ASPECT_RELATIONSHIP('','',#131,#130);#133=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#131,#0,#101);
#50=(GEOMETRIC_TOLERANCE('','',#51,#110)GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE((#52))
GEOMETRIC_TOLERANCE_WITH_MODIFIERS((.MAXIMUM_MATERIAL_REQUIREMENT.))POSITION_TOLERANCE());
#51=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.3),#1);
#52=DATUM_SYSTEM('',$,#9,.F.,(#53));#53=DATUM_REFERENCE_COMPARTMENT('',$,#9,.F.,#130,$);
#60=DIMENSIONAL_SIZE(#110,'diameter');#61=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#60,#62);
#62=SHAPE_DIMENSION_REPRESENTATION('',(#63),#0);
#63=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(LENGTH_MEASURE(8.),#1)
REPRESENTATION_ITEM('nominal value'));
#64=PLUS_MINUS_TOLERANCE(#65,#60);#65=TOLERANCE_VALUE(#66,#67);
#66=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(-0.1),#1);#67=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.1),#1);
ENDSEC;
"""
CSV = b"part,time,width_mm,hole_x_mm\n1,08:00,30.01,0.012\n2,08:03,29.99,-0.004\n3,08:07,30.02,0.015\n"
TARGETS: dict[str, tuple[Callable[[bytes], None], bytes]] = {
    "part21": (of_part21, (DEMO / "pawl.step").read_bytes()[:3000] + b"\nENDSEC;\nEND-ISO-10303-21;\n"),
    "annotations": (of_annotations, TOLERANCE),
    "job": (of_file(read_job, "job.toml"), (DEMO / "pawl.toml").read_bytes()),
    "shop": (of_file(read_shop, "shop.toml"), (DEMO / "shop.toml").read_bytes()),
    "program": (
        of_program,
        b"%\n(a)\nG21 G90 G17\nT1 M6\nS900 M3\nG0 X1 Y2 Z3\nG2 X3 Y2 I1 J0 F90\n#1=[2*3]\nM30\n%\n",
    ),
    "run": (of_run, CSV),
    "record": (of_record, b'{"version": "0.1.0", "made": "2026-01-02", "job": {}}'),
}


def main() -> None:
    """Search one reader."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("target", choices=sorted(TARGETS))
    ask.add_argument("--runs", type=int, default=20000)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--counts", type=Path, required=True)
    args = ask.parse_args()
    work, sound = TARGETS[args.target]
    corpus = SCRATCH / "corpus"
    corpus.mkdir()
    (corpus / "sound").write_bytes(sound)
    if args.target != "record":  # what stands there is no whole record
        work(sound)
    tried = {"target": args.target, "runs": 0, "read": 0, "refused": 0}

    def one(data: bytes) -> None:
        tried["runs"] += 1  # type: ignore[operator]
        try:
            work(data)
            tried["read"] += 1  # type: ignore[operator]
        except JawrightError as error:
            tried["refused"] += 1  # type: ignore[operator]
            told = str(error)
            assert error.code in CODES and "Traceback" not in told and "\n" not in told, told
        if tried["runs"] % 200 == 0:  # type: ignore[operator]
            args.counts.write_text(json.dumps(tried))

    atheris.Setup(
        [
            sys.argv[0],
            f"-runs={args.runs}",
            f"-seed={args.seed}",
            "-max_len=20000",
            "-timeout=20",
            "-rss_limit_mb=3000",
            f"-artifact_prefix={SCRATCH}/",
            str(corpus),
        ],
        one,
    )
    atheris.Fuzz()


if __name__ == "__main__":
    main()
