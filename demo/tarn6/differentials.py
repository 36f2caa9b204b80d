"""Section 1: three differentials."""

from __future__ import annotations

from ..model import SectionNote, choice, step

SECTION = SectionNote("1", "Differentials", (
    step(
        "1.1", "Bearings and seals of the front and rear cases",
        bags="1", minutes=20, sets=2, sets_word="Make 2: front and rear",
        parts="2 T101, 2 T106, 4 bb15x24x5, 4 T108",
        operations="""
        Wipe the cases and the crown gears clean of packing oil.
        Press a bearing onto the neck of the case until it sits flat all round.
        Press a bearing onto the neck of the crown gear in the same way.
        Grease the O-rings and push one into the seat inside each neck.
        """,
        before="""
        1 > 4 | grit under an O-ring becomes a leak
        """,
        cautions="""
        spoils | Press on the inner ring only; a bearing pushed by its outer ring runs rough.
        """,
        figure="""
        x: bb15x24x5 T101= T108
        --
        x: T108 T106= bb15x24x5
        """,
    ),
    step(
        "1.2", "Outdrives into case and crown gear",
        bags="1", minutes=25, sets=2, sets_word="Make 2: front and rear",
        parts="2 T102, 2 T103, 4 T109, 4 pin2.5x14, 4 T104",
        operations="""
        Grease the shafts of the outdrives.
        Put the short outdrive through the case and the long one through the crown gear.
        Slide a shim onto each shaft from the inside.
        Push a pin through each shaft and centre it.
        Set a large bevel gear over each pin.
        Turn each outdrive: it runs freely and has just felt end play.
        """,
        before="""
        1 > 2 | a dry shaft tears the O-ring at the pin hole
        3 > 4 | the pin holds the shim in
        4 > 5 | the slot of the gear sits on the pin
        """,
        figure="""
        x: T102 ~case[1.1]= T109 T104
        y@T102: @ pin2.5x14
        --
        x: T104 T109 ~crown[1.1]= T103
        y@T103: @ pin2.5x14
        """,
    ),
    step(
        "1.3", "Small bevel gears on the cross pins",
        bags="1", minutes=20, sets=2, sets_word="Make 2: front and rear",
        parts="2 T111, 8 T105, 8 T110, 2 T112",
        operations="""
        Slide a small bevel gear onto each of the four arms of the cross pin, teeth inward.
        Slide a shim behind each gear.
        Lower the cross with its gears into the case so that the teeth mesh.
        Lay the spacer ring on top.
        Hold the case and turn one outdrive: the other turns back evenly, without tight spots.
        """,
        before="""
        1 > 2 | the shims run on the backs of the gears
        2 > 3 | there is no room for the shims once the cross is in its seats
        3 > 4 | the ring closes the seats of the cross pin
        """,
        figure="""
        x: ~case[1.2] T111/o0,0 T112
        z@T111: T110 T105 @ T105 T110
        y@T111: T110 T105 @ T105 T110
        """,
    ),
    step(
        "1.4", "Fill and close the front and rear differentials",
        bags="1", minutes=30, sets=2, sets_word="Make 2: front and rear",
        text="""Silicone oil is not in the kit. Level and oil are the same in both differentials
        unless you choose otherwise.""",
        parts="2 T107, 8 csk4x16, 2 set5x5",
        operations="""
        Stand the case upright and fill it with oil to the middle of the cross pin.
        Turn the outdrive slowly until no more bubbles rise, then top up.
        Lay the gasket on and line its holes up with those of the case.
        Lower the crown gear on and start all four screws by hand.
        Draw the screws up crosswise, a quarter turn at a time.
        Close the filling hole with the set screw and wipe the case dry.
        Leave it on paper for an hour and look for oil at the seams.
        """,
        before="""
        2 > 3 | air under the gasket cannot get out any more
        4 > 5 | a screw that has not been started by hand may cross its thread
        5 > 7 | the seam seals only once it is drawn up
        """,
        joints="""
        5: 8 csk4x16 metal>metal use 2.2Nm | crown gear to case; keep the liquid off the oil side
        """,
        dimensions="""
        1: Oil level below the rim of the case = 11.0 +0.5 -0.5 | from the rim down to the oil, \
        case upright
        """,
        cautions="""
        hurts | Thread-locking liquid: gloves, air, glasses; its own label and data sheet decide.
        spoils | Oil in the screw holes keeps the liquid from setting: wipe them first.
        """,
        choices=(choice(
            "Oil of the front and rear differentials",
            "Thicker oil holds the wheels of an axle together more firmly.",
            "30 000 cSt front, 10 000 cSt rear | as the manual has it, for mixed ground",
            "50 000 cSt front, 30 000 cSt rear | for loose ground and much power",
        ),),
        figure="""
        x: ~case[1.3] T107 ~crown[1.2]= 4*csk4x16/r20
        z@~case: @ set5x5
        """,
    ),
    step(
        "1.5", "Brake outdrives of the centre differential",
        bags="2", minutes=25,
        parts="1 T121, 1 T125, 1 T122, 1 T123, 2 T108, 2 bb12x28x8, 2 pin2.5x14, 2 T104",
        operations="""
        Press a bearing onto the neck of the case and one onto the neck of the cover.
        Push a greased O-ring into each neck.
        Put the front outdrive through the case and the rear one, with the longer seat, through \
        the cover.
        Pin both shafts and set a large bevel gear over each pin.
        Pull on each outdrive: it moves no more than a sheet of paper is thick.
        """,
        before="""
        2 > 3 | the shaft covers the seat of the O-ring
        1 > 3 | the bearing does not pass the brake seat
        """,
        figure="""
        x: T122 bb12x28x8 T121= T108 T104
        y@T122: @ pin2.5x14
        --
        x: T104 T108 T125= bb12x28x8 T123
        y@T123: @ pin2.5x14
        """,
    ),
    step(
        "1.6", "Small bevel gears of the centre differential",
        bags="2", minutes=15,
        parts="1 T111, 4 T105, 4 T110, 1 T112",
        operations="""
        Slide four small bevel gears and their shims onto the cross pin.
        Lower the cross into the centre case and feel the teeth drop into mesh.
        Lay the spacer ring over the cross.
        Turn the outdrive a full turn and feel for tight spots.
        """,
        before="""
        2 > 3 | the ring closes the seats of the cross pin
        """,
        figure="""
        x: ~ccase[1.5] T111/o0,0 T112
        z@T111: T110 T105 @ T105 T110
        y@T111: T110 T105 @ T105 T110
        """,
    ),
    step(
        "1.7", "Spur gear, and close the centre differential",
        bags="2", minutes=25,
        parts="1 T107, 1 T124, 4 cap4x25, 1 set5x5",
        operations="""
        Fill the case with oil to the middle of the cross pin and let the bubbles rise.
        Lay the gasket on the case.
        Put the spur gear over the neck of the cover with its chamfered side outward.
        Lower cover and gear onto the case and start all four screws.
        Draw the screws up crosswise until the heads sit, and no further: they cut into nylon.
        Spin the gear between two fingers and measure how true its rim runs.
        Top up through the filling hole and close it with the set screw.
        """,
        before="""
        1 > 4 | the oil goes in while the case is open
        4 > 5 | all four screws have to have found their holes
        """,
        joints="""
        5: 4 cap4x25 metal>plastic never | spur gear and cover to the centre case
        """,
        dimensions="""
        6: Runout of the spur gear = 0.0 +0.10 -0.0 | at the tips of the teeth, over one turn
        """,
        choices=(choice(
            "Oil of the centre differential",
            "Thicker oil sends more of the power to both axles alike.",
            "100 000 cSt | as the manual has it",
            "50 000 cSt | gentler, for hard ground",
            "300 000 cSt | close to a solid shaft, for sand",
        ),),
        figure="""
        x: ~ccase[1.6] T107 T124= 4*cap4x25/r24
        z@~ccase: @ set5x5
        """,
    ),
))  # fmt: skip
