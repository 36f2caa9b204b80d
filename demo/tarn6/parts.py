"""The tables of parts.  Shapes are explained in demo/drawing/shapes.py; lengths in millimetres."""

from __future__ import annotations

#: key | name | material | shape.  The part number is T6- and the key's digits.
OWN = """
T101 | Differential case | nylon | turn 11:8 25:4 23:20 26:5 bore=19
T102 | Outdrive, short | steel | turn 5:22 9:5 12:18 bore=8
T103 | Outdrive, long | steel | turn 5:28 9:5 12:18 bore=8
T104 | Bevel gear, 18 teeth | steel | bevel 18 17 11 bore=5
T105 | Bevel gear, 12 teeth | steel | bevel 12 11 9 bore=3
T106 | Cross pin | steel | cross 2.5 40
T107 | Crown gear, 43 teeth | steel | bevel 43 36 11 bore=13
T108 | Case gasket | paper | ring 25 20 0.8
T109 | Shim 10x16x0.2 | steel | ring 8 5.2 0.6
T110 | Shim 6x12x0.2 | steel | ring 6 3.1 0.6
T111 | Case O-ring 10x2 | rubber | ring 7 5 2
"""

#: What was fitted in earlier steps, drawn in grey: key | name | material | shape.
FITTED = """
~diff | Differential | nylon | turn 5:16 11:8 25:4 23:20 36:10 12:14 bore=8
"""

#: Hardware in the order of its numbers, from T6-901 on.
HARDWARE = """
cap3x12 csk3x12 set5x5 pin2.5x14 bb10x22x6
"""
