"""The keys of a job file. The reference page prints these declarations."""

from __future__ import annotations

import math

from jawright.files.schema import Key, Section

UNITS = Key(
    "units",
    "word",
    "unit of lengths written as plain numbers; without it every length needs its unit",
    words=("mm", "inch"),
)

FEATURE_KINDS = ("face", "drill", "bore", "ream", "profile", "pocket", "slot", "chamfer")
HOLES = ("drill", "bore", "ream")
WHOLE = ("face", "profile")
"""Kinds that need no place: the whole top, the whole outline."""

# characteristics of ISO 1101 (roundness is also printed as circularity), and "distance" for a plain
# plus-minus dimension, and "size" for the diameter of a hole, a boss or a round pocket
TOLERANCE_KINDS = (
    "position",
    "profile of a surface",
    "profile of a line",
    "flatness",
    "straightness",
    "roundness",
    "circularity",
    "cylindricity",
    "parallelism",
    "perpendicularity",
    "angularity",
    "coaxiality",
    "concentricity",
    "symmetry",
    "circular run-out",
    "total run-out",
    "distance",
    "size",
)

JOB = Section(
    "job",
    "What is asked.",
    (
        Key("name", "text", "printed on the papers", default="name of the file"),
        Key("part_number", "text", "engraved on the jaws", default="empty"),
        Key("revision", "text", "of the print", default="empty"),
        Key("operation", "text", "what the shop calls it", default='"second operation"'),
        Key("quantity", "integer", "pieces in this lot", required=True, least=1, most=1_000_000),
        Key(
            "units",
            "word",
            "what papers are written in",
            words=("mm", "inch"),
            default="units at the top of the file, else mm",
        ),
        Key("notes", "texts", "lines for the setup sheet", default="none"),
        Key(
            "projection",
            "word",
            "how the views of the jaw drawings lie to each other",
            words=("third angle", "first angle"),
            default='"third angle"',
        ),
        Key(
            "features",
            "word",
            "named: what the [[feature]] tables say; reachable: besides, everything that is reached with"
            " hold.up on top and that incoming.model does not have yet",
            words=("named", "reachable"),
            default="named",
        ),
        Key(
            "general",
            "word",
            "the print's general tolerances, for what has none of its own",
            words=("ISO 2768-f", "ISO 2768-m", "ISO 2768-c", "ISO 2768-v", "by decimals"),
            default="none",
        ),
        Key("decimals_0", "length", "± of dimensions printed without decimals", above=0.0, most=10.0),
        Key("decimals_1", "length", "± of dimensions printed with one decimal", above=0.0, most=10.0),
        Key("decimals_2", "length", "± of dimensions printed with two decimals", above=0.0, most=10.0),
        Key("decimals_3", "length", "± of dimensions printed with three decimals", above=0.0, most=10.0),
        Key("decimals_4", "length", "± of dimensions printed with four decimals", above=0.0, most=10.0),
    ),
)

PART = Section(
    "part",
    "What is held.",
    (
        Key("file", "text", "STEP solid or DXF outline, seen from the job file's folder", required=True),
        Key("material", "text", "of the handbook, or said to be like one of it", required=True),
        Key("thickness", "length", "of a plate whose outline is a DXF drawing", above=0.0, most=500.0),
        Key(
            "body",
            "integer",
            "which solid or outline of the file, counted from 1; 0 joins solids that touch",
            least=0,
            most=10_000,
        ),
        Key("unit", "word", "unit of a drawing that does not say", words=("mm", "inch", "m")),
    ),
)

HOLD = Section(
    "hold",
    "What is pinned about the hold; what is left out is searched.",
    (
        Key(
            "up",
            "direction",
            'direction of the part that ends up on top: "+Z" or [x, y, z]',
            default="searched",
        ),
        Key("vise", "text", "id of a vise of the shop", default="searched"),
        Key("kind", "word", "how to hold", words=("hard jaws", "soft jaws"), default="decided"),
        Key(
            "turn",
            "angle",
            "turn of the part about Z",
            least=-2 * math.pi,
            most=2 * math.pi,
            default="searched",
        ),
        Key(
            "shift",
            "length",
            "shift of the part along the jaws",
            least=-500.0,
            most=500.0,
            default="searched",
        ),
        Key("blank", "text", "id of a jaw blank of the shop", default="smallest that fits"),
        Key("grip_depth", "length", "height of the wall that grips", above=0.0, most=200.0, default="chosen"),
        Key("torque", "torque", "at the vise handle", above=0.0, most=500.0, default="chosen in the window"),
        Key("stop", "word", "side on which the stop is", words=("-X", "+X"), default="chosen"),
        Key("fixed_jaw_datum", "text", "letter of the datum that lies on the fixed jaw", default="chosen"),
        Key(
            "spacer_height",
            "length",
            "middle of the spacers above the vise's bed while the jaws are cut",
            above=0.0,
            most=300.0,
            default="nearest the grip",
        ),
        Key(
            "spacers",
            "texts",
            'ids of the parallels the spacer stack is made of, risers included: ["P6x30", "P3x20"]',
            default="chosen",
        ),
        Key("jaw_cutter", "text", "id of the shop's cutter that finishes the pocket", default="chosen"),
        Key("jaw_material", "text", "of the jaw blanks, as in part.material", default="any in stock"),
        Key(
            "wrong_way",
            "word",
            "what the pocket does against a part that goes in the wrong way round, where it can",
            words=("leave a corner",),
            default="told only",
        ),
        Key(
            "floor",
            "word",
            "of the jaws, where the part's underside has several levels",
            words=("one level", "two levels"),
            default="where the Z datum lies; two levels where the part would tip",
        ),
        Key(
            "parts",
            "integer",
            "parts held side by side in one pair of soft jaws",
            least=1,
            most=12,
            default="1",
        ),
        Key(
            "mirrored",
            "flag",
            "every second part is the mirror image: a left and a right hand",
            default="false",
        ),
        Key(
            "spacing",
            "length",
            "free length along the jaws between neighboring parts",
            least=0.0,
            most=500.0,
            default="room for fingers and cutter",
        ),
        Key("marks_allowed", "flag", "false when the gripped walls are finished faces", default="true"),
    ),
)

DATUM = Section(
    "datum",
    "A datum of the print: a face named by a point on it. Without any, the part file's own are used.",
    (
        Key("letter", "text", "A, B or C", required=True),
        Key("at", "point", "a point on the face, in the part file's frame", required=True),
        Key(
            "size",
            "length",
            "whole width of the size tolerance of a bore, round or width: ± 0.01 is 0.02",
            above=0.0,
            most=5.0,
            default="not known",
        ),
        Key(
            "opposite",
            "point",
            "a point on the wall across: the datum is then the middle of the width",
            default="the face alone",
        ),
    ),
    many=True,
)

FEATURE = Section(
    "feature",
    "One thing this operation makes, in the order of making. Without any, the whole top is faced.",
    (
        Key("name", "text", "used by the tolerances and on papers", required=True),
        Key("kind", "word", "what is done", required=True, words=FEATURE_KINDS),
        Key(
            "at",
            "point",
            "a point on the finished face, or in the hole's wall",
            default="the whole top, for face; the whole outline, for profile",
        ),
        Key("diameter", "length", "of the hole", above=0.0, most=500.0, default="the hole's"),
        Key(
            "depth",
            "length",
            "taken below the surface as it comes in",
            above=0.0,
            most=300.0,
            default="the model's",
        ),
        Key("through", "flag", "the cutter comes out below", default="the model's"),
        Key("cutter", "text", "id of a cutter of the shop", default="chosen"),
        Key("pilot", "length", "diameter of the hole already there", above=0.0, most=500.0, default="chosen"),
        Key("feed_per_tooth", "length", "feed per tooth", above=0.0, most=2.0, default="handbook"),
        Key("radial", "length", "radial engagement", above=0.0, most=300.0, default="by kind"),
        Key("axial", "length", "axial engagement", above=0.0, most=300.0, default="by kind"),
        Key(
            "decimals",
            "integer",
            "decimals with which its dimensions are printed, for general tolerances by decimals",
            least=0,
            most=4,
            default="as many as its dimensions need",
        ),
    ),
    many=True,
)

TOLERANCE = Section(
    "tolerance",
    "A tolerance of the print on a feature of this operation.",
    (
        Key("feature", "text", "name of a [[feature]]", required=True),
        Key("kind", "word", "as in ISO 1101, or distance, or size", required=True, words=TOLERANCE_KINDS),
        Key(
            "zone",
            "length",
            "whole width of the zone: ± 0.1 is 0.2; 0 only with a material condition",
            required=True,
            least=0.0,
            most=10.0,
        ),
        Key(
            "diametral",
            "flag",
            "the zone is a diameter",
            default="true for the position and coaxiality of a hole",
        ),
        Key(
            "datums",
            "texts",
            'letters in order, ["A", "B", "C"]; "B(M)": at its maximum material boundary; "A-B": both as one',
            default="none",
        ),
        Key("along", "text", "letter of the one datum square to which the zone counts", default="every way"),
        Key(
            "composite",
            "flag",
            "the lower line of a composite frame: its datums turn and tilt the pattern, they do not place it",
            default="false",
        ),
        Key(
            "material", "word", "material condition", words=("maximum", "least"), default="regardless of size"
        ),
        Key(
            "projected",
            "length",
            "how far a projected zone stands out of the part, of a hole",
            above=0.0,
            most=300.0,
            default="the zone is as long as the hole",
        ),
        Key(
            "projected_from",
            "word",
            "end of the hole, as the part stands, that a projected zone begins at",
            words=("top", "bottom"),
            default="top",
        ),
        Key(
            "outside",
            "length",
            "of a profile: how much of the zone lies out of the metal; 0 has it all inside",
            least=0.0,
            most=10.0,
            default="half",
        ),
    ),
    many=True,
)

INCOMING = Section(
    "incoming",
    "The part as it comes from the first side.",
    (
        Key(
            "profile",
            "length",
            "width of the perimeter's profile zone, half in, half out",
            least=0.0,
            most=5.0,
            spread="zone",
        ),
        Key("wall_form", "length", "each wall by itself, ±", least=0.0, most=2.0, spread="limit"),
        Key(
            "squareness",
            "length",
            "lean of each wall over the part's height, ±",
            least=0.0,
            most=2.0,
            spread="limit",
        ),
        Key(
            "thickness",
            "length",
            "from the floor to a datum face that lies and does not rest on it, ±",
            least=0.0,
            most=5.0,
            spread="limit",
        ),
        Key(
            "edge_break",
            "length",
            "smallest chamfer or radius at the lower edge",
            least=0.0,
            most=20.0,
            spread="least",
        ),
        Key("edge_break_most", "length", "largest chamfer or radius there", least=0.0, most=20.0),
        Key("stock_on_top", "length", "metal above the finished top", least=0.0, most=100.0),
        Key(
            "model",
            "text",
            "file of the part as it comes from the first side, in the finished part's frame,"
            " seen from the job file's folder",
            default="none",
        ),
    ),
)

SECTIONS = (JOB, PART, HOLD, DATUM, FEATURE, TOLERANCE, INCOMING)
