"""The one error base: what went wrong, where, and what to do about it.

Every error a user can cause is a ``JawrightError`` with a code from ``CODES``.
Doors print one sentence and leave with exit code 2; anything else is a defect
of ours and keeps its traceback.
"""

from __future__ import annotations

from textwrap import shorten

CODES: dict[str, str] = {
    "file-missing": "A named file does not exist or cannot be read.",
    "file-too-large": "A file is larger than the stated limit.",
    "file-empty": "A file holds nothing.",
    "file-not-step": "The file is not an ISO 10303-21 exchange file.",
    "file-not-dxf": "The file is not a DXF drawing.",
    "file-broken": "The file is damaged: the reader stopped, crashed or ran out of its limits.",
    "file-write": "A result could not be written whole, so nothing was written.",
    "toml-syntax": "The file is not valid TOML.",
    "key-unknown": "A key is not part of the schema.",
    "key-missing": "A required key is absent.",
    "value-bad": "A value has the wrong kind, is out of range, or is not one of the allowed words.",
    "changed-meanwhile": "Somebody else changed the same answer on the page since it was shown.",
    "unit-missing": "A length, force, torque or angle has no unit.",
    "unit-bad": "A unit is not one of the units of that quantity.",
    "part-no-solid": "The part file holds no solid to hold on to.",
    "part-several-solids": "The part file holds several solids and none was chosen.",
    "part-not-exact": "The part is tessellated or not a valid closed solid.",
    "part-integrity": "The solid read is not the file's own: by volume or area, or mirrored or scaled.",
    "part-unit-unknown": "The drawing does not say its unit.",
    "part-outline-open": "The outline has a gap.",
    "part-outline-crossing": "The outline crosses itself.",
    "part-flat": "The part has no thickness.",
    "part-size": "The size of the part is implausible: inch and millimeter may be mixed up.",
    "pick-empty": "Nothing of the part is at the named point.",
    "pick-ambiguous": "More than one thing of the part is at the named point.",
    "shop-no-vise": "No vise in the shop takes the part.",
    "shop-no-blank": "No jaw blank in the shop fits the part.",
    "shop-no-cutter": "No cutter in the shop can do what is needed.",
    "shop-no-parallel": "No pair of parallels in the shop holds a bar while a jaw blank is made from it.",
    "shop-no-spacer": "No parallel in the shop can serve as spacer while the jaws are cut.",
    "hold-none": "The part cannot be held this way.",
    "geometry": "An outline is not a valid closed chain of lines and arcs.",
    "record-bad": "A record file does not follow the schema.",
    "rack-missing": "The register of jaws, or a pair in it, does not exist.",
    "rack-state": "What is asked does not fit the state of the pair: it is out, dead, or its id is taken.",
    "rack-bad": "The file is no register of jaws or no export of one, or it is damaged.",
    "rack-busy": "Another program keeps the register locked.",
    "run-bad": "The measurements of a run cannot be read.",
}


LONGEST = 600
"""Most letters of what is wrong; a library's own message may quote a whole file."""


class JawrightError(Exception):
    """One thing that is wrong with what the user gave.

    Parameters
    ----------
    code : one of ``CODES``.
    what : what is wrong, as a sentence without its final stop.
    where : file, line, key or place in the part; may be empty.
    todo : what the user can do next; may be empty.
    """

    def __init__(self, code: str, *, what: str, where: str = "", todo: str = "") -> None:
        assert code in CODES, code
        # one sentence on one line, whatever a library or a file name brought along
        self.code = code
        self.what = shorten(what, LONGEST, placeholder=" …")
        self.where = " ".join(where.split())
        self.todo = " ".join(todo.split())
        super().__init__(self.what)

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        todo = f"; {self.todo}" if self.todo else ""
        return f"{place}{self.what}{todo} [{self.code}]"
