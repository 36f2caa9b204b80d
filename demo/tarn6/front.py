"""Section 4: the front end."""

from __future__ import annotations

from ..model import SectionNote, step

SECTION = SectionNote("4", "Front end", (
    step(
        "4.1", "Front gearbox on the chassis plate",
        bags="6", minutes=20,
        parts="1 T455, 4 csk5x20",
        operations="""
        Hook the front centre shaft into the coupling cup of the gearbox.
        Set the gearbox on the plate, coupling cup backward.
        Hold the skid plate under the chassis and start all four screws.
        Tighten the screws crosswise; their heads end flush.
        """,
        before="""
        1 > 2 | the shaft cannot be hooked in once the gearbox is screwed down
        3 > 4 | the gearbox must still move while the last screw finds its hole
        """,
        joints="""
        4: 4 csk5x20 metal>plastic never | through skid plate and chassis into the gearbox housing
        """,
        figure="""
        z: 4*csk5x20/q48x48 T455 ~chassis[3.1]= ~gbox[2.3]/o0,0
        """,
    ),
    step(
        "4.2", "Front lower arms",
        bags="6", minutes=30, sets=2, sets_word="Arms: left and right",
        parts="2 T410, 2 T411, 1 T412, 1 T413, 4 T314, 4 cap5x20, 4 ering5",
        operations="""
        Push the bushes into the ears of both arms.
        Screw the bulkhead pin holder to the gearbox.
        Slide a hinge pin through each arm and into the bulkhead holder.
        Slide the front pin holder over both pins and screw it on.
        Snap a retaining washer onto each end of the pins.
        Lift each arm and let go: it falls by its own weight.
        """,
        before="""
        1 > 3 | the pin runs in the bushes
        3 > 4 | the front holder closes the way for the pins
        4 > 5 | the washers sit outside the holders
        """,
        joints="""
        2: 2 cap5x20 metal>plastic never | bulkhead pin holder to the gearbox
        4: 2 cap5x20 metal>plastic never | front pin holder to the gearbox
        """,
        figure="""
        x: 2*cap5x20/u54! T412! ~gboxf[4.1]= T413! 2*cap5x20/u54!
        --
        x: ering5 T314 T410/o54,0= T314 T411 ering5
        """,
    ),
    step(
        "4.3", "Knuckles in their carriers",
        bags="6", minutes=35,
        parts="1 T420, 1 T421, 2 T424, 4 T425, 4 T423, 2 bb15x24x5, 2 bb12x28x8, 2 T321",
        operations="""
        Press the large bearing, the spacer and the outer bearing into each knuckle.
        Push the rings into the upper and lower eye of the carriers.
        Set the left knuckle, arm backward, into the left carrier; the right one likewise.
        Screw the king pins in from above and below.
        Tighten until there is no play, then back by an eighth of a turn.
        Swing the knuckle: it moves freely from stop to stop.
        """,
        before="""
        1 > 3 | the carrier covers the inner bearing
        2 > 4 | the king pins run in the rings
        """,
        joints="""
        4: 4 T425 metal>metal use 2.5Nm | king pins through the rings into the knuckles; liquid on \
        the thread only, none in the rings
        """,
        cautions="""
        spoils | The knuckles are not alike: the steering arms point backward and inward.
        """,
        figure="""
        y: bb12x28x8 T420= T321 bb15x24x5
        z@T420: T425 T423 @ T423 T425
        y@T420+0,-95,0: T424
        --
        y: bb15x24x5 T321 T421= bb12x28x8
        z@T421: T425 T423 @ T423 T425
        y@T421+0,95,0: T424
        """,
    ),
    step(
        "4.4", "Knuckles and wheel shafts on the front arms",
        bags="6", minutes=30, sets=2, sets_word="Do 2: left and right",
        parts="2 T330, 4 set4x4, 2 pin4x24, 2 T331",
        operations="""
        Push the stub axle of a wheel shaft through the knuckle from the inside.
        Hook the other end of the shaft into the outdrive.
        Bring the carrier onto the arm and push the outer pin through.
        Lock the pin with both set screws, on its flats.
        Push the cross pin through the stub axle and slide the wheel hex over it.
        """,
        before="""
        1 > 3 | the shaft does not go in past the arm afterwards
        2 > 3 | the outdrive cannot be reached once the carrier is pinned
        """,
        joints="""
        4: 4 set4x4 metal>plastic never | outer pins in the arms
        """,
        figure="""
        y: ~arm[4.2] ~knuckle[4.3]= pin4x24^z T331
        x@~knuckle+0,0,-30: T330 @
        z@~arm+0,56,0: 2*set4x4/u30 @
        y@~arm+0,-10,80: ~shaft[2.5]
        """,
    ),
    step(
        "4.5", "Front upper links",
        bags="6", minutes=30, sets=2, sets_word="Make 2: left and right",
        parts="2 T440, 2 T341, 2 T342, 2 T343, 2 cap4x30, 2 lock4, 2 cap4x25",
        operations="""
        Turn the right-hand end onto the plain side of the rod and the left-hand end onto the \
        side with the groove.
        Turn both ends on alike until the link has its length.
        Screw the outer end to the carrier, with the cone washer under the ball.
        Screw the inner end to the gearbox lid.
        """,
        before="""
        2 > 3 | both ends on alike leave room to adjust either way
        """,
        joints="""
        3: 2 cap4x30 metal>lock_nut never | outer end at the carrier, into the lock nut
        4: 2 cap4x25 metal>plastic never | inner end to the gearbox lid
        """,
        dimensions="""
        2: Length of the front upper link = 90.0 +0.3 -0.3 | between the centres of the balls, \
        left and right the same
        """,
        figure="""
        y: T342 T440= T341<
        x@T342: @ cap4x25
        x@T341: lock4 @ T343 cap4x30
        size T342 T341 = 90.0
        """,
    ),
    step(
        "4.6", "Front shock tower, anti-roll bar and bumper",
        bags="6 12", minutes=40,
        parts="1 T450, 4 cap4x20, 1 T451, 2 T354, 4 cap3x12, 2 T352, 2 btn4x10, "
              "1 T454@12, 2 csk5x20@12",
        operations="""
        Screw the tower to the front of the gearbox.
        Clamp the anti-roll bar to the tower: it turns freely.
        Press a bar link onto each end and screw the links to the arms.
        Screw the bumper under the front of the chassis.
        """,
        before="""
        1 > 2 | the clamps sit on the tower
        2 > 3 | with the links on, the bar does not go into its clamps
        1 > 4 | the bumper's hoop hides the lower screws of the tower
        """,
        joints="""
        1: 4 cap4x20 metal>plastic never | tower to the gearbox housing
        2: 4 cap3x12 metal>metal use 0.8Nm | clamps to the tower
        3: 2 btn4x10 plastic>plastic never | bar links to the arms
        4: 2 csk5x20 metal>plastic never | through the chassis into the bumper
        """,
        figure="""
        x: ~gboxf[4.1] T450= 4*cap4x20/q36x28/o0,-14 2*T354/u70 4*cap3x12/q70x8
        --
        x: T451
        z@T451+54,0,0: 2*T352/v108 @
        y@T352: btn4x10 @ btn4x10
        --
        z: 2*csk5x20/v32/o30,0 T454=
        """,
    ),
))  # fmt: skip
