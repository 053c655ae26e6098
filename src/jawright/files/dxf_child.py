"""Opening a drawing, with recovery, in the reading child: the answer for ``dxf.read_outline``.

Lengths in mm, angles in rad.
"""

from __future__ import annotations

import logging
import re
from pathlib import Path
from typing import Any

import ezdxf
from ezdxf import recover

from jawright import units
from jawright.errors import JawrightError
from jawright.files import limits
from jawright.files.dxf_curves import FIT, Sheet, flat
from jawright.files.outline_chain import Note, chain, closed_chain, without_doubles
from jawright.files.outline_nest import regions
from jawright.geometry.curve import Arc, Point
from jawright.geometry.profile import Profile, Region
from jawright.units import INCH

UNITS: dict[int, tuple[str, float]] = {
    1: ("inch", INCH),
    2: ("foot", 12 * INCH),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1000.0),
    9: ("thou", INCH / 1000.0),
    13: ("µm", 1e-3),
    14: ("dm", 100.0),
}
"""Codes of the header variable $INSUNITS, as its reference lists them, with their size [mm]."""
_ADVICE = "export the outline as DXF again from the program it was drawn in"
_NAMED = 5
_GUESSED = re.compile(
    r'recovered invalid (floating point|integer) value "(.*)" near line (\d+) as "(.*)"', re.S
)


def work(path: str, name: str, unit: str, join: float) -> tuple[dict[str, Any], bytes]:
    """Everything ``read_outline`` tells, as plain data.

    Raises ``file-broken`` when no closed outline is found, ``part-size`` for one too small.
    """
    data = Path(path).read_bytes()
    code = _frame(data)
    word, scale, said = _unit(code, unit)
    document, notes = _open(path)
    sheet = Sheet(document, scale, name)
    sheet.read(document.modelspace())
    if not sheet.open and not sheet.closed:
        raise JawrightError("file-broken", what=_nothing(document, sheet), todo=_ADVICE)
    flat(sheet)
    if not word:
        return {"unit": "", "code": code, "size": _size(sheet)}, b""

    largest = max(_size(sheet))
    if largest < limits.OUTLINE_SPECK and not unit:
        raise JawrightError(
            "part-size",
            what=f"the drawing is {largest / scale:.6g} {word} large, {largest:.4g} mm: too small",
            todo='measure the part, then add unit = "mm" or unit = "inch" to [part] of the job',
        )

    def say(p: Point) -> str:
        return f"({p[0] / scale:.4f}, {p[1] / scale:.4f})"

    found, mended = _regions(sheet, join, say)
    if not found:
        raise JawrightError(
            "file-broken", what="the drawing holds no closed outline of any size", todo=_ADVICE
        )
    notes += mended + _told(sheet)
    value = {
        "unit": word,
        "code": code,
        "said": said,
        "scale": scale,
        "bound": sheet.bound,
        "regions": [[_plain(p) for p in (r.outer, *r.holes)] for r in found],
        "notes": notes,
    }
    return value, b""


def _plain(p: Profile) -> list[list[float]]:
    """An outline as rows: start, and for arcs center and direction."""
    return [
        [*c.start, *c.center, 1.0 if c.ccw else -1.0] if isinstance(c, Arc) else [*c.start] for c in p.curves
    ]


# ---- the file ------------------------------------------------------------------------------


def _frame(data: bytes) -> int:
    """Check the first and last record and the polylines' own counts; the unit code, 0 when absent."""
    text = data.decode("latin-1").lstrip("\ufeffï»¿")
    lines = re.split(r"\r\n|\n|\r", text.rstrip("\0\x1a \t\r\n"))
    codes, values = [c.strip() for c in lines[0::2]], [v.strip() for v in lines[1::2]]
    start = next((k for k, c in enumerate(codes) if c != "999"), 0)
    if codes[start : start + 1] != ["0"] or values[start : start + 1] != ["SECTION"]:
        raise JawrightError(
            "file-not-dxf",
            what="the file is not a DXF drawing in text form: it does not begin with a section",
            todo=_ADVICE,
        )
    if [s.strip() for s in lines[-2:]] != ["0", "EOF"]:
        raise JawrightError(
            "file-broken", what="the drawing is cut off: its last record EOF is missing", todo=_ADVICE
        )
    unit, stated, counted, where = 0, 0, 0, -1
    for k, (code, value) in enumerate(zip(codes, values, strict=False)):
        if code == "0":
            _count(stated, counted, where)
            where = k if value == "LWPOLYLINE" else -1
            stated = counted = 0
        elif where >= 0:
            if code == "90":
                found = units.counted(value)
                stated = -1 if found is None else found
            counted += code == "10"
        elif code == "9" and value == "$INSUNITS" and codes[k + 1 : k + 2] == ["70"]:
            unit = units.counted(values[k + 1]) or 0
    return unit


def _count(stated: int, counted: int, where: int) -> None:
    if where >= 0 and stated != counted:
        raise JawrightError(
            "file-broken",
            what=f"the LWPOLYLINE at line {2 * where + 1} says {stated} corners and has {counted}",
            todo=_ADVICE,
        )


def _unit(code: int, asked: str) -> tuple[str, float, str]:
    """Word and size [mm] of the unit taken, "" when none is known; and the file's own word."""
    said = UNITS.get(code, ("", 1.0))[0]
    if asked:
        size = dict(UNITS.values())
        return asked, size[asked], said
    return (*UNITS.get(code, ("", 1.0)), said)


class _Ears(logging.Handler):
    """Keeps what the library says while it repairs: it says it nowhere else."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.heard: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.heard.append(record.getMessage())


def _open(path: str) -> tuple[Any, list[Note]]:
    """The document, and what had to be repaired to open it."""
    ears, logger = _Ears(), logging.getLogger("ezdxf")
    logger.addHandler(ears)
    try:
        return ezdxf.readfile(path), []
    except Exception:
        ears.heard.clear()
    try:
        document, auditor = recover.readfile(path)
    except Exception as e:  # the library lets foreign exceptions through
        what = f"the drawing is damaged beyond recovery ({type(e).__name__})"
        raise JawrightError("file-broken", what=what, todo=_ADVICE) from e
    finally:
        logger.removeHandler(ears)
    for message in ears.heard:
        _refuse_guess(message)
    told = [*ears.heard, *(str(e.message) for e in (*auditor.errors, *auditor.fixes))]
    told = list(dict.fromkeys(" ".join(t.split())[:160] for t in told))
    more = f"; and {len(told) - _NAMED} more" if len(told) > _NAMED else ""
    words = "; ".join(told[:_NAMED]) or "its structure was put in order"
    return document, [("repaired", f"the drawing is damaged and was recovered: {words}{more}")]


def _refuse_guess(message: str) -> None:
    """Refuse when a number was guessed; a whole number written with a point is no guess."""
    found = _GUESSED.search(message)
    if not found:
        return
    kind, text, line, value = found.groups()
    try:
        same = kind == "integer" and float(text) == float(value)
    except ValueError:
        same = False
    if not same:
        raise JawrightError(
            "file-broken",
            what=f'near line {line} of the drawing "{text[:40]}" stands where a number must be',
            todo=_ADVICE,
        )


def _nothing(document: Any, sheet: Sheet) -> str:
    beside = _listed(sheet)
    elsewhere = sum(len(page) for page in document.layouts if page.name != "Model")
    what = "the drawing holds no outline" + (f", only {beside}" if beside else "")
    return what + (f"; {elsewhere} entities lie on its paper pages, which are not read" if elsewhere else "")


def _listed(sheet: Sheet) -> str:
    return ", ".join(f"{n} {words}" for words, n in sorted(sheet.ignored.items()))


# ---- its outlines --------------------------------------------------------------------------


def _size(sheet: Sheet) -> list[float]:
    """Width and height of all curves, in the file's own numbers."""
    points = [p for r in (*sheet.open, *sheet.closed) for p in r.samples()]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return [max(xs) - min(xs), max(ys) - min(ys)]


def _regions(sheet: Sheet, join: float, say: Any) -> tuple[list[Region], list[Note]]:
    closed = {id(r) for r in sheet.closed}
    kept, doubles = without_doubles([*sheet.closed, *sheet.open])
    around = [r for r in kept if id(r) in closed]
    loops, notes = chain([r for r in kept if id(r) not in closed], join=join, say=say, closed=around)
    if doubles:
        names = ", ".join(r.name for r in doubles[:3]) + (", …" if len(doubles) > 3 else "")
        what = f"{len(doubles)} curve{'s' * (len(doubles) > 1)} drawn twice left out ({names})"
        notes.insert(0, ("repaired", what))
    whole = [closed_chain(r.curves)[0] for r in kept if id(r) in closed]
    found, more = regions([*whole, *loops], say=say)
    return found, notes + more


def _told(sheet: Sheet) -> list[Note]:
    notes: list[Note] = []
    if sheet.ignored:
        notes.append(("ignored", f"no part of the outline: {_listed(sheet)}"))
    if sheet.wide:
        notes.append(("noted", f"{sheet.wide} polylines are drawn as bands; their middle is read"))
    if sheet.kinds["INSERT"]:
        notes.append(("noted", f"{sheet.kinds['INSERT']} placed blocks were taken apart"))
    if sheet.fitted:
        many = f"{sheet.fitted} smooth curves" if sheet.fitted > 1 else "a smooth curve"
        bound = f"{1000 * sheet.bound:.2f} µm (allowed {1000 * FIT:g} µm)"
        notes.append(("noted", f"{many} read as arcs, which leave it by at most {bound}"))
    if sheet.through:
        many = f"{sheet.through} splines give" if sheet.through > 1 else "a spline gives"
        notes.append(
            (
                "noted",
                f"{many} only points on the way: the cubic through them is read, chord lengths as parameter;"
                f" other programs may run up to {sheet.beside:.3f} mm beside it between the points",
            )
        )
    return notes
