"""Read a job file: one part, one operation, one quantity."""

from __future__ import annotations

import string
from pathlib import Path
from typing import Literal, cast

from jawright import handbook
from jawright.errors import JawrightError
from jawright.files.schema import Key, Row, Section
from jawright.files.sections import Reader
from jawright.files.toml import Document, load
from jawright.job import schema
from jawright.job.model import (
    USUAL_OPERATION,
    DatumPick,
    Feature,
    FeatureKind,
    GeneralTolerances,
    Given,
    HoldAsk,
    Incoming,
    Job,
    Pick,
    ToleranceAsk,
)

ROUND_ZONES = ("position", "coaxiality", "concentricity")
"""Of a hole: zones that are a cylinder unless something else is said (ISO 1101)."""
ASSUMED = Feature("top face", "face", None)


def read_job(path: Path | str) -> Job:
    """Read and check a job file; what it leaves out is filled, with its basis, or left to the search.

    The part file is named as seen from the job file's folder; it is not opened here.
    Raises ``JawrightError`` with file and line: ``file-*``, ``toml-syntax``, ``key-unknown``,
    ``key-missing``, ``value-bad``, ``unit-missing``, ``unit-bad``.
    """
    path = Path(path)
    doc = load(path)
    file = Reader(doc, schema.SECTIONS, loose=(schema.UNITS,))
    head, part, hold = file.one("job"), file.one("part"), file.one("hold")
    units = head.text("units", file.top.text("units", "mm"))
    datums = _datums(list(file.many("datum")))
    features = _features(list(file.many("feature")))
    reachable = head.text("features", "named") == "reachable"
    if reachable and hold.triple("up") is None:
        raise JawrightError(
            "key-missing",
            what='features = "reachable" takes everything that is reached from above: say what is up',
            where=head.where("features"),
            todo='add up = "+Z", or the side that is up, to [hold]',
        )
    standing = features if features or reachable else (ASSUMED,)
    return Job(
        name=head.text("name", path.stem),
        part_number=head.text("part_number"),
        revision=head.text("revision"),
        operation=head.text("operation", USUAL_OPERATION),
        quantity=head.whole("quantity"),
        units="inch" if units == "inch" else "mm",
        part_file=path.parent / part.text("file"),
        part_unit=part.text("unit"),
        thickness=part.maybe("thickness"),
        body=part.whole("body") if "body" in part else None,
        material=handbook.material(part.text("material"), where=part.where("material")).name,
        up=hold.triple("up"),
        datums=datums,
        features=standing,
        features_assumed=standing == (ASSUMED,),
        tolerances=_tolerances(list(file.many("tolerance")), standing, datums, later=reachable),
        incoming=_incoming(file.one("incoming"), standing, path.parent, reachable=reachable),
        hold=_hold(hold),
        marks_allowed=hold.flag("marks_allowed", True),
        notes=head.texts("notes"),
        projection="first angle" if head.text("projection") == "first angle" else "third angle",
        source=doc.name,
        sha256=doc.sha256,
        reachable=reachable,
        general=_general(head),
    )


def _general(row: Row) -> GeneralTolerances | None:
    """What the title block says; the ± by decimals only with its keys, and the keys only with it."""
    word = row.text("general")
    given = tuple((n, row.real(f"decimals_{n}")) for n in range(5) if f"decimals_{n}" in row)
    if word == "by decimals":
        if not given:
            row.refuse("general", "no ± is given for any number of decimals", 'add decimals_2 = "0.1 mm"')
        return GeneralTolerances(decimals=given)
    if given:
        row.refuse(f"decimals_{given[0][0]}", 'this is read only with general = "by decimals"')
    grade = word.removeprefix("ISO 2768-")
    return GeneralTolerances(cast("Literal['f', 'm', 'c', 'v']", grade)) if word else None


def _hold(row: Row) -> HoldAsk:
    kind, stop, letter = row.text("kind"), row.text("stop"), row.text("fixed_jaw_datum")
    if letter not in ("", *string.ascii_uppercase):
        row.refuse("fixed_jaw_datum", f'"{letter}" is not a datum letter', "use one capital letter")
    metal = row.text("jaw_material")
    _row_of_parts(row)
    return HoldAsk(
        kind="hard jaws" if kind == "hard jaws" else "soft jaws" if kind == "soft jaws" else "",
        turn=row.maybe("turn"),
        shift=row.maybe("shift"),
        vise=row.text("vise"),
        blank=row.text("blank"),
        grip_depth=row.maybe("grip_depth"),
        torque=row.maybe("torque"),
        stop="-X" if stop == "-X" else "+X" if stop == "+X" else "",
        spacer_height=row.maybe("spacer_height"),
        spacers=row.texts("spacers"),
        fixed_jaw_datum=letter,
        jaw_cutter=row.text("jaw_cutter"),
        jaw_material=handbook.material(metal, where=row.where("jaw_material")).name if metal else "",
        wrong_way="leave a corner" if row.text("wrong_way") else "",
        floor=cast("Literal['', 'one level', 'two levels']", row.text("floor")),
        parts=row.whole("parts", 1),
        mirrored=row.flag("mirrored", False),
        spacing=row.maybe("spacing"),
    )


def _row_of_parts(row: Row) -> None:
    """What is said of parts side by side goes with several parts, and those with soft jaws."""
    if row.whole("parts", 1) == 1:
        for key in ("mirrored", "spacing"):
            if key in row and (key == "spacing" or row.flag(key, False)):
                row.refuse(key, "this is read only with several parts side by side", "add parts = 2, or more")
    elif row.text("kind") == "hard jaws":
        row.refuse("parts", "parts side by side are held in soft jaws, and the job asks for hard jaws",
                   "leave one of the two keys out")  # fmt: skip


def _datums(rows: list[Row]) -> tuple[DatumPick, ...]:
    found: dict[str, DatumPick] = {}
    for row in rows:
        letter = row.text("letter")
        if letter not in tuple(string.ascii_uppercase):
            row.refuse("letter", f'"{letter}" is not a datum letter', "use one capital letter")
        if letter in found:
            row.refuse("letter", f"datum {letter} is named twice")
        at = row.triple("at")
        assert at is not None  # required
        across = row.triple("opposite")
        other = None if across is None else Pick(across, f"datum {letter}, opposite", row.units)
        found[letter] = DatumPick(letter, Pick(at, f"datum {letter}", row.units), row.maybe("size"), other)
    return tuple(found.values())


def _features(rows: list[Row]) -> tuple[Feature, ...]:
    found: dict[str, Feature] = {}
    for row in rows:
        name, kind = row.text("name"), row.text("kind")
        if name in found:
            row.refuse("name", f'two features are called "{name}"', "give each its own name")
        at = row.triple("at")
        if at is None and kind not in schema.WHOLE:
            raise JawrightError(
                "key-missing",
                what=f'feature "{name}" does not say where it is',
                where=row.where(),
                todo="add at = [x, y, z], a point on its finished face in the part file's frame",
            )
        if kind not in schema.HOLES:
            for key in ("diameter", "pilot"):
                if key in row:
                    row.refuse(key, f"a feature of kind {kind} has no {key}", "only holes have one")
        diameter, pilot = row.maybe("diameter"), row.maybe("pilot")
        if diameter is not None and pilot is not None and pilot >= diameter:
            row.refuse("pilot", "the hole already there is not smaller than the finished one")
        found[name] = Feature(
            name=name,
            kind=cast("FeatureKind", kind),
            pick=None if at is None else Pick(at, f'feature "{name}"', row.units),
            depth=row.maybe("depth"),
            diameter=diameter,
            through=row.flag_or_none("through"),
            cutter=row.text("cutter"),
            feed_per_tooth=row.maybe("feed_per_tooth"),
            radial=row.maybe("radial"),
            axial=row.maybe("axial"),
            pilot=pilot,
            decimals=row.whole("decimals") if "decimals" in row else None,
        )
    return tuple(found.values())


def _tolerances(
    rows: list[Row], features: tuple[Feature, ...], datums: tuple[DatumPick, ...], *, later: bool
) -> tuple[ToleranceAsk, ...]:
    """The tolerances typed; with ``later`` they may name features that are found on the part."""
    known = {f.name: f for f in features}
    letters = [d.letter for d in datums]
    found = []
    for row in rows:
        name, kind = row.text("feature"), row.text("kind")
        of, boundary = _letters(row)
        if name not in known and not later:
            near = handbook.nearest(name, list(known))
            hint = f'did you mean "{near}"? ' if near else ""
            row.refuse("feature", f'no feature is called "{name}"', f"{hint}features: {', '.join(known)}")
        single = [x for together in of for x in together.split("-")]
        for letter in single:
            if letter not in tuple(string.ascii_uppercase):
                row.refuse("datums", f'"{letter}" is not a datum letter', "use one capital letter each")
            if single.count(letter) > 1:
                row.refuse("datums", f"datum {letter} stands twice in one frame")
            if letters and letter not in letters:
                row.refuse("datums", f"datum {letter} is not picked", f"add a [[datum]] with letter {letter}")
        if len(of) > 3:
            row.refuse("datums", "a datum frame has at most three letters")
        hole = known[name].kind in schema.HOLES if name in known else _sounds_round(name)
        turned = name in known and known[name].kind in ("profile", "pocket")  # a boss, a round pocket
        if kind == "size" and not hole and not turned:
            row.refuse("kind", f"{name} is neither hole nor boss and has no size here", "use distance")
        diametral = row.flag("diametral", kind in ROUND_ZONES and hole)
        if diametral and not hole and not turned:
            row.refuse("diametral", f"{name} is not a hole, its zone is not a diameter")
        material, along, zone = row.text("material"), row.text("along"), row.real("zone")
        if along and (along not in of or diametral):
            row.refuse("along", "one direction is named by a datum of this tolerance, and is no diameter")
        if row.flag("composite", False) and kind not in COMPOSED:
            row.refuse("composite", f"{kind} has no composite frame", "only position and profile have")
        if zone == 0.0 and not material:
            row.refuse("zone", "no part keeps a zone of 0", "give the zone, or its material condition")
        projected, outside = row.maybe("projected"), row.maybe("outside")
        if projected is not None and (not hole or kind == "size"):
            row.refuse("projected", f"{kind} of {name} has no projected zone", "only holes have one")
        if "projected_from" in row and projected is None:
            row.refuse("projected_from", "it says where a projected zone begins, but no length is given")
        if outside is not None and (not kind.startswith("profile") or outside > zone):
            row.refuse("outside", "it is a part of the zone of a profile", "0 up to the zone's width")
        found.append(
            ToleranceAsk(
                feature=name,
                kind=kind,
                zone=zone,
                datums=of,
                diametral=diametral,
                material="maximum" if material == "maximum" else "least" if material == "least" else "",
                along=along,
                boundary=boundary,
                composite=row.flag("composite", False),
                middle=0.0 if outside is None else outside - 0.5 * zone,
                projected=projected or 0.0,
                from_end="bottom" if row.text("projected_from") == "bottom" else "top",
            )
        )
    return tuple(found)


COMPOSED = ("position", "profile of a surface", "profile of a line")
"""Kinds that the standards stack in one composite frame."""


def _sounds_round(name: str) -> bool:
    """Whether a feature found on the part under that name is a hole."""
    return name.startswith(("hole ", "counterbore "))


def _letters(row: Row) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Letters of the datums in order, and those marked (M): at their maximum material boundary."""
    written = row.texts("datums")
    plain = tuple(t.removesuffix("(M)").strip() for t in written)
    return plain, tuple(p for t, p in zip(written, plain, strict=True) if t.endswith("(M)"))


def _incoming(row: Row, features: tuple[Feature, ...], folder: Path, *, reachable: bool) -> Incoming:
    if "edge_break" in row and "edge_break_most" in row:
        least, most = row.real("edge_break"), row.real("edge_break_most")
        if most < least:
            row.refuse(
                "edge_break_most",
                f"the largest edge break, {most:g} mm, is smaller than the smallest, {least:g} mm",
                "edge_break is the smallest of all parts, edge_break_most the largest",
            )
    return Incoming(
        model=folder / row.text("model") if "model" in row else None,
        profile=_given(row, "profile"),
        wall_form=_given(row, "wall_form"),
        squareness=_given(row, "squareness"),
        thickness=_given(row, "thickness"),
        edge_break=_given(row, "edge_break"),
        edge_break_most=_given(row, "edge_break_most"),
        stock_on_top=default_incoming("stock_on_top")
        if reachable and "stock_on_top" not in row
        else _stock(row, features),
    )


def _given(row: Row, name: str) -> Given:
    if name in row:
        how = row.spread(name)
        basis = f"job: {how.basis}" if how.basis else f"job: {how.shape}" if how.shape else "job"
        return Given(row.real(name), basis, how.shape, how.values)
    return default_incoming(name)


def _stock(row: Row, features: tuple[Feature, ...]) -> Given:
    """The metal above the finished top: as stated, else what the face feature takes off."""
    if "stock_on_top" in row:
        return Given(row.real("stock_on_top"), "job")
    faces = [f for f in features if f.kind == "face"]
    if not faces:
        return Given(0.0, "default: no feature of this operation faces the top")
    if faces[0].depth is not None:
        return Given(faces[0].depth, f'job: the depth of feature "{faces[0].name}"')
    return default_incoming("stock_on_top")


def default_incoming(name: str) -> Given:
    """The value that stands in for a key of [incoming], with its basis."""
    entry = handbook.table("defaults")["incoming"][name]
    key = next(k for k in schema.INCOMING.keys if k.name == name)
    stand_in = Row(
        Document("defaults.toml", Path("defaults.toml"), {}, "", {}),
        Section("incoming", "", (Key(name, key.kind, key.help),)),
        {name: entry["value"]},
        place=("incoming",),
        plain="",
    )
    return Given(stand_in.real(name), f"default: {entry['basis']}")
