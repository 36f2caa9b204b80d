"""Section K: wheels, body, setting up, checks."""

from __future__ import annotations

from ..model import SectionNote, choice, step

SECTION = SectionNote("K", "Wheels, body and checks", (
    step(
        "K1", "Wheels",
        bags="12", minutes=40, sets=4, sets_word="Make 4",
        parts="4 T851, 4 T852, 4 T853, 4 T854",
        operations="""
        Wash rims and tyre beads with soapy water and let them dry.
        Lay the insert into the tyre and work the tyre onto the rim.
        Check that the tyre sits evenly all round on both sides.
        Glue the beads a few centimetres at a time and let them set.
        Put the wheel on its hex and tighten the wheel nut.
        """,
        before="""
        1 > 4 | glue does not hold on the film from the mould
        2 > 4 | the insert cannot go in afterwards
        3 > 4 | a glued tyre stays as it is
        """,
        joints="""
        5: 4 T854 plastic>metal never | wheel nuts; re-check them after the first run
        """,
        cautions="""
        hurts | Instant glue bonds skin in seconds: gloves, glasses, air; bonded skin is soaked in \
        warm soapy water, never pulled. Its label decides.
        """,
        figure="""
        y: ~axle[3.4] T851 T853 T852= T854
        """,
    ),
    step(
        "K2", "Body and wing",
        bags="12", minutes=50,
        parts="1 T860, 2 T861, 2 T862, 4 T865, 4 T863, 4 cap4x16, 1 T864, 4 btn4x10",
        operations="""
        Screw the body posts to the towers.
        Set the body on, mark the posts from below and drill small, then ream to size.
        Put a foam pad on each post, then the body, and pin it with the clips.
        Screw the wing to the rear posts.
        Check that the exhaust and the cooling head stand clear of the body.
        """,
        before="""
        1 > 2 | the marks come from the posts
        2 > 3 | the pads lie below the body
        """,
        joints="""
        1: 4 cap4x16 metal>plastic never | body posts to the towers
        4: 4 btn4x10 metal>plastic never | wing; snug, not tight
        """,
        cautions="""
        hurts | Cut and ream away from yourself, the body clamped or held on a block.
        spoils | Paint for the body goes on its inside; fuel takes other paint off.
        """,
        figure="""
        z: 4*T865/q220x60 _30 T860= 4*T863/q220x60
        z@T860+-110,0,-150: 2*cap4x16/v60 2*T861/v60
        z@T860+110,0,-150: 2*cap4x16/v60 2*T862/v60
        --
        z: T864= 4*btn4x10/q20x60
        """,
    ),
    step(
        "K3", "Ride height, droop and toe",
        bags="12", minutes=40, sets=4, sets_word="Spacer and screw: 4 times",
        parts="4 T870=With spacers, 4 T871, 1 T872",
        operations="""
        Put the truck, ready to run with a full tank, on a flat table.
        Press it down, let it rise and measure the ride height front and rear.
        Turn the preload collars until all four corners agree.
        Turn the droop screws in until both wheels of an axle leave the table together.
        Measure the toe at front and rear and set the rods.
        """,
        before="""
        3 > 4 | droop is counted from the ride height
        3 > 5 | toe changes with the ride height
        """,
        joints="""
        4: 4 T871 metal>plastic never | droop screws in the arms
        """,
        dimensions="""
        2: Ride height, front = 36.0 +1.0 -1.0 | table to the chassis plate, behind the front axle
        2: Ride height, rear = 38.0 +1.0 -1.0 | table to the chassis plate, before the rear axle
        5: Toe-in of the rear wheels together = 3.0 +1.0 -1.0 | rim to rim, front less rear
        """,
        choices=(choice(
            "Preload spacers on the springs",
            "Spacers give more preload than the collars alone reach.",
            "Without spacers | as the manual has it",
            "With spacers | for heavy engines and packs",
        ),),
        figure="""
        z: T872! ~truck[K1]=
        --
        x: ~body[6.4]= T870
        z@~body+120,0,-20: ~arm[3.2] T871
        """,
    ),
    step(
        "K4", "Aerial, warning plate, last checks",
        bags="12", minutes=30,
        parts="1 T880, 1 T881, 1 T882, 1 T883, 2 btn3x10",
        operations="""
        Screw the aerial base to the radio tray and slide the tube over the aerial; cap it.
        Stick the warning plate inside the body, where it is seen when the tank is filled.
        Go over every screw of engine, wheels, knuckles and link ends.
        Check steering, throttle, brake and fail-safe with the wheels off the ground.
        Check range on foot before the engine is started.
        After ten minutes of running stop, let it cool and check it all again.
        """,
        before="""
        3 > 4 | a loose link makes the check worthless
        4 > 5 | range is tried with controls that work
        5 > 6 | the engine runs only once range is known
        """,
        joints="""
        1: 2 btn3x10 plastic>plastic never | aerial base to the tray
        """,
        cautions="""
        hurts | A truck of this weight injures: clear ground, no people or animals in its way.
        hurts | Where and when such an engine may run, its noise and its insurance: local rules \
        and the club's decide.
        """,
        figure="""
        z: ~tray[8.1] T882= 2*btn3x10/u13 T880 T881
        --
        z: T883
        """,
    ),
))  # fmt: skip
