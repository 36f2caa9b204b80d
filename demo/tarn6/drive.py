"""Section 7: centre drive, brakes, clutch, engine and tank."""

from __future__ import annotations

from ..model import SectionNote, choice, step

SECTION = SectionNote("7", "Centre drive and engine", (
    step(
        "7.1", "Centre differential into its mounts",
        bags="9", minutes=30,
        parts="1 T701, 1 T702, 2 T703, 4 cap4x20, 4 csk5x16",
        operations="""
        Hook both centre shafts into the brake outdrives.
        Lay the bearings of the centre differential into the mounts.
        Put the caps on and draw them down evenly.
        Screw both mounts to the chassis from below.
        Spin the spur gear: it turns freely, and both shafts have a little play lengthwise.
        """,
        before="""
        1 > 4 | the shafts cannot be hooked in once both mounts are down
        2 > 3 | the caps clamp the bearings
        3 > 4 | the mounts line up on the bearings
        """,
        joints="""
        3: 4 cap4x20 metal>metal use 2.5Nm | caps to the mounts
        4: 4 csk5x16 metal>metal use 4.0Nm | mounts to the chassis
        """,
        dimensions="""
        5: Play of the centre shafts lengthwise = 0.8 +0.4 -0.3 | push and pull at each shaft
        """,
        figure="""
        x: T701 ~cdiff[1.7]= T702
        z@T701: 2*csk5x16/v50 @ T703 2*cap4x20/v34
        z@T702: 2*csk5x16/v50 @ T703 2*cap4x20/v34
        """,
    ),
    step(
        "7.2", "Disc brakes",
        bags="9", minutes=45, sets=2, sets_word="Make 2: front and rear",
        parts="2 T710, 4 T711, 4 T712, 2 T713, 2 T714, 4 T715, 4 T716, 2 set4x4",
        operations="""
        Stick a lining to each pad with its adhesive face and press it for a minute.
        Slide the disc onto the brake outdrive.
        Set a pad on each side of the disc, linings inward.
        Push the guide screws through pads and springs into the mount.
        Push the cam up from below and set the lever on it.
        Lock the lever on the flat of the cam.
        Turn the lever: the pads grip; let go: the disc runs free.
        """,
        before="""
        2 > 3 | the pads stand on both sides of the disc
        3 > 4 | the guide screws carry the pads
        5 > 6 | the screw finds its flat only with the cam in place
        """,
        joints="""
        4: 4 T715 metal>metal use 1.5Nm | guide screws into the mount; the pads must slide
        6: 2 set4x4 metal>metal use 1.8Nm | cam lever on the flat
        """,
        dimensions="""
        7: Gap between pad and disc, brake off = 0.3 +0.1 -0.1 | feeler gauge, both sides together
        """,
        cautions="""
        spoils | One drop of oil on a lining and it does not brake: clean hands, and no liquid \
        near the pads.
        hurts | After a run disc and pads are hot enough to burn.
        """,
        figure="""
        x: 2*T715/u34/o0,-6 2*T716/u34/o0,-6 T711 T712 T710= T712 T711
        --
        z: T714= T713
        x@T714: @ set4x4
        """,
    ),
    step(
        "7.3", "Clutch and pinion",
        bags="10", minutes=35,
        parts="2 T720, 1 T721, 1 T722, 2 cap4x16, 1 T723, 1 T724, 2 bb12x28x8, "
              "1 T731=17 teeth, 1 T732=19 teeth, 1 T733=21 teeth, 1 set5x5",
        operations="""
        Press both bearings into the bell carrier.
        Push the shaft of the clutch bell through the bearings.
        Slide the pinion you chose onto the shaft and lock it on the flat.
        Hook the spring round both clutch shoes.
        Screw the shoes and the holder to the crankshaft side of the engine.
        Turn the bell: it does not touch the shoes.
        """,
        before="""
        2 > 3 | the pinion holds the bell in its bearings
        4 > 5 | the spring does not go on over the screwed shoes
        """,
        joints="""
        3: 1 set5x5 metal>metal use 4.0Nm | pinion on the flat of the bell shaft
        5: 2 cap4x16 metal>metal use 2.5Nm | clutch shoes to the holder; the shoes must swing
        """,
        choices=(choice(
            "Pinion on the clutch bell",
            "More teeth: more top speed, less pull, and a hotter clutch. The gear mesh has to be \
set again.",
            "19 teeth | as the manual has it",
            "17 teeth | for sand, grass and young drivers",
            "21 teeth | for hard, open ground",
        ),),
        cautions="""
        hurts | Clutch springs snap back: glasses on.
        """,
        figure="""
        x: ~crank T722 2*T720/u24 T721 2*cap4x16/u26 T723< bb12x28x8 T724= bb12x28x8 T732
        z@T732: @ set5x5
        --
        x: T731 T733
        """,
    ),
    step(
        "7.4", "Engine and gear mesh",
        bags="10", minutes=45,
        text="The engine is your own: 23 to 32 cubic centimetres, four-bolt pattern.",
        parts="1 T740, 1 T741, 1 T742, 4 cap5x25, 4 csk5x16, 2 cap5x16",
        operations="""
        Screw both mounts to the engine.
        Screw the bell carrier to the engine, over the clutch.
        Set the engine on the chassis and start the four screws from below.
        Lay a strip of paper 0.1 mm thick between pinion and spur gear.
        Push the engine against the gear and tighten the four screws.
        Turn the paper out and check the mesh at four places of the spur gear.
        Screw the stay between engine and chassis.
        """,
        before="""
        1 > 3 | the mounts are screwed on from below the engine
        4 > 5 | the paper sets the mesh
        5 > 6 | the mesh is checked with the screws tight
        6 > 7 | with the stay in, the engine cannot be moved
        """,
        joints="""
        1: 4 cap5x25 metal>metal use 4.5Nm | mounts to the engine
        5: 4 csk5x16 metal>metal use 4.5Nm | mounts to the chassis
        7: 2 cap5x16 metal>metal use 4.0Nm | stay
        """,
        dimensions="""
        6: Play between pinion and spur gear = 0.20 +0.10 -0.05 | at the pitch circle, spur gear \
        held still, at four places
        """,
        cautions="""
        hurts | Keep fingers, sleeves and hair out of the gears; never turn them with the engine \
        running.
        """,
        figure="""
        grow 1.4
        z: 4*csk5x16/q46x90 _40 ~long[3.1]=
        z@~long+0,-45,55: T740
        z@~long+0,45,55: T741
        y@T740: 2*cap5x25/u46 @
        y@T741: @ 2*cap5x25/u46
        z@~long+0,0,150: ~engine
        x@~long+150,0,40: cap5x16 T742 cap5x16
        """,
    ),
    step(
        "7.5", "Tank, filter and exhaust",
        bags="10", minutes=40,
        parts="1 T750, 4 T751, 4 btn4x10, 4 lock4, 1 T752, 1 T753, 1 T754, 1 T755, "
              "2 cap5x20",
        operations="""
        Push the grommets into the ears of the tank.
        Set the tank on the chassis; draw screws and lock nuts up until the rubber just bulges.
        Cut the fuel line in two and fit the filter between tank and carburettor.
        Set the exhaust with its gasket to the engine and start its screws.
        Turn the pipe so that it touches neither tank nor line, then draw its screws up.
        Close the tank, dip it under water and blow gently into the line: no bubbles rise.
        """,
        before="""
        1 > 2 | the screws go through the grommets
        3 > 6 | the test covers the line as well
        4 > 5 | the pipe can be turned while its screws are loose
        """,
        joints="""
        2: 4 btn4x10 rubber>lock_nut never snug | tank on its grommets
        5: 2 cap5x20 metal>metal unsaid 4.5Nm | exhaust flange; hot, so re-check it after the \
        first run
        """,
        cautions="""
        hurts | Fuel burns and its vapour creeps: outdoors, no flame or spark, approved can; \
        the label on the can and local rules decide.
        hurts | Exhaust gas poisons: never run the engine indoors.
        spoils | Oil and fuel swell natural rubber: keep the grommets dry.
        """,
        figure="""
        z: 4*lock4/q80x56 ~chassis[3.1] 4*T751/q80x56 T750= 4*btn4x10/q80x56
        --
        x: T752
        x@T752+0,60,0: T753
        --
        x: 2*cap5x20/u32 T755 T754=
        """,
    ),
))  # fmt: skip
