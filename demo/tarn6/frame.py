"""What holds the Tarn 6's manual together: bags, order between steps, general cautions, spares."""

from __future__ import annotations

ABOUT = """
Petrol truck in 1:5 with four driven wheels, three differentials, disc brakes and oil shock
absorbers. The kit comes without engine, radio, servos, battery, paint and oils. An invented kit,
made to show how a build is kept.
"""

#: number | what is in it
BAGS = """
1 | Front and rear differentials
2 | Centre differential
"""

#: Between steps, or between operations of different steps: first > then | why.
ORDER = """
"""

#: bag: quantity part, ...
SPARES = """
1: 2 T110, 1 cap3x12
"""

#: kind | text; hold for the whole build.
CAUTIONS = """
hurts | Cut away from yourself, with a fresh blade and the part clamped.
"""
