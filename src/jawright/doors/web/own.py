"""A material of one's own on a form: a name, the handbook row it is like, and its own figures."""

from __future__ import annotations

from jawright import handbook, units
from jawright.doors.web import edit
from jawright.doors.web.forms import Field
from jawright.doors.web.render import Fields, one
from jawright.errors import JawrightError
from jawright.handbook.described import FIGURES, SHAPE

PREFIX = "own."
NAME, LIKE = "own.name", "own.like"
HELP = {
    "yield": "The least its data sheet promises; never taken from the row",
    "tensile": "In place of the yield for a brittle one, such as gray iron",
}
PLAIN = ("pressure",)
"""Kinds of figures that may be typed without their unit: nobody writes a density in kg/mm³."""
EXAMPLE = {
    "yield": "350 MPa", "tensile": "250 MPa", "modulus": "205 GPa", "density": "7.7 g/cm³",
    "expansion": "11 µm/m/K", "cutting force": "1900 MPa",
}  # fmt: skip


def fields_of(text: str, system: units.System) -> tuple[Field, ...]:
    """The fields of a description, filled from ``text`` where that is one."""
    hit = SHAPE.match(text)
    said = [p.strip() for p in hit["inside"].split(",")] if hit else []
    like = next((p.removeprefix("like ").strip() for p in said if p.startswith("like ")), "")
    out = [
        Field(NAME, "Name", "As the shop calls it", "text", (hit["name"] if hit else "",)),
        Field(
            LIKE, "Like", "Gives what is not stated below, speeds and feeds among it", "words", (like,),
            words=handbook.materials(),
        ),
    ]  # fmt: skip
    for key, (kind, *_) in FIGURES.items():
        value = next((p.removeprefix(key + " ").strip() for p in said if p.startswith(key + " ")), "")
        unit = units.read_unit(kind, system) if kind in PLAIN else ""
        out.append(
            Field(
                _field(key), key[:1].upper() + key[1:], HELP.get(key, "When it is known"), "text", (value,),
                stand_in=f"such as {EXAMPLE[key]}", unit=unit,
            )
        )  # fmt: skip
    return tuple(out)


def taken(fields: Fields, name: str, system: units.System) -> Fields:
    """The form with the description put together under ``name``; as it is where none was given.

    Raises ``key-missing`` or ``value-bad`` naming the field that is not right.
    """
    own = {k: one(fields, k).strip() for k in fields if k.startswith(PREFIX)}
    rest = {k: v for k, v in fields.items() if not k.startswith((PREFIX, f"was.{PREFIX}"))}
    if not any(own.values()):
        return rest
    for key, what in ((NAME, "the material has no name"), (LIKE, "no material is chosen that it is like")):
        if not own.get(key):
            raise JawrightError(
                "key-missing", what=what, where=key, todo="give it, or leave all of them empty"
            )
    if any(c in own[NAME] for c in "[],"):
        raise JawrightError("value-bad", what="a name holds no brackets or commas", where=NAME)
    said, head = [f"like {own[LIKE]}"], f"{own[NAME]} [like {own[LIKE]}, "
    base = handbook.material(own[LIKE], where=LIKE)
    need = "tensile" if base.yield_basis == "none" else "yield"
    for key, (kind, *_) in FIGURES.items():
        if text := own.get(_field(key), ""):
            figure = edit.with_unit(text, kind, system) if kind in PLAIN else text
            if "," in str(figure):
                raise JawrightError("value-bad", what="write the figure with a point", where=_field(key))
            said.append(f"{key} {figure}")
            # each alone, so that the field concerned is told
            least = f"{need} 100 MPa, " if key != need else ""
            handbook.material(f"{head}{least}{key} {figure}]", where=_field(key))
    text = f"{own[NAME]} [{', '.join(said)}]"
    return rest | {name: [handbook.material(text, where=_field(need)).name]}


def _field(key: str) -> str:
    return PREFIX + key.replace(" ", "_")
