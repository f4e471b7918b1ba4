# The lockers and a bench back of the Tern Point Rowing Club, told up to the
# moment the demo starts. The times keep to the waits of the ready-made steps.
9d ago Ann: cart
9d ago Ann: print tickets
# The club chose the colour before anything was stained.
8d23h50m ago Ann: can Stain base; left 1 l; lot SB-14
8d23h48m ago Ann: can Oak brown; left 500 ml; lot OB-3
8d23h46m ago Ann: can Flow additive; left 250 ml
8d23h44m ago Ann: can Clear; left 2.5 l; lot CL-7
8d23h42m ago Ann: can Hardener; left 1 l; lot H-21
8d23h40m ago Ann: board Locker brown; wood white oak; over hard clear
8d20h ago Ann: approve 2 -- the club's secretary
8d19h ago Ann: wall North wall; of Locker front
8d23h ago Ann wrap: 10 Inset panel
8d4h ago Ann crosscut: Stile
8d3h30m ago Ann crosscut: 5 blanks Top rail
8d3h ago Ann crosscut: 7 blanks Bottom rail
8d2h ago Ann rip: Stile
8d1h30m ago Ann rip: Top rail
8d1h ago Ann rip: Bottom rail
7d ago Ann joint: Stile
6d23h30m ago Ann joint: Top rail
6d23h ago Ann joint: Bottom rail
6d22h ago Ann rip: Stile; checked
6d21h30m ago Ann rip: Top rail
6d21h ago Ann rip: Bottom rail; checked
6d20h ago Ann plane: Stile
6d19h30m ago Ann plane: Top rail
6d19h ago Ann plane: Bottom rail
6d18h30m ago Ann crosscut: check Stile; step cut to length
6d18h ago Ann crosscut: Stile
6d17h30m ago Ann crosscut: 5 blanks Top rail; checked
# Two of the bottom rails did not come out of the saw: one spare, one made new.
6d17h ago Ann crosscut: 12 Bottom rail; checked
6d16h55m ago Ann crosscut: lost 1 Bottom rail; step cut to length; instead spare -- torn out at the end
6d16h50m ago Ann crosscut: lost 1 Bottom rail; step cut to length; instead remake -- cut short
6d10h ago Ben bore: 10 Stile; checked
6d9h50m ago Ben bore: plug Stile 7; spot left end, hole 2 -- 2 mm off, the stop had slipped
6d9h45m ago Ben bore: doubt Stile; because Stile 7
6d9h30m ago Ben bore: Stile
6d9h20m ago Ben bore: clear Stile
6d9h ago Ben bore: Top rail; checked
6d8h30m ago Ben bore: Bottom rail; checked
6d7h30m ago Ben bore: Stile 7
6d7h ago Ben glue: Stile
6d6h30m ago Ben: hold Stile 23 -- torn grain on the show face
6d6h20m ago Ben bore: remake Top rail 12; spare Top rail 13 -- split when it was bored
6d6h10m ago Ben: scrap Top rail 10 -- split at the joint
6d6h5m ago Ben: scrap Top rail 11 -- knot at the joint
6d6h ago Ben: remake Top rail 10
# Locker fronts: clamps on says that they were fitted too.
6d5h ago Ben glue: Locker front 1; step glue up, clamps on
6d4h30m ago Ben glue: Locker front 2; step glue up, clamps on
5d8h ago Ben glue: Locker front 3; with Stile 9 & Stile 10
5d7h40m ago Ben glue: Locker front 3
5d7h ago Ben glue: Locker front 4; step glue up, clamps on
5d4h ago Ann sand: Locker front 1 
5d3h45m ago Ann sand: load Locker front 1; on Cart 1
5d3h30m ago Ann sand: Locker front 2
5d3h25m ago Ann sand: load Locker front 2; on Cart 1
5d3h15m ago Ben: mix Locker brown; size 300 ml; jar 30 ml
5d3h ago Ben stain: Cart 1
4d20h ago Ben stain: Cart 1 ! waiting
4d14h ago Ben stain: Cart 1
4d6h ago Ann sand: Locker front 3
4d5h30m ago Ann sand: mend Locker front 4; defect squeeze-out; spot inside corner
4d5h ago Ann sand: Locker front 4
4d4h45m ago Ann sand: Locker front 4
4d5m ago Ben: mix Hard clear; size 400 ml; lot H-21
4d ago Ben topcoat: Cart 1
3d19h ago Ben topcoat: Cart 1
# One of the two was dry by touch early, one got a drip and is sanded back.
3d18h40m ago Ben: shut 2
3d18h30m ago Ben topcoat: mend Locker front 2; defect drip-or-sag; spot lower rail; side show face; coats topcoat, second coat
3d4h ago Ann glue: Locker front 5; step glue up, clamps on
3d3h30m ago Ann glue: Locker front 6; step glue up, clamps on
3d2h ago Ben stain: Locker front 3
3d1h50m ago Ben stain: Locker front 4
2d18h ago Ann wrap: Locker front 1
2d17h ago Ann sand: Locker front 2
2d16h50m ago Ben: mix Hard clear; size 100 ml; lot H-21
2d16h45m ago Ben topcoat: Locker front 2
2d16h40m ago Ben: shut 3
2d12h ago Ann: deliver
2d10h ago Ben stain: Locker front 3; early -- Dry by touch
2d9h50m ago Ben stain: Locker front 4
2d4h ago Ann glue: Locker front 7; step glue up, clamps on
2d3h ago Ann sand: Locker front 5
2d2h30m ago Ann sand: Locker front 6
51h ago Ann crosscut: Crest rail
50h50m ago Ann crosscut: Lower rail
50h40m ago Ann crosscut: Back stile left
50h30m ago Ann crosscut: Back stile right
50h ago Ann rip: Crest rail
49h50m ago Ann rip: Lower rail
49h40m ago Ann rip: Back stile left
49h30m ago Ann rip: Back stile right
# A front came back from the clubhouse with a dent.
2d ago Ann: return Locker front 1; defect dent; spot lower left corner -- dropped when it was hung
46h ago Ben stain: Locker front 5
45h50m ago Ben stain: Locker front 6
40h ago Ann wrap: Locker front 2
31h ago Ann crosscut: Bottom rail
30h ago Ann rip: Bottom rail
# Two divisions were bought ready cut; the cleats get a step more than planned.
29h30m ago Ann: skip Locker division 5; step sand -- bought ready cut
29h25m ago Ann: skip Locker division 6; step sand -- bought ready cut
29h20m ago Ann: newer Oar rest cleat; step ease the edges; at sand
29h ago Ann rip: Locker shelf
28h ago Ann crosscut: Locker shelf
# The first pot of stain is used up: the second coat of two fronts is of
# another one, and a person says so.
27h10m ago Ben: shut 1
27h5m ago Ben: mix Locker brown; size 250 ml; jar 30 ml
27h ago Ben stain: Locker front 5 ! batches-differ
27h ago Ben stain: Locker front 5; early -- Go on with this batch
26h50m ago Ben stain: Locker front 6; early -- Go on with this batch
25h10m ago Ben: mix Hard clear; size 350 ml; lot H-22
25h ago Ben topcoat: Locker front 3
24h50m ago Ben topcoat: Locker front 4
22h ago Ann sand: Locker front 7
20h ago Ben topcoat: Locker front 3
# The phone had no network: told half an hour later, and still right.
19h50m ago Ben topcoat: Locker front 4; told 30m later
19h10m ago Ben topcoat: load Locker front 3; on Cart 1
19h5m ago Ben topcoat: load Locker front 4; on Cart 1
# Somebody left the door open: a cold night, in which nothing dried.
19h ago Ben: reading 18 52
18h ago Ben: reading 9 66
19h ago Ben: shut 5
12h ago Ben glue: Locker front 10
11h50m ago Ben glue: apart Locker front 10
11h ago Ann: hold Locker shelf 12 -- veneer lifts at a corner
10h30m ago Ann: release Locker shelf 12
10h ago Ben glue: Locker front 8; step glue up, clamps on
8h30m ago Ann: reading 16 58
# Nobody recorded the rough cuts of the cleats; one was told after all.
8h ago Ann joint: Oar rest cleat
7h50m ago Ann crosscut: Oar rest cleat 1; step rough length
6h ago Ann joint: Crest rail
5h50m ago Ann joint: Lower rail
5h40m ago Ann joint: Back stile left
5h30m ago Ann joint: Back stile right
5h ago Ann rip: Crest rail; checked
4h50m ago Ann rip: Lower rail; checked
4h40m ago Ann rip: Back stile left
4h30m ago Ann rip: Back stile right
4h ago Ann plane: Crest rail
3h50m ago Ann plane: Lower rail
3h40m ago Ann plane: Back stile left
3h30m ago Ann plane: Back stile right
3h ago Ann crosscut: Slat
2h55m ago Ann crosscut: Batten
2h ago Ann: reading 19 50
2h ago Ann sand: 7 Locker shelf
100m ago Ann rip: Slat
95m ago Ann rip: Batten
70m ago Ann rip: Locker division
50m ago Ben bore: plug Stile 24; spot right end, hole 1 -- bit wandered in the knot
45m ago Ben glue: Locker front 9
25m ago Ben glue: Locker front 9
20m ago Ann sand: 2 Locker shelf
15m ago Ann sand: undo Locker shelf
10m ago Ben glue: Locker front 10
