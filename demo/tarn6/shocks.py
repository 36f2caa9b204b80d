"""Section 6: shock absorbers."""

from __future__ import annotations

from ..model import SectionNote, choice, step

SECTION = SectionNote("6", "Shock absorbers", (
    step(
        "6.1", "Lower caps with their seals",
        bags="8", minutes=30, sets=4, sets_word="Make 4: two front, two rear",
        parts="4 T607, 8 T605, 8 T606",
        operations="""
        Oil the O-rings with the oil that will fill the shocks.
        Lay a guide washer into the lower cap.
        Lay in two O-rings, then the second guide washer.
        Press the pile flat with a clean rod.
        """,
        before="""
        1 > 3 | a dry O-ring twists in its seat
        """,
        cautions="""
        spoils | A hair or a crumb under an O-ring leaks: work on a clean cloth.
        """,
        figure="""
        z: T607= T606 2*T605 T606
        """,
    ),
    step(
        "6.2", "Pistons, oil and bladders",
        bags="8", minutes=50, sets=2, sets_word="Make 2 of each: rear, front",
        text="Shock oil is not in the kit. Make two rear and two front shocks.",
        parts="2 T601, 2 T602, 2 T603, 2 T604, 4 T608=Six holes of 1.3 mm, "
              "4 T609=Six holes of 1.4 mm, 4 lock3, 4 T610, 4 T611",
        operations="""
        Screw a piston onto each shaft with a lock nut; it must not rock.
        Oil the shaft and push it through the lower cap from inside.
        Screw the lower cap onto the body.
        Fill the body with oil, move the piston slowly and wait until no bubbles rise.
        Lay the bladder on so that oil wells up all round.
        Screw the upper cap on and wipe off what ran over.
        Push the shaft in: it goes all the way and comes back no more than 10 mm.
        """,
        before="""
        1 > 2 | the piston does not pass the cap from outside
        3 > 4 | an open body holds no oil
        4 > 5 | air under the bladder makes the shock soft and uneven
        """,
        joints="""
        1: 4 lock3 plastic>lock_nut never | piston on the shaft, into the lock nut
        """,
        dimensions="""
        7: Rebound of the shaft = 5.0 +5.0 -5.0 | how far it comes out by itself after a full push
        """,
        choices=(choice(
            "Pistons of the shocks",
            "Larger holes let the wheels follow small bumps faster; pick one for all four.",
            "Six holes of 1.3 mm | as the manual has it",
            "Six holes of 1.4 mm | softer, for cold days and thick oil",
        ),),
        cautions="""
        spoils | A scratched shaft eats its seals: never grip it with bare pliers.
        """,
        figure="""
        x: T611 T610 T601= lock3 T608 T603 ~cart[6.1]
        z@T608: @ T609^x
        --
        x: T611 T610 T602= lock3 T608 T604 ~cart[6.1]
        z@T608: @ T609^x
        """,
    ),
    step(
        "6.3", "Springs and shock ends",
        bags="8", minutes=30, sets=2, sets_word="Make 2 of each: rear, front",
        parts="2 T612, 2 T613, 4 T614, 4 T615, 4 T616, 8 T617",
        operations="""
        Screw a shock end onto each shaft until it stops; hold the shaft with soft jaws.
        Press a pivot ball into both ends of every shock.
        Turn the preload collar onto the body.
        Slide on the spring, pull the shaft out and hook the spring cup over the end.
        Turn the collar until it stands at its start.
        """,
        before="""
        1 > 4 | the cup rests on the shock end
        3 > 4 | the collar is above the spring
        """,
        dimensions="""
        5: Thread showing above the preload collar = 8.0 +1.0 -1.0 | from the upper cap to the \
        collar, all four
        """,
        cautions="""
        hurts | A spring under load jumps: point it away from faces.
        """,
        figure="""
        x: T617 ~body[6.2]= T614 T612 T615 T616<
        z@T616: @ T617
        --
        x: T617 ~body[6.2]= T614 T613 T615 T616<
        z@T616: @ T617
        """,
    ),
    step(
        "6.4", "Shocks on the towers and arms",
        bags="8", minutes=30, sets=4, sets_word="Do 4",
        parts="4 cap4x30, 4 T618, 4 cap4x25, 8 lock4",
        operations="""
        Put a long screw through the tower hole you chose and a standoff on it.
        Slide the upper eye on and fix it with a lock nut.
        Push the lower eye between the ears of the arm and put the screw through.
        Fix the lower screw with a lock nut.
        Move every arm up and down: nothing touches the spring.
        """,
        before="""
        1 > 2 | the standoff keeps the eye off the tower
        2 > 3 | with the lower end fixed, the upper one is hard to line up
        """,
        joints="""
        2: 4 cap4x30 metal>lock_nut never | upper eyes; tight, the eye turns on its ball
        4: 4 cap4x25 metal>lock_nut never | lower eyes
        """,
        choices=(choice(
            "Upper shock holes",
            "The further in, the more the shock leans and the softer the start of its travel.",
            "Middle hole | as the manual has it",
            "Outer hole | firmer, for smooth ground",
            "Inner hole | softer, for rough ground",
        ), choice(
            "Lower shock holes of the arm",
            "Inner hole: less leverage, softer. Outer hole: firmer, and the truck sits higher.",
            "Outer hole | as the manual has it",
            "Inner hole | softer",
        )),
        figure="""
        x: cap4x30/o54,34 ~tower[3.6]= T618/o54,34 ~shock[6.3]/o54,-28^z lock4/o54,34
        x@~shock+0,54,-90: cap4x25 @ lock4
        """,
    ),
))  # fmt: skip
