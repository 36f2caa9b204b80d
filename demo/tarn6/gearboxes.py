"""Section 2: gearboxes and drive shafts."""

from __future__ import annotations

from ..model import SectionNote, choice, step

SECTION = SectionNote("2", "Gearboxes and drive shafts", (
    step(
        "2.1", "Bevel pinions in their carriers",
        bags="3", minutes=25, sets=2, sets_word="Make 2: front and rear",
        parts="2 T201, 2 T205, 2 bb12x28x8, 2 bb8x16x5, 2 T202, 2 T203, 2 T204, 2 set5x8",
        operations="""
        Press the large bearing into the carrier from the gear side.
        Push the pinion through the large bearing.
        Slide on the spacer and the shim, then press the small bearing into the carrier.
        Slide the coupling cup on with its screw hole over the flat of the shaft.
        Tighten the set screw on the flat.
        Pull and push the pinion: it turns freely and has no end play.
        """,
        before="""
        1 > 2 | the pinion's shoulder sits on the inner ring of the large bearing
        3 > 5 | with the cup tight the small bearing cannot go in
        """,
        joints="""
        5: 2 set5x8 metal>metal use 4.0Nm | coupling cup on the flat of the pinion shaft
        """,
        cautions="""
        spoils | A set screw beside the flat spins the cup loose on the first full throttle.
        """,
        figure="""
        x: T204 bb8x16x5 T203 T202 T205= bb12x28x8 T201
        z@T204: @ set5x8
        """,
    ),
    step(
        "2.2", "Differentials into the gearboxes",
        bags="3", minutes=35, sets=2, sets_word="Make 2: front and rear",
        text="""Shims go left and right of the differential. More of them on the crown gear's side
        bring its teeth closer to the pinion.""",
        parts="2 T210, 8 T212, 4 pin3x16",
        operations="""
        Put two shims on each neck of the differential.
        Lay the differential into the housing, crown gear to the left.
        Hold the pinion carrier in place and feel for play at the crown gear.
        Move shims from one side to the other until the play is right.
        Check the play at four places of the crown gear.
        Push the dowel pins into the housing.
        """,
        before="""
        3 > 4 | the play says which way the shims have to go
        4 > 5 | play that is right in one place may be too little in another
        """,
        dimensions="""
        5: Play of the crown gear at its teeth = 0.15 +0.05 -0.05 | at the outer end of a tooth, \
        pinion held still, at four places
        """,
        choices=(choice(
            "Shims beside the crown gear",
            "Pick what gives the play asked for; the number may differ front and rear.",
            "Two on each side | the usual start",
            "Three on the crown gear's side, one opposite | when the teeth have too much play",
            "One on the crown gear's side, three opposite | when the teeth bind",
        ),),
        cautions="""
        hurts | Keep fingers out of the teeth while you turn the shafts.
        """,
        figure="""
        z: T210= 2*pin3x16/q36x52 ~diff[1.4]^y
        y@~diff: 2*T212 @ 2*T212
        """,
    ),
    step(
        "2.3", "Close the gearboxes",
        bags="3", minutes=25, sets=2, sets_word="Make 2: front and rear",
        parts="2 T206, 8 cap4x16, 2 T211, 8 cap4x20",
        operations="""
        Work grease into the teeth of crown gear and pinion; do not fill the housing.
        Put the gasket on the pinion carrier and the carrier on the housing.
        Draw its four screws up crosswise.
        Put the lid on over the dowel pins and start its four screws.
        Draw the lid down crosswise until the seam is closed.
        Turn the coupling cup: both outdrives turn, without a tight spot.
        """,
        before="""
        1 > 4 | the teeth cannot be reached once the lid is on
        3 > 5 | the lid clamps the edge of the carrier where it then sits
        """,
        joints="""
        3: 8 cap4x16 metal>plastic never | pinion carrier to housing
        5: 8 cap4x20 plastic>plastic never | lid to housing
        """,
        figure="""
        x: ~gboxf[2.2]= T206 ~pinion[2.1] 4*cap4x16/r20
        z@~gboxf: @ T211 4*cap4x20/q30x50
        """,
    ),
    step(
        "2.4", "Centre drive shafts",
        bags="4", minutes=25,
        parts="1 T220, 1 T221, 4 T222, 4 pin3x16, 4 set4x4",
        operations="""
        Grease the coupling blocks.
        Set a block into each end of both shafts.
        Push a pin through shaft and block and centre it.
        Lock each pin with its set screw.
        Swing every joint through its whole travel: it moves freely by its own weight.
        """,
        before="""
        2 > 3 | the pin holds the block
        3 > 4 | the set screw bears on the pin
        """,
        joints="""
        4: 4 set4x4 metal>metal use 1.8Nm | pins of the centre shafts
        """,
        dimensions="""
        5: Length of the front shaft = 120.0 +0.5 -0.5 | between the ends of the shaft
        """,
        figure="""
        x: T222 T220= T222
        z@T220: @ 2*set4x4/u106
        y@T220: @ 2*pin3x16/u106
        --
        x: T222 T221= T222
        z@T221: @ 2*set4x4/u80
        y@T221: @ 2*pin3x16/u80
        """,
    ),
    step(
        "2.5", "Wheel drive shafts",
        bags="4", minutes=35, sets=4, sets_word="Make 4: one for each wheel",
        parts="4 T225, 4 T226, 4 T227, 4 T228, 4 set4x16",
        operations="""
        Grease the joint cross and set it into the cup of the stub axle.
        Slide the joint ring over the wheel shaft.
        Bring the wheel shaft onto the cross.
        Slide the ring over the joint so that its hole meets the cross.
        Lock the ring with the set screw.
        Swing the joint: it reaches 35 degrees to every side without catching.
        """,
        before="""
        2 > 3 | the ring does not pass over the joint from the other side
        4 > 5 | the screw goes through the ring into the cross
        """,
        joints="""
        5: 4 set4x16 metal>metal use 1.8Nm | joint ring to joint cross
        """,
        cautions="""
        spoils | Liquid that runs into the joint locks it: one drop, on the thread only.
        """,
        figure="""
        x: T225 T228 T227 T226
        z@T228: @ set4x16
        """,
    ),
))  # fmt: skip
