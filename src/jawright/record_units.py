"""The unit of every number in a record, by dataclass and field: the last part of its key in the file.

"" means that the number has no unit or that its name says it (``minutes``, ``quantity``).
``money`` is an amount in the currency the record names; ``nm`` is newton meter.
"""

from __future__ import annotations


def _table() -> dict[tuple[str, str], str]:
    by_unit: dict[str, dict[str, str]] = {
        "Line": {"mm": "start end"},
        "Arc": {"mm": "start end center"},
        "Move": {"": "rotation", "mm": "shift"},
        "Face": {"mm2": "area", "mm": "center box axis_point radius", "": "normal axis"},
        "Hole": {"": "axis", "mm": "mouth diameter depth"},
        "Tolerance": {"mm": "zone"},
        "Part": {"mm": "box", "mm3": "volume file_volume", "mm2": "area file_area"},
        "Given": {"": "value"},
        "Band3": {"": "low set high"},
        "Vise": {
            "mm": "jaw_width opening hard_jaw_height body_height bolt_spacing bolt_height screw_lead"
            " screw_mean_diameter collar_mean_diameter lift side_play repeat",
            "deg": "flank_angle yaw",
            "": "screw_friction torque_table",  # the pairs name their own units
            "nm": "torque_max",
            "nmm_rad": "tilt_stiffness",
            "n_mm": "push_stiffness",
        },
        "Blank": {
            "mm": "length thickness height bolt_spacing bolt_height slot_length bolt_hole counterbore"
            " counterbore_depth",
            "money": "price",
        },
        "Parallel": {"mm": "height thickness length"},
        "Cutter": {
            "mm": "diameter corner_radius flute_length reach holder_diameter runout",
            "deg": "tip_angle helix",
        },
        "Machine": {
            "mm": "travel repeat",
            "rev_min": "spindle_max",
            "mm_min": "feed_max rapid",
            "kw": "power",
            "s": "tool_change",
        },
        "Rates": {
            "money_h": "machine_hour programmer_hour",
            "": "setup_minutes_hard setup_minutes_soft jaw_design_minutes load_seconds",
        },
        "Shop": {
            "": "friction",
            "mm": "bored_position drilled_position offset_pickup jaw_cut",
            "k": "temperature_swing",
        },
        "Pick": {"mm": "at"},
        "Feature": {"mm": "depth diameter feed_per_tooth radial axial pilot"},
        "ToleranceAsk": {"mm": "zone"},
        "Incoming": {"mm": "profile wall_form edge_break stock_on_top"},
        "HoldAsk": {"deg": "turn", "mm": "shift grip_depth", "nm": "torque"},
        "Job": {"mm": "thickness", "": "up"},
        "Stance": {"": "up", "deg": "turn", "mm": "shift"},
        "Contact": {"mm": "point gap radius_part radius_jaw", "": "normal share growth"},
        "MadeFeature": {
            "mm": "center diameter bottom feed_per_tooth radial axial path",
            "": "axis",
            "rev_min": "spindle",
        },
        "DatumUse": {"mm": "point", "": "normal"},
        "Hold": {"mm": "floor jaw_top grip_depth part_top stock gap stop", "kg": "part_mass"},
        "Zone": {"mm": "allowance"},
        "Relief": {"mm": "center radius corner part_radius stand_off_without"},
        "Well": {"mm": "bottom top"},
        "ToolingHole": {"mm": "center diameter drill depth top"},
        "SpacerStack": {"mm": "width low high x_runs height cutter_gap"},
        "Jaw": {"mm": "x0 x1 y0 y1 height bolts"},
        "Jaws": {
            "mm": "gap floor top cutter_radius edge_break text_at text_height metal_behind",
        },
        "Proof": {"": "value limit margin low set high detail", "mm": "where"},
        "CutterUse": {"rev_min": "spindle", "mm_min": "feed", "mm": "step_over step_down", "": "minutes"},
        "Program": {"": "minutes", "mm": "origin"},
        "Verification": {
            "mm": "gouge gouge_at rest rest_at wall_error floor_error spacer_gap vise_gap levels",
            "": "minutes",
        },
        "Option": {"": "minutes", "money": "money"},
        "Decision": {"": "minutes", "money": "money"},
        "Rival": {"": "up score predicted_yield grip_margin", "deg": "turn", "mm": "shift"},
        "Record": {"": "torque"},  # its three numbers name their own unit
    }
    out: dict[tuple[str, str], str] = {}
    for owner, units in by_unit.items():
        for unit, names in units.items():
            for name in names.split():
                # "money" is its own unit: a key "money_money" would say nothing more
                out[(owner, name)] = "" if name == unit else unit
    return out


UNITS: dict[tuple[str, str], str] = _table()

POSITIONS: dict[tuple[str, str], tuple[str, ...]] = {
    ("Vise", "torque_table"): ("torque_nm", "force_n"),
    ("Proof", "detail"): ("name", "value", "unit"),
    ("Record", "torque"): ("low_nm", "set_nm", "high_nm"),
    ("Record", "models"): ("name", "version"),
}
"""Tuples whose places are named in the file."""
