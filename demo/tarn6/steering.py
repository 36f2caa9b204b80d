"""Section 5: steering."""

from __future__ import annotations

from ..model import SectionNote, choice, step

SECTION = SectionNote("5", "Steering", (
    step(
        "5.1", "Bearings of the bellcranks",
        bags="7", minutes=15,
        parts="1 T501, 1 T502, 4 bb5x10x4, 2 T503",
        operations="""
        Press a bearing into the top and the bottom of each bellcrank.
        Slide the posts through and spin the bellcranks: they turn without wobble.
        Mark the servo side with a dot of paint; it has the longer arm.
        """,
        before="""
        1 > 2 | the posts line the bearings up
        """,
        figure="""
        z: T503 bb5x10x4 T501= bb5x10x4
        --
        z: T503 bb5x10x4 T502= bb5x10x4
        """,
    ),
    step(
        "5.2", "Servo saver",
        bags="7", minutes=20,
        parts="1 T513, 1 T510, 1 T511, 1 T512, 2 T504",
        operations="""
        Slide the saver arm onto the tube until its wedge drops into the notch.
        Slide on a washer, the spring and the second washer.
        Turn the adjuster nut on until the gap is right.
        Push the arm aside by hand: it gives firmly and springs back to the middle.
        """,
        before="""
        2 > 3 | the nut presses on the washer
        """,
        dimensions="""
        3: Gap between adjuster nut and end of the tube = 4.0 +0.5 -0.5 | depth from the end of \
        the tube to the face of the nut
        """,
        figure="""
        z: T513 T510= T504 T511 T504 _8 T512
        """,
    ),
    step(
        "5.3", "Connecting plate",
        bags="7", minutes=20,
        text="""Plan geometry only says how the wheels turn towards each other. How the truck
        feels is found on the track.""",
        parts="1 T520=Plate A with outer holes, 1 T521=Plate B with inner holes, 4 T522, "
              "2 btn4x10, 2 lock4",
        operations="""
        Pick one of the two plates and keep the other.
        Push the bushes into both ends of the plate from above and below.
        Screw the plate to the two bellcranks, its stamped letter upward.
        Tighten the lock nuts until the plate has no play but still swings freely.
        """,
        before="""
        1 > 2 | the bushes stay in the plate
        2 > 3 | the screws run in the bushes
        """,
        joints="""
        4: 2 btn4x10 metal>lock_nut never | plate to the bellcranks; the plate must swing
        """,
        choices=(choice(
            "Connecting plate of the steering",
            """The plates differ in where the steering rods are fixed. What that does to the \
            wheels \
            follows from the whole layout: compare or measure it, and set the rods again.""",
            "Plate A with outer holes | rod eyes 88 mm apart, rods of 109.5 mm",
            "Plate B with inner holes | rod eyes 48 mm apart, rods of 129.5 mm",
        ),),
        figure="""
        z: 2*T522/v60 T520= 2*T522/v60 2*btn4x10/v60
        z@T520+44,-34,-55: ~bell[5.1]
        z@T520+44,34,-55: ~bellr[5.1]
        z@T520+0,0,-85: 2*lock4/v60
        --
        z: T521
        """,
    ),
    step(
        "5.4", "Steering and top plate into the car",
        bags="7", minutes=30,
        parts="1 T530, 2 T531, 2 csk4x12, 4 btn4x10, 2 csk5x16",
        operations="""
        Screw the two top plate posts to the chassis from below.
        Set the bellcranks with their connecting plate over the chassis holes.
        Screw the steering posts to the chassis from below.
        Lay the top plate on and screw it to the posts and to the gearbox.
        Swing the steering from stop to stop: nothing rubs.
        """,
        before="""
        2 > 4 | the top plate closes the steering in
        1 > 4 | the plate stands on the posts
        """,
        joints="""
        1: 2 csk4x12 metal>metal use 2.2Nm | top plate posts to the chassis
        3: 2 csk5x16 metal>metal use 4.0Nm | steering posts to the chassis
        4: 2 btn4x10 metal>metal use 1.8Nm | top plate to its posts, in front
        4: 2 btn4x10 metal>plastic never | top plate to the gearbox, behind
        """,
        figure="""
        grow 1.5
        z: 2*csk4x12/v44/o-48,0 2*csk5x16/v52/o10,0 _30 ~long[3.1]= 2*T531/v44/o-48,0 \
        ~steer[5.3]/o10,0 T530 4*btn4x10/q96x60
        """,
    ),
    step(
        "5.5", "Steering rods",
        bags="7", minutes=30, sets=2, sets_word="Make 2: left and right",
        parts="2 T540, 2 T341, 2 T342, 4 T541, 2 cap4x25, 2 cap4x30, 2 lock4",
        operations="""
        Slide a boot over each ball end.
        Turn the ends onto the rod alike until the rod has its length.
        Screw the inner end to the connecting plate and the outer end to the knuckle.
        Set the steering straight and look along the wheels: both point straight ahead.
        """,
        before="""
        1 > 3 | the boot does not go over a screwed-on end
        2 > 3 | an end can only be turned while the rod is off
        3 > 4 | the toe is read with both rods in place
        """,
        joints="""
        3: 2 cap4x30 metal>lock_nut never | outer end at the steering arm
        3: 2 cap4x25 metal>metal use 2.5Nm | inner end into the connecting plate; none on the ball
        """,
        dimensions="""
        2: Length of the steering rod = 109.5 +0.3 -0.3 | between the centres of the balls, \
        left and right the same; with plate B 129.5
        """,
        figure="""
        y: T342 T541 T540= T541 T341<
        x@T342: @ cap4x25
        x@T341: lock4 @ cap4x30
        size T342 T341 = 109.5
        """,
    ),
))  # fmt: skip
