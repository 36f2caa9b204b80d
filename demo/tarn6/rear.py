"""Section 3: the rear end."""

from __future__ import annotations

from ..model import SectionNote, step

SECTION = SectionNote("3", "Rear end", (
    step(
        "3.1", "Rear gearbox on the chassis plate",
        bags="5 12", minutes=20,
        parts="1 T301@12, 1 T302, 4 csk5x20",
        operations="""
        Lay the chassis plate with its countersunk side down.
        Set the rear gearbox on the plate, coupling cup forward.
        Hold the skid plate under the chassis and start all four screws from below.
        Tighten the screws crosswise; their heads end flush with the skid plate.
        """,
        before="""
        3 > 4 | the gearbox must still move while the last screw finds its hole
        """,
        joints="""
        4: 4 csk5x20 metal>plastic never | through skid plate and chassis into the gearbox housing
        """,
        cautions="""
        hurts | The edges of the plate may be sharp: break them with a fine file, dust wiped off \
        wet.
        """,
        figure="""
        z: 4*csk5x20/q44x44/o206,0 T302/o206,0 T301= ~gbox[2.3]/o206,0
        """,
    ),
    step(
        "3.2", "Rear lower arms",
        bags="5", minutes=30, sets=2, sets_word="Arms: left and right",
        parts="2 T310, 2 T311, 1 T312, 1 T313, 4 T314, 4 cap5x20, 4 ering5",
        operations="""
        Push the bushes into the ears of both arms.
        Screw the front pin holder to the gearbox.
        Slide a hinge pin through each arm and into the front holder.
        Slide the rear holder over both pins and screw it to the gearbox.
        Snap a retaining washer onto each end of the pins.
        Lift each arm and let go: it falls by its own weight.
        """,
        before="""
        1 > 3 | the pin runs in the bushes
        3 > 4 | the rear holder closes the way for the pins
        4 > 5 | the washers sit outside the holders
        """,
        joints="""
        2: 2 cap5x20 metal>plastic never | front pin holder to the gearbox
        4: 2 cap5x20 metal>plastic never | rear pin holder to the gearbox
        """,
        cautions="""
        hurts | Retaining washers fly off: glasses on, a hand cupped over the pliers.
        """,
        figure="""
        x: 2*cap5x20/u56! T312! ~gbox[3.1]= T313! 2*cap5x20/u56!
        --
        x: ering5 T314 T310/o56,0= T314 T311 ering5
        """,
    ),
    step(
        "3.3", "Bearings of the rear uprights",
        bags="5", minutes=20, sets=2, sets_word="Make 2: left and right",
        parts="2 T320, 2 bb15x24x5, 2 bb12x28x8, 2 T321, 2 T322",
        operations="""
        Press the large bearing into the inner side of the upright.
        Drop the spacer in from the other side.
        Press the outer bearing in until it touches the spacer.
        Press the dust disc over the outer bearing.
        """,
        before="""
        2 > 3 | the spacer cannot pass the second bearing
        """,
        figure="""
        y: bb12x28x8 T320= T321 bb15x24x5 T322
        """,
    ),
    step(
        "3.4", "Uprights and wheel shafts on the rear arms",
        bags="5", minutes=30, sets=2, sets_word="Do 2: left and right",
        parts="2 T330, 4 set4x4, 2 pin4x24, 2 T331",
        operations="""
        Push the stub axle of a wheel shaft through the upright from the inside.
        Hook the other end of the shaft into the outdrive.
        Bring the upright onto the arm and push the outer pin through.
        Lock the pin with both set screws, on its flats.
        Push the cross pin through the stub axle and slide the wheel hex over it.
        """,
        before="""
        1 > 3 | the shaft does not go in past the arm afterwards
        2 > 3 | the outdrive cannot be reached once the upright is pinned
        """,
        joints="""
        4: 4 set4x4 metal>plastic never | outer pins in the arms
        """,
        figure="""
        y: ~arm[3.2] ~upright[3.3]= pin4x24^z T331
        x@~upright+0,0,-17: T330 @
        z@~arm+0,56,0: 2*set4x4/u30 @
        y@~arm+0,-10,80: ~shaft[2.5]
        """,
    ),
    step(
        "3.5", "Rear upper links",
        bags="5", minutes=30, sets=2, sets_word="Make 2: left and right",
        parts="2 T340, 2 T341, 2 T342, 2 T343, 2 cap4x30, 2 lock4, 2 cap4x25",
        operations="""
        Turn the right-hand end onto the plain side of the rod and the left-hand end onto the \
        side with the groove.
        Turn both ends on alike until the link has its length.
        Screw the outer end to the upright, with the cone washer under the ball.
        Screw the inner end into the gearbox lid.
        Lift the wheel through its travel: the link twists freely on its balls.
        """,
        before="""
        2 > 3 | both ends on alike leave room to adjust either way
        """,
        joints="""
        3: 2 cap4x30 metal>lock_nut never | outer end at the upright, into the lock nut
        4: 2 cap4x25 metal>plastic never | inner end to the gearbox lid
        """,
        dimensions="""
        2: Length of the rear upper link = 104.0 +0.3 -0.3 | between the centres of the balls, \
        left and right the same
        """,
        figure="""
        y: T342 T340= T341<
        x@T342: @ cap4x25
        x@T341: lock4 @ T343 cap4x30
        size T342 T341 = 104.0
        """,
    ),
    step(
        "3.6", "Rear shock tower, anti-roll bar and brace",
        bags="5", minutes=40,
        parts="1 T350, 4 cap4x20, 1 T351, 2 T354, 4 cap3x12, 2 T352, 2 btn4x10, 1 T353",
        operations="""
        Screw the tower to the back of the gearbox.
        Clip the anti-roll bar into its clamps and screw them to the tower: the bar turns freely.
        Press a bar link onto each end of the bar.
        Screw the bar links to the arms; both hang the same.
        Set the brace between tower and chassis and screw it down.
        """,
        before="""
        1 > 2 | the clamps sit on the tower
        2 > 3 | with the links on, the bar does not go into its clamps
        2 > 5 | the rear brace closes the way to the clamp screws
        1 > 5 | the brace hides the two lower screws of the tower
        """,
        joints="""
        1: 4 cap4x20 metal>plastic never | tower to the gearbox housing
        2: 4 cap3x12 metal>metal use 0.8Nm | clamps to the tower
        4: 2 btn4x10 plastic>plastic never | bar links to the arms
        """,
        cautions="""
        spoils | Liquid that runs onto the nylon bar links cracks them: a drop on the clamp \
        screws, no more.
        """,
        figure="""
        x: ~gboxf[3.1] T350= 4*cap4x20/q36x28/o0,-14 2*T354/u70 4*cap3x12/q70x8
        --
        x: T351
        z@T351+60,0,0: 2*T352/v112 @
        y@T352: btn4x10 @ btn4x10
        --
        x: T353
        """,
    ),
))  # fmt: skip
