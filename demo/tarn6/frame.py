"""What holds the Tarn 6's manual together: bags, order between steps, general cautions, spares."""

from __future__ import annotations

ABOUT = """
Petrol truck in 1:5 with four driven wheels, three differentials, disc brakes on the centre \
drive and
oil shock absorbers. Engine, radio, servos, pack, paint, glue and oils are not in the kit.
Maker, kit and numbers are invented, to show how a build is kept.
"""

#: number | what is in it
BAGS = """
1 | Front and rear differentials
2 | Centre differential
3 | Gearboxes
4 | Drive shafts
5 | Rear suspension
6 | Front suspension
7 | Steering
8 | Shock absorbers
9 | Centre mounts and brakes
10 | Clutch, engine mount, tank, exhaust
11 | Radio
12 | Chassis, wheels, body
"""

#: Between steps, or between operations of different steps (after #): first > then | why.
ORDER = """
1.1 > 1.2 | the outdrives run in these bearings and seals
1.2 > 1.3 | the small gears mesh with the large ones
1.3 > 1.4 | the case closes over the gears
1.5 > 1.6 | the small gears mesh with the large ones
1.6 > 1.7 | the case closes over the gears
1.4 > 2.2 | the differential goes into the gearbox closed and tight
2.1 > 2.2 | the play is felt against the pinion
2.2 > 2.3 | the lid hides the shims
2.3 > 3.1 | the gearbox goes on the chassis closed
2.3 > 4.1 | the gearbox goes on the chassis closed
2.4 > 4.1 | the front shaft is hooked in before the gearbox is screwed down
3.1 > 3.2 | the pin holders are screwed to the gearbox
3.1 > 4.1 | the chassis plate comes with the rear end
3.2 > 3.4 | the uprights hang on the arms
2.5 > 3.4 | the stub axle goes through the upright
3.3 > 3.4 | the upright needs its bearings first
3.4 > 3.5 | the links hold the uprights
3.5 > 3.6 | the tower stands over the inner ends of the links
4.1 > 4.2 | the pin holders are screwed to the gearbox
4.2 > 4.4 | the carriers hang on the arms
2.5 > 4.4 | the stub axle goes through the knuckle
4.3 > 4.4 | the knuckle sits in its carrier first
4.4 > 4.5 | the links hold the carriers
4.5 > 4.6 | the tower stands over the inner ends of the links
5.1 > 5.3 | the plate joins both bellcranks
5.2 > 5.4 | the saver stands on the servo side's post
5.3 > 5.4 | the top plate closes the way to the connecting plate
4.1 > 5.4 | the top plate is screwed to the gearbox
5.4 > 5.5 | the rods hang on the connecting plate
4.4 > 5.5 | the rods end at the knuckles
6.1 > 6.2 | the shafts run in the lower caps
6.2 > 6.3 | the springs go on over filled shocks
6.3 > 6.4 | the shocks go on complete
3.6 > 6.4 | the shocks hang on the towers
4.6 > 6.4 | the shocks hang on the towers
1.7 > 7.1 | the mounts hold the centre differential
2.4 > 7.1 | the centre shafts are hooked in with the differential
3.1 > 7.1 | the mounts stand between both gearboxes
4.1 > 7.1 | the mounts stand between both gearboxes
7.1 > 7.2 | the brakes hang on the centre mounts
7.1 > 7.4 | the mesh is set against the spur gear
7.3 > 7.4 | the clutch goes on before the engine goes in
7.2 > 7.4 | the engine covers the screws of the rear brake
7.4 > 7.5 | the pipe is screwed to the engine
8.1 > 8.2 | the box is wired to the servos
8.2 > 8.3 | the links are set with the servos at their centre
5.4 > 8.3 | the steering link ends at the bellcrank
7.2 > 8.3 | the brake wires end at the cam levers
7.4 > 8.3 | the throttle wire ends at the carburettor
3.4 > K1 | the wheels go on the hexes
4.4 > K1 | the wheels go on the hexes
3.6 > K2 | the rear posts stand on the tower
4.6 > K2 | the front posts stand on the tower
K1 > K3 | the truck stands on its wheels
6.4 > K3 | the collars set the ride height
7.5 > K3 | the truck is weighed down as it will run
8.3 > K4 | the checks need working controls
K3 > K4 | the checks come last
1.7#5 > 7.1#2 | the bearings line up only on a closed case
3.6#2 > 6.4#1 | the shock's screw closes the way to the bar's clamp
5.5#3 > 6.4#3 | the lower end of the front shock hides the outer screw of the rod
4.6#4 > 5.4#4 | the bumper's screws are under the edge of the top plate's front
8.2#6 > 8.3#3 | the throttle is linked only to a servo whose fail-safe is set
6.3#5 > K3#3 | the collars are counted from their start
"""

#: bag: quantity part, …: what lies in a bag beyond what the steps use.
SPARES = """
1: 2 T110
8: 2 T605
"""

#: kind | text; hold for the whole build.
CAUTIONS = """
hurts | Cut away from yourself, with a fresh blade and the part clamped; glasses on.
hurts | Liquids, glue, fuel and packs: the product's own label and data sheet come before this \
manual.
hurts | Where local rules or a club ask for a licence, an age or an insurance, they decide.
spoils | Into nylon: stop when the head seats. Thread-locking liquid never goes near nylon.
"""
