"""Section 8: radio."""

from __future__ import annotations

from ..model import SectionNote, step

SECTION = SectionNote("8", "Radio", (
    step(
        "8.1", "Servos in the radio tray",
        bags="11", minutes=35, sets=2, sets_word="Do 2 servos",
        text="Servos are your own: one of standard size for the throttle, one large for steering.",
        parts="1 T801, 8 T804, 8 T805, 8 cap3x20, 8 lock3",
        operations="""
        Press the rubbers into the ears of both servos and the sleeves into the rubbers from below.
        Switch the radio on, set its trims to the middle and let the servos find their centre.
        Set the servos into the tray, output shafts as in the figure.
        Draw screws and lock nuts up until the sleeves just touch; the rubber stays soft.
        """,
        before="""
        1 > 3 | the sleeves go in from below
        2 > 4 | with the servo in, its shaft is hard to see
        """,
        joints="""
        4: 8 cap3x20 rubber>lock_nut never snug | servos on their rubbers
        """,
        figure="""
        z: 4*lock3/q70x18 T801!= 4*T805/q70x18 ~servo 4*T804/q70x18 4*cap3x20/q70x18
        """,
    ),
    step(
        "8.2", "Receiver box",
        bags="11", minutes=30,
        parts="1 T810, 1 T811, 1 T812, 2 T813, 3 T814, 6 btn3x10, 1 T815, 4 cap4x12",
        operations="""
        Screw the box to the radio tray.
        Push the grommets into the box and pull the cables through.
        Wrap receiver and pack in foam and lay them in.
        Fit the switch under its cover.
        Lay the seal in the lid's groove and screw the lid on crosswise, just until it touches.
        Turn on and check the fail-safe: signal off means throttle shut and brake on.
        """,
        before="""
        1 > 3 | the screws are at the bottom of the box
        2 > 5 | the cables are pulled while the box is open
        """,
        joints="""
        1: 4 cap4x12 plastic>plastic never | box to the tray
        5: 6 btn3x10 plastic>plastic never | lid to the box; stop when the seal is touched
        """,
        cautions="""
        hurts | Lithium packs: the right charger and setting, attended, on a fireproof base; \
        a puffed, hot or dented pack goes outdoors. Its label and local rules decide.
        hurts | Wheels off the ground at the first power-up; transmitter on first, off last.
        """,
        figure="""
        z: T810= 4*cap4x12/q60x34 2*T813/u40 T812 T811 6*btn3x10/q80x46
        y@T810: @ 3*T814/u50
        x@T810: @ T815
        """,
    ),
    step(
        "8.3", "Steering, throttle and brake links",
        bags="11", minutes=45,
        parts="1 T802, 1 T803, 1 T820, 2 T821, 1 T822, 2 T823, 5 T824, 5 set4x4, 3 T825",
        operations="""
        With the servos at centre, set the servo arms at right angles to their links.
        Turn the ball ends onto the steering link until it has its length, and screw it on.
        Hook the throttle wire into the servo arm and set its collar and spring at the carburettor.
        Hook the brake wires in and set their collars so that both brakes grip together.
        Move throttle and brake by hand through their travel: nothing binds.
        Screw the servo arms fast with the screws that came with the servos.
        """,
        before="""
        1 > 2 | the length belongs to the arm at its centre
        3 > 4 | the brake starts where the throttle is shut
        5 > 6 | an arm that is off by a tooth still has to come off
        """,
        joints="""
        4: 5 set4x4 metal>metal use 1.2Nm | collars on the wires
        """,
        dimensions="""
        2: Length of the steering link = 122.0 +0.5 -0.5 | between the centres of the balls
        4: Free travel of the brake collars = 1.5 +0.5 -0.5 | throttle just shut, wire to lever
        """,
        figure="""
        x: T821 T820= T821<
        z@T821#1: T802 @
        size T821 T821 = 122.0
        --
        x: T803 T825 T824 T822=
        z@T824: @ set4x4
        --
        x: T824 T825 T823= T824
        z@T824#1: @ set4x4
        z@T824#2: @ set4x4
        --
        x: T824 T825 T823= T824
        z@T824#1: @ set4x4
        z@T824#2: @ set4x4
        """,
    ),
))  # fmt: skip
