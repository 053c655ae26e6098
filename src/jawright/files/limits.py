"""Every limit on what comes in from a file, each named once.

The sizes are common practice, no source: far above any part that goes in a vise, far
below what would stall an ordinary computer.
"""

from __future__ import annotations

STEP_BYTES = 100_000_000
"""Largest STEP file that is opened [bytes]."""

DXF_BYTES = 50_000_000
"""Largest DXF file that is opened [bytes]."""

CHILD_MEMORY_BYTES = 2 << 30
"""Address space of the reading child [bytes]; the solid kernel alone needs more than 512 MiB."""

CHILD_CPU_S = 20
"""Processor time of the reading child [s]."""

CHILD_WALL_S = 120.0
"""Time one answer of the child may take [s]: more than its processor time, as machines are busy."""

ANSWER_BYTES = 1 << 30
"""Largest answer taken from the child [bytes]."""

SOLIDS = 200
"""Most solids of one file that are measured; a file with more is an assembly, not a part."""

STATEMENTS = 2_000_000
"""Most statements of one exchange file that are split."""

DXF_ENTITIES = 50_000
"""Most entities of one drawing, blocks taken apart; an outline has a few hundred."""

DXF_DEPTH = 16
"""Most levels of blocks placed in blocks."""

OUTLINE_FAR = 1e7
"""Largest coordinate [mm] of a drawing: beyond it a double keeps less than a nanometer."""

OUTLINE_LEAST, OUTLINE_MOST = 3.0, 1000.0
"""Longer side [mm] of an outline below and above which its unit is asked for."""

MEASURED_BYTES = 5_000_000
"""Largest CSV file of measurements that is opened [bytes]."""

MEASURED_LEAST, MEASURED_MOST = 10, 10_000
"""Measurements that make a distribution: fewer say nothing about its ends, more are not needed."""

OUTLINE_SPECK = 0.05
"""Size [mm] of a whole drawing below which nothing in it can be told apart."""
