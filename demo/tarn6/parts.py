"""The tables of parts.  Shapes are explained in demo/drawing/shapes.py; lengths in millimetres."""

from __future__ import annotations

#: key | name | material | shape.  The part number is T6- and the key's digits.
OWN = """
T101 | Differential case | aluminium | turn 11:8 25:4 23:20 26:5 bore=19
T102 | Outdrive, short | steel | turn 5:22 9:5 12:18 bore=8
T103 | Outdrive, long | steel | turn 5:34 9:5 12:18 bore=8
T104 | Bevel gear, 18 teeth | steel | bevel 18 17 11 bore=5
T105 | Bevel gear, 12 teeth | steel | bevel 12 11 9 bore=3
T106 | Crown gear, 43 teeth | steel | bevel 43 36 11 bore=13
T107 | Case gasket | paper | ring 25 20 0.8
T108 | O-ring 10x2 | rubber | ring 8 5 2.4
T109 | Shim 10x16x0.2 | steel | ring 8 5 0.7
T110 | Shim 5x12x0.2 | steel | ring 6 2.6 0.7
T111 | Cross pin | steel | cross 2.5 42
T112 | Spacer ring | acetal | ring 22 17 6
T121 | Centre case | nylon | turn 11:8 30:4 27:22 30:5 bore=22
T122 | Brake outdrive, front | steel | turn 5:22 9:10 12:18 bore=8
T123 | Brake outdrive, rear | steel | turn 5:22 9:14 12:18 bore=8
T124 | Spur gear, 54 teeth | steel | gear 54 44 9 hc=14 hr=4x24x2.6
T125 | Cover, centre case | nylon | turn 30:4 14:5 11:8 bore=6

T201 | Bevel pinion, 13 teeth | steel | turn 4:18 6:20 7-13:14 ribs=13
T202 | Pinion spacer | aluminium | ring 7.5 4.2 9
T203 | Shim 8x14x0.1 | steel | ring 7.5 4.2 0.7
T204 | Coupling cup | steel | turn 12:18 8:8 bore=4.5
T205 | Pinion carrier | aluminium | plate 48 48 8 round=22 hc=14 hr=4x20x2
T206 | Carrier gasket | paper | plate 48 48 0.8 round=22 hc=14 hr=4x20x2
T210 | Gearbox housing | nylon | box 44 64 38 on=x tone=nylon & turn 17:76 on=y bore=13 \
& turn 19:14 on=x at=29,0,0 bore=14
T211 | Gearbox lid | nylon | box 44 64 10 on=x & box 30 46 6 on=x at=0,0,8
T212 | Shim 15x21x0.1 | steel | ring 10.5 7.6 0.7
T220 | Centre shaft, front | steel | turn 9:12 5:96 9:12
T221 | Centre shaft, rear | steel | turn 9:12 5:70 9:12
T222 | Coupling block | steel | hex 11 8 bore=3
T225 | Wheel shaft, 118 | steel | turn 8:8 5:64 11:16 bore=7
T226 | Stub axle | steel | turn 11:14 7.5:22 6:20
T227 | Joint cross | steel | cross 2.4 20
T228 | Joint ring | steel | ring 12.6 10.8 8

T301 | Chassis plate, 4 mm | aluminium | outline chassis 4 on=z
T302 | Rear skid plate | nylon | plate 80 66 5 on=z h4=44x44x2.6
T310 | Lower arm, rear | nylon | outline arm 12 on=z
T311 | Hinge pin 5x96 | steel | turn 2.5:96
T312 | Pin holder, front of the axle | aluminium | plate 96 20 8 on=x h2=76x3 round=8
T313 | Pin holder, rear of the axle | aluminium | plate 96 20 8 on=x h2=76x3 round=8
T314 | Bush 5x8x5 | acetal | turn 4:4 5.5:1.5 bore=2.6
T320 | Upright, rear | nylon | outline upright 16 on=y & turn 15:24 on=y bore=11
T321 | Bearing spacer | aluminium | ring 10 7.6 8
T322 | Dust disc | rubber | ring 13 7 1
T330 | Outer pin 4x52 | steel | turn 2:52
T331 | Wheel hex, 24 mm | aluminium | hex 24 14 bore=6
T340 | Link rod M5x70 | steel | link 70 2.5
T341 | Ball end, right thread | nylon | eye 9 16 face=x
T342 | Ball end, left thread | nylon | eye 9 16 face=x
T343 | Cone washer | aluminium | turn 5-3:3 bore=2.2
T350 | Shock tower, rear | aluminium | outline tower 5 on=x
T351 | Anti-roll bar, rear 2.8 | steel | wire 1.6 60,-56,0 0,-62,0 0,62,0 60,56,0 on=x
T352 | Bar link | nylon | eye 6 26 face=y
T353 | Rear brace | nylon | box 86 20 9 on=x & box 16 34 12 on=x at=-46,0,0 \
& turn 7:16 on=z at=38,0,0 bore=2.6
T354 | Bar clamp | aluminium | plate 14 12 8 on=x h2=8x1.8 round=2

T410 | Lower arm, front | nylon | outline arm 12 on=z size=0.96
T411 | Hinge pin 5x92 | steel | turn 2.5:92
T412 | Front pin holder | aluminium | plate 92 20 8 on=x h2=72x3 round=8
T413 | Bulkhead pin holder | aluminium | plate 92 30 8 on=x h2=72x3 round=8
T420 | Knuckle, left | aluminium | outline knuckle 18 on=y & turn 16:22 on=y bore=11 \
& box 40 10 9 on=x at=30,-4,-6
T421 | Knuckle, right | aluminium | outline knuckle 18 on=y & turn 16:22 on=y bore=11 \
& box 40 10 9 on=x at=30,-4,-6
T423 | King pin ring | brass | ring 11 8 5
T424 | Steering carrier | aluminium | outline carrier 14 on=y
T425 | King pin | steel | turn 4.5:3 3:16
T440 | Link rod M5x56 | steel | link 56 2.5
T450 | Shock tower, front | aluminium | outline tower 5 on=x size=0.94
T451 | Anti-roll bar, front 2.5 | steel | wire 1.5 54,-54,0 0,-60,0 0,60,0 54,54,0 on=x
T454 | Front bumper | nylon | outline bumper 10 on=z & plate 90 34 8 on=x at=-58,0,12 round=12
T455 | Front skid plate | nylon | plate 84 70 5 on=z h4=48x48x2.6

T501 | Bellcrank, servo side | nylon | outline bell2 9 on=z & turn 9:20 on=z at=0,0,0 bore=5
T502 | Bellcrank, idle side | nylon | outline bell1 9 on=z & turn 9:20 on=z at=0,0,0 bore=5
T503 | Steering post | aluminium | turn 4:54
T504 | Post washer | steel | ring 6 2.7 1.5
T510 | Servo saver arm | nylon | outline sarm 8 on=z & turn 10:12 on=z bore=6
T511 | Servo saver spring | steel | spring 11 1.8 22 4.5
T512 | Adjuster nut | aluminium | turn 14:8 bore=9
T513 | Saver tube | aluminium | turn 13:3 8.5:40 thread=2 bore=5
T520 | Plate A, outer holes | aluminium | plate 22 120 4 on=z v4=88x60x2.2 round=10
T521 | Plate B, inner holes | aluminium | plate 22 120 4 on=z v4=60x48x2.2 round=10
T522 | Flanged bush 4x7 | acetal | turn 3.5:5 5:1.2 bore=2.1
T530 | Front top plate | aluminium | outline topplate 4 on=z
T531 | Top plate post | aluminium | hex 10 46 bore=2.5
T540 | Steering rod M5x82 | steel | link 82 2.5
T541 | Rod boot | rubber | turn 7:2 9:4 7:3 9:4 6:3

T601 | Shock body, rear | aluminium | turn 12.5:6 11:60 13:4 thread=2.5 bore=9
T602 | Shock body, front | aluminium | turn 12.5:6 11:52 13:4 thread=2.5 bore=9
T603 | Shaft, rear 4x72 | steel | turn 2:9 2.4:63
T604 | Shaft, front 4x64 | steel | turn 2:9 2.4:55
T605 | Shaft O-ring 4x2 | silicone | ring 5 2.2 2.2
T606 | Guide washer | acetal | ring 6 2.3 3
T607 | Lower cap | aluminium | turn 13:10 8:3 ribs=24 bore=2.6
T608 | Piston, 6 holes 1.3 | acetal | plate 20 20 3 round=10 hr=6x6x1.2 hc=2
T609 | Piston, 6 holes 1.4 | acetal | plate 20 20 3 round=10 hr=6x6x1.4 hc=2
T610 | Rubber bladder | rubber | turn 9.5:3 8:7
T611 | Upper cap | aluminium | turn 13:11 5:6 ribs=24
T612 | Spring, rear | steel | spring 17 1.7 78 8
T613 | Spring, front | steel | spring 17 1.8 68 7
T614 | Preload collar | aluminium | turn 17:8 ribs=20 bore=12
T615 | Spring cup | nylon | turn 18:3 10:5 bore=4
T616 | Shock end | nylon | eye 8 14 face=x
T617 | Pivot ball 8 | steel | ball 5 bore=2 face=x
T618 | Standoff | aluminium | turn 6-4:12 bore=2

T701 | Centre mount, front | aluminium | outline cmount 12 on=x
T702 | Centre mount, rear | aluminium | outline cmount 12 on=x
T703 | Mount cap | aluminium | box 12 46 9 on=x h4=34x0x2
T710 | Brake disc | steel | plate 62 62 2 round=31 hc=8 hr=8x22x2.6
T711 | Brake pad | steel | outline pad 3 on=x
T712 | Pad lining | felt | outline pad 1.6 on=x
T713 | Brake cam | steel | turn 3:24 5:8
T714 | Cam lever | aluminium | plate 30 10 4 on=z h2=20x1.6 round=5
T715 | Pad guide screw | steel | cap 4 30
T716 | Pad spring | steel | spring 4 0.6 12 5
T720 | Clutch shoe | steel | outline shoe 10
T721 | Clutch spring | steel | spring 20 1 4 3
T722 | Clutch holder | aluminium | plate 40 40 8 round=20 hc=4 h2=26x3
T723 | Clutch bell | steel | turn 5:16 27:18 bore=24
T724 | Bell carrier | aluminium | plate 70 62 10 round=14 hc=12 h4=54x46x2.6
T731 | Pinion, 17 teeth | steel | gear 17 15 12 bore=5
T732 | Pinion, 19 teeth | steel | gear 19 16.5 12 bore=5
T733 | Pinion, 21 teeth | steel | gear 21 18 12 bore=5
T740 | Engine mount, left | aluminium | box 14 70 26 on=y h4=46x0x2.4
T741 | Engine mount, right | aluminium | box 14 70 26 on=y h4=46x0x2.4
T742 | Mount stay | aluminium | turn 4:52
T750 | Fuel tank, 700 ml | nylon | box 90 66 54 on=x & turn 14:12 on=z at=-16,0,33 \
& box 70 46 6 on=x at=0,0,29
T751 | Tank grommet | rubber | turn 6:3 4:3 6:3 bore=2.2
T752 | Fuel line, 400 mm | silicone | wire 2.4 -60,0,0 -30,16,0 0,-12,0 30,14,0 60,0,0 on=x
T753 | Fuel filter | brass | turn 3:10 7:18 3:10
T754 | Exhaust pipe | steel | turn 9:26 15-24:34 24:58 24-10:24 6:22
T755 | Pipe gasket | paper | plate 44 26 1 round=8 hc=9 h2=32x2.6

T801 | Radio tray | nylon | outline tray 5 on=z & box 60 4 14 on=x at=-34,-31,8
T802 | Servo arm, steering | aluminium | plate 56 16 6 on=z h2=40x2 round=8
T803 | Servo arm, throttle | nylon | plate 40 12 5 on=z h2=28x1.6 round=6
T804 | Servo rubber | rubber | turn 5:6 bore=2.2
T805 | Servo sleeve | brass | turn 3:5 4.5:1 bore=2
T810 | Receiver box | nylon | box 86 54 36 on=x & box 92 60 4 on=x at=0,0,18
T811 | Receiver box lid | nylon | box 92 60 5 on=x & box 60 34 3 on=x at=0,0,4
T812 | Lid seal | silicone | plate 88 56 2 on=z round=5
T813 | Foam block | foam | box 34 40 20 on=x
T814 | Cable grommet | rubber | turn 7:3 5:3 7:3 bore=2.5
T815 | Switch cover | rubber | plate 28 14 5 on=z round=7
T820 | Servo link rod M4x96 | steel | link 96 2
T821 | Ball end, 4 mm | nylon | eye 7 12
T822 | Throttle wire | steel | turn 1.4:120
T823 | Brake wire | steel | turn 1.2:96
T824 | Setting collar | brass | turn 5:8 bore=1.6
T825 | Link spring | steel | spring 4.5 0.8 20 6

T851 | Rim | nylon | turn 58:5 52:44 58:5 bore=46 & turn 20:6 at=22,0,0 bore=8
T852 | Tyre | rubber | turn 66-80:16 82:46 80-66:16 bore=56 ribs=40
T853 | Tyre insert | foam | turn 70:52 bore=56
T854 | Wheel nut, 24 mm | aluminium | hex 24 8 bore=5 & turn 15:2 at=-5,0,0
T860 | Body shell | polycarbonate | prism -150:58:0:22 -60:64:0:34 -36:64:0:66 30:64:0:70 \
46:64:0:40 120:64:0:38 150:60:6:34
T861 | Body post, front | nylon | turn 6:6 4:60
T862 | Body post, rear | nylon | turn 6:6 4:74
T863 | Body clip | steel | wire 0.9 -10,0,0 10,0,0 14,4,0 10,8,0 -4,2,0 -10,6,0 on=x
T864 | Rear wing | nylon | box 34 130 4 on=x & box 50 4 26 on=x at=0,65,4 \
& box 50 4 26 on=x at=0,-65,4
T865 | Foam pad | foam | ring 9 4.2 4
T870 | Preload spacer, 4 mm | nylon | ring 16 12 4
T871 | Droop screw | steel | set 4 16
T872 | Ride gauge block, 36 mm | nylon | box 60 24 36 on=x
T880 | Aerial tube | nylon | turn 2:110
T881 | Aerial cap | rubber | turn 3.5:10
T882 | Aerial base | nylon | turn 9:4 5:10 bore=2.2
T883 | Warning plate | paper | plate 60 36 1 on=z round=3
"""

#: What was fitted in earlier steps, drawn in grey: key | name | material | shape.
FITTED = """
~diff | Differential | nylon | turn 5:16 11:8 25:4 23:20 36:10 12:14 bore=8 on=y
~case | Case | nylon | turn 11:8 25:4 23:20 26:5 bore=19
~ccase | Centre case | nylon | turn 11:8 30:4 27:22 30:5 bore=22
~crown | Crown gear | nylon | bevel 43 36 11 bore=13
~pinion | Pinion | nylon | turn 12:18 6:16 22:8 7-13:14
~gbox | Gearbox | nylon | box 44 64 46 on=x & turn 17:76 on=y bore=12 \
& turn 12:16 on=x at=30,0,0 bore=5
~gboxf | Gearbox | nylon | box 44 64 46 on=x & turn 17:76 on=y bore=12
~chassis | Chassis | nylon | plate 150 104 4 on=z h4=44x44x2.6 round=8
~long | Chassis | nylon | plate 210 110 4 on=z round=8
~arm | Lower arm | nylon | outline arm 12 on=z
~upright | Upright | nylon | outline upright 16 on=y & turn 15:24 on=y bore=11
~shaft | Wheel shaft | nylon | turn 8:8 5:64 11:16 12:10 7.5:22 6:20
~knuckle | Knuckle | nylon | outline knuckle 18 on=y & turn 16:22 on=y bore=11 \
& box 40 10 9 on=x at=30,-4,-6
~carrier | Steering carrier | nylon | outline carrier 14 on=y
~tower | Shock tower | nylon | outline tower 5 on=x
~saver | Servo saver | nylon | turn 13:3 9:40
~bell | Bellcrank | nylon | outline bell2 9 on=z & turn 9:20 on=z
~bellr | Bellcrank | nylon | outline bell1 9 on=z & turn 9:20 on=z
~steer | Steering | nylon | turn 9:22 on=z at=0,-26,0 & turn 9:22 on=z at=0,26,0 \
& plate 22 110 4 on=z at=-40,0,6
~body | Shock body | nylon | turn 12.5:6 11:60 13:4 bore=9
~cart | Lower cap | nylon | turn 13:10 8:3
~shock | Shock | nylon | turn 8:10 12:60 17:10 4:44 8:10
~cdiff | Centre differential | nylon | turn 8:16 12:10 30:10 44:9 30:14 12:10 8:16
~cmount | Centre mount | nylon | outline cmount 12 on=x
~shaftc | Centre shaft | nylon | turn 9:12 5:60 9:12
~engine | Engine (your own) | nylon | box 60 56 50 on=x & turn 30:44 on=z at=0,0,47 ribs=20 \
& turn 14:26 on=y at=0,40,0
~crank | Crankshaft | nylon | turn 30:14 8:10 5:24
~bellc | Clutch bell | nylon | turn 5:16 27:18 bore=24
~servo | Servo (your own) | nylon | box 60 30 40 on=x & box 78 30 5 on=x at=0,0,8 \
& turn 6:8 on=z at=-18,0,24
~tray | Radio tray | nylon | plate 170 80 5 on=z round=8
~rbox | Receiver box | nylon | box 86 54 36 on=x
~wheel | Wheel | nylon | turn 66-80:16 82:46 80-66:16 bore=56
~axle | Stub axle | nylon | turn 15:20 7.5:10 6:22
~truck | Chassis with axles | nylon | box 260 70 16 on=x & turn 46:36 on=y at=-110,86,0 \
& turn 46:36 on=y at=110,86,0 & turn 46:36 on=y at=-110,-86,0 & turn 46:36 on=y at=110,-86,0
~lever | Cam lever | nylon | plate 30 10 4 on=z h2=20x1.6 round=5
~carb | Carburettor | nylon | box 34 30 34 on=x & turn 10:14 on=x at=-24,0,0 bore=6
"""

#: Hardware in the order of its numbers, from T6-901 on.
HARDWARE = """
cap3x12 cap3x20 cap4x12 cap4x16 cap4x20 cap4x25 cap4x30 cap5x16 cap5x20 cap5x25
btn3x10 btn4x10 csk4x12 csk4x16 csk5x16 csk5x20
set4x4 set4x16 set5x5 set5x8 lock3 lock4
pin2.5x14 pin3x16 pin4x24 ering5
bb5x10x4 bb8x16x5 bb12x28x8 bb15x24x5
"""
