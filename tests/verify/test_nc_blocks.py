"""One block of the language a row: where the tip ends, or the column at which it is refused.

Source: T. Kramer, F. Proctor, E. Messina, "The NIST RS274NGC Interpreter - Version 3",
NISTIR 6556, 17 August 2000 (read). The section stands beside each group; ends worked out by hand.
"""

import pytest

from jawright.verify.reader import Reading, read

STATE = "G21 G17 G40 G49 G80 G90 G94 G98 G54 S1000 M3 F100\nG0 X10 Y20 Z5\n"
FIRST = 3  # line of the first block after STATE


def run(text: str) -> Reading:
    return read(STATE + text + "\nM2\n", start=(0.0, 0.0, 0.0), diameters={1: 6.0})


ENDS = [
    # 3.3.2.1 numbers: spaces, signs, zeros, no digit before or after the point
    ("G1 X1 2 . 5", (12.5, 20, 5)),
    ("G 0 1 X 1", (1, 20, 5)),
    ("g01x.5", (0.5, 20, 5)),
    ("G1 X+.5", (0.5, 20, 5)),
    ("G1 X-.5", (-0.5, 20, 5)),
    ("G1 X007.", (7, 20, 5)),
    ("G1 X-0", (0, 20, 5)),
    ("G1\tX3", (3, 20, 5)),
    ("X3 G1", (3, 20, 5)),
    ("Z1 Y2 X3 G1", (3, 2, 1)),
    ("G1.0 X1", (1, 20, 5)),
    # 3.3.1 line numbers; they need no order
    ("N1 G1 X1", (1, 20, 5)),
    ("n00012G1X1", (1, 20, 5)),
    ("N5 G1 X1\nN5 X2", (2, 20, 5)),
    # 3.3.4 comments
    ("G1 (to the right) X1", (1, 20, 5)),
    ("(G1 X1)", (10, 20, 5)),
    ("G1 X1 (a) (b)", (1, 20, 5)),
    ("(MSG, look)G1 X1", (1, 20, 5)),
    # 3.3.2.2 and 3.3.2.3 parameters and expressions
    ("G1 X[1+2]", (3, 20, 5)),
    ("G1 X[2+3*4]", (14, 20, 5)),
    ("G1 X[[2+3]*4]", (20, 20, 5)),
    ("G1 X[2**3*2]", (16, 20, 5)),
    ("G1 X[7 MOD 4]", (3, 20, 5)),
    ("G1 X[1 - 2 - 3]", (-4, 20, 5)),
    ("G1 X[8/2/2]", (2, 20, 5)),
    ("G1 X[1 AND 0]", (0, 20, 5)),
    ("G1 X[1 OR 0]", (1, 20, 5)),
    ("G1 X[1 XOR 1]", (0, 20, 5)),
    ("G1 XABS[-4]", (4, 20, 5)),
    ("G1 XSQRT[9]", (3, 20, 5)),
    ("G1 XFIX[2.8]", (2, 20, 5)),
    ("G1 XFIX[-2.8]", (-3, 20, 5)),
    ("G1 XFUP[2.8]", (3, 20, 5)),
    ("G1 XFUP[-2.8]", (-2, 20, 5)),
    ("G1 XROUND[-2.5]", (-3, 20, 5)),
    ("G1 XSIN[30]", (0.5, 20, 5)),
    ("G1 XATAN[1]/[1]", (45, 20, 5)),
    ("#1=4\nG1 X#1", (4, 20, 5)),
    ("#1=4\n#2=1\nG1 X##2", (4, 20, 5)),
    ("#1=4\nG1 X[0-#1]", (-4, 20, 5)),
    ("G1 X#99", (0, 20, 5)),
    # 3.5.1, 3.5.2 modal motion; 3.5.17 distance; 3.5.7 units, also in mid-file
    ("G1 X1\nY2", (1, 2, 5)),
    ("G91 G1 X1\nX1", (12, 20, 5)),
    ("G91 G1 X1\nG90 X1", (1, 20, 5)),
    ("G20 G1 X1", (25.4, 20, 5)),
    ("G20 G1 X1\nG21 Y1", (25.4, 1, 5)),
    ("G20 G91 G0 Z-.1", (10, 20, 2.46)),
    # 3.5.3 arcs: both formats, long and short way, helix, full turn, other planes
    ("G2 X20 Y10 R10", (20, 10, 5)),
    ("G2 X20 Y10 R-10", (20, 10, 5)),
    ("G3 X20 Y30 I0 J10", (20, 30, 5)),
    ("G3 X20 Y30 J10", (20, 30, 5)),
    ("G3 X10 I5 Z1", (10, 20, 1)),
    ("G91 G3 X10 Y10 J10", (20, 30, 5)),
    ("G18 G2 X20 Z-5 K-10", (20, 20, -5)),
    ("G19 G3 Y30 Z15 J0 K10", (10, 30, 15)),
    # 3.5.16 cycles: return level, repeats, sticky numbers
    ("G81 X1 Y2 Z-1 R1", (1, 2, 5)),
    ("G99 G81 X1 Y2 Z-1 R1", (1, 2, 1)),
    ("G81 X1 Y2 Z-1 R1\nX3", (3, 2, 5)),
    ("G81 X1 Y2 Z-1 R1\nG80\nG0 X7", (7, 2, 5)),
    ("G91 G81 X1 Y0 Z-1 R-1 L4", (14, 20, 5)),
    ("G82 X1 Y2 Z-1 R1 P.5", (1, 2, 5)),
    ("G83 X1 Y2 Z-1 R1 Q.3", (1, 2, 5)),
    ("G85 X1 Y2 Z-1 R1", (1, 2, 5)),
    ("G89 X1 Y2 Z-1 R1 P0", (1, 2, 5)),
    # 3.5.18 axis offsets; 3.5.14 path modes; 3.8 a stop after the motion of its line
    ("G92 X0\nG1 X1", (11, 20, 5)),
    ("G92 X0\nG92.1\nG1 X1", (1, 20, 5)),
    ("G61 G1 X1\nG64 Y1", (1, 1, 5)),
    ("M0 G1 X1", (1, 20, 5)),
    ("G4 P.5\nG1 X1", (1, 20, 5)),
]

REFUSED = [
    # (block, column)
    ("G1 X1 Y", 8),
    ("G1 X--1", 5),
    ("G1 X1-2", 6),
    ("G1 X1,5", 6),
    ("G1 X1e3", 6),
    ("G1 X0x1F", 9),
    ("N² G1 X1", 2),  # raised digits and those of other scripts are none
    ("N1² G1 X1", 3),
    ("G1 X²", 5),
    ("G1 X1²", 6),
    ("G1 X٣", 5),
    ("X1 X1 G1", 4),
    ("G0 G1 X1", 4),
    ("M3 M4", 4),
    ("M3 M6 M7 M0 M48", 13),
    ("G1 X[1+]", 8),
    ("G1 X[]", 6),
    ("G1 X[2**]", 9),
    ("G1 XLN[0]", 5),
    ("G1 XACOS[2]", 5),
    ("G1 X[0-1]**2", 10),
    ("#0=1", 2),
    ("#1", 3),
    ("O100 SUB", 1),
    ("IF [#1 EQ 1] GOTO 5", 2),
    ("G65 P1", 1),
    ("M98 P1", 1),
    ("G41.1 X1", 1),
    ("G54.1 P1", 1),
    ("G84 X1 Y1 Z-1 R1", 1),
    ("G87 X1 Y1 Z-1 R1 I1 J1 K1", 1),
    ("G88 X1 Y1 Z-1 R1 P1", 1),
    ("G1 X1 I2", 7),
    ("G2 X20 Y10 I10 R10", 16),
    ("G17 G2 X20 Y10 I10 K1", 20),
    ("G17 G2 X20 Y10", 5),
    ("G17 G2 X20 Y10 I1", 5),
    ("G17 G2 X20 Y10 R1", 5),
    ("G2 X10 Y20 R5", 1),
    ("G17 G2 Z1 R5", 5),
    ("G41 D1 G1 X11", 8),
    ("G41 D1 X11", 8),
    ("G41 D1 G2 X20 Y10 R10", 19),
    ("G93 G1 X1", 5),
    ("G81 X1 Y1 Z-1 R1 L0", 18),
    ("G0 G53 X", 9),
    ("G2 G53 X1", 4),
    ("G43", 1),
    ("G40 D1", 5),
    ("L2", 1),
    ("/ / G1 X1", 3),
    ("G1 X1 / Y1", 7),
    ("* G1 X1", 1),
]


@pytest.mark.parametrize(("block", "end"), ENDS)
def test_where_a_block_ends(block: str, end: tuple[float, float, float]) -> None:
    r = run(block)
    assert [f.what for f in r.findings if f.level == "refused"] == []
    assert r.final.position == pytest.approx(end, abs=1e-9)


@pytest.mark.parametrize(("block", "column"), REFUSED)
def test_where_a_block_is_refused(block: str, column: int) -> None:
    found = [f for f in run(block).findings if f.level == "refused"]
    assert found, block
    assert (found[0].line, found[0].column) == (FIRST, column), found[0]


def test_there_are_a_hundred() -> None:
    assert len(ENDS) + len(REFUSED) >= 100
