"""The kernel's own reader of annotations as a second opinion: what both read agrees, its losses are named.

Where it loses something the loss is asserted, so that a kernel which no longer does shows itself here.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from OCP.collections import Sequence_TDF_Label
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_Dimension, XCAFDoc_DocumentTool, XCAFDoc_GeomTolerance

from jawright.part.model import Part
from jawright.part.read import read_part
from part.test_print import annotated, hole_limits, position
from parts.real import real

WORDS = {
    "Angularity": "angularity",
    "Flatness": "flatness",
    "Parallelism": "parallelism",
    "Perpendicularity": "perpendicularity",
    "Position": "position",
    "ProfileOfSurface": "profile of a surface",
}


def opened(path: Path) -> tuple[list[tuple[str, float]], list[tuple[float, float, float]]]:
    """Kinds and zones [mm] of the kernel's tolerances; nominal, lower and upper of its dimensions."""
    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    reader = STEPCAFControl_Reader()
    reader.SetGDTMode(True)
    reader.ReadFile(str(path))
    reader.Transfer(document)
    tool = XCAFDoc_DocumentTool.DimTolTool_s(document.Main())
    labels = Sequence_TDF_Label()
    tool.GetGeomToleranceLabels(labels)
    tolerances = []
    for i in range(1, labels.Length() + 1):
        one = XCAFDoc_GeomTolerance.Set_s(labels.Value(i)).GetObject()
        name = str(one.GetType()).rpartition("_")[2].split(":")[0].strip(" >")
        tolerances.append((WORDS.get(name, name), round(float(one.GetValue()), 6)))
    labels = Sequence_TDF_Label()
    tool.GetDimensionLabels(labels)
    dimensions = []
    for i in range(1, labels.Length() + 1):
        one = XCAFDoc_Dimension.Set_s(labels.Value(i)).GetObject()
        if one.IsDimWithPlusMinusTolerance():
            values = (one.GetValue(), one.GetLowerTolValue(), one.GetUpperTolValue())
            dimensions.append((values[0], values[1], values[2]))
    return tolerances, dimensions


def ours(part: Part) -> Counter[tuple[str, float]]:
    return Counter((t.kind, round(t.zone, 6)) for t in part.tolerances)


@pytest.mark.parametrize(
    ("name", "lost"),
    [
        ("nist_ctc_01_asme1_ap242-e1.stp", {}),
        ("nist_ctc_03_asme1_ap242-e2.stp", {"flatness": 1}),
        ("nist_ftc_06_asme1_ap242-e2.stp", {"profile of a surface": 1}),
        (
            "nist_stc_07_asme1_ap242-e3.stp",
            {"position": 9, "profile of a surface": 1, "flatness": 1, "perpendicularity": 1},
        ),
    ],
)
def test_what_the_kernel_reads_of_public_files_is_read_and_its_losses_are_these(
    name: str, lost: dict[str, int]
) -> None:
    """NIST test cases (public domain); the kernel's losses as counted when the collection was made."""
    part = read_part(real(name))
    theirs = Counter(opened(real(name))[0])
    assert not theirs - ours(part)
    missing = Counter(kind for kind, _ in (ours(part) - theirs).elements())
    assert missing == lost


@pytest.mark.parametrize(("lower", "upper"), [(-0.05, 0.02), (0.02, 0.05)])
def test_the_kernel_loses_the_sign_of_a_lower_limit(tmp_path: Path, lower: float, upper: float) -> None:
    part = annotated(tmp_path, hole_limits(lower, upper))
    (d,) = part.dimensions
    assert (d.lower, d.upper) == pytest.approx((lower, upper))
    found = opened(tmp_path / "pawl.step")[1]
    assert len(found) == 1
    for nominal, low, high in found:
        assert nominal == pytest.approx(10.0) and high == pytest.approx(upper)
        assert abs(low) == pytest.approx(abs(lower)) and low >= 0  # the sign is gone


def test_both_read_a_file_of_our_own_alike(tmp_path: Path) -> None:
    part = annotated(tmp_path, position)
    assert Counter(opened(tmp_path / "pawl.step")[0]) == ours(part) == Counter({("position", 0.2): 1})
