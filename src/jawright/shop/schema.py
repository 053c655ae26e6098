"""The keys of a shop file. The reference page prints these declarations."""

from __future__ import annotations

import math

from jawright.files.schema import Key, Section
from jawright.files.spread import Rule as Spread

UNITS = Key(
    "units",
    "word",
    "unit of lengths written as plain numbers; without it every length needs its unit",
    words=("mm", "inch"),
)

CUTTER_KINDS = ("end mill", "face mill", "spot drill", "drill", "boring bar", "reamer", "engraver")


def _size(name: str, help: str, *, most: float, required: bool = False) -> Key:
    return Key(name, "length", help, required=required, above=0.0, most=most)


def _band(
    name: str, kind: str, help: str, *, above: float | None = None, most: float, spread: Spread = ""
) -> Key:
    least = 0.0 if above is None else None
    return Key(name, "band", help, band=kind, above=above, least=least, most=most, spread=spread)


def _sigma(name: str, help: str) -> Key:
    return _band(name, "length", f"sigma {help}", most=1.0, spread="sigma")


def _swing(name: str, help: str) -> Key:
    return _band(name, "temperature", help, most=60.0, spread="limit")


SHOP = Section("shop", "Who owns all this.", (Key("name", "text", "printed on the papers", required=True),))

VISE = Section(
    "vise",
    "A milling vise. Heights are above its bed, on which jaws and parallels stand.",
    (
        Key("id", "text", "name used in job files and on papers", required=True),
        _size("jaw_width", "width of the jaws, along X", most=1000.0, required=True),
        _size(
            "opening",
            "largest opening between its own jaw faces with no jaws mounted",
            most=1000.0,
            required=True,
        ),
        _size("hard_jaw_height", "top of the hard jaws above the bed", most=300.0, required=True),
        _size("bolt_spacing", "between the two jaw bolts, along X", most=900.0, required=True),
        _size("bolt_height", "axis of the jaw bolts above the bed", most=300.0, required=True),
        Key("bolt", "text", 'thread of the jaw bolts: "M12" or "1/2-13"'),
        _size("body_height", "top of the metal behind a jaw; above it a jaw stands free", most=300.0),
        _size("screw_lead", "travel of the jaw per turn of the handle", most=30.0),
        _size("screw_mean_diameter", "pitch diameter of the screw", most=100.0),
        Key(
            "collar_mean_diameter",
            "length",
            "mean diameter of the thrust collar; 0 for a rolling bearing",
            least=0.0,
            most=150.0,
        ),
        Key(
            "flank_angle",
            "angle",
            "half the thread's flank angle; 0 for a square thread",
            least=0.0,
            most=math.radians(45),
        ),
        _band("screw_friction", "ratio", "friction of screw and collar", above=0.0, most=0.6),
        Key(
            "torque_table",
            "pairs",
            'measured clamp force, [["20 N·m", "6 kN"], ...], rising; replaces the screw formula',
            pair=("torque", "force"),
        ),
        Key(
            "table_scatter",
            "ratio",
            "scatter of the measured clamp force, ±: 0.05 is 5 %; the usual tenth where it is not given",
            above=0.0,
            most=0.9,
        ),
        _band(
            "force",
            "force",
            "clamp force of a vise that no wrench closes: hydraulic, air or pull stud, as it is set",
            above=0.0,
            most=1e6,
        ),
        Key("torque_max", "torque", "most the vise takes", above=0.0, most=500.0),
        _band(
            "tilt_stiffness",
            "turning stiffness",
            "moment per angle by which one jaw's mount tilts about X",
            above=0.0,
            most=1e12,
        ),
        _band(
            "push_stiffness",
            "stiffness",
            "force per travel by which one jaw's mount gives way",
            above=0.0,
            most=1e8,
        ),
        _band("lift", "length", "rise of the floating jaw when clamped", most=1.0, spread="rise"),
        _band("yaw", "angle", "yaw play of the floating jaw, ±", most=math.radians(5)),
        _band("side_play", "length", "play of the floating jaw along X, ±", most=2.0),
        _band("repeat", "length", "spread of a part clamped again, one sigma", most=1.0, spread="sigma"),
        Key("fixed_jaw", "word", "where the fixed jaw is, seen by the operator", words=("rear", "front")),
    ),
    many=True,
)

IN_LINE = Section(
    "in_line",
    "Alike vises side by side on the table that hold long parts in long jaws.",
    (
        Key("id", "text", "name of them all", required=True),
        Key("vise", "text", "id of one [[vise]]", required=True),
        Key("count", "integer", "how many stand in line", required=True, least=2, most=4),
        Key(
            "pitch", "length", "from the middle of one to the middle of the next", required=True, most=2000.0
        ),
    ),
    many=True,
)

BLANK = Section(
    "blank",
    "A jaw blank. Length lies along X, thickness along Y, height along Z.",
    (
        Key("id", "text", "name", required=True),
        Key("material", "text", "of the handbook, or said to be like one of it", required=True),
        _size("length", "along the jaws", most=1000.0, required=True),
        _size("thickness", "in the closing direction", most=200.0, required=True),
        _size("height", "from the bed to the top as it comes", most=300.0, required=True),
        _size("bolt_spacing", "between its two bolt holes", most=900.0, required=True),
        _size("bolt_height", "axis of the bolt holes above its bottom", most=300.0, required=True),
        Key(
            "slot_length",
            "length",
            "length by which bolt slots are longer than wide; 0 for round holes",
            least=0.0,
            most=100.0,
        ),
        _size("bolt_hole", "diameter of the bolt holes, or width of the slots", most=60.0),
        _size("counterbore", "diameter of the counterbores, which open toward the part", most=100.0),
        Key(
            "counterbore_depth",
            "length",
            "depth of the counterbores from the front face",
            least=0.0,
            most=200.0,
        ),
        Key(
            "bar_thickness",
            "length",
            "thickness of the bar the shop makes it from; 0 when it is bought as it is",
            least=0.0,
            most=300.0,
        ),
        Key("reversible", "flag", "true when the back face can be cut as well"),
        Key("price", "number", "of one blank, in the currency of [rates]", least=0.0, most=1e6),
        Key("stock", "integer", "pieces on the shelf", least=0, most=100000),
    ),
    many=True,
)

PARALLEL = Section(
    "parallel",
    "Ground parallels, all alike.",
    (
        Key("id", "text", "name", required=True),
        _size("height", "upright height", most=300.0, required=True),
        _size("thickness", "upright thickness", most=200.0, required=True),
        _size("length", "along the jaws", most=1000.0, required=True),
        Key("count", "integer", "pieces alike", least=1, most=1000),
    ),
    many=True,
)

STOP = Section(
    "stop",
    "A side stop that is clamped to the vise or to the end of a jaw, for parts no jaw stops.",
    (
        Key("id", "text", "name used on papers", required=True),
        Key("low", "length", "lowest touch above the vise's bed", least=0.0, most=300.0, required=True),
        _size("high", "highest touch above the vise's bed", most=300.0, required=True),
        _size("reach", "from the end of the jaw inward to the touch, at most", most=500.0, required=True),
        _size("tip", "width and height of its tip", most=50.0, required=True),
    ),
    many=True,
)

CUTTER = Section(
    "cutter",
    "A cutter in its holder.",
    (
        Key("id", "text", "name used in job files and on papers", required=True),
        Key(
            "number", "integer", "pocket in the machine, the T and H word", required=True, least=1, most=9999
        ),
        Key("kind", "word", "what it is", required=True, words=CUTTER_KINDS),
        _size(
            "diameter", "cutting diameter; of a boring bar, the hole it is set to", most=300.0, required=True
        ),
        Key("corner_radius", "length", "0 for a sharp corner", least=0.0, most=50.0),
        Key("flutes", "integer", "number of cutting edges", least=1, most=50),
        _size("flute_length", "cutting length from the tip", most=500.0),
        _size("reach", "from the holder's nose to the tip", most=1000.0),
        _size("holder_diameter", "of the holder's nose", most=500.0),
        Key("tip_angle", "angle", "full point angle; 0 for flat", least=0.0, most=math.pi),
        Key(
            "helix",
            "angle",
            "helix angle; a right-hand helix pulls the part up",
            least=0.0,
            most=math.radians(70),
        ),
        Key("center_cutting", "flag", "true when it may plunge"),
        Key("material", "word", "what it is made of", words=("carbide", "HSS")),
        Key("runout", "length", "total runout at the tip", least=0.0, most=1.0),
    ),
    many=True,
)

MACHINE = Section(
    "machine",
    "Limits of the mill.",
    (
        Key("id", "text", "name"),
        Key("travel", "point", "X, Y and Z travel", above=0.0, most=20000.0),
        Key("spindle_max", "spindle", "fastest spindle speed", above=0.0, most=200000.0),
        Key("feed_max", "feed", "fastest cutting feed", above=0.0, most=200000.0),
        Key("rapid", "feed", "rapid speed", above=0.0, most=200000.0),
        Key("power", "power", "of the spindle", above=0.0, most=500.0),
        Key("tool_change", "time", "chip to chip", least=0.0, most=600.0),
        Key("repeat", "length", "positioning repeat, one sigma", least=0.0, most=1.0, spread="sigma"),
    ),
)

NC = Section(
    "nc",
    "How program text is written.",
    (
        Key("units", "word", "unit of the program", words=("mm", "inch")),
        Key("decimals", "integer", "digits after the point", least=2, most=6),
        Key("line_numbers", "flag", "write N words"),
        Key("split_arcs", "flag", "split arcs at the quadrants"),
        Key(
            "work_offset", "word", "work offset of the vise", words=("G54", "G55", "G56", "G57", "G58", "G59")
        ),
        Key(
            "machine_top",
            "flag",
            "raise the spindle to the machine's top (G53 G0 Z0) before each cutter change and at the end",
        ),
        Key(
            "compensation",
            "word",
            "radius compensation of the walls' finish passes: none, or in the control with a wear offset "
            "(G41 D, the D number of the cutter, 0 for a cutter of true size)",
            words=("none", "in the control"),
        ),
        Key("start_lines", "texts", "lines put in after the safe start, as they are"),
        Key("end_lines", "texts", "lines put in before the program end, as they are"),
    ),
)

RATES = Section(
    "rates",
    "Money and minutes.",
    (
        Key("currency", "text", 'three letters such as "USD"'),
        Key("machine_hour", "number", "price of a machine hour", least=0.0, most=1e6),
        Key("programmer_hour", "number", "price of a programmer's hour", least=0.0, most=1e6),
        Key("setup_hard", "time", "set up hard jaws and parallels", least=0.0, most=1e6),
        Key(
            "setup_soft",
            "time",
            "mount blanks and tram; cutting is added from the program",
            least=0.0,
            most=1e6,
        ),
        Key("jaw_design", "time", "draw and program a pair of jaws by hand", least=0.0, most=1e6),
        Key("load", "time", "change one part in soft jaws", least=0.0, most=1e6),
        Key("load_hard", "time", "change one part in hard jaws on parallels", least=0.0, most=1e6),
        Key(
            "setup_kept",
            "time",
            "find, mount, align and indicate a pair that was cut before",
            least=0.0,
            most=1e6,
        ),
        Key("jaw_handling", "time", "break edges, wash, mark and put a cut pair away", least=0.0, most=1e6),
    ),
)

SCATTER = Section(
    "scatter",
    "How much things vary here. One value, or low, set, high, or a table: {value, distribution} or "
    "{from, column} of a CSV file. Sigma is one standard deviation.",
    (
        _band("friction", "ratio", "part on jaw, wet", above=0.0, most=1.0),
        _sigma("bored_position", "of the place of a bored hole"),
        _sigma("drilled_position", "of the place of a drilled hole"),
        _sigma("offset_pickup", "of picking up the work offset, where the next two are not given"),
        _sigma("edge_pickup", "of picking up the work offset at edges"),
        _sigma("bore_pickup", "of picking up the work offset in a bored tooling hole"),
        _sigma("jaw_cut", "of the place of a cut jaw wall"),
        _sigma("jaw_reseat", "of where a used pair sits again, at each bolt"),
        _swing("temperature_swing", "part against jaws, ±, a difference"),
        _swing("jaw_temperature", "jaws against when they were cut, ±, a difference"),
        _swing("machine_temperature", "machine against when the work offset was set, ±, a difference"),
    ),
)

SECTIONS = (SHOP, VISE, IN_LINE, BLANK, PARALLEL, STOP, CUTTER, MACHINE, NC, RATES, SCATTER)
