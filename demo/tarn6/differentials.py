"""Section 1: three differentials."""

from __future__ import annotations

from ..model import SectionNote, choice, step

SECTION = SectionNote("1", "Differentials", (
    step(
        "1.1", "Outdrives of the front and rear differentials",
        bags="1", minutes=25, sets=2, sets_word="Make 2: front and rear",
        parts="2 T101, 2 T102, 2 T111, 2 T109, 2 bb10x22x6, 2 pin2.5x14, 2 T104",
        operations="""
        Press a bearing onto the neck of the case until it sits flat.
        Grease an O-ring and push it into the seat inside the neck.
        Slide a shim onto the outdrive and put the outdrive through the case.
        Push the pin through the outdrive and centre it.
        Drop the large bevel gear over the pin; turn the outdrive to feel that it runs freely.
        """,
        before="""
        2 > 3 | once the outdrive is in, the O-ring's seat cannot be reached
        4 > 5 | the gear's slot sits on the pin
        """,
        cautions="""
        spoils | A dry O-ring tears at the pin hole: grease the ring and the shaft.
        """,
        figure="x: T102 bb10x22x6 T101= T111 T109 T104\nz@T102: @ pin2.5x14",
    ),
))  # fmt: skip
